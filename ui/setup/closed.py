"""Closed days of a site, a shift or a station: seen under its shifts, said in a form, withdrawn by a press."""

from collections.abc import Callable, Sequence
from datetime import date

from registry.records.places import CalendarSet, ShiftSet, StationSet
from registry.services import calendars
from registry.services.lookup import Fact
from ui.desk import Desk
from ui.forms import CHOICE, DAY, FEW, Field
from ui.parts import Button, on_press
from ui.setup.inline import Values
from ui.setup.part import Cell

Named = Sequence[Fact[ShiftSet]] | Sequence[Fact[StationSet]]


def heads(*, may_change: bool) -> list[str]:
    return ["setup.closed_days", "setup.closed_what", "setup.closed_why", *([""] if may_change else [])]


def shown(desk: Desk, one: CalendarSet, shifts: Named, stations: Named) -> list[Cell]:
    """Its days, what is closed or open, and why."""
    first, last = date.fromisoformat(one.from_day), date.fromisoformat(one.to_day)
    days = desk.say("setup.closed_from_to", first=desk.day(first), last=desk.day(last))
    why = desk.say(f"setup.closed_because.{one.why}") if one.why else ""
    return [desk.day(first) if first == last else days, _what(desk, one, shifts, stations), why]


def _what(desk: Desk, one: CalendarSet, shifts: Named, stations: Named) -> str:
    chosen = {*(one.shifts or ()), *(one.stations or ())}
    names = [each.payload.name for each in (*stations, *shifts) if each.subject in chosen]
    kind = one.calendar_kind if one.calendar_kind in calendars.KINDS else "closed"
    return desk.say(f"setup.is_{kind}", what=", ".join(names) or desk.say("setup.whole_site"))


def withdraw_button(desk: Desk, days: str, then: Callable[[], object]) -> Button:
    button = Button(desk.look, desk.say("setup.withdraw_days"))
    button.setAccessibleName(desk.say("setup.withdraw_days_of", days=days))
    on_press(button, then)
    return button


def withdraw(desk: Desk, one: CalendarSet, days: str) -> None:
    """Asked first: what was closed already stays so."""

    def sure() -> None:
        desk.did(lambda: calendars.withdraw(desk.session, desk.actor, one.site, one.calendar))

    question, yes = desk.say("setup.withdraw_days_sure", days=days), desk.say("setup.withdraw_days")
    desk.ask.sure(question, yes, sure, details=desk.say("setup.withdraw_days_means"))


def fields(desk: Desk, today: date, shifts: Named, stations: Named) -> list[Field]:
    say = desk.say
    what = [("", say("setup.whole_site"))]
    what += [(f"station {one.subject}", say("setup.station_is", name=one.payload.name)) for one in stations]
    what += [(f"shift {one.subject}", say("setup.shift_is", name=one.payload.name)) for one in shifts]
    why = (*((one, say(f"setup.closed_because.{one}")) for one in calendars.WHY), ("", say("setup.not_said")))
    kinds = tuple((one, say(f"setup.kind_{one}")) for one in calendars.KINDS)
    return [
        Field("from_day", say("setup.closed_first"), DAY, today.isoformat()),
        Field("to_day", say("setup.closed_last"), DAY, today.isoformat()),
        Field("what", say("setup.closed_what"), CHOICE, "", tuple(what)),
        Field("kind", say("setup.closed_or_open"), FEW, "closed", kinds, hint=say("setup.open_hint")),
        Field("why", say("setup.closed_why"), CHOICE, calendars.WHY[0], why),
    ]


def record(desk: Desk, site: str, values: Values, calendar: str) -> None:
    """calendar: its id, made when the form was opened, so that pressing twice says it once."""
    part, _, one = values["what"].partition(" ")
    calendars.state(
        desk.session,
        desk.actor,
        site,
        date.fromisoformat(values["from_day"]),
        date.fromisoformat(values["to_day"]),
        kind=values["kind"],
        shifts=(one,) if part == "shift" else (),
        stations=(one,) if part == "station" else (),
        why=values["why"] or None,
        calendar=calendar,
    )
