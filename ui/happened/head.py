"""The head of a paper sheet: shift and day, who filled it in, the baths with their times and pressure."""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from registry.services import places
from registry.services.baths import MADE, PressureSource
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.forms import List
from ui.happened.keyed import Head
from ui.parts import Words, column, holding
from ui.tick import Tick

PRESSURE_UNITS = ("hPa", "inHg", "mmHg", "kPa", "mbar")
ON_THE_SHEET = ("ice", "boil", "both")


class SheetHead(QWidget):
    """All fields of the head, in lines that go on where the window is narrow."""

    changed = Signal()
    list_wanted = Signal()  # another shift, day or bath: the lines are others

    def __init__(self, desk: Desk, shifts: Sequence[str], initials: Sequence[str]) -> None:
        super().__init__()
        self.desk, self.look, say = desk, desk.look, desk.say
        site = desk.site.payload
        with desk.session.reading() as connection:
            on = places.shift_now(desk.session, connection, desk.site)
        today = on.day if on is not None else desk.session.today(site)
        self.shift = self._list("shift", [("", say("happened.no_shift")), *((one, one) for one in shifts)], again=True)
        self.shift.setCurrentIndex(max(0, self.shift.findData(on.shift.name if on is not None else "")))
        self.day = self._line("day", today.isoformat())
        self.day.editingFinished.connect(self._again)
        self.initials = self._list("initials", [(one, one) for one in initials])
        self.initials.setCurrentIndex(max(0, self.initials.findData(desk.person.initials)))
        self.baths = self._list("baths", [(one, say(f"happened.baths_{one}")) for one in ON_THE_SHEET], again=True)
        self.made = self._list("made", [(one, say(f"bath_short.{one}")) for one in MADE["ice_point"]])
        self.ice_at = self._line("ice_at", "", "00:00")
        self.boil_at = self._line("boil_at", "", "00:00")
        sources = [(one.value, say(f"pressure_source.{one.value}")) for one in PressureSource]
        self.source = self._list("source", sources)
        self.source.setCurrentIndex(max(0, self.source.findData(site.pressure_source)))
        self.pressure = self._line("pressure", "", "1013.25")
        self.unit = self._list("pressure_unit", [(one, one) for one in PRESSURE_UNITS])
        self.unit.setCurrentIndex(self.unit.findData("inHg" if desk.unit == "F" else "hPa"))
        self._build()

    def _build(self) -> None:
        say = self.desk.say
        lay = QVBoxLayout(self)
        lay.setContentsMargins(0, 0, 0, 0)
        lay.setSpacing(10)
        top = ("shift", self.shift), ("day", self.day), ("filled_by", self.initials), ("baths", self.baths)
        ice = ("ice_at", self.ice_at), ("made", self.made)
        boil = ("boil_at", self.boil_at), ("pressure", self.pressure), ("unit", self.unit), ("source", self.source)
        self._ice, self._boil = self._under(ice), self._under(boil)
        lay.addLayout(Flow(*self._under(top), *self._ice, *self._boil, space=12))
        self.problem = Words(self.look, "", 15, bold=True, colour="caution")
        self._stands = Tick(self.look, say("happened.stands_so"))
        self._stands.setMinimumHeight(theme.TOUCH)
        for one in (self.problem, self._stands):
            one.hide()
            lay.addWidget(one)
        self._show()

    def _under(self, pairs: Sequence[tuple[str, QWidget]]) -> list[QWidget]:
        """Each field with its words above it."""
        found = []
        for code, widget in pairs:
            words = Words(self.look, self.desk.say(f"happened.head_{code}"), 14, colour="muted", wrap=False)
            words.setBuddy(widget)
            widget.setAccessibleName(words.text())
            found.append(holding(column(words, widget, space=4)))
        return found

    def _list(self, name: str, choices: Sequence[tuple[str, str]], *, again: bool = False) -> List:
        box = List(self.look)
        box.setObjectName(name)
        box.setMinimumHeight(theme.TOUCH)
        box.setSizeAdjustPolicy(List.SizeAdjustPolicy.AdjustToContents)
        for code, words in choices:
            box.addItem(words, code)
        box.activated.connect(self._again if again else self._changed)
        return box

    def _line(self, name: str, text: str, widest: str = "2026-00-00") -> QLineEdit:
        line = QLineEdit(text)
        line.setObjectName(name)
        line.setMinimumHeight(theme.TOUCH)
        line.setFixedWidth(line.fontMetrics().horizontalAdvance(widest) + self.look.text(30))
        line.textEdited.connect(self._changed)
        return line

    def _changed(self, *_: object) -> None:
        self._stands.setChecked(False)
        self.changed.emit()

    def _again(self, *_: object) -> None:
        self._show()
        self.list_wanted.emit()

    def _show(self) -> None:
        chosen = self.baths.currentData()
        for fields, there in ((self._ice, chosen != "boil"), (self._boil, chosen != "ice")):
            for one in fields:
                one.setVisible(there)

    @property
    def stands(self) -> bool:
        return self._stands.isChecked()

    def say_problem(self, sentence: str, *, ask: bool = False) -> None:
        self.problem.say(sentence)
        self.problem.setVisible(bool(sentence))
        self._stands.setVisible(ask)

    def head(self) -> Head:
        chosen = str(self.baths.currentData())
        return Head(
            shift=str(self.shift.currentData()),
            day=self.day.text(),
            initials=str(self.initials.currentData() or ""),
            ice=chosen != "boil",
            boil=chosen != "ice",
            made=str(self.made.currentData()),
            ice_at=self.ice_at.text().strip(),
            boil_at=self.boil_at.text().strip(),
            source=str(self.source.currentData()),
            pressure=self.pressure.text().strip(),
            pressure_unit=str(self.unit.currentData()),
        )

    def fill(self, head: Head) -> None:
        """As it was kept."""
        chosen = "both" if head.ice and head.boil else "boil" if head.boil else "ice"
        for box, value in (
            (self.shift, head.shift), (self.initials, head.initials), (self.baths, chosen), (self.made, head.made),
            (self.source, head.source), (self.unit, head.pressure_unit),
        ):  # fmt: skip
            box.setCurrentIndex(max(0, box.findData(value)))
        for line, text in (
            (self.day, head.day), (self.ice_at, head.ice_at), (self.boil_at, head.boil_at),
            (self.pressure, head.pressure),
        ):  # fmt: skip
            line.setText(text)
        self._show()
