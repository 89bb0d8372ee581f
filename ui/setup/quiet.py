"""Quiet hours of this computer, in which nothing is said by itself."""

from registry.services import notices
from registry.services.problems import refuse
from ui.desk import Desk
from ui.forms import Field
from ui.setup import questions
from ui.setup.inline import Inline, Values


def asked(desk: Desk) -> Inline:
    """Two times of day, by the clock of each site; both empty where nothing shall be quiet."""
    begins, _, ends = notices.quiet_hours(desk.local).partition("-")
    say, none = desk.say, not ends
    fields = [
        Field("quiet_from", say("setup.quiet_from"), value="" if none else begins, hint=say("setup.time_hint")),
        Field("quiet_to", say("setup.quiet_to"), value=ends, hint=say("setup.quiet_hint")),
    ]
    return Inline(desk, fields, say("setup.set_quiet"), lambda values: _set(desk, values))


def _set(desk: Desk, values: Values) -> None:
    begins, ends = (questions.read_time(values[one]) for one in ("quiet_from", "quiet_to"))
    for field, typed, other in (("quiet_from", begins, ends), ("quiet_to", ends, begins)):
        if not typed and other:
            raise refuse(field, "empty")
        if typed and not questions.is_time(typed):
            raise refuse(field, "not_a_time", value=typed)
    hours = f"{begins}-{ends}" if begins else "none"
    notices.set_quiet_hours(desk.local, hours)
    desk.notice(desk.say("notice.quiet_set", hours=hours) if begins else desk.say("notice.quiet_none"))
