"""Each line of a story: the mark that stands before it, and its sentence."""

from collections.abc import Mapping
from typing import Any

from registry.quantity import Reading, TemperatureDifference, Unit
from registry.services.history import CheckLine
from registry.services.lookup import UNSETTLING
from registry.services.mend import WHY as VOID_WHY
from registry.services.session import day_at
from registry.services.story_lines import StoryEntry
from registry.services.thermometers import AMEND_WHY
from registry.wording import format
from ui.desk import Desk

Mark = tuple[str, str, bool | None]
PAPERS = ("certificate", "certificate_withdrawn", "tag", "outside_certificate")
TAGS = ("identity", "status")


def mark(entry: StoryEntry) -> Mark:
    if entry.code == "check":
        line: CheckLine = entry.values["line"]
        return "outcome", line.outcome or "waits", line.offset.value > 0 if line.offset is not None else None
    if entry.code == "status":
        return "service", str(entry.values.get("status")), None
    if entry.code == "taken_out":
        return "service", "out_of_use", None
    signs = {"adjusted": "as_left", "incident": "incident", "moved": "moved", "voided": "cross"}
    return "sign", "paper" if entry.code in PAPERS else signs.get(entry.code, "enrolled"), None


def sentence(desk: Desk, entry: StoryEntry, names: Mapping[str, str], unit: Unit) -> str:
    """What happened; void ones say that first. unit: that differences are shown in; readings stay as typed."""
    said = _said(desk, entry, names, unit)
    return desk.say("story.void", what=said) if entry.voided else said


def who(desk: Desk, entry: StoryEntry, names: Mapping[str, str]) -> str:
    if entry.by == "system":
        return desk.say("story.system")
    return names.get(entry.by) or desk.say("story.name_erased")


def when(desk: Desk, entry: StoryEntry, zone: str) -> str:
    """Its moment, or its day where that is all that is known."""
    day = format.short_day(day_at(entry.at, zone), desk.region)
    return day if entry.day_only else f"{day}, {desk.clock_time(entry.at, zone)}"


def _said(desk: Desk, entry: StoryEntry, names: Mapping[str, str], unit: Unit) -> str:
    say, values, code = desk.say, entry.values, entry.code
    if code == "check":
        return _check(desk, values["line"], unit)
    if code == "adjusted":
        return _adjusted(desk, values, unit)
    if code == "moved":
        return _moved(desk, values, names)
    if code == "incident":
        return say("story.incident", what=say(f"incident.{values['what']}"))
    if code == "status":
        return _status(desk, values)
    if code == "taken_out":
        return say("story.taken_out", why=_within(why_words(desk, values["why"])))
    if code == "no_reading":
        return say("story.no_reading", why=_within(say(f"no_reading.{values['why']}")))
    if code == "not_checked":
        return say("story.not_checked", why=_within(say(f"due_state.{values['why']}")))
    if code == "retagged":
        return say("story.retagged", tag=values["tag_id"])
    if code == "amended":
        why = values.get("why")
        return say("story.amended", why=say(f"story.amend_why.{why if why in AMEND_WHY else 'other_reason'}"))
    if code == "outside_certificate":
        return say("story.outside_certificate", number=values["certificate_number"], issuer=values["issuer"])
    if code == "certificate":
        return say("story.certificate", number=entry.number)
    if code == "tag":
        return say(f"story.tag.{values['tag'] if values['tag'] in TAGS else 'status'}")
    if code == "side_by_side":
        shown, theirs = (desk.temperature(Reading.from_text(values[key])) for key in ("shown", "theirs"))
        return say("story.side_by_side", shown=shown, theirs=theirs)
    if code == "use_allowed":
        return say(f"story.use_allowed.{values['basis']}")
    if code == "voided":
        return _voided(desk, values)
    known = ("enrolled", "parts", "certificate_withdrawn", "question_answered", "picture")
    return say(f"story.{code if code in known else 'another_kind'}")


def _voided(desk: Desk, values: Mapping[str, Any]) -> str:
    """What was taken back, where that is here."""
    why = desk.say(f"story.void_why.{values['why'] if values['why'] in VOID_WHY else 'other_reason'}")
    if values.get("voided_kind") == "incident_reported":
        what = _within(desk.say(f"incident.{values['voided_what']}"))
        return desk.say("story.voided_report", what=what, why=why)
    if number := values.get("voided_number"):
        return desk.say("story.voided_entry", number=number, why=why)
    return desk.say("story.voided", why=why)


def _check(desk: Desk, line: CheckLine, unit: Unit) -> str:
    offset = desk.offset(line.offset.to(unit)) if line.offset is not None else ""
    if line.outcome is None:
        point = desk.say(f"point.{line.point}")
        if not offset:
            return desk.say("story.check_bare", outcome=point)
        return desk.say("story.check_waits", point=point, offset=offset)
    outcome = desk.say(f"outcome.{line.outcome}_at.{line.point}")
    if not offset:
        return desk.say("story.check_bare", outcome=outcome)
    return desk.say("story.check", outcome=outcome, offset=offset)


def _adjusted(desk: Desk, values: Mapping[str, Any], unit: Unit) -> str:
    how = str(values.get("how", ""))
    words = desk.say(f"adjustment.{how}") if how in ("nut", "reset", "trim") else desk.say("story.adjusted_otherwise")
    if "offset" not in values:
        void = "check_void" in values
        return desk.say("story.adjusted_check_void" if void else "story.adjusted_not_measured", how=words)
    offset = desk.offset(TemperatureDifference.from_text(values["offset"]).to(unit))
    outcome = values.get("outcome_now")
    if outcome is None:
        return desk.say("story.adjusted_waits", how=words, offset=offset)
    return desk.say("story.adjusted", how=words, offset=offset, outcome=_within(desk.say(f"outcome.{outcome}")))


def _moved(desk: Desk, values: Mapping[str, Any], names: Mapping[str, str]) -> str:
    before, after = (values.get("from_site"), values.get("from_station")), (values["site"], values.get("station"))
    within = before[0] == after[0] and before[1] and after[1]
    places = [
        names.get(station or "", "") if within else ", ".join(names.get(one, "") for one in (station, site) if one)
        for site, station in (before, after)
    ]
    return (
        desk.say("story.moved", before=places[0], after=places[1])
        if places[0]
        else desk.say("story.placed", after=places[1])
    )


def _status(desk: Desk, values: Mapping[str, Any]) -> str:
    status, why = str(values["status"]), values.get("why")
    if status == "limited_use":
        return desk.say(f"story.limited_to.{values.get('only', 'cold')}")
    words = desk.say(f"story.status.{status}")
    return desk.say("story.with_why", what=words, why=_within(why_words(desk, why))) if why else words


def why_words(desk: Desk, why: str) -> str:
    """Why it was taken out, limited or retired: a reason of its own, or what happened to it."""
    return desk.say(f"incident.{why}" if why in UNSETTLING else f"out_of_use.{why}")


def _within(words: str) -> str:
    """Words that begin a line elsewhere, as they stand within one."""
    return words[:1].lower() + words[1:]


def begun(words: str) -> str:
    """Words that stand within a line elsewhere, as they begin one."""
    return words[:1].upper() + words[1:]


def aloud(desk: Desk, entry: StoryEntry, names: Mapping[str, str], zone: str, unit: Unit) -> str:
    """A line for who can't see it."""
    return f"{when(desk, entry, zone)}, {who(desk, entry, names)}: {sentence(desk, entry, names, unit)}"
