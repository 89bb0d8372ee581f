"""What a first start asks about the group and makes: each step once, whatever was pressed or cut off before."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from registry import resources
from registry.services import people, pins, places, settings
from registry.services.people import Person
from registry.services.problems import Problem
from registry.services.session import actor_of
from registry.services.start import FirstStart, first_start
from ui.forms import CHOICE, FEW, SECRET, Field
from ui.setup import country, questions
from ui.setup.inline import Values

if TYPE_CHECKING:
    from registry.services.session import Actor, Session

Say = Callable[..., str]
MOST_INITIALS = 6


def group_fields(say: Say, language: str) -> list[Field]:
    languages = tuple((one, say(f"setting.language_{one}")) for one in resources.languages())
    choose = (("", say("start.choose_country")),)
    return [
        Field("language", say("start.language"), FEW, language, languages),
        Field("country", say("start.country"), CHOICE, "", (*choose, *country.countries(language))),
    ]


def jurisdiction_field(say: Say) -> Field:
    return Field("jurisdiction", say("start.jurisdiction"), CHOICE)


def name_fields(say: Say) -> list[Field]:
    return [Field("group_name", say("start.group_name"), hint=say("start.group_name_hint"))]


def you_fields(say: Say) -> list[Field]:
    return [
        Field("administrator", say("start.your_name"), hint=say("start.your_name_hint")),
        Field("initials", say("start.your_initials"), hint=say("start.your_initials_hint")),
    ]


def plan_field(say: Say) -> Field:
    plans = tuple((one, say(f"setup.plan_name.{one}")) for one in resources.default_plans())
    return Field("plan", say("start.plan_which"), FEW, "each_shift", plans)


@dataclass
class Beginning:
    """A first start under way. A session that is there already only lacks its first site."""

    home: Path
    session: Session | None = None
    actor: Actor | None = None
    ids: dict[str, str] = field(default_factory=dict)

    @property
    def country(self) -> str:
        if self.session is None:
            return country.likely_country()
        with self.session.reading() as connection:
            return str(self.session.group(connection).payload.country)

    # --- who, where the group is there already ---------------------------------------------------------------

    def _who_may(self) -> list[Person]:
        assert self.session is not None
        with self.session.reading() as connection:
            known = people.people(connection)
        return [one for one in known if one.left is None and {"officer", "administrator"} & set(one.roles)]

    def person_fields(self, say: Say) -> list[Field]:
        persons = tuple((one.person, one.name or one.initials) for one in self._who_may())
        return [
            Field("person", say("frame.who"), CHOICE, "", persons),
            Field("pin", say("frame.pin"), SECRET, hint=say("frame.pin_hint")),
        ]

    # --- what stands against it ------------------------------------------------------------------------------

    def problems(self, values: Values) -> list[Problem]:
        """What is plainly missing or no number, all at once; the services look at the rest."""
        wanted = ["name", "letters", "shift", "start", "end"]
        if self.session is None:
            wanted += ["country", "group_name", "administrator", "initials"]
        found = questions.missing(values, *wanted)
        found += questions.problems_of(lambda: questions.read_elevation(values["elevation"], values["elevation_unit"]))
        if len(values.get("initials", "").strip()) > MOST_INITIALS:
            found.append(Problem("initials", "not_valid"))
        if not values["days"]:
            found.append(Problem("weekdays", "empty"))
        return found

    # --- doing it --------------------------------------------------------------------------------------------

    def work(self, values: Values) -> Callable[[Any], Session]:
        """The work to be done beside the window."""
        return lambda _progress: self.begin(values)

    def begin(self, values: Values) -> Session:
        """Make the registry, its first site and its first shift; what was made by an earlier press is kept."""
        site = questions.read_site(values)
        session, actor = self._opened(values)
        here = self._id("site")
        places.add_site(session, actor, site, site=here)
        with session.reading() as connection:
            today = session.today(places.site_named_by_id(connection, here).payload)
        places.add_shift(
            session,
            actor,
            here,
            values["shift"],
            questions.read_time(values["start"]),
            questions.read_time(values["end"]),
            tuple(int(one) for one in values["days"]),
            today,
            shift=self._id("shift"),
        )
        return session

    def _opened(self, values: Values) -> tuple[Session, Actor]:
        if self.session is not None and self.actor is None:
            pins.check_pin(settings.local_file(self.home), values["person"], values["pin"])
            with self.session.reading() as connection:
                self.actor = actor_of(connection, values["person"])
        if self.session is None:
            self.session, self.actor = first_start(self.home, _asked(values))
        assert self.actor is not None
        return self.session, self.actor

    def _id(self, name: str) -> str:
        assert self.session is not None
        if name not in self.ids:
            self.ids[name] = self.session.new_id()
        return self.ids[name]

    def remember(self, local: Any) -> None:
        """Who began is who works here when the window opens."""
        assert self.actor is not None
        settings.remember(local, "person", self.actor.person)
        settings.remember(local, "site", self.ids["site"])


def _asked(values: Values) -> FirstStart:
    return FirstStart(
        values["group_name"],
        values["country"],
        values["administrator"],
        values["initials"],
        jurisdiction=values["jurisdiction"] or None,
        language="es" if values["language"] == "es" else "en",
        plan=values["plan"],
    )
