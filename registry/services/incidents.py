"""What happened to a thermometer, and what that means for using it."""

from dataclasses import dataclass

from sqlalchemy import Connection

from registry.records.thermometers import IncidentReported, ServiceStatusSet
from registry.services import thermometers
from registry.services.problems import refuse
from registry.services.session import Actor, Session, state_once
from registry.store import queries
from registry.store.summary import UNSETTLING

# Happen to the meter, and so to every probe that is plugged into it.
OF_THE_INDICATOR = ("battery_changed", "battery_low", "opened", "unit_switched")
MINUTE_US = 60_000_000


@dataclass(frozen=True, slots=True)
class Reported:
    """Whom an incident concerns; each of them is to be checked before it is used again."""

    incident: str
    thermometers: tuple[str, ...]


def report_incident(
    session: Session,
    actor: Actor,
    thermometer_id: str,
    what: str,
    *,
    performed_at: int | None = None,
    incident: str | None = None,
) -> Reported:
    """Record that something happened; a shared meter's troubles are its probes' troubles.

    A second press with the same `incident` id, or the same said of the same instant, records once. *lost* also sets the
    service status. Refused for a time before it was enrolled.
    """
    if what not in UNSETTLING:
        raise refuse("what", "unknown", value=what)
    if performed_at is not None and performed_at > session.clock():
        raise refuse("performed_at", "in_the_future")
    incident = incident or session.new_id()
    with session.recording(actor, "lead", "officer") as entries:
        found = thermometers.thermometer(entries.connection, thermometer_id)
        enrolled_at = found.row.enrolled_at or 0
        if performed_at is not None and performed_at < enrolled_at - enrolled_at % MINUTE_US:  # times are typed so
            raise refuse("performed_at", "before_enrolment", value=found.tag_id)
        concerned, part = [thermometer_id], None
        if what in OF_THE_INDICATOR and found.parts is not None and found.parts.indicator is not None:
            part = found.parts.indicator
            concerned += thermometers.with_shared_parts(entries.connection, found).get(part, [])
        if queries.said_lately(entries.connection, thermometer_id, "incident_reported", "incident", incident):
            return Reported(incident, tuple(concerned))
        if performed_at is not None and (said := _said_of(entries.connection, thermometer_id, what, performed_at)):
            return Reported(said, tuple(concerned))
        if what in ("lost", "found") and found.row.status == "retired":
            raise refuse("thermometer", "is_retired", value=found.tag_id)
        if what == "found" and found.row.status == "lost":
            thermometers.refuse_taken_tag(entries.connection, found)
        for one in concerned:
            entries.add(
                IncidentReported(thermometer=one, incident=incident, what=what, part=part, performed_at=performed_at)
            )
        if what == "lost":
            state_once(entries, ServiceStatusSet(thermometer=thermometer_id, status="lost"))
        elif what == "found" and found.row.status == "lost":
            only = thermometers.limit_before(entries.connection, thermometer_id)
            status = "limited_use" if only else "in_service"  # to be found lifts no limit
            entries.replace(ServiceStatusSet(thermometer=thermometer_id, status=status, only=only))
    return Reported(incident, tuple(concerned))


def _said_of(connection: Connection, thermometer_id: str, what: str, at: int) -> str | None:
    """The incident that says this of this instant already, where it is not void."""
    for one in queries.events_of(connection, thermometer_id, ("incident_reported",)):
        if (one.at, one.detail) == (at, what) and not one.voided:
            found: str = queries.entry_at(connection, one.chain_no, one.seq).payload["incident"]
            return found
    return None
