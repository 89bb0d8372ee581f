"""How one thermometer stands: the answer of its last check, where it is, and what is asked of it next."""

from registry.quantity import TemperatureDifference, Unit
from registry.services.history import CheckLine
from registry.services.thermometer_page import Sentence, ThermometerPage
from registry.wording import format
from registry.wording.due import all_due
from registry.wording.standing import status_words
from ui.desk import Desk

Mark = tuple[str, str, bool | None]


def answer(desk: Desk, said: Sentence, unit: Unit) -> str:
    """The sentence: outcome at its point, how far off, with which uncertainty, within which limit; in one unit."""
    if said.code != "judged":
        return desk.say(
            f"thermometers.answer.{said.code}", **_measured(desk, said, unit) if said.code == "waits" else {}
        )
    outcome = desk.say(f"outcome.{said.outcome}_at.{said.point}")
    if said.offset is None or said.tolerance is None:
        return desk.say("thermometers.answer.bare", outcome=outcome)
    limit = format.limit(said.tolerance.to(unit), desk.region)
    side = said.side or "even"
    known = {"outcome": outcome, "off": plain(desk, said.offset.to(unit)), "limit": limit}
    if said.expanded is None:
        return desk.say(f"thermometers.answer.imported.{side}", **known)
    return desk.say(
        f"thermometers.answer.{side}", expanded=format.expanded(said.expanded.to(unit), desk.region), **known
    )


def _measured(desk: Desk, said: Sentence, unit: Unit) -> dict[str, str]:
    off = desk.offset(said.offset.to(unit)) if said.offset is not None else "–"
    return {"point": desk.say(f"point.{said.point}"), "offset": off}


def plain(desk: Desk, offset: TemperatureDifference) -> str:
    """How far off, without its sign: the sentence says high or low."""
    return desk.offset(offset).lstrip(f"+{format.MINUS}")


def mark(said: Sentence) -> Mark:
    if said.code == "judged":
        return "outcome", said.outcome or "", None if not said.side else said.side == "high"
    return "outcome", "waits", None


def basis(desk: Desk, page: ThermometerPage) -> str:
    """When, as found or as left, by which reference and rule: what the answer rests on."""
    said = page.sentence
    if said.at is None:
        return ""
    when = desk.instant(said.at, page.zone)
    if said.code != "judged":
        return desk.say("thermometers.checked_at", when=when)
    found = desk.say("thermometers.as_left" if said.as_left else "thermometers.as_found")
    line = _line(page)
    if line is None or line.reference is None or not line.decision:
        return desk.say("thermometers.basis_bare", when=when, found=found)
    return desk.say(
        "thermometers.basis",
        when=when,
        found=found,
        reference=desk.temperature(line.reference),
        rule=desk.say(f"thermometers.decision.{line.decision}"),
    )


def _line(page: ThermometerPage) -> CheckLine | None:
    lines = (one.values["line"] for one in page.story if one.code == "check")
    return next((one for one in lines if one.check == page.sentence.check), None)


def place(desk: Desk, page: ThermometerPage) -> str:
    row = page.of.row
    return ", ".join(page.names.get(one, "") for one in (row.station, row.site) if one)


def status(desk: Desk, page: ThermometerPage) -> str:
    found = page.of.row.service_status
    return status_words(found, page.only, desk.language)


def next_due(desk: Desk, page: ThermometerPage) -> str:
    """All that it owes now and why, the worst first, else when it is wanted next."""
    if page.of.row.service_status in ("out_of_use", "lost", "retired"):
        return desk.say("thermometers.owes_nothing")
    if page.owed.due:
        return all_due([(one.state, one.why) for one in page.owed.due], desk.language, desk.region, page.zone)
    if page.owed.next is None:
        return desk.say("thermometers.plan_asks_nothing")
    return desk.say("thermometers.next_check", day=desk.day(page.owed.next.day))
