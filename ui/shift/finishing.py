"""The end of a list: what stands in its way is said, what was not done is asked about; tags are offered."""

from collections.abc import Callable

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

    if desk.did(lambda: lists.close_list(desk.session, desk.actor, desk.site.subject, on), closed):
        _offer_tags(desk, now)


def _offer_tags(desk: Desk, now: Standing) -> None:
    """How many of those that were read want a new status tag, where any does."""
    from registry.services import tag_wants  # late: paper

    session, read = desk.session, _judged(now)

    def count(_: object) -> int:
        with session.reading() as connection:
            rows = tag_wants.rows_at(connection, None, None, read)
            return sum(1 for one in tag_wants.look(session, connection, rows, "status") if one.why)

    desk.in_background(count, desk.offer_tags)


def _judged(now: Standing) -> tuple[str, ...]:
    """Who was read in a bath that was judged."""
    return tuple(one.thermometer for one in now.rows.values() if one.check and one.check.bath_judged is not None)


def print_tags(desk: Desk, now: Standing) -> None:
    """The page of tags, about all who were read in a judged bath."""
    from ui.tags.about import About  # late: SQLAlchemy

    desk.go("tags", About(_judged(now)))
