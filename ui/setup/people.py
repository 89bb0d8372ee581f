"""People: who works here with which role; one of them opened shows the rest."""

from datetime import date

from registry.services import people, pins, places
from registry.services.people import Person
from ui.desk import Desk
from ui.forms import Field
from ui.parts import LINK, MAIN, Button, on_press, row
from ui.setup import roles
from ui.setup.inline import Inline, Values
from ui.setup.part import Part
from ui.setup.person import PersonShown


class PeoplePart(Part):
    name = "people"
    roles = ("officer",)  # who may change something here

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.opened = ""  # the person who is shown alone
        self._new_id = ""  # of the person being added

    def fill(self) -> None:
        with self.desk.session.reading() as connection:
            self._people = people.people(connection)
            self._sites = places.sites(connection)
        person = next((one for one in self._people if one.person == self.opened), None)
        if person is not None:
            self.back = Button(self.look, self.say("setup.all_people"), LINK)
            on_press(self.back, self.leave)
            self.shown = PersonShown(self.desk, person, self._sites)
            self.put(row(self.back, None), self.shown)
        elif self._new_id:
            self._fill_form()
        else:
            self._fill_list()

    def _fill_list(self) -> None:
        self.words("setup.about.people", muted=True)
        here = [one for one in self._people if one.left is None and one.roles]
        gone = [one for one in self._people if one not in here]
        heads = ("setup.name", "setup.initials", "setup.roles", "setup.sites_of", "setup.pin", "")
        self.table(heads, [self._row(one) for one in here], (3, 0, 3, 3, 0, 0))
        if self.may_change:
            self.add = Button(self.look, self.say("setup.add_person"))
            on_press(self.add, self.begin)
            self.put(8, row(self.add, None))
        if gone:
            self.head("setup.not_here_now")
            self.table(
                ("setup.name", "setup.initials", "setup.left", ""), [self._gone(one) for one in gone], (3, 1, 2, 0)
            )

    def _row(self, one: Person) -> tuple[str | Button, ...]:
        pin = pins.has_pin(self.desk.local, one.person)
        return (
            self._name(one),
            one.initials,
            ", ".join(self.say(f"role.{role}") for role in one.roles),
            ", ".join(site.payload.name for site in self._sites if site.subject in one.sites)
            or self.say("setup.every_site"),
            self.say("setup.pin_set" if pin else "setup.pin_none"),
            self._open_button(one),
        )

    def _gone(self, one: Person) -> tuple[str | Button, ...]:
        left = self.desk.day(date.fromisoformat(one.left)) if one.left else self.say("setup.never_worked_here")
        return self._name(one), one.initials, left, self._open_button(one)

    def _name(self, one: Person) -> str:
        return one.name or self.say("setup.no_name")

    def _open_button(self, one: Person) -> Button:
        button = Button(self.look, self.say("setup.open"))
        button.setAccessibleName(self.say("setup.open_person", name=one.name or one.initials))
        on_press(button, lambda: self.open(one.person))
        return button

    def open(self, person: str) -> None:
        self.opened, self._new_id = person, ""
        self.read_again()
        self.back.setFocus()

    def leave(self) -> None:
        self.opened = self._new_id = ""
        self.read_again()

    # --- adding ----------------------------------------------------------------------------------------------

    def begin(self) -> None:
        self._new_id = self.desk.session.new_id()
        self.read_again()
        self.form.form.input("name").setFocus()

    def _fill_form(self) -> None:
        self.head("setup.add_person")
        fields = [
            Field("name", self.say("setup.name")),
            Field("initials", self.say("setup.initials"), hint=self.say("setup.initials_hint")),
            *roles.fields(self.desk, self._sites),
        ]
        self.form = Inline(self.desk, fields, self.say("setup.add_person"), self._add, away=self.leave, kind=MAIN)
        self.put(self.form)

    def _add(self, values: Values) -> None:
        chosen, sites = roles.read(values, self._sites)
        people.add_person(
            self.desk.session,
            self.desk.actor,
            values["name"],
            values["initials"],
            chosen,
            sites,
            person=self._new_id,
        )
        self._new_id = ""
