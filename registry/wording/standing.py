"""How a thermometer stands by what was read last, as found or as left."""

from registry.wording import say


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
