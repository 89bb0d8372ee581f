"""A check as a row for people and as data for machines: one word first, then outcome, numbers and the rule."""

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from registry.commands.desk import Desk, iso
from registry.quantity import Reading, TemperatureDifference
from registry.services import checks
from registry.services.history import CheckLine
from registry.wording import format

if TYPE_CHECKING:
    from registry.services.checks import Row
    from registry.services.lookup import CheckView


def check_rows_head(desk: Desk) -> list[str]:
    names = ("tag", "word", "outcome", "offset", "expanded", "limits", "reference", "rule")
    return [desk.say(f"cli.head.{one}") for one in names]


def check_row(desk: Desk, connection: Any, view: "CheckView", tag: str, line: CheckLine) -> list[str]:
    """One check of a bath that was judged; what the bath does not decide waits."""
    word = checks.recorded_row(connection, view.check).lead_word if line.outcome else "waits"
    return [tag, desk.say(f"lead.{word}"), *numbers(desk, line)]


def numbers(desk: Desk, line: CheckLine) -> list[str]:
    """Outcome at its point, offset, U, limits, reference, rule: blank where an imported check has none."""
    outcome = line.outcome or line.given
    return [
        desk.say(f"outcome.{outcome}_at.{line.point}") if outcome else desk.say(f"point.{line.point}"),
        format.offset(line.offset, desk.region) if line.offset else "",
        format.expanded(expanded(line.u, line.k), desk.region) if line.u and line.k else "",
        format.limit(line.tolerance, desk.region) if line.tolerance else "",
        format.temperature(line.reference, desk.region) if line.reference else "",
        desk.say(f"cli.decision.{line.decision}") if line.decision else "",
    ]


def expanded(u: TemperatureDifference, k: str) -> TemperatureDifference:
    """U = k u."""
    return TemperatureDifference(Fraction(u.value) * Fraction(k), u.unit)


def row_sentence(desk: Desk, row: "Row", point: str, rule: str, tolerance: TemperatureDifference) -> str:
    """What stands behind the word of a reading just taken."""
    judged = row.judged
    return desk.say(
        "cli.judged_so",
        outcome=desk.say(f"outcome.{judged.outcome}_at.{point}"),
        offset=format.offset(judged.offset, desk.region),
        expanded=format.expanded(judged.expanded, desk.region),
        limits=format.limit(tolerance, desk.region),
        reference=format.temperature(judged.reference, desk.region),
        rule=desk.say(f"cli.decision.{rule}"),
    )


def readings(desk: Desk, found: tuple[Reading, ...]) -> str:
    return " / ".join(format.temperature(one, desk.region) for one in found)


def check_data(desk: Desk, line: CheckLine) -> dict[str, Any]:
    """A check for machines; numbers as the journal froze them."""
    return {
        "number": line.number,
        "check": line.check,
        "at": iso(line.at),
        "by": line.by,
        "initials": desk.initials_by_person.get(line.by, ""),
        "point": line.point,
        "readings": [one.text() for one in line.readings],
        "reference": _text(line.reference),
        "offset": _text(line.offset),
        "u": _text(line.u),
        "k": line.k or None,
        "tolerance": _text(line.tolerance),
        "decision": line.decision or None,
        "outcome": line.outcome,
        "outcome_in_accepted_bath": line.given,
        "voided": line.voided,
        "adjusted": line.adjusted,
        "as_left": [one.text() for one in line.as_left],
        "as_left_offset": _text(line.as_left_offset),
        "as_left_outcome": line.as_left_outcome,
    }


def _text(found: Reading | TemperatureDifference | None) -> str | None:
    return found.text() if found is not None else None
