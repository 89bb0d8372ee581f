"""On what tags are printed, and how: labels, dots, code, trim, and the label that a sheet begins at."""

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from registry.services import settings, tag_setup
from registry.services.problems import Refused
from registry.services.tag_setup import Setup
from registry.wording import format
from ui.desk import Desk
from ui.forms import CHOICE, FEW, Field, Form
from ui.parts import Words, column, holding
from ui.tags.sheet_picture import SheetPicture

ROLL = ("roll_width", "roll_height")
TRIM = ("trim_right", "trim_down")


class HowPart(QWidget):
    changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look, self.say = desk, desk.look, desk.say
        self.start, self.count = 1, 0
        local, say = desk.local, self.say
        self.labels = Form(self.look, [self._few("label", CHOICE)])
        self.roll = Form(self.look, [self._figure(one) for one in ROLL])
        self.rest = Form(self.look, [self._few("dots", FEW), self._few("code", FEW)])
        hint = say("tags.trim_hint")
        self.trim = Form(self.look, [self._figure(TRIM[0]), self._figure(TRIM[1], hint)])
        self.sheet = SheetPicture(self.look, say("tags.sheet"))
        self.sheet.chosen.connect(self._begin_at)
        self.place = Words(self.look, "", 14, colour="muted")
        self.about_labels = Words(self.look, say("tags.about_labels"), 14, colour="muted")
        self.setLayout(column(self.labels, self.roll, self.sheet, self.place, self.about_labels, space=4))
        self.printer = holding(column(self.rest, self.trim, space=4))  # stands elsewhere on the page
        for form in (self.labels, self.roll, self.rest, self.trim):
            form.changed.connect(self._was_changed)
        self._local = local
        self._show()

    def _few(self, name: str, kind: str) -> Field:
        of = settings.SETTINGS[name]
        choices = tuple((one, self.say(f"setting.{name}_{one}")) for one in of.choices)
        return Field(name, self.say(f"setting.{name}"), kind, settings.setting(self.desk.local, name), choices)

    def _figure(self, name: str, hint: str = "") -> Field:
        value = format.number(settings.figure(self.desk.local, name), self.desk.region)
        return Field(name, self.say(f"setting.{name}"), value=value, hint=hint)

    @property
    def stock(self) -> str:
        label = self.labels.values()["label"]
        if label != settings.OWN_ROLL:
            return label
        width, height = (_plain(self.roll.values()[name]) for name in ROLL)
        return f"{width}x{height}"

    def setup(self) -> Setup:
        """As it stands in the fields; refused with what is wrong in them."""
        rest, trim = self.rest.values(), self.trim.values()
        return tag_setup.typed_setup(
            self.stock, rest["dots"], rest["code"], str(self.start), trim["trim_right"], trim["trim_down"]
        )

    def show_count(self, count: int) -> None:
        """So many tags are to be printed."""
        if count != self.count:
            self.count = count
            self._show()

    def show_problems(self, refused: Refused) -> list[str]:
        """Beside their fields; what belongs to none of them is returned, in words."""
        left = []
        for form in (self.labels, self.roll, self.rest, self.trim):
            names = form.values()
            here = [one for one in refused.problems if one.field in names]
            if here:
                form.show_problems(here, self.desk.say_problem)
        known = {name for form in (self.labels, self.roll, self.rest, self.trim) for name in form.values()}
        for one in refused.problems:
            if one.field not in known:
                left.append(self.desk.say_problem(one))
        return left

    def forget_problems(self) -> None:
        for form in (self.labels, self.roll, self.rest, self.trim):
            form.forget_problems()

    def _was_changed(self) -> None:
        self.forget_problems()
        self._show()
        self.changed.emit()

    def _begin_at(self, label: int) -> None:
        self.start = label
        self._show()
        self.changed.emit()

    def _show(self) -> None:
        """The picture of the sheet where it is one, else the size of the roll where it is one's own."""
        form = tag_setup.sheet(self.stock)
        self.roll.setVisible(self.labels.values()["label"] == settings.OWN_ROLL)
        self.sheet.setVisible(form is not None)
        self.place.setVisible(form is not None)
        if form is None:
            self.start = 1
            return
        self.start = min(self.start, form.labels)
        sheets = -(-(self.count + self.start - 1) // form.labels) if self.count else 0
        said = self.say("tags.begins", label=self.start, of=form.labels)
        if sheets:
            said = f"{said} {self.say('tags.sheets', count=sheets)}"
        self.place.say(said)
        self.sheet.show_sheet(form, self.start, self.count, said)

    def kept(self) -> Mapping[str, object]:
        values = self.labels.values() | self.roll.values() | self.rest.values() | self.trim.values()
        return {"values": values, "start": self.start}

    def restore(self, kept: Mapping[str, Any]) -> None:
        self.start = int(kept["start"])
        for form in (self.labels, self.roll, self.rest, self.trim):
            form.fill(kept["values"])
        self._show()


def _plain(text: str) -> str:
    return text.strip().replace(",", ".")
