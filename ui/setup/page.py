"""Set-up: a list of parts at the left, or above where the window is small; one part in sight."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from ui import theme
from ui.desk import Desk
from ui.forms import List
from ui.page import Page
from ui.parts import Line, Scroll, Words, clear, column, holding, one_stop
from ui.setup.carrying import CarryOn, is_needed
from ui.setup.copies import CopiesPart
from ui.setup.importing import ImportPart
from ui.setup.own_figures import OwnFiguresPart
from ui.setup.part import Part
from ui.setup.people import PeoplePart
from ui.setup.record import RecordPart
from ui.setup.rules import RulesPart
from ui.setup.shifts import ShiftsPart
from ui.setup.sites import SitesPart
from ui.setup.window import PaperPart, WindowPart
from ui.theme import Look

PARTS: dict[str, type[Part]] = {
    one.name: one
    for one in (
        WindowPart,
        SitesPart,
        ShiftsPart,
        PeoplePart,
        RulesPart,
        OwnFiguresPart,
        PaperPart,
        CopiesPart,
        ImportPart,
        RecordPart,
    )
}


class PartButton(QAbstractButton):
    """One of the parts: an ink frame round the one in sight."""

    def __init__(self, look: Look, words: str) -> None:
        super().__init__()
        self.look = look
        self.setText(words)
        self.setAccessibleName(words)
        self.setCheckable(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self.look.font(15, bold=True))
        return QSize(metrics.horizontalAdvance(self.text()) + 26, max(theme.DESK, metrics.height() + 16))

    minimumSizeHint = sizeHint

    def paintEvent(self, event: QPaintEvent) -> None:
        look, painter, box = self.look, QPainter(self), QRectF(self.rect())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.isChecked():
            painter.setPen(QPen(look.ink, 2))
            painter.setBrush(look.field)
            painter.drawRoundedRect(box.adjusted(1, 1, -1, -1), 6, 6)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(look.pen, 3))
            painter.drawRoundedRect(box.adjusted(1.5, 1.5, -1.5, -1.5), 5, 5)
        painter.setFont(look.font(15, bold=self.isChecked()))
        painter.setPen(look.ink if self.isChecked() else look.muted)
        painter.drawText(self.rect().adjusted(12, 0, -8, 0), Qt.AlignmentFlag.AlignVCenter, self.text())


class SetupPage(Page):
    """The place Set-up."""

    name = "setup"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.part: Part | None = None
        self.shown = "window"
        self._built_small: bool | None = None
        self.setLayout(QVBoxLayout())
        self.layout().setContentsMargins(0, 0, 0, 0)  # type: ignore[union-attr]

    # --- the list of parts -----------------------------------------------------------------------------------

    def set_small(self, small: bool) -> None:
        """A list at the left takes too much of a small window: there it is a list to choose from, above."""
        if small == self._built_small:
            return
        self._built_small = small
        clear(self.layout())  # type: ignore[arg-type]
        self._title = Words(self.look, "", 26, bold=True)
        self._inner = QVBoxLayout()
        self._inner.setContentsMargins(28, 16, 28, 24)
        main = QVBoxLayout()
        main.setSpacing(0)
        head = [self._list_above()] if small else []
        main.addLayout(column(*head, self._title, margins=(28, 12 if small else 22, 28, 12), space=12))
        main.addWidget(Line(self.look.bench))
        self._scroll = Scroll(holding(self._inner))
        main.addWidget(self._scroll, 1)
        across = QHBoxLayout()
        across.setSpacing(0)
        if not small:
            across.addLayout(self._list_beside())
            across.addWidget(Line(self.look.line, upright=True))
        across.addLayout(main, 1)
        self.layout().addLayout(across)  # type: ignore[union-attr]

    def _list_beside(self) -> QVBoxLayout:
        self._buttons, self._group = {}, QButtonGroup(self)
        lay = QVBoxLayout()
        lay.setContentsMargins(16, 22, 16, 16)
        lay.setSpacing(2)
        for name in PARTS:
            button = PartButton(self.look, self.desk.say(f"setup.part.{name}"))
            button.clicked.connect(self._pressed)
            self._buttons[name] = button
            self._group.addButton(button)
            lay.addWidget(button)
        lay.addStretch(1)
        return lay

    def _list_above(self) -> QWidget:
        self._box = List(self.look)
        self._box.setMinimumHeight(theme.DESK)
        self._box.setAccessibleName(self.desk.say("setup.parts"))
        for name in PARTS:
            self._box.addItem(self.desk.say(f"setup.part.{name}"), name)
        self._box.activated.connect(self._picked)
        return self._box

    def _pressed(self) -> None:
        self.show_part(next(name for name, button in self._buttons.items() if button.isChecked()))

    def _picked(self, _index: int) -> None:
        self.show_part(str(self._box.currentData()))

    # --- showing ---------------------------------------------------------------------------------------------

    def show_about(self, about: object) -> None:
        """`about`: the name of a part, or what `keep_draft` kept."""
        kept = about if isinstance(about, dict) else {"part": about}
        self.set_small(bool(self._built_small))
        self.show_part(str(kept.get("part")) if kept.get("part") in PARTS else self.shown)
        if self.part is not None and kept.get("focus"):
            self.part.take_focus(str(kept["focus"]))

    def show_part(self, name: str) -> None:
        self.shown = name
        if self._built_small:
            self._box.setCurrentIndex(self._box.findData(name))
        else:
            self._buttons[name].setChecked(True)
            one_stop(self._group)
        self._title.say(self.desk.say(f"setup.title.{name}"))
        clear(self._inner)
        session = self.desk.session
        if is_needed(session.why_read_only):
            self._inner.addWidget(CarryOn(self.desk))
        self.part = PARTS[name](self.desk)
        self.part.setMaximumWidth(self.look.text(860))
        self.part.read_again()
        self._inner.addWidget(self.part)
        self._scroll.verticalScrollBar().setValue(0)

    def read_again(self) -> None:
        if self.part is not None:
            had = self.isAncestorOf(self.window().focusWidget() or self.window())
            self.part.read_again()
            if had and not self._built_small:  # what had the focus is made anew
                self._buttons[self.shown].setFocus()

    def keep_draft(self) -> dict[str, object]:
        return {"part": self.shown, "focus": self.part.focus_name() if self.part else ""}
