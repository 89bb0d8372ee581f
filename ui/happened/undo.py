"""Taking back what was just said: a correcting entry, and what it touches told before."""

from dataclasses import dataclass

from registry.services import history, mend, thermometers
from ui.desk import Desk
from ui.happened.standing import Standing, standing

PAPERS = ("certificate_issued", "use_allowed", "tag_printed")
WHY = "not_done"


@dataclass(frozen=True, slots=True)
class Done:
    """What was recorded last. what: the incident, or `taken_out` or `put_back`. before: as each stood before it.

    others: tag ids that share the part it happened to.
    """

    what: str
    at: int
    thermometer: str
    before: tuple[Standing, ...]
    incident: str = ""
    others: tuple[str, ...] = ()
    voided: bool = False

    @property
    def first(self) -> Standing:
        return self.before[0]


def numbers(desk: Desk, done: Done) -> list[str]:
    """The numbers of the entries of this report, one for each thermometer that it concerns."""
    found = []
    with desk.session.reading() as connection:
        for one in done.before:
            said = history.story(desk.session, connection, one.of.row.thermometer, newest=1).rest
            own = [line for line in said if line.payload.get("incident") == done.incident and not line.voided]
            found += [line.number for line in own if line.kind == "incident_reported"]
    return found


def resting(desk: Desk, done: Done) -> list[str]:
    """Numbers of papers and permissions that rest on the report."""
    hashes = {mend.find_entry(desk.session, number).hash for number in numbers(desk, done)}
    found = []
    with desk.session.reading() as connection:
        for one in done.before:
            for line in history.story(desk.session, connection, one.of.row.thermometer, newest=1).rest:
                if line.kind in PAPERS and not line.voided and hashes & set(line.payload.get("rests_on", ())):
                    found.append(line.number)
    return found


def affects(desk: Desk, done: Done) -> list[str]:
    """Sentences that say what taking it back does."""
    if done.what == "taken_out":
        return [desk.say("happened.undo_taken_out", tag=done.first.tag_id)]
    if done.what == "put_back":
        return [desk.say("happened.undo_put_back", tag=done.first.tag_id)]
    said = [desk.say("happened.undo_stays_on_record")]
    if done.what == "lost":
        said.append(desk.say("happened.undo_lost", tag=done.first.tag_id))
    elif done.what == "found" and done.first.status == "lost":
        said.append(desk.say("happened.undo_found", tag=done.first.tag_id))
    stays = [one.tag_id for one in done.before if one.of.row.check_first]
    if stays:
        said.append(desk.say("happened.undo_stays_first", tags=", ".join(stays)))
    if papers := resting(desk, done):
        said.append(desk.say("happened.undo_rests", numbers=", ".join(papers)))
    return said


def take_back(desk: Desk, done: Done) -> None:
    """Record it. A status is stated anew, since facts that replace one another are not voided."""
    session, actor, thermometer = desk.session, desk.actor, done.thermometer
    if done.what == "taken_out":
        _put_back(desk, done.first)
        return
    if done.what == "put_back":
        thermometers.take_out(session, actor, thermometer, "other_reason")
        return
    for number in numbers(desk, done):
        mend.void(session, actor, number, WHY)
    now = standing(desk, thermometer).of.row.status
    if done.what == "lost" and now == "lost":
        _put_back(desk, done.first)
    elif done.what == "found" and done.first.status == "lost" and now != "lost":
        thermometers.set_status(session, actor, thermometer, "lost")


def _put_back(desk: Desk, before: Standing) -> None:
    """To the status that it had; a limit comes back with it, and so does being out of use."""
    session, actor, thermometer = desk.session, desk.actor, before.of.row.thermometer
    if before.of.row.status == "out_of_use":
        thermometers.take_out(session, actor, thermometer, "other_reason")
        return
    only = None
    if before.of.row.status == "limited_use" and desk.may("officer"):  # a lead's goes back to its limit by itself
        with session.reading() as connection:
            only = thermometers.limit_before(connection, thermometer)
    thermometers.set_status(session, actor, thermometer, "limited_use" if only else "in_service", only=only)
