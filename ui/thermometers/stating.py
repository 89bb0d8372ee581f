"""Sheets that state something of a thermometer anew: what it is, its tag id, its sensor, its outside certificate."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from registry.quantity import Unit
from registry.records.thermometers import Price, Scale
from registry.services import prices, thermometers, typed
from registry.services.problems import Problem, Refused
from registry.services.thermometer_page import ThermometerPage
from registry.services.thermometers import AMEND_WHY, OutsideCertificate, PartGiven, Thermometer
from ui.desk import Desk
from ui.forms import CHOICE, FEW, LONG, YES, Field
from ui.thermometers import given
from ui.thermometers.story_words import begun

CLASSES = ("food", "ambient_water", "owner")
PART = ("maker", "model", "serial")


def part_fields(desk: Desk, values: dict[str, str] | None = None, prefix: str = "") -> list[Field]:
    known = values or {}
    return [Field(f"{prefix}{one}", desk.say(f"enrol.{prefix}{one}"), value=known.get(one, "")) for one in PART]


def price_field(desk: Desk, value: str) -> Field:
    return Field("price", desk.say("enrol.price"), value=value, hint=desk.say("enrol.price_hint", example=_like(desk)))


def _like(desk: Desk) -> str:
    """A price as it may be typed here."""
    currency = currency_here(desk) or "EUR"
    return prices.plain(
        Price(amount="24.90" if prices.decimals_of(currency) else "2490", currency=currency), desk.region
    )


def currency_here(desk: Desk) -> str:
    with desk.session.reading() as connection:
        return prices.currency_here(desk.session, connection)


def price_given(desk: Desk, values: Mapping[str, str]) -> Price | None:
    """What was typed, in the country's currency where none is named; nothing where it is empty."""
    return prices.read(values.get("price", ""), currency_here(desk))


def part_given(values: dict[str, str], prefix: str = "") -> PartGiven:
    return PartGiven(*(values.get(f"{prefix}{one}", "") for one in PART))


def retag(desk: Desk, page: ThermometerPage) -> None:
    def done(values: dict[str, str]) -> None:
        if not values["tag_id"]:
            raise Refused(Problem("tag_id", "empty"))
        thermometers.retag(desk.session, desk.actor, page.of.row.thermometer, values["tag_id"])
        desk.recorded.emit()

    title = desk.say("thermometers.retag_title", tag=page.of.tag_id)
    field = Field("tag_id", desk.say("enrol.tag_id"))
    desk.ask.fill(title, [field], desk.say("thermometers.do.retag"), done, words=desk.say("thermometers.retag_words"))


def change_sensor(desk: Desk, page: ThermometerPage) -> None:
    sensor = desk.session.new_id()  # a second press records nothing more

    def done(values: dict[str, str]) -> None:
        thermometers.change_sensor(
            desk.session, desk.actor, page.of.row.thermometer, part_given(values, "sensor_"), sensor=sensor
        )
        desk.recorded.emit()

    title = desk.say("thermometers.change_sensor_title", tag=page.of.tag_id)
    words = desk.say("thermometers.change_sensor_words")
    fields = part_fields(desk, prefix="sensor_")
    desk.ask.fill(title, fields, desk.say("thermometers.do.change_sensor"), done, words=words)


# --- what it is ----------------------------------------------------------------------------------------------


def amend(desk: Desk, page: ThermometerPage) -> None:
    """Everything that was said at enrolment and does not follow from something else."""
    of = page.of
    units: tuple[Unit, ...] = tuple(one for one in given.UNITS if one in of.facts.scales)
    say, facts = desk.say, of.facts
    adjusts = tuple((one, say(f"thermometers.adjusts.{one}")) for one in of.type.adjustments)
    classes = tuple((one, say(f"tolerance_class.{one}")) for one in CLASSES)
    fields = [
        *given.scale_fields(desk, of.type.code, units, _scales_now(desk, of, units), "enrol.usual"),
        use_field(desk, "both" if len(facts.uses) == 2 else next(iter(facts.uses), "both")),
        Field("adjusts", say("enrol.adjusts"), CHOICE, facts.adjusts or "", (("", say("enrol.not_said")), *adjusts)),
        Field("waterproof", say("enrol.waterproof"), YES, "yes" if facts.waterproof else ""),
        Field("class", say("thermometers.judged_as"), CHOICE, facts.class_ or of.type.tolerance_class, classes),
        Field("in_use_since", say("enrol.in_use_since"), value=facts.in_use_since or "", hint=say("enrol.day_hint")),
        Field("condition", say("enrol.condition"), LONG, facts.condition or ""),
        price_field(desk, prices.plain(facts.price, desk.region)),
    ]
    if of.parts is None:
        fields = [*part_fields(desk, {one: getattr(facts, one) or "" for one in PART}), *fields]
    why = tuple((one, begun(say(f"story.amend_why.{one}"))) for one in AMEND_WHY)
    fields.append(Field("why", say("thermometers.why"), CHOICE, AMEND_WHY[0], why))

    def done(values: dict[str, str]) -> None:
        changed = _changed(desk, of, units, values)
        thermometers.amend(desk.session, desk.actor, of.row.thermometer, changed, values["why"])
        desk.recorded.emit()

    title = say("thermometers.amend_title", tag=of.tag_id)
    desk.ask.fill(title, fields, say("thermometers.do.amend"), done, words=say("thermometers.amend_words"))


