"""How a thermometer stands, as machines read it: of one, and of each row of a ranking."""

from typing import TYPE_CHECKING, Any

from registry.commands.desk import iso

if TYPE_CHECKING:
    from registry.quantity import TemperatureDifference
    from registry.services.outlook import AtPoint, Outlook


def outlook_data(found: "Outlook") -> dict[str, Any]:
    return {
        "says": found.says,
        "at": f"{found.celsius:.2f} C",
        "point": found.kind or None,
        "checks": found.checks,
        "offset": text(found.offset),
        "expanded": text(found.expanded),
        "drift_a_month": text(found.a_month),
        "drift_a_month_expanded": text(found.a_month_expanded),
        "chance_out": found.out,
        "may_be_out_on": found.out_on.isoformat() if found.out_on else None,
        "steps": [{"at": iso(at), "size": size.text(), "reported": told} for at, size, told in found.steps],
        "learned_from": found.alike,
        "points": list(map(_point_data, found.points)),
    }


def _point_data(one: "AtPoint") -> dict[str, Any]:
    return {
        "at": f"{one.celsius:.2f} C",
        "point": one.kind or None,
        "checks": one.checks,
        "offset": text(one.offset),
        "expanded": text(one.expanded),
        "chance_out": one.out,
        "may_be_out_on": one.out_on.isoformat() if one.out_on else None,
    }


def text(one: "TemperatureDifference | None") -> str | None:
    return one.text() if one is not None else None
