"""Enrolling one: its type by the drawing, its scale with what is usual, where it is, and who made it."""

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QWidget

from registry.services import places, thermometers
from registry.services.problems import KnownError, Problem, Refused
from registry.services.thermometers import NewThermometer, ScaleGiven
from registry.wording import refusals
from ui.desk import Desk
from ui.forms import CHOICE, FEW, LONG, YES, Field, Form
from ui.parts import LINK, MAIN, Button, Line, Scroll, Words, clear, column, holding, on_press, row
from ui.thermometers import given, stating
from ui.thermometers.types import Types

FIRST_TYPE = "thermistor_probe"
OWN = ("tag_id", "serial", "sensor_serial")  # no two have the same
REBUILDS = ("unit", "site", "parts")  # what else is asked depends on these


class EnrolOne(QWidget):
    back_wanted = Signal()
    enrolled = Signal(str, bool)  # its id, and whether its outside certificate is to be asked for

    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk, self.look, self.say, self._small = desk, desk.look, desk.say, small
        self._new_id = desk.session.new_id()
        self._offered: dict[str, str] = {}  # what stands in fields because it was offered
        self._values: dict[str, str] = {}
        self._build()

    # --- building --------------------------------------------------------------------------------------------

    def _build(self) -> None:
        look, say = self.look, self.say
        edge = 16 if self._small else 28
        self.back = on_press(Button(look, say("thermometers.all"), LINK), self.back_wanted.emit)
        title = Words(look, say("enrol.title"), 22 if self._small else 26, bold=True)
        head = column(row(self.back, None), title, space=4, margins=(edge, 8, edge, 12))
        self.types = Types(self.desk, FIRST_TYPE)
        self.types.chosen.connect(self._type_chosen)
        self.trouble = Words(look, "", 15, bold=True, colour="caution")
        self.trouble.hide()
        self.forms = column(space=24) if self._small else row(space=36)
        self.yes = on_press(Button(look, say("enrol.enrol"), MAIN), self.enrol)
        self.again = on_press(Button(look, say("enrol.enrol_and_next")), self.enrol_and_next)
        inner = column(
            Words(look, say("enrol.type"), 14, colour="muted"),
            self.types,
            12,
            self.trouble,
            holding(self.forms),
            row(self.yes, self.again, None),
            None,
            space=8,
            margins=(edge, 14, edge, 24),
        )
        scroll = Scroll(holding(inner))
        whole = column(head, Line(look.bench), scroll, space=0)
        whole.setStretch(2, 1)
        self.setLayout(whole)

    def begin(self, kept: Mapping[str, Any] | None = None) -> None:
        """A fresh one, or what was being filled in."""
        if kept:
            self._values = {str(key): str(value) for key, value in kept.items()}
            self._new_id = self._values.pop("id", self._new_id)
            kind = self._values.get("type", FIRST_TYPE)
            if kind in self.types.buttons:
                self.types.buttons[kind].setChecked(True)
        elif self._values:
            self._read()  # gone back to: as it stands in the fields
        if not self._values:
            self._values = {"unit": self.desk.unit, "site": self.desk.site.subject, "uses": "both"}
        self._offer()
        self._show_forms()

    def _offer(self) -> None:
        """What is usual, wherever nothing else was typed."""
        units = given.units_of(self._values["unit"])
        fresh: dict[str, str] = {}
        for unit in units:
            for part, text in given.offers(self.types.value, unit, self.desk.region).items():
                fresh[given.name(part, unit, units)] = text
        kind = given.type_of(self.types.value)
        fresh["adjusts"] = kind.adjustments[0] if kind.adjustments else ""
        with self.desk.session.reading() as connection:
            site = places.site_named_by_id(connection, self._values["site"]).payload
            fresh["tag_id"] = thermometers.next_tag_id(connection, site)
        for name, text in fresh.items():
            if self._values.get(name, "") in ("", self._offered.get(name, "")):
                self._values[name] = text
        self._offered = fresh

    def _show_forms(self, focus: str = "") -> None:
        clear(self.forms)
        self.what = Form(self.look, self._what_fields())
        self.where = Form(self.look, self._where_fields())
        for form in (self.what, self.where):
            form.setMaximumWidth(self.look.text(520))
            form.changed.connect(self._changed)
            form.submitted.connect(self._next_field)
            self.forms.addWidget(form, 0, Qt.AlignmentFlag.AlignTop)
        if not self._small:
            self.forms.addStretch(1)
        if focus:
            self._form_of(focus).input(focus).setFocus()

    def _form_of(self, name: str) -> Form:
        return self.what if name in self.what.values() else self.where

    def _what_fields(self) -> list[Field]:
        say, values, kind = self.say, self._values, given.type_of(self.types.value)
        units = (("C", "°C"), ("F", "°F"), (given.BOTH, say("enrol.both")))
        adjusts = tuple((one, say(f"thermometers.adjusts.{one}")) for one in kind.adjustments)
        chosen = values.get("adjusts", "") if values.get("adjusts") in kind.adjustments else ""
        return [
            Field("unit", say("enrol.unit"), FEW, values["unit"], units),
            *given.scale_fields(self.desk, kind.code, given.units_of(values["unit"]), values),
            Field("adjusts", say("enrol.adjusts"), CHOICE, chosen, (("", say("enrol.not_said")), *adjusts)),
            stating.use_field(self.desk, values.get("uses", "both")),
            Field("waterproof", say("enrol.waterproof"), YES, values.get("waterproof", "")),
        ]

    def _where_fields(self) -> list[Field]:
        say, values, kind = self.say, self._values, given.type_of(self.types.value)
        with self.desk.session.reading() as connection:
            sites = tuple((one.subject, one.payload.name) for one in places.sites(connection))
            found = places.stations(connection, values["site"])
        stations = (("", say("enrol.no_station")), *((one.subject, one.payload.name) for one in found))
        parts = [Field("parts", say("enrol.parts"), YES, values.get("parts", ""))] if kind.sensor_parts else []
        if parts and values.get("parts"):
            parts += stating.part_fields(self.desk, _without(values, "sensor_"), "sensor_")
        return [
            Field("site", say("enrol.site"), CHOICE, values["site"], sites),
            Field("station", say("enrol.station"), CHOICE, values.get("station", ""), stations),
            Field("tag_id", say("enrol.tag_id"), value=values.get("tag_id", ""), hint=say("enrol.tag_id_hint")),
            *stating.part_fields(self.desk, values),
            *parts,
            Field(
                "in_use_since",
                say("enrol.in_use_since"),
                value=values.get("in_use_since", ""),
                hint=say("enrol.day_hint"),
            ),
            Field("condition", say("enrol.condition"), LONG, values.get("condition", "")),
            stating.price_field(self.desk, values.get("price", "")),
            Field("reference", say("enrol.reference"), YES, values.get("reference", "")),
        ]

    # --- filling in ------------------------------------------------------------------------------------------

    def _read(self) -> None:
        self._values |= {**self.what.values(), **self.where.values(), "type": self.types.value}

    def _type_chosen(self, _kind: str) -> None:
        self._read()
        self._offer()
        self._show_forms()

    def _changed(self) -> None:
        before = {name: self._values.get(name, "") for name in REBUILDS}
        self._read()
        changed = next((name for name, was in before.items() if self._values.get(name, "") != was), None)
        if changed is None:
            return
        if changed == "site":
            self._values["station"] = ""
        self._offer()
        self._show_forms(focus="" if changed == "unit" else changed)

    def _next_field(self) -> None:
        self.focusNextChild()

    # --- recording -------------------------------------------------------------------------------------------

    def _given(self) -> NewThermometer:
        self._read()
        values = self._values
        units = given.units_of(values["unit"])
        problems: list[Problem] = []
        scales: tuple[ScaleGiven, ...] = ()
        since, price = None, None
        try:
            scales = given.scales_given(values, units)
        except Refused as refused:
            problems += refused.problems
        try:
            since = given.day_given(values, "in_use_since", self.desk.session.today(self.desk.site.payload))
        except Refused as refused:
            problems += refused.problems
        try:
            price = stating.price_given(self.desk, values)
        except Refused as refused:
            problems += refused.problems
        if problems:
            raise Refused(*problems)
        parts = values.get("parts") and given.type_of(self.types.value).sensor_parts
        return NewThermometer(
            type=self.types.value,
            scales=scales,
            site=values["site"],
            tag_id=values.get("tag_id", ""),
            station=values.get("station") or None,
            uses=stating.uses_given(values),
            whole=stating.part_given(values),
            sensor=stating.part_given(values, "sensor_") if parts else None,
            adjusts=values.get("adjusts") or None,
            waterproof=bool(values.get("waterproof")),
            in_use_since=since,
            condition=values.get("condition", ""),
            price=price,
        )

    def _record(self) -> str:
        """The id of what was enrolled; nothing where it was refused, with the reasons beside the fields."""
        self.trouble.hide()
        for form in (self.what, self.where):
            form.forget_problems()
        try:
            return thermometers.enrol(self.desk.session, self.desk.actor, self._given(), thermometer=self._new_id)
        except Refused as refused:
            self._show_problems(refused)
        except KnownError as error:
            self.trouble.say(refusals.trouble(error.code, self.desk.language))
            self.trouble.show()
        return ""

    def _show_problems(self, refused: Refused) -> None:
        here: dict[Form, list[Problem]] = {self.what: [], self.where: []}
        general: list[Problem] = []
        for one in refused.problems:
            form = next((form for form in here if one.field in form.values()), None)
            (here[form] if form is not None else general).append(one)
        for form, own in here.items():
            if own:
                form.show_problems(own, self.desk.say_problem)
        if general:
            self.trouble.say(" ".join(self.desk.say_problem(one) for one in general))
            self.trouble.show()

    def enrol(self) -> None:
        if done := self._record():
            reference = bool(self._values.get("reference"))
            self._start_over()
            self.desk.recorded.emit()
            self.enrolled.emit(done, reference)

    def enrol_and_next(self) -> None:
        """The same once more, with another serial and the next tag id."""
        if done := self._record():
            with self.desk.session.reading() as connection:
                tag = thermometers.thermometer(connection, done).tag_id
            kept = {
                name: value for name, value in self._values.items() if name not in ("tag_id", "serial", "sensor_serial")
            }
            self._start_over()
            self._values = kept
            self._offer()
            self._show_forms(focus="serial")
            self.desk.recorded.emit()
            self.desk.notice(self.say("enrol.done", tag=tag))

    def _start_over(self) -> None:
        self._new_id = self.desk.session.new_id()
        self._values, self._offered = {}, {}

    def kept(self) -> dict[str, str]:
        if not self._values:
            return {}
        self._read()
        return {**self._values, "id": self._new_id}


def _without(values: Mapping[str, str], prefix: str) -> dict[str, str]:
    return {name.removeprefix(prefix): value for name, value in values.items() if name.startswith(prefix)}
