"""Problems and known troubles as sentences: what was wrong, and what to do."""

from collections.abc import Mapping

from registry import resources
from registry.quantity import READING
from registry.wording import say


def problem(field: str, code: str, values: Mapping[str, object], language: str) -> str:
    """The sentence of a problem: of its field and code, else of its code; of a row or a file, as imports say it.

    >>> problem("reading", "not_a_number", {"value": "O.5"}, "en")
    'O.5 is not a number: type digits with one point or comma, such as 0.5.'
    """
    texts = {**resources.sentences(language, "problem"), **resources.sentences(language, "importing")}
    wanted = [f"problem.{field}.{code}", f"problem.{code}"]
    if "row" in values or field == "file":
        wanted.insert(0, f"importing.{code}")
    chosen = next((one for one in wanted if one in texts or f"{one}.other" in texts), None)
    if chosen is None:
        return say("problem.no_sentence", language, field=field, code=code)
    said = {name: _readable(value) for name, value in values.items()}
    if isinstance(types := values.get("types"), tuple):
        said["types"] = "; ".join(say(f"type.{one}", language) for one in types)
    return say(chosen, language, **said)


def _readable(value: object) -> object:
    """A temperature, or a difference of two, as the journal writes it, with its degree sign."""
    found = READING.fullmatch(value.replace(" d", " ", 1)) if isinstance(value, str) else None
    return f"{found[1]}\N{NO-BREAK SPACE}°{found[2]}" if found else value


def trouble(code: str, language: str) -> str:
    """The sentence of a known trouble; the path or length that it may bring along is told beside it.

    >>> trouble("disk_full", "en")
    'The disk is full, so nothing was recorded: free some space, then do it again.'
    """
    wanted, known = f"trouble.{code}", resources.sentences(language, "trouble")
    return say(wanted if wanted in known else "trouble.no_sentence", language, code=code)