def use_field(desk: Desk, value: str) -> Field:
    uses = tuple((one, desk.say(f"thermometers.uses.{one}")) for one in ("both", "hot", "cold"))
    return Field("uses", desk.say("enrol.uses"), FEW, value, uses)


def uses_given(values: dict[str, str]) -> tuple[str, ...]:
    return ("hot", "cold") if values.get("uses", "both") == "both" else (values["uses"],)


def _scales_now(desk: Desk, of: Thermometer, units: tuple[Unit, ...]) -> dict[str, str]:
    found = {}
    for unit in units:
        one = of.facts.scales[unit]
        for part, text in zip(given.PARTS, (one.step, one.lowest, one.highest), strict=True):
            found[given.name(part, unit, units)] = given.plain(text, desk.region)
    return found


def _changed(desk: Desk, of: Thermometer, units: tuple[Unit, ...], values: dict[str, str]) -> Any:
    scales: dict[str, Scale] = {
        one.step.unit: Scale(step=one.step.text(), lowest=one.lowest.text(), highest=one.highest.text())
        for one in given.scales_given(values, units)
    }
    since = given.day_given(values, "in_use_since", desk.session.today(desk.site.payload))
    own_class = values["class"] if values["class"] != of.type.tolerance_class or of.facts.class_ else None
    parts: dict[str, Any] = {one: values[one] or None for one in PART} if of.parts is None else {}
    return replace(
        of.facts,
        scales=scales,
        uses=uses_given(values),
        adjusts=values["adjusts"] or None,
        waterproof=True if values["waterproof"] else None,
        class_=own_class,
        in_use_since=since.isoformat() if since else None,
        condition=values["condition"] or None,
        price=price_given(desk, values),
        **parts,
    )


# --- outside certificate -------------------------------------------------------------------------------------


def outside_certificate(desk: Desk, page: ThermometerPage) -> None:
    say = desk.say
    fields = [
        Field("certificate_number", say("thermometers.outside_number")),
        Field("issuer", say("thermometers.outside_issuer")),
        Field("issued", say("thermometers.outside_issued"), hint=say("thermometers.iso_day")),
        Field("due", say("thermometers.outside_due"), hint=say("thermometers.outside_due_hint")),
        Field("points", say("thermometers.outside_points"), LONG, hint=say("thermometers.outside_points_hint")),
        Field("drift", say("thermometers.outside_drift"), hint=say("thermometers.outside_drift_hint")),
    ]

    def done(values: dict[str, str]) -> None:
        certificate = _certificate(desk, page, values)
        thermometers.add_outside_certificate(desk.session, desk.actor, page.of.row.thermometer, certificate)
        desk.recorded.emit()

    title = say("thermometers.outside_title", tag=page.of.tag_id)
    words = say("thermometers.outside_words")
    desk.ask.fill(title, fields, say("thermometers.do.outside_certificate"), done, words=words)


def _certificate(desk: Desk, page: ThermometerPage, values: dict[str, str]) -> OutsideCertificate:
    """One point a line: temperature, correction, U and k, parted by spaces, semicolons or tabs."""
    unit, today = page.unit, desk.session.today(desk.site.payload)
    if not values["issued"]:
        raise Refused(Problem("issued", "empty"))
    points = [
        typed.certificate_point(":".join(line.replace(";", " ").replace(":", " ").split()), unit)
        for line in values["points"].splitlines()
        if line.strip()
    ]
    return OutsideCertificate(
        values["certificate_number"],
        values["issuer"],
        typed.day(values["issued"], today, "issued"),
        tuple(points),
        given.day_given(values, "due", today),
        typed.difference(values["drift"], unit, "drift") if values["drift"] else None,
    )
