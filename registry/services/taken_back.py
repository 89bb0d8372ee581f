"""Reports that were taken back: what was said to have happened to a thermometer and then was not, for the officer.

Whoever reported a drop may take that back for a day, and the thermometer is then used unchecked. That is right for a
slip of the finger; so that it is not done in silence, each stands here with who did both and why.
"""

from dataclasses import dataclass

from registry.services.session import Session
from registry.store import queries, story

DAY_US = 86_400_000_000
LOOK_BACK_DAYS = 84  # as many weeks as checks done and missed are told


@dataclass(frozen=True, slots=True)
class TakenBack:
    """One report of an incident that a later entry voids. number: of the report; why: a code of `mend.WHY`.

    Instants are UTC microseconds; by: persons' ids; type: of the thermometer.
    """

    thermometer: str
    tag_id: str
    site: str
    number: str
    what: str
    reported_at: int
    reported_by: str
    at: int
    by: str
    why: str
    type: str

    @property
    def by_oneself(self) -> bool:
        return self.by == self.reported_by


def reports_taken_back(session: Session, days: int = LOOK_BACK_DAYS) -> list[TakenBack]:
    """Those of the last so many days, the newest taken back first."""
    since = session.clock() - days * DAY_US
    with session.reading() as connection:
        events = queries.events_of_kind(connection, "incident_reported", since=since)
        gone = [one for one in events if one.voided]
        rows = {row.thermometer: row for row in queries.thermometers(connection)} if gone else {}
        undone = {one: story.voiding(connection, one) for one in {event.subject for event in gone}}
        found = []
        for event in gone:
            row, end = rows.get(event.subject), undone[event.subject].get(event.hash)
            if row is None or end is None:
                continue
            report = queries.entry_at(connection, event.chain_no, event.seq)
            found.append(
                TakenBack(
                    row.thermometer,
                    row.tag_id or "",
                    row.site or "",
                    report.number,
                    report.payload["what"],
                    report.done_at,
                    report.payload.get("done_by", report.by),
                    end.at,
                    end.payload.get("done_by", end.by),
                    end.payload["why"],
                    row.type or "",
                )
            )
    return sorted(found, key=lambda one: one.at, reverse=True)
