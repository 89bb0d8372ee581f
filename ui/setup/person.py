"""One person: roles, training, PIN, leaving, and the name, which can be erased."""

import re
from datetime import date
from unicodedata import normalize

from registry.services import mend, people, pins, set_up
from registry.services.people import Person
from registry.services.problems import refuse
from registry.services.session import actor_of
from registry.services.set_up import Training
from ui.desk import Desk
from ui.forms import CHOICE, DAY, SECRET, Field
from ui.parts import Button, Words, on_press, row
from ui.setup import roles
from ui.setup.inline import Inline, Values
from ui.setup.part import Part
from ui.signing_in import LOOKING_ONLY, NOBODY

YEARS = (1, 2, 3, 5)
WHY_VOID = ("mistyped", "not_done", "twice", "other_reason")


class PersonShown(Part):
    """What is known of one person, and what may be done about it by who is signed in."""

    def __init__(self, desk: Desk, person: Person, sites: roles.Sites) -> None:
        super().__init__(desk)
        self.person, self._sites = person, sites
        self._changing = False  # the roles
        self.named = person.name or self.say("setup.no_name")
        self.read_again()

    def fill(self) -> None:
        one, desk = self.person, self.desk
        self.put(Words(self.look, self.named, 22, bold=True))
        held = ", ".join(self.say(f"role.{role}") for role in one.roles)
        initials = one.initials or self.say("setup.no_name")
        works_at = [site.payload.name for site in self._sites if site.subject in one.sites]
        self.facts(
            [
                ("setup.initials", initials),
                ("setup.roles", held or self.say("setup.no_role")),
                ("setup.sites_of", ", ".join(works_at) or self.say("setup.every_site")),
            ]
        )
        if one.left is None and desk.may("officer"):
            self._fill_roles()
        self._fill_training()
        if one.left is None and (desk.actor.person == one.person or desk.actor.may("administrator")):
            self._fill_pin()
        if one.left is None and desk.may("officer"):
            self._fill_leaving()
        if desk.may("administrator") and (one.name or one.initials):
            self._fill_erasing()

    def _today(self) -> str:
        return self.desk.session.today(self.desk.site.payload).isoformat()

    # --- roles -----------------------------------------------------------------------------------------------

    def _fill_roles(self) -> None:
        one = self.person
        if "administrator" in one.roles and not self.desk.may("administrator"):
            self.words("setup.administrators_roles", muted=True)
        elif not self._changing:
            self.change = Button(self.look, self.say("setup.change_roles"))
            on_press(self.change, lambda: self.change_roles(True))
            self.put(row(self.change, None))
        else:
            self.head("setup.change_roles")
            self.words("setup.roles_from_now", muted=True)
            self.roles_form = Inline(
                self.desk,
                roles.fields(self.desk, self._sites, one.roles, one.sites),
                self.say("setup.keep_roles"),
                self._change_roles,
                away=lambda: self.change_roles(False),
            )
            self.put(self.roles_form)

    def change_roles(self, begin: bool) -> None:
        self._changing = begin
        self.read_again()
        (self.roles_form.form.input("role_lead") if begin else self.change).setFocus()

    def _change_roles(self, values: Values) -> None:
        desk, person = self.desk, self.person.person
        chosen, sites = roles.read(values, self._sites, self.person.sites)
        people.change_person(desk.session, desk.actor, person, chosen, sites)
        if person == desk.person.person:  # what one may do oneself has changed, and the column says it
            with desk.session.reading() as connection:
                desk.actor = actor_of(connection, person)
                desk.person = next(one for one in people.people(connection) if one.person == person)
            desk.rebuild.emit()

    # --- training --------------------------------------------------------------------------------------------

    def _fill_training(self) -> None:
        with self.desk.session.reading() as connection:
            found = set_up.trainings(connection, self.person.person)
        self.head("setup.training")
        may = self.desk.may("officer")
        if found:
            rows = [self._trained(one, may) for one in found]
            self.table(("setup.trained_in", "setup.day", "setup.holds_until", ""), rows, (3, 2, 2, 0))
        else:
            self.words("setup.no_training", muted=True)
        if may and self.person.left is None:
            years = tuple((str(n), self.say("setup.holds_years", count=n)) for n in YEARS)
            fields = [
                Field("kind", self.say("setup.trained_in"), hint=self.say("setup.trained_hint")),
                Field("day", self.say("setup.day"), DAY, self._today()),
                Field("years", self.say("setup.holds"), CHOICE, "", (("", self.say("setup.holds_ever")), *years)),
            ]
            self._training_id = self.desk.session.new_id()
            self.training = Inline(self.desk, fields, self.say("setup.record_training"), self._train)
            self.put(self.training)

    def _trained(self, one: Training, may: bool) -> tuple[str | Button, ...]:
        what = one.kind.replace("_", " ").capitalize()
        until = self.desk.day(one.until) if one.until else ""
        if not may:
            return what, self.desk.day(one.day), until, ""
        void = Button(self.look, self.say("setup.void_training"))
        void.setAccessibleName(self.say("setup.void_training_of", what=what, day=self.desk.day(one.day)))
        on_press(void, lambda: self._ask_why(one))
        return what, self.desk.day(one.day), until, void

    def _ask_why(self, one: Training) -> None:
        reasons = tuple((why, _begun(self.say(f"story.void_why.{why}"))) for why in WHY_VOID)
        self.desk.ask.choose(self.say("setup.void_training_why"), reasons, lambda why: self._void(one, why))

    def _void(self, one: Training, why: str) -> None:
        self.desk.did(lambda: mend.void(self.desk.session, self.desk.actor, one.number, why))

    def _train(self, values: Values) -> None:
        day = date.fromisoformat(values["day"])
        people.record_training(
            self.desk.session,
            self.desk.actor,
            self.person.person,
            code_of(values["kind"]),
            day,
            until=_years_on(day, int(values["years"])) if values["years"] else None,
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


def _years_on(day: date, years: int) -> date:
    """The same day so many years on; of a leap day the last one of February."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)


def _begun(words: str) -> str:
    return words[:1].upper() + words[1:]


def code_of(typed: str) -> str:
    """A kind of training as it is kept: `Ice point` is ice_point; letters with accents are taken as plain ones."""
    plain = normalize("NFD", typed.strip().lower()).encode("ascii", "ignore").decode()
    found = re.sub(r"[\s-]+", "_", plain)
    if not re.fullmatch(r"[a-z][a-z0-9]*(_[a-z0-9]+)*", found):
        raise refuse("kind", "empty" if not typed.strip() else "not_a_word", value=typed)
    return found
