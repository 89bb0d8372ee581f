"""The end of a list: what stands in its way is said, what was not done is asked about; tags are printed."""

from collections.abc import Callable
from pathlib import Path

from registry.services import lists
from registry.wording import closing
from ui.desk import Desk
from ui.shift.keying import WRITING
from ui.shift.standing import Standing


def finish(desk: Desk, now: Standing, hindered: Callable[[], bool], to_row: Callable[[str], object]) -> None:
    """Close the list of the shift that is shown. Digits typed and not recorded come first: `to_row` goes there.

    hindered: something else has to be said first, and that was told. Who failed stops nothing: the closing names them.
    """
    if typed := [one for one in now.keying.unrecorded() if one in now.rows]:
        tags = ", ".join(now.rows[one].tag_id for one in typed)
        desk.notice(desk.say("shift.typed_first", tags=tags))
        to_row(typed[0])
        return
    if hindered():
        return
    left = [one.tag_id for one in now.rows.values() if one.state in WRITING]
    if not left:
        _close(desk, now)
        return
    standing = [(one.tag_id, one.station, one.left_failed) for one in now.rows.values() if one.left_failed]
    failed = closing.failed_so_far(standing, desk.language)
    desk.ask.sure(
        desk.say("shift.finish_sure", count=len(left)),
        desk.say("shift.finish"),
        lambda: _close(desk, now),
        details="\n".join([*failed, desk.say("shift.not_done", tags=", ".join(left))]),
    )


def _close(desk: Desk, now: Standing) -> None:
    on = now.view.shift if now.view is not None else None

    def closed(found: lists.Closed) -> None:
        now.closed = found

    desk.did(lambda: lists.close_list(desk.session, desk.actor, desk.site.subject, on), closed)


def print_tags(desk: Desk, now: Standing) -> None:
    """Status tags of all who were read in a judged bath."""
    from registry.services import tag_printing  # late: paper

    judged = [one.thermometer for one in now.rows.values() if one.check and one.check.bath_judged is not None]

    def save(path: Path) -> None:
        size = desk.setting("label")
        made = desk.tried(lambda: tag_printing.print_status_tags(desk.session, desk.actor, judged, size))
        if made is not None:
            desk.save(path, made)

    desk.ask.where_to_save(desk.say("shift.print_tags"), "tags.pdf", save)
