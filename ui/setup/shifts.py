"""Shifts: the named working periods of each site, by which checks are wanted, and the days on which it is closed."""

from collections.abc import Callable
from datetime import date

from registry.records.places import CalendarSet, ShiftSet, SiteSet, StationSet
from registry.services import calendars, places
from registry.services.lookup import Fact
from registry.services.places import WEEKDAYS, NewShift
from registry.services.problems import Refused
from ui.desk import Desk
from ui.forms import CHOICE, DAY, Field
from ui.parts import MAIN, Button, on_press, row
from ui.setup import closed, questions
from ui.setup.inline import Inline, Values, said
from ui.setup.part import Cell, Part
from ui.setup.questions import Days


class ShiftsPart(Part):
    name = "shifts"
    roles = ("officer",)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._new_id = ""  # of the shift being added; empty where the list is shown
        self.changing = ""  # the id of the shift being changed
        self.closing: Fact[SiteSet] | None = None  # the site of which closed days are being said

    def fill(self) -> None:
        with self.desk.session.reading() as connection:
            self._sites, self._shifts = places.sites(connection), places.shifts(connection)
            self._stations = places.stations(connection)
            self._calendars = {
                one.subject: calendars.to_come(connection, one.subject, self._today(one)) for one in self._sites
            }
        changed = next((one.payload for one in self._shifts if one.subject == self.changing), None)
        if self.closing is not None:
            self._fill_closing(self.closing)
        elif self._new_id:
            self._fill_form()
        elif changed is not None:
            self._fill_change(changed)
        else:
            self._fill_list()

    def _fill_list(self) -> None:
        self.words("setup.about.shifts", muted=True)
        for site in self._sites:
            self._fill_site(site, [one.payload for one in self._shifts if one.payload.site == site.subject])
        if self.may_change:
            self.add = Button(self.look, self.say("setup.add_shift"))
            on_press(self.add, self.begin)
            self.put(8, row(self.add, None))

    def _fill_site(self, site: Fact[SiteSet], shifts: list[ShiftSet]) -> None:
        self.head("setup.site_head", name=site.payload.name, letters=site.payload.letters)
        if not shifts:
            self.words("setup.no_shifts", muted=True)
            self._fill_closed(site)
            return
        rows = [self._row(one) for one in shifts]
        heads = ["setup.shift_name", "setup.hours", "setup.weekdays", "setup.worked"]
        self.table([*heads, ""] if self.may_change else heads, rows, [3, 2, 3, 4, 0][: len(rows[0])])
        self._fill_closed(site)

    def _row(self, one: ShiftSet) -> list[Cell]:
        hours = self.say("setup.from_to", start=one.start, end=one.end)
        cells: list[Cell] = [one.name, hours, self._days(one.weekdays), self._period(one)]
        return [*cells, self._change_button(one)] if self.may_change else cells

    def _period(self, one: ShiftSet) -> str:
        first = self.desk.day(date.fromisoformat(one.from_day))
        if one.to_day is None:
            return self.say("setup.worked_from", day=first)
        return self.say("setup.worked_from_until", day=first, last=self.desk.day(date.fromisoformat(one.to_day)))

    def _days(self, weekdays: tuple[int, ...]) -> str:
        if len(weekdays) == 7:
            return self.say("setup.every_day")
        return " ".join(self.say(f"cli.weekday.{WEEKDAYS[n]}") for n in weekdays)

    def _change_button(self, one: ShiftSet) -> Button:
        button = Button(self.look, self.say("setup.change_shift"))
        button.setAccessibleName(self.say("setup.change_shift_named", name=one.name))
        on_press(button, lambda: self.change(one.shift))
        return button

    # --- adding ----------------------------------------------------------------------------------------------

    def begin(self) -> None:
        self._new_id = self.desk.session.new_id()
        self.read_again()
        self.form.form.input("shift").setFocus()

    def leave(self) -> None:
        self._new_id = self.changing = ""
        self.closing = None
        self.read_again()

    def _fill_form(self) -> None:
        self.head("setup.add_shift")
        sites = tuple((one.subject, one.payload.name) for one in self._sites)
        fields = [
            Field("site", self.say("setup.site"), CHOICE, self.desk.site.subject, sites),
            *questions.shift_fields(self.say, from_day=self._today(self.desk.site)),
        ]
        self.days = Days(self.look, self.say)
        self.form = Inline(
            self.desk, fields, self.say("setup.add_shift"), self._add, away=self.leave, kind=MAIN, extra=self.days
        )
        self.put(self.form)

    def _today(self, site: Fact[SiteSet]) -> date:
        return self.desk.session.today(site.payload)

    def _add(self, values: Values) -> None:
        self._try(lambda: self._record(values))
        self._new_id = ""

    def _try(self, action: Callable[[], object]) -> None:
        """The days are no field of the form: what is wrong with them is said beside them."""
        problems = questions.problems_of(action)
        self.days.show_problems(problems, lambda one: said(one, self.desk))
        if problems:
            raise Refused(*problems)

    def _record(self, values: Values) -> None:
        new = self._read(values)
        places.add_shift(
            self.desk.session,
            self.desk.actor,
            values["site"],
            new.name,
            new.start,
            new.end,
            new.weekdays,
            date.fromisoformat(values["from_day"]),
            shift=self._new_id,
        )

    def _read(self, values: Values) -> NewShift:
        start, end = (questions.read_time(values[one]) for one in ("start", "end"))
        return NewShift(values["shift"], start, end, self.days.chosen())

    # --- changing, ending ------------------------------------------------------------------------------------

    def change(self, shift: str) -> None:
        self.changing = shift
        self.read_again()
        self.form.form.input("shift").setFocus()

    def _fill_change(self, one: ShiftSet) -> None:
        self.head("setup.change_shift_named", name=one.name)
        self.words("setup.shift_counts_from_next", muted=True)
        self.days = Days(self.look, self.say, one.weekdays)
        self.form = Inline(
            self.desk,
            questions.shift_fields(self.say, one),
            self.say("setup.keep"),
            self._change,
            away=self.leave,
            kind=MAIN,
            extra=self.days,
        )
        self.put(self.form)
        self.head("setup.end_shift")
        if one.to_day is not None:
            self.words("setup.shift_ends", day=self.desk.day(date.fromisoformat(one.to_day)))
            self.goes_on = Button(self.look, self.say("setup.shift_goes_on"))
            on_press(self.goes_on, lambda: self.desk.did(lambda: self._end(None)))
            self.put(row(self.goes_on, None))
            return
        self.words("setup.end_shift_why", muted=True)
        site = next(found for found in self._sites if found.subject == one.site)
        fields = [Field("last_day", self.say("setup.last_day_worked"), DAY, self._today(site).isoformat())]
        self.ending = Inline(
            self.desk, fields, self.say("setup.end_it"), lambda said: self._end(date.fromisoformat(said["last_day"]))
        )
        self.put(self.ending)

    def _change(self, values: Values) -> None:
        shift = self.changing
        self._try(lambda: places.change_shift(self.desk.session, self.desk.actor, shift, self._read(values)))
        self.changing = ""

    def _end(self, last_day: date | None) -> None:
        places.end_shift(self.desk.session, self.desk.actor, self.changing, last_day)
        self.changing = ""

    # --- closed days -----------------------------------------------------------------------------------------

    def _fill_closed(self, site: Fact[SiteSet]) -> None:
        rows = [self._closed_row(one, site) for one in self._calendars[site.subject]]
        if rows:
            self.put(8)
            self.table(closed.heads(may_change=self.may_change), rows, [4, 4, 3, 0][: len(rows[0])])
        else:
            self.words("setup.closed_none", muted=True)
        if self.may_change:
            button = Button(self.look, self.say("setup.close_days"))
            button.setAccessibleName(self.say("setup.close_days_at", name=site.payload.name))
            on_press(button, lambda: self.begin_closing(site))
            self.put(row(button, None))

    def _closed_row(self, one: CalendarSet, site: Fact[SiteSet]) -> list[Cell]:
        cells = closed.shown(self.desk, one, *self._of(site))
        if not self.may_change:
            return cells
        days = f"{cells[0]}, {cells[1]}"
        return [*cells, closed.withdraw_button(self.desk, days, lambda: closed.withdraw(self.desk, one, days))]

    def _of(self, site: Fact[SiteSet]) -> tuple[list[Fact[ShiftSet]], list[Fact[StationSet]]]:
        shifts = [one for one in self._shifts if one.payload.site == site.subject]
        return shifts, [one for one in self._stations if one.payload.site == site.subject]

    def begin_closing(self, site: Fact[SiteSet]) -> None:
        self.closing, self._closing_id = site, self.desk.session.new_id()
        self.read_again()
        self.form.form.input("from_day").setFocus()

    def _fill_closing(self, site: Fact[SiteSet]) -> None:
        self.head("setup.close_days_at", name=site.payload.name)
        self.words("setup.closed_means", muted=True)
        asked = closed.fields(self.desk, self._today(site), *self._of(site))
        self.form = Inline(self.desk, asked, self.say("setup.keep_days"), self._close, away=self.leave, kind=MAIN)
        self.put(self.form)

    def _close(self, values: Values) -> None:
        assert self.closing is not None
        closed.record(self.desk, self.closing.subject, values, self._closing_id)
        self.closing = None
