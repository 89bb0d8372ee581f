"""One person: training, PIN, leaving, and the name, which can be erased."""

import re
from datetime import date
from unicodedata import normalize

from registry.services import people, pins, set_up
from registry.services.people import Person
from registry.services.problems import refuse
from ui.desk import Desk
from ui.forms import DAY, SECRET, Field
from ui.parts import Button, Words, on_press, row
from ui.setup.inline import Inline, Values
from ui.setup.part import Part
from ui.signing_in import LOOKING_ONLY, NOBODY


class PersonShown(Part):
    """What is known of one person, and what may be done about it by who is signed in."""

    def __init__(self, desk: Desk, person: Person) -> None:
        super().__init__(desk)
        self.person = person
        self.named = person.name or self.say("setup.no_name")
        self.read_again()

    def fill(self) -> None:
        one, desk = self.person, self.desk
        self.put(Words(self.look, self.named, 22, bold=True))
        roles = ", ".join(self.say(f"role.{role}") for role in one.roles)
        initials = one.initials or self.say("setup.no_name")
        self.facts([("setup.initials", initials), ("setup.roles", roles or self.say("setup.no_role"))])
        self._fill_training()
        if one.left is None and (desk.actor.person == one.person or desk.actor.may("administrator")):
            self._fill_pin()
        if one.left is None and desk.may("officer"):
            self._fill_leaving()
        if desk.may("administrator") and (one.name or one.initials):
            self._fill_erasing()

    def _today(self) -> str:
        return self.desk.session.today(self.desk.site.payload).isoformat()

    # --- training --------------------------------------------------------------------------------------------

    def _fill_training(self) -> None:
        with self.desk.session.reading() as connection:
            found = set_up.trainings(connection, self.person.person)
        self.head("setup.training")
        if found:
            rows = [(one.kind.replace("_", " ").capitalize(), self.desk.day(one.day)) for one in found]
            self.table(("setup.trained_in", "setup.day"), rows, (3, 2))
        else:
            self.words("setup.no_training", muted=True)
        if self.desk.may("officer") and self.person.left is None:
            fields = [
                Field("kind", self.say("setup.trained_in"), hint=self.say("setup.trained_hint")),
                Field("day", self.say("setup.day"), DAY, self._today()),
            ]
            self._training_id = self.desk.session.new_id()
            self.training = Inline(self.desk, fields, self.say("setup.record_training"), self._train)
            self.put(self.training)

    def _train(self, values: Values) -> None:
        people.record_training(
            self.desk.session,
            self.desk.actor,
            self.person.person,
            code_of(values["kind"]),
            date.fromisoformat(values["day"]),
            training=self._training_id,
        )

    # --- PIN -------------------------------------------------------------------------------------------------

    def _fill_pin(self) -> None:
        self.head("setup.pin")
        self.words("setup.pin_why", muted=True)
        fields = [
            Field("pin", self.say("setup.pin_new"), SECRET, hint=self.say("setup.pin_hint")),
            Field("again", self.say("setup.pin_again"), SECRET),
        ]
        self.pin = Inline(self.desk, fields, self.say("setup.set_pin"), self._set_pin)
        self.put(self.pin)

    def _set_pin(self, values: Values) -> None:
        if values["pin"] != values["again"]:
            raise refuse("again", "not_the_same")
        pins.set_pin(self.desk.local, self.desk.actor, self.person.person, values["pin"])
        self.desk.notice(self.say("setup.pin_is_set", name=self.named))

    # --- leaving, erasing ------------------------------------------------------------------------------------

    def _fill_leaving(self) -> None:
        self.head("setup.leaving")
        self.words("setup.leaving_why", muted=True)
        fields = [Field("day", self.say("setup.last_day"), DAY, self._today())]
        self.leaving = Inline(self.desk, fields, self.say("setup.has_left"), self._left)
        self.put(self.leaving)

    def _left(self, values: Values) -> None:
        desk, person = self.desk, self.person.person
        people.person_left(desk.session, desk.actor, person, date.fromisoformat(values["day"]))
        if person == desk.person.person:
            desk.person, desk.actor = NOBODY, LOOKING_ONLY
            desk.rebuild.emit()

    def _fill_erasing(self) -> None:
        self.head("setup.erasing")
        self.words("setup.erasing_why", muted=True)
        self.erase = Button(self.look, self.say("setup.erase"))
        on_press(self.erase, self._ask_to_erase)
        self.put(row(self.erase, None))

    def _ask_to_erase(self) -> None:
        self.desk.ask.sure(
            self.say("setup.erase_sure", name=self.person.name or self.person.initials),
            self.say("setup.erase"),
            self._erase,
            details=self.say("setup.erasing_why"),
        )

    def _erase(self) -> None:
        self.desk.did(lambda: people.erase_person(self.desk.session, self.desk.actor, self.person.person))


def code_of(typed: str) -> str:
    """A kind of training as it is kept: `Ice point` is ice_point; letters with accents are taken as plain ones."""
    plain = normalize("NFD", typed.strip().lower()).encode("ascii", "ignore").decode()
    found = re.sub(r"[\s-]+", "_", plain)
    if not re.fullmatch(r"[a-z][a-z0-9]*(_[a-z0-9]+)*", found):
        raise refuse("kind", "empty" if not typed.strip() else "not_a_word", value=typed)
    return found
