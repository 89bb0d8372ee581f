"""Thermometers beside each other in the same water: what one may be used by when the bath could not be mended.

And what an inspector's or supplier's showed beside ours.
"""

from dataclasses import dataclass
from fractions import Fraction

from sqlalchemy import Connection

from registry.compute.check import written
from registry.quantity import Reading, TemperatureDifference
from registry.records import baths as records
from registry.records.baths import SideBySide, UseAllowed
from registry.services import places, rules, thermometers
from registry.services.problems import refuse
from registry.services.rules import RulesInForce
from registry.services.session import Actor, Session, recorded
from registry.store import queries
from registry.store.queries import ThermometerRow
from registry.store.summary import GOOD

DAY_US = 86_400_000_000


@dataclass(frozen=True, slots=True)
class Beside:
    """Two thermometers read in the same water, and what each showed."""

    thermometer: str
    shown: Reading
    other: str
    other_shown: Reading


def allow_use(session: Session, actor: Actor, given: Beside, *, use: str | None = None) -> str:
    """Use by its last good check, until the end of this shift, when the bath could not be mended.

    Asked: a good check within 7 days, no incident or fail since, and agreement within 1 °C with one that is trusted
    at that temperature. Without such a basis, two that agree may be used with limits moved by 2 °C: the record says so
    and the officer is told. Returns the basis. A second press with the same `use` id records once.
    """
    with session.recording(actor, "lead", "officer") as entries:
        connection = entries.connection
        of = thermometers.thermometer(connection, given.thermometer)
        other = thermometers.thermometer(connection, given.other)
        if of.row.site is None or given.thermometer == given.other:
            raise refuse("other", "another_one")
        if (said := recorded(connection, given.thermometer, "use_allowed", "use", use)) is not None:
            first: str = said.payload["basis"]
            return first
        for one in (of, other):
            if one.row.status != "in_service" or one.row.failed_at is not None or one.row.site != of.row.site:
                raise refuse("other", "cannot_vouch", value=one.tag_id)
        site = places.site_named_by_id(connection, of.row.site)
        in_force = rules.rules_in_force(connection, of.row.site)
        shift = places.shift_now(session, connection, site)
        if shift is None:
            raise refuse("shift", "none_to_use_it_in")
        known = _known_offset(session, connection, other, given.other_shown, in_force)
        by_check = known is not None and _has_basis(session, of, in_force)
        off = known if by_check and known is not None else 0  # what the other is known to be off by
        apart = abs(given.shown.celsius() - (given.other_shown.celsius() - off))
        limit = in_force.figure("trust.last_good_agree" if by_check else "trust.two_that_agree")
        if apart > Fraction(str(limit)):
            raise refuse("other", "they_disagree", value=f"{float(apart):.1f}")
        basis = "last_good_check" if by_check else "two_agree"
        margin = None if by_check else written(in_force.figure("trust.two_that_agree_margin"), "C")
        entries.add(
            UseAllowed(
                thermometer=given.thermometer,
                use=use or session.new_id(),
                basis=basis,
                agrees_with=(given.other,),
                readings=(
                    records.Beside(thermometer=given.thermometer, shown=given.shown.text()),
                    records.Beside(thermometer=given.other, shown=given.other_shown.text()),
                ),
                until_at=shift.ends_at,
                check=_last_good(connection, of.row) if by_check else None,
                margin=margin.text() if margin else None,
                shift=shift.shift.id,
                day=shift.day.isoformat(),
            )
        )
    return basis


def _has_basis(session: Session, of: thermometers.Thermometer, in_force: RulesInForce) -> bool:
    """A good check lately and nothing against it since."""
    days = in_force.figure("decision.last_good_days")
    good_at = of.row.good_at
    lately = good_at is not None and session.clock() - good_at <= days * DAY_US
    return lately and of.row.service_status == "in_service"


def _known_offset(
    session: Session, connection: Connection, of: thermometers.Thermometer, shown: Reading, in_force: RulesInForce
) -> Fraction | None:
    """By how much one that vouches is off there, °C; none where it is not trusted or was not checked lately."""
    from registry.services import tracking  # late: the first list does without it

    if not _has_basis(session, of, in_force):
        return None
    followed = tracking.tracked(session, connection, [of])[of.row.thermometer]
    now, celsius = session.clock(), float(shown.celsius())
    return Fraction(followed.at(now, celsius).offset) if followed.trusted(now, celsius) else None


def _last_good(connection: Connection, row: ThermometerRow) -> str | None:
    """The check it is used by: the last that was good as found, or as left."""
    left = {one.check: one for one in queries.adjustments_of(connection, row.thermometer) if not one.voided}
    good = [
        one.check
        for one in queries.checks_of(connection, row.thermometer)
        if not one.voided and (one.outcome in GOOD or (one.check in left and left[one.check].outcome in GOOD))
    ]
    return good[-1] if good else None


def side_by_side(
    session: Session,
    actor: Actor,
    thermometer_id: str,
    shown: Reading,
    theirs: Reading,
    whose: str,
    *,
    side_by_side: str | None = None,
) -> TemperatureDifference:
    """A check beside an inspector's or supplier's thermometer: recorded, not judged. Returns how far apart, °C.

    A second press with the same `side_by_side` id records once.
    """
    if whose not in ("inspector", "supplier", "other_party"):
        raise refuse("whose", "unknown", value=whose)
    with session.recording(actor, "lead", "officer") as entries:
        thermometers.thermometer(entries.connection, thermometer_id)
        if recorded(entries.connection, thermometer_id, "side_by_side", "side_by_side", side_by_side) is None:
            entries.add(
                SideBySide(
                    thermometer=thermometer_id,
                    side_by_side=side_by_side or session.new_id(),
                    shown=shown.text(),
                    theirs=theirs.text(),
                    whose=whose,
                )
            )
    return TemperatureDifference(shown.celsius() - theirs.celsius(), "C")
