"""Thermometers: the table of all, the page of one, enrolling one or many."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout

from ui.desk import Desk
from ui.page import Page
from ui.parts import clear
from ui.thermometers import stating
from ui.thermometers.one import OnePart
from ui.thermometers.table_part import TablePart

if TYPE_CHECKING:
    from ui.thermometers.enrol_many import EnrolMany
    from ui.thermometers.enrol_one import EnrolOne


class ThermometersPage(Page):
    """`show_about`: nothing for the table, a thermometer's id for its page, or what `keep_draft` kept."""

    name = "thermometers"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._came_from = ""
        self._small: bool | None = None
        self._lay = QVBoxLayout(self)
        self._lay.setContentsMargins(0, 0, 0, 0)
        self.set_small(False)

    def set_small(self, small: bool) -> None:
        """The window is laid out otherwise when it is small: everything is made anew."""
        if small == self._small:
            return
        self._small = small
        clear(self._lay)
        self.stack = QStackedWidget()
        self._lay.addWidget(self.stack)
        self._enrol_one: EnrolOne | None = None
        self._enrol_many: EnrolMany | None = None
        self.table = TablePart(self.desk, small=small)
        self.table.opened.connect(self.show_one)
        self.table.enrol_one.connect(self.begin_one)
        self.table.enrol_many.connect(self.begin_many)
        self.one = OnePart(self.desk, small=small)
        self.one.back_wanted.connect(self._back)
        for part in (self.table, self.one):
            self.stack.addWidget(part)

    @property
    def enrol_one(self) -> EnrolOne:
        """Made when it is first wanted, as is the grid."""
        if self._enrol_one is None:
            from ui.thermometers.enrol_one import EnrolOne

            self._enrol_one = EnrolOne(self.desk, small=bool(self._small))
            self._enrol_one.back_wanted.connect(self.show_table)
            self._enrol_one.enrolled.connect(self._enrolled)
            self.stack.addWidget(self._enrol_one)
        return self._enrol_one

    @property
    def enrol_many(self) -> EnrolMany:
        if self._enrol_many is None:
            from ui.thermometers.enrol_many import EnrolMany

            self._enrol_many = EnrolMany(self.desk, small=bool(self._small))
            self._enrol_many.back_wanted.connect(self.show_table)
            self.stack.addWidget(self._enrol_many)
        return self._enrol_many

    # --- going about -----------------------------------------------------------------------------------------

    def show_about(self, about: object) -> None:
        if isinstance(about, dict):
            self._restore(about)
        elif isinstance(about, str):
            self.show_one(about, self.desk.came_from)
        else:
            self.show_table()

    def show_table(self) -> None:
        self.stack.setCurrentWidget(self.table)
        self.table.read()
        self.table.take_focus()

    def show_one(self, thermometer: str, came_from: str = "") -> None:
        """came_from: the place that back leads to; "" for the table."""
        self._came_from = came_from
        self.one.name_back(came_from)
        self.stack.setCurrentWidget(self.one)
        self.one.show_one(thermometer)
        if self._shown() == "one":
            self.one.back.setFocus()

    def _back(self) -> None:
        """Where one came from another place, there; where that one is gone from meanwhile, the table."""
        if self._shown() == "one" and self._came_from and self._came_from == self.desk.came_from:
            self.desk.go_back()
        else:
            self.show_table()

    def begin_one(self) -> None:
        self.enrol_one.begin()
        self.stack.setCurrentWidget(self.enrol_one)
        self.enrol_one.types.take_focus()

    def begin_many(self) -> None:
        self.stack.setCurrentWidget(self.enrol_many)
        self.enrol_many.begin()

    def _shown(self) -> str:
        shown = self.stack.currentWidget()
        if shown is self.table or shown is self.one:
            return "table" if shown is self.table else "one"
        return "enrol_one" if shown is self._enrol_one else "enrol_many"

    def _enrolled(self, thermometer: str, reference: bool) -> None:
        """Its page; where it is a reference, its outside certificate is asked for next."""
        self.show_one(thermometer)
        if self.one.page is not None:
            self.desk.notice(self.desk.say("enrol.done", tag=self.one.page.of.tag_id))
            if reference:
                stating.outside_certificate(self.desk, self.one.page)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self._shown() != "table":
            self._back()
        else:
            super().keyPressEvent(event)

    # --- reading again, what is kept -------------------------------------------------------------------------

    def read_again(self) -> None:
        if self._shown() == "table":
            self.table.read()
        elif self._shown() == "one":
            self.one.read_again()

    def keep_draft(self) -> dict[str, object]:
        return {
            "shown": self._shown(),
            "thermometer": self.one.thermometer,
            "came_from": self._came_from,
            "table": self.table.kept(),
            "enrol": self._enrol_one.kept() if self._enrol_one is not None else {},
        }

    def _restore(self, kept: dict[str, Any]) -> None:
        self.table.restore(kept.get("table", {}))
        shown = kept.get("shown")
        enrolling = self.desk.may("officer")
        if kept.get("enrol") and enrolling:
            self.enrol_one.begin(kept["enrol"])
        if shown == "one" and kept.get("thermometer"):
            self.show_one(str(kept["thermometer"]), str(kept.get("came_from", "")))
        elif shown == "enrol_one" and enrolling:
            self.begin_one()
        elif shown == "enrol_many" and enrolling:
            self.begin_many()
        else:
            self.show_table()
