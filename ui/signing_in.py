"""Who works here now, and at which site."""

from registry.records.places import SiteSet
from registry.services import people, pins, settings
from registry.services.lookup import Fact
from registry.services.people import Person
from registry.services.session import Actor, actor_of
from ui.desk import Desk
from ui.forms import CHOICE, SECRET, Field

NOBODY = Person("", "", "", (), (), None)
LOOKING_ONLY = Actor("", frozenset())


def here(desk: Desk) -> list[Person]:
    """Everybody who may work here, by name; not who has left, nor whose initials alone came from an import."""
    with desk.session.reading() as connection:
        found = [one for one in people.people(connection) if one.left is None and one.roles]
    return sorted(found, key=lambda one: (one.name or one.initials).casefold())


def settle_who_and_where(desk: Desk) -> None:
    """At opening: whoever worked here last, unless a PIN guards them; else the only person there is; else nobody."""
    known = here(desk)
    last = settings.remembered(desk.local, "person")
    found = next((one for one in known if one.person == last), known[0] if len(known) == 1 else None)
    if found is None or pins.has_pin(desk.local, found.person):
        desk.person, desk.actor = NOBODY, LOOKING_ONLY
    else:
        _sit_down(desk, found)
    _stand_at(desk, settings.remembered(desk.local, "site"))


def _sit_down(desk: Desk, person: Person) -> None:
    with desk.session.reading() as connection:
        desk.actor = actor_of(connection, person.person)
    desk.person = person
    settings.remember(desk.local, "person", person.person)


def _stand_at(desk: Desk, wanted: str | None) -> None:
    sites = list(desk.sites())
    own = [one for one in sites if one.subject in desk.person.sites]
    found: Fact[SiteSet] | None = next((one for one in sites if one.subject == wanted), None)
    if found is None and sites:
        found = (own or sites)[0]
    if found is not None:
        desk.site = found
        settings.remember(desk.local, "site", found.subject)


def ask_who_and_where(desk: Desk) -> None:
    """A sheet with person, PIN and site. Whoever has no PIN leaves that field empty."""
    known = here(desk)
    persons = (("", desk.say("frame.nobody_looks")), *((one.person, one.name or one.initials) for one in known))
    sites = tuple((one.subject, one.payload.name) for one in desk.sites())
    fields = (
        Field("person", desk.say("frame.who"), CHOICE, desk.person.person, persons),
        Field("pin", desk.say("frame.pin"), SECRET, hint=desk.say("frame.pin_hint")),
        Field("site", desk.say("frame.where"), CHOICE, desk.site.subject, sites),
    )

    def answered(values: dict[str, str]) -> None:
        person = next((one for one in known if one.person == values["person"]), None)
        if person is None:
            desk.person, desk.actor = NOBODY, LOOKING_ONLY
        else:
            if person.person != desk.person.person and pins.has_pin(desk.local, person.person):
                pins.check_pin(desk.local, person.person, values["pin"])
            _sit_down(desk, person)
        settings.remember(desk.local, "site", values["site"])
        _stand_at(desk, values["site"])
        desk.rebuild.emit()

    desk.ask.fill(desk.say("frame.who_and_where"), fields, desk.say("frame.go_on"), answered)
