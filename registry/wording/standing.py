"""How a thermometer stands by what was read last, as found or as left."""

from registry.wording import say


def status_words(status: str, only: str | None, language: str) -> str:
    """The service status, with what its use is limited to; also where something stands against it besides.

    >>> status_words("check_first", "cold", "en")
    'Check first. Limited use: cold food only'
    """
    word = say(f"status.{status}", language)
    if only is None or status not in ("limited_use", "check_first"):
        return word
    limited = say(f"thermometers.limited.{only}", language)
    return limited if status == "limited_use" else f"{word}. {limited}"


def outcome_now(outcome: str | None, left: str, as_found: str | None, language: str) -> str:
    """The outcome now; where it was adjusted since its last check, as left, with what was found before.

    left: `judged`, `waits` (for its bath) or `not_measured` of who was adjusted since, else empty.

    >>> outcome_now("pass", "judged", "fail", "en")
    'Pass as left, adjusted; as found: Fail'
    >>> outcome_now("pass", "", None, "en")
    'Pass'
    """
    word = say(f"outcome.{outcome}", language) if outcome else ""
    if not left:
        return word
    if as_found is None:
        return say(f"outcome.left_{left}_short", language, outcome=word)
    return say(f"outcome.left_{left}", language, outcome=word, found=say(f"outcome.{as_found}", language))
