"""The questions of a first start, in two columns where there is room, and what follows from each answer."""

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QComboBox, QHBoxLayout, QWidget

from registry.services.clock import now_us
from registry.services.plan_cost import TWELVE, hours_a_year, of_shipped
from registry.services.problems import Problem
from registry.wording import format, say
from ui.forms import Form
from ui.parts import Words, column, holding
from ui.setup import beginning, country, questions
from ui.setup.beginning import Beginning
from ui.setup.inline import Values
from ui.setup.questions import Days
from ui.theme import Look

OF_KITCHEN = {"name", "letters", "zone", "elevation", "elevation_unit", "pressure_source", "shift", "start", "end"}
SMALLEST_COLUMN = 400  # at 100 % text; narrower, one column


class FirstQuestions(QWidget):
    """The group, who administers it, the plan, the first kitchen and its shift; or the last two alone."""

    language_chosen = Signal(str)

    def __init__(self, look: Look, language: str, start: Beginning, *, only_kitchen: bool) -> None:
        super().__init__()
        self.look, self.language, self.start, self.only_kitchen = look, language, start, only_kitchen
        self.forms: list[Form] = []
        left = [self._person()] if only_kitchen else [*self._group(), *self._you()]
        right = [*self._kitchen(), *self._shift()]
        self._columns = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._columns.setContentsMargins(0, 0, 0, 0)
        for parts in (left, right):
            self._columns.addWidget(holding(column(*parts, None, space=4)), 1)

    def say(self, code: str, /, **values: object) -> str:
        return say(code, self.language, **values)

    # --- what is asked ---------------------------------------------------------------------------------------

    def _section(self, code: str) -> Words:
        return Words(self.look, self.say(code), 18, bold=True)

    def _add(self, form: Form) -> Form:
        self.forms.append(form)
        return form

    def _group(self) -> list[Any]:
        self._about_group = self._add(Form(self.look, beginning.group_fields(self.say, self.language)))
        self._rules = self._add(Form(self.look, [beginning.jurisdiction_field(self.say)]))
        self.told = Words(self.look, "", 15)
        self._name = self._add(Form(self.look, beginning.name_fields(self.say)))
        self._about_group.input("country").currentIndexChanged.connect(self._country_chosen)  # type: ignore[attr-defined]
        self._rules.changed.connect(self._tell)
        self.language_box.chosen.connect(self.language_chosen)
        return [self._section("start.group"), self._about_group, self._rules, self.told, 12, self._name]

    @property
    def language_box(self) -> Any:
        return self._about_group.input("language")

    def _you(self) -> list[Any]:
        self._plan = self._add(Form(self.look, [beginning.plan_field(self.say)]))
        self._plan.changed.connect(self._tell_cost)
        self.cost = Words(self.look, "", 15)
        name, initials = (self._add(Form(self.look, [one])) for one in beginning.you_fields(self.say))
        return [self._section("start.you"), _pair(name, initials), self._section("start.plan"), self._plan, self.cost]

    def _person(self) -> QWidget:
        return self._add(Form(self.look, self.start.person_fields(self.say)))

    def _kitchen(self) -> list[Any]:
        chosen = self.start.country
        zones, likely = country.zones_to_offer(chosen, now_us(), self.say("start.zone_unchosen"))
        fields = questions.site_fields(self.say, zones, likely)
        name, letters, zone, elevation, unit, source = (self._add(Form(self.look, [one])) for one in fields)
        box: Any = name.input("name")
        box.textEdited.connect(self._propose_letters)
        return [self._section("start.kitchen"), _pair(name, letters), zone, _pair(elevation, unit), source]

    def _shift(self) -> list[Any]:
        self.days = Days(self.look, self.say)
        self.days.changed.connect(self._tell_cost)
        name, start, end = (self._add(Form(self.look, [one])) for one in questions.shift_fields(self.say))
        return [self._section("start.shift"), name, self.days, _pair(start, end, 1)]

    def _form_of(self, name: str) -> Form:
        return next(form for form in self.forms if name in form.values())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """One column where two would be too narrow."""
        super().resizeEvent(event)
        narrow = self.width() < 2 * self.look.text(SMALLEST_COLUMN) + 48
        direction = QBoxLayout.Direction.TopToBottom if narrow else QBoxLayout.Direction.LeftToRight
        self._columns.setDirection(direction)
        self._columns.setSpacing(16 if narrow else 48)

    # --- what follows from an answer -------------------------------------------------------------------------

    def values(self) -> Values:
        found = {name: value for form in self.forms for name, value in form.values().items()}
        return found | {"days": "".join(str(one) for one in self.days.chosen())}

    def fill(self, kept: Values | None) -> None:
        if not self.only_kitchen:
            box = self._about_group.input("country")
            assert isinstance(box, QComboBox)
            box.setCurrentIndex(max(0, box.findData((kept or {}).get("country", country.likely_country()))))
            self._country_chosen()
        for form in self.forms:
            form.fill({name: value for name, value in (kept or {}).items() if name != "language"})
        if kept:
            self.days.choose([int(one) for one in kept["days"]])
        self._tell_cost()

    def _country_chosen(self) -> None:
        chosen = self._about_group.values()["country"]
        codes = country.codes_of(chosen)
        _offer(self._rules, "jurisdiction", [(one, self.say(f"jurisdiction.{one}")) for one in codes])
        self._rules.setVisible(len(codes) > 1)
        zones, zone = country.zones_to_offer(chosen, now_us(), self.say("start.zone_unchosen"))
        _offer(self._form_of("zone"), "zone", zones, zone)
        self._tell()

    def _tell(self) -> None:
        values = self.values()
        there = bool(values["country"] and values["jurisdiction"])
        self.told.say(country.told(values["country"], values["jurisdiction"], self.language) if there else "")
        self.told.setVisible(there)

    def _tell_cost(self) -> None:
        if self.only_kitchen:
            return
        plan = self.values()["plan"]
        hours = hours_a_year(of_shipped(plan), TWELVE, len(self.days.chosen()))
        region = "es_ES" if self.language == "es" else "en_GB"
        self.cost.say(self.say("start.cost", plan=self.say(f"plan.{plan}"), hours=format.number(round(hours), region)))

    def _propose_letters(self, name: str) -> None:
        """The first two letters of the name, until somebody types others."""
        box: Any = self._form_of("letters").input("letters")
        if not box.isModified():
            box.setText("".join(each for each in name.upper() if "A" <= each <= "Z")[:2])

    def take_focus(self) -> None:
        """To the first question."""
        if self.only_kitchen:
            self.forms[0].input("person").setFocus()
        else:
            self.language_box.button(self.language_box.value).setFocus()

    def settle(self, *, busy: bool) -> None:
        """Nothing is typed while it is being made, nor what is made already."""
        group_made = not self.only_kitchen and self.start.session is not None
        for form in self.forms:
            form.setEnabled(not busy and (not group_made or bool(OF_KITCHEN & set(form.values()))))

    def show_problems(self, problems: Sequence[Problem], said: Callable[[Problem], str]) -> list[Problem]:
        """Each beneath its field, the first one gets the focus; returned are those of no field here."""
        for form in self.forms:
            form.forget_problems()
        for form in reversed(self.forms):
            mine = [one for one in problems if one.field in form.values()]
            if mine:
                form.show_problems(mine, said)
        self.days.show_problems(problems, said)
        known = {"weekdays", *self.values()}
        return [one for one in problems if one.field not in known]


def _pair(left: QWidget, right: QWidget, share: int = 2) -> QHBoxLayout:
    """Two questions side by side, the left one the wider where its answer is longer."""
    made = QHBoxLayout()
    made.setSpacing(16)
    made.addWidget(left, share, Qt.AlignmentFlag.AlignTop)
    made.addWidget(right, 1, Qt.AlignmentFlag.AlignTop)
    return made


def _offer(form: Form, name: str, choices: Sequence[tuple[str, str]], value: str = "") -> None:
    """Other choices in a list, without telling anybody."""
    box = form.input(name)
    assert isinstance(box, QComboBox)
    box.blockSignals(True)
    kept = value or str(box.currentData())
    box.clear()
    for code, words in choices:
        box.addItem(words, code)
    box.setCurrentIndex(max(0, box.findData(kept)))
    box.blockSignals(False)
