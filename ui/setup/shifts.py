"""Shifts: the named working periods of each site, by which checks are wanted."""

from datetime import date

from registry.records.places import ShiftSet, SiteSet
from registry.services import places
from registry.services.lookup import Fact
from registry.services.places import WEEKDAYS
from registry.services.problems import Refused
from ui.desk import Desk
from ui.forms import CHOICE, Field
from ui.parts import MAIN, Button, on_press, row
from ui.setup import questions
from ui.setup.inline import Inline, Values, said
from ui.setup.part import Part
from ui.setup.questions import Days


class ShiftsPart(Part):
    name = "shifts"
    roles = ("officer",)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._new_id = ""  # of the shift being added; empty where the list is shown

    def fill(self) -> None:
        with self.desk.session.reading() as connection:
            self._sites, shifts = places.sites(connection), places.shifts(connection)
        if self._new_id:
            self._fill_form()
            return
        self.words("setup.about.shifts", muted=True)
        for site in self._sites:
            self._fill_site(site, [one.payload for one in shifts if one.payload.site == site.subject])
        if self.may_change:
            self.add = Button(self.look, self.say("setup.add_shift"))
            on_press(self.add, self.begin)
            self.put(8, row(self.add, None))

    def _fill_site(self, site: Fact[SiteSet], shifts: list[ShiftSet]) -> None:
        self.head("setup.site_head", name=site.payload.name, letters=site.payload.letters)
        if not shifts:
            self.words("setup.no_shifts", muted=True)
            return
        rows = [
            (
                one.name,
                self.say("setup.from_to", start=one.start, end=one.end),
                self._days(one.weekdays),
                self.desk.day(date.fromisoformat(one.from_day)),
            )
            for one in shifts
        ]
        self.table(("setup.shift_name", "setup.hours", "setup.weekdays", "setup.from_day"), rows, (3, 2, 4, 2))

    def _days(self, weekdays: tuple[int, ...]) -> str:
        if len(weekdays) == 7:
            return self.say("setup.every_day")
        return " ".join(self.say(f"cli.weekday.{WEEKDAYS[n]}") for n in weekdays)

    # --- adding ----------------------------------------------------------------------------------------------

    def begin(self) -> None:
        self._new_id = self.desk.session.new_id()
        self.read_again()
        self.form.form.input("shift").setFocus()

    def leave(self) -> None:
        self._new_id = ""
        self.read_again()

    def _fill_form(self) -> None:
        self.head("setup.add_shift")
        sites = tuple((one.subject, one.payload.name) for one in self._sites)
        today = self.desk.session.today(self.desk.site.payload)
        fields = [
            Field("site", self.say("setup.site"), CHOICE, self.desk.site.subject, sites),
            *questions.shift_fields(self.say, from_day=today),
        ]
        self.days = Days(self.look, self.say)
        self.form = Inline(
            self.desk, fields, self.say("setup.add_shift"), self._add, away=self.leave, kind=MAIN, extra=self.days
        )
        self.put(self.form)

    def _add(self, values: Values) -> None:
        problems = questions.problems_of(lambda: self._record(values))
        self.days.show_problems(problems, lambda one: said(one, self.desk))
        if problems:
            raise Refused(*problems)
        self._new_id = ""

    def _record(self, values: Values) -> None:
        places.add_shift(
            self.desk.session,
            self.desk.actor,
            values["site"],
            values["shift"],
            questions.read_time(values["start"]),
            questions.read_time(values["end"]),
            self.days.chosen(),
            date.fromisoformat(values["from_day"]),
            shift=self._new_id,
        )
