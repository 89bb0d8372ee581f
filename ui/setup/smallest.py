"""How many usable thermometers of a type each station needs at least: seen, and said in a form."""

from collections.abc import Sequence

from registry import resources
from registry.records.places import StationSet
from registry.services import working_set
from registry.services.lookup import Fact
from registry.services.problems import refuse
from ui.desk import Desk
from ui.forms import CHOICE, Field
from ui.setup.inline import Values


def sentence(desk: Desk, stations: Sequence[Fact[StationSet]]) -> str:
    """All that is needed at a site's stations, in one line."""
    said = [
        desk.say("setup.needs", station=one.payload.name, count=count, type=desk.say(f"type.{kind}"))
        for one in stations
        for kind, count in sorted((one.payload.smallest or {}).items())
    ]
    return "; ".join(said) or desk.say("setup.needs_none")


def fields(desk: Desk, stations: Sequence[Fact[StationSet]]) -> list[Field]:
    say = desk.say
    names = tuple((one.subject, one.payload.name) for one in stations)
    types = tuple((one, say(f"type.{one}")) for one in resources.instrument_types())
    return [
        Field("station", say("setup.station"), CHOICE, choices=names),
        Field("type", say("setup.type"), CHOICE, choices=types),
        Field("smallest", say("setup.smallest_count"), hint=say("setup.smallest_hint", most=working_set.MOST)),
    ]


def record(desk: Desk, values: Values) -> None:
    typed = values["smallest"]
    if not typed:
        raise refuse("smallest", "empty")
    if not (typed.isascii() and typed.isdigit()):
        raise refuse("smallest", "not_valid", value=typed)
    working_set.set_smallest(desk.session, desk.actor, values["station"], {values["type"]: int(typed)})
