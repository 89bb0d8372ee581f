"""What people do at the bath, as plain data: so it can be drafted, done, and done again with the same ids."""

from collections.abc import Iterator
from random import Random
from typing import Any

from registry.quantity import Reading
from registry.services import baths, checks, incidents
from registry.services.baths import NewBath
from registry.services.checks import AdjustmentGiven, ReadingGiven
from registry.services.session import Actor, Session

Act = dict[str, Any]
# The key of the id that an act brings along, and of the payload that then holds it.
ID_OF = {"bath": "bath", "reading": "reading", "adjustment": "adjustment", "incident": "incident"}
KINDS = {
    "bath": "bath_made",
    "reading": "reading_taken",
    "adjustment": "adjusted",
    "incident": "incident_reported",
}


def perform(session: Session, actor: Actor, act: Act) -> Any:
    """Do one act; a second time with the same ids is a second press."""
    match act["act"]:
        case "bath":
            new = NewBath(act["site"], "ice_point", "crushed_packed")
            return baths.make_bath(session, actor, new, bath=act["bath"])
        case "reading":
            return checks.take_reading(session, actor, _reading(act), last=act["last"])
        case "judge":
            return baths.judge_bath(session, actor, act["bath"], act["judged"])
        case "adjustment":
            left = Reading.from_text(act["as_left"])
            given = AdjustmentGiven(act["check"], "nut", act["adjustment"], act["reading"], left)
            return checks.adjust(session, actor, given)
        case "incident":
            return incidents.report_incident(session, actor, act["thermometer"], act["what"], incident=act["incident"])
        case other:
            raise ValueError(other)


def _reading(act: Act) -> ReadingGiven:
    shown = Reading.from_text(act["shown"])
    return ReadingGiven(act["bath"], act["thermometer"], shown, act["check"], act["reading"])


def rounds(session: Session, random: Random, site: str, probes: list[str], dials: list[str]) -> Iterator[Act]:
    """Baths without end: readings inside and outside, repeats, judgements, adjustments, incidents."""
    while True:
        bath, outside = session.new_id(), []
        yield {"act": "bath", "bath": bath, "site": site}
        for one in random.sample([*probes, *dials], 4):
            check = session.new_id()
            yield from _readings(session, random, bath, one, check, outside if one in dials else [])
            if random.random() < 0.15:
                what = random.choice(("dropped", "bumped", "bent"))
                yield {"act": "incident", "incident": session.new_id(), "thermometer": one, "what": what}
        yield {"act": "judge", "bath": bath, "judged": random.choice(("accepted", "accepted", "condemned"))}
        yield {"act": "judge", "bath": bath, "judged": "accepted"}
        for check in outside:
            ids = {"adjustment": session.new_id(), "reading": session.new_id()}
            yield {"act": "adjustment", "check": check, "as_left": random.choice(("0 C", "3 C"))} | ids


def _readings(
    session: Session, random: Random, bath: str, thermometer: str, check: str, outside: list[str]
) -> Iterator[Act]:
    """One check: inside by its first reading, or outside with two repeats (now and then none can be had)."""
    shown = random.choice(("0 C", "0 C", "1 C", "-1 C", "4 C", "-3 C"))
    far, last = abs(int(shown.split()[0])) > 1, random.random() < 0.2
    if far:
        outside.append(check)
    for _ in range(3 if far and not last else 1):
        about = {"bath": bath, "thermometer": thermometer, "check": check, "reading": session.new_id()}
        yield {"act": "reading", "shown": shown, "last": last} | about


def keys_of(act: Act) -> Iterator[Act]:
    """What the draft holds after each key press of a reading, and whole."""
    typed = str(act.get("shown") or act.get("as_left") or "")
    for end in range(1, len(typed)):
        yield {**act, "typing": typed[:end]}
    yield act
