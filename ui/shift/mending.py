"""A slip is mended by a correcting entry: what it names stands voided beside it, and the row asks anew."""

from collections.abc import Callable

from registry.services import mend
from registry.services.mend import Affected
from registry.services.shift_bath import BathFacts
from registry.services.shift_row import ListRow
from ui.desk import Desk


def only_read_anew(listed: ListRow, bath: BathFacts | None) -> bool:
    """Whether nothing is voided: what was said instead, or read in a bath before, gives way to a later reading."""
    check = listed.check
    return check is None or (bath is not None and check.bath != bath.bath and check.point == bath.point)


def void(desk: Desk, listed: ListRow, then: Callable[[], object]) -> None:
    """Ask, then void the newest thing that is recorded of a row's check.

    Of a thermometer that was adjusted the reading as left goes first: without its check it would stand alone.
    """
    check = listed.check
    assert check is not None
    if (left := check.as_left) is not None:
        number = mend.number_of_adjustment(desk.session, listed.thermometer, left.adjustment)
        question, details = "shift.void_left", "shift.void_left_details"
    else:
        number = mend.number_of_check(desk.session, check.row.check)
        question, details = "shift.void_it", "shift.void_details"

    def agreed() -> None:
        if desk.did(lambda: mend.void(desk.session, desk.actor, number, "mistyped"), told):
            then()

    def told(affected: Affected) -> None:
        _tell_what_rested(desk, affected)

    sentence, yes = desk.say(question, tag=listed.tag_id), desk.say("shift.void_yes")
    desk.ask.sure(sentence, yes, agreed, details=desk.say(details))


def _tell_what_rested(desk: Desk, affected: Affected) -> None:
    papers = (*affected.certificates, *affected.tags, *affected.uses, *affected.baths)
    if papers:
        desk.notice(desk.say("shift.rested_on_it", numbers=", ".join(papers)))
