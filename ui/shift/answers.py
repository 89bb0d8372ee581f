"""What a row answers, in at most two lines: the lead's one word, and what only this one needs."""

from dataclasses import dataclass

from registry.services.shift_keyed import Provisional
from registry.services.shift_row import OUTSIDE_WORD, ListRow
from registry.wording.due import why_short
from ui.desk import Desk
from ui.shift.keying import WRITING, Keyed

_MAY_BE_USED = ("use", "use_near_limit", "use_unsteady")
_COLOURS = {"waits": "muted", OUTSIDE_WORD: "outside", "use_by_last_good_check": "ink"}


@dataclass(frozen=True, slots=True)
class Answer:
    """kind and code choose the mark (`ui.marks.paint_mark`); no code: no mark. high: which way it is off."""

    kind: str = ""
    code: str = ""
    high: bool | None = None
    word: str = ""
    colour: str = "ink"
    under: str = ""
    under_colour: str = "muted"


def answer(desk: Desk, row: ListRow, keyed: Keyed, foreseen: Provisional | None, *, current: bool = True) -> Answer:
    """current: it is being written in. Digits that were left standing promise nothing: they are not recorded."""
    if keyed.text and not current and row.state in WRITING:
        return Answer(word=desk.say("shift.not_recorded"), colour="caution", under=desk.say("shift.press_enter"))
    if row.state == "out_of_use":
        return Answer("service", "out_of_use", word=desk.say("status.out_of_use"), under=_as_found(desk, row))
    if foreseen is not None:
        return _foreseen(desk, foreseen)
    if keyed.questioned:
        return Answer(word=desk.say("shift.type_again"), under=desk.say("shift.look_at_dial"))
    if row.state == "recorded":
        return _recorded(desk, row)
    if row.state == "partly":
        return _partly(desk, row)
    if row.state != "waiting":
        why = row.instead.why if row.instead else ""
        under = desk.say(f"no_reading.{why}") if row.state == "no_reading" and why else ""
        return Answer(word=desk.say(f"due_state.{row.state}"), colour="muted", under=under)
    if row.problem is not None:
        return Answer(word=desk.say("shift.not_in_this_bath"), colour="muted", under=desk.say_problem(row.problem))
    return _waiting(desk, row)


def _waiting(desk: Desk, row: ListRow) -> Answer:
    if row.status == "check_first":
        return _check_first(desk, _incident(desk, row))
    if row.status == "limited_use":
        return Answer("service", "limited_use", word=desk.say("status.limited_use"), under="")
    return Answer()


def _check_first(desk: Desk, under: str) -> Answer:
    return Answer("service", "check_first", word=desk.say("status.check_first"), colour="caution", under=under)


def _failed_elsewhere(desk: Desk, why: str, point: str) -> Answer:
    """Good at the point that the row shows, and not to be used for how it was left at another."""
    if why == "left_unread":
        return _check_first(desk, desk.say("shift.left_unread"))
    word, under = desk.say(f"lead.{OUTSIDE_WORD}"), desk.say(f"outcome.fail_at.{point}")
    return Answer("outcome", "fail", None, word, "outside", under)


def _incident(desk: Desk, row: ListRow) -> str:
    if row.incident is None:
        return ""
    code, at = row.incident
    return why_short("incident", {"incident": code, "incident_at": at}, desk.language, desk.site.payload.zone)


def _foreseen(desk: Desk, found: Provisional) -> Answer:
    judged, high = found.judged, found.judged.offset.value > 0
    if found.wants_more:
        under = desk.say("shift.more_wanted", count=found.wants_more)
        return Answer("outcome", judged.outcome, high, desk.say("shift.outside"), "outside", under)
    return _by_word(desk, found.word, judged.outcome, high, _way(desk, found.word, high))


def _partly(desk: Desk, row: ListRow) -> Answer:
    assert row.check is not None
    found = row.check.row
    high = found.reads_high
    under = desk.say("shift.more_wanted", count=found.wants_more)
    return Answer("outcome", found.judged.outcome, high, desk.say("shift.outside"), "outside", under)


def _recorded(desk: Desk, row: ListRow) -> Answer:
    check = row.check
    assert check is not None
    found, high = check.row, check.row.reads_high
    if row.failed_elsewhere != ("", ""):
        return _failed_elsewhere(desk, *row.failed_elsewhere)
    if check.bath_judged is None:
        then = desk.say("shift.then", word=desk.say(f"lead.{check.then}"))
        colour = "outside" if check.then == OUTSIDE_WORD else "muted"
        return Answer("lead", "waits", None, desk.say("lead.waits"), "muted", then, colour)
    left = check.as_left
    if row.status == "check_first" and (left.word if left else found.lead_word) in _MAY_BE_USED:
        return _check_first(desk, _incident(desk, row) or desk.say("shift.failed_elsewhere"))
    if left is None:
        return _by_word(desk, found.lead_word, found.judged.outcome, high, _way(desk, found.lead_word, high))
    if left.reading is None or left.judged is None:
        return Answer("lead", "waits", None, desk.say("lead.waits"), "muted", desk.say("shift.left_unread"))
    under = desk.say("shift.as_left_was", reading=desk.temperature(left.reading))
    return _by_word(desk, left.word, left.judged.outcome, left.judged.offset.value > 0, under)


def _by_word(desk: Desk, word: str, outcome: str, high: bool, under: str) -> Answer:
    kind, code = ("lead", "waits") if word == "waits" else ("outcome", outcome)
    return Answer(kind, code, high, desk.say(f"lead.{word}"), _COLOURS.get(word, "within"), under)


def _way(desk: Desk, word: str, high: bool) -> str:
    return desk.say("shift.reads_high" if high else "shift.reads_low") if word == OUTSIDE_WORD else ""


def _as_found(desk: Desk, row: ListRow) -> str:
    if row.check is None or not row.check.row.readings:
        return ""
    return desk.say("shift.as_found_was", reading=desk.temperature(row.check.row.readings[-1]))


def place_and_why(desk: Desk, row: ListRow) -> tuple[str, ...]:
    """Its station and why it is on the list: in one line, and in two."""
    code, values = row.why
    reason = why_short(code, values, desk.language, desk.site.payload.zone)
    if not row.station:
        return (reason,)
    return desk.say("shift.station_and_why", station=row.station, why=reason), f"{row.station}\n{reason}"
