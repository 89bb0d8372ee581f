"""The few controls that every page is built of, as printed form and pen: words, buttons, one of a few, bench line."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetrics, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLayout,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from ui import theme
from ui.flow import Flow
from ui.theme import Look

PLAIN, MAIN, LINK = "plain", "main", "link"
LINK_INSET = 6  # px at both sides of a link's words, so that the frame of focus keeps off them


class Words(QLabel):
    """A text in one size and one colour by meaning. It wraps unless told otherwise, so that nothing is clipped."""

    def __init__(
        self,
        look: Look,
        text: str = "",
        size: float = 15,
        *,
        bold: bool = False,
        colour: str = "ink",
        wrap: bool = True,
    ) -> None:
        super().__init__(text)
        self.look = look
        self.setFont(look.font(size, bold=bold))
        self.setWordWrap(wrap)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.set_colour(colour)

    def set_colour(self, colour: str) -> None:
        made = self.palette()
        made.setColor(self.foregroundRole(), getattr(self.look, colour))
        self.setPalette(made)

    def say(self, text: str) -> None:
        """New words; nothing is drawn anew where they are the same."""
        if text != self.text():
            self.setText(text)


class Sentence(Words):
    """An answer sentence in which some words are bold: they are marked by asterisks, `It reads *0.6 °C high*`."""

    def say(self, text: str) -> None:
        self.setTextFormat(Qt.TextFormat.RichText)
        parts = text.replace("&", "&amp;").replace("<", "&lt;").split("*")
        self.setText("".join(f"<b>{part}</b>" if n % 2 else part for n, part in enumerate(parts)))
        self.setAccessibleName("".join(text.split("*")))


class Pressed(QAbstractButton):
    """What is pressed and paints itself: Enter presses it as Space does."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if not event.isAutoRepeat():  # held down since before the focus came here, it is not meant
                self.click()
        else:
            super().keyPressEvent(event)


class Button(Pressed):
    """A plain button, the one main button of a page, or a text link."""

    def __init__(self, look: Look, text: str, kind: str = PLAIN, *, height: int = theme.DESK, size: float = 15) -> None:
        super().__init__()
        self.look, self.kind, self._height = look, kind, height
        self.setText(text)
        self.setFont(look.font(size, bold=kind == MAIN))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self.font())
        lines = self.text().split("\n")
        width = max(metrics.horizontalAdvance(line) for line in lines) + (2 * LINK_INSET if self.kind == LINK else 36)
        return QSize(max(width, self._height), max(self._height, metrics.height() * len(lines) + 16))

    minimumSizeHint = sizeHint

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.kind == LINK:
            self._paint_link(painter)
        else:
            self._paint_box(painter)

    def _paint_box(self, painter: QPainter) -> None:
        look, box = self.look, QRectF(self.rect()).adjusted(1, 1, -1, -1)
        main, text = self.kind == MAIN, look.ink
        if not self.isEnabled():
            painter.setPen(QPen(look.edge, 1, Qt.PenStyle.DashLine))
            text = look.muted
        elif self.isDown():
            painter.setPen(QPen(look.ink, 2))
            painter.setBrush(look.level)
        elif main:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(look.pen)
            text = look.penink
        else:
            painter.setPen(QPen(look.edge, 1))
            painter.setBrush(look.field)
        painter.drawRoundedRect(box, 6, 6)
        if self.hasFocus() and not self.isDown():
            inset, colour, width = (4, look.penink, 2) if main else (0.5, look.pen, 3)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(colour, width))
            painter.drawRoundedRect(box.adjusted(inset, inset, -inset, -inset), 5, 5)
        painter.setPen(text)
        painter.setFont(self.font())
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, self.text())

    def _paint_link(self, painter: QPainter) -> None:
        look = self.look
        if self.hasFocus():
            painter.setPen(QPen(look.pen, 3))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5), 5, 5)
        font = self.font()
        font.setUnderline(self.isEnabled())
        painter.setFont(font)
        painter.setPen(look.pen if self.isEnabled() else look.muted)
        left = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
        painter.drawText(self.rect().adjusted(LINK_INSET, 0, 0, 0), left, self.text())


class _One(QAbstractButton):
    """One word of a choice of a few."""

    def __init__(self, look: Look, text: str, height: int) -> None:
        super().__init__()
        self.look, self._height = look, height
        self.setText(text)
        self.setCheckable(True)
        self.setFont(look.font(15, bold=True))
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self.font())
        return QSize(
            max(metrics.horizontalAdvance(self.text()) + 22, self._height), max(self._height, metrics.height() + 16)
        )

    minimumSizeHint = sizeHint

    def paintEvent(self, event: QPaintEvent) -> None:
        look, painter = self.look, QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.isChecked():
            painter.setPen(QPen(look.ink, 2))
            painter.setBrush(look.field)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 6, 6)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(look.pen, 3))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5), 5, 5)
        painter.setFont(look.font(15, bold=self.isChecked()))
        painter.setPen(look.ink if self.isChecked() else look.muted)
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, self.text())


class Choice(QWidget):
    """One of a few: an ink frame round the chosen word. Arrow keys go on, as within any group."""

    chosen = Signal(str)

    def __init__(
        self,
        look: Look,
        choices: Sequence[tuple[str, str]],
        value: str,
        name: str,
        *,
        height: int = theme.DESK,
        breaks: bool = False,
    ) -> None:
        """breaks: it goes on in a second line where there is no room for all words in one."""
        super().__init__()
        self.look = look
        self.setAccessibleName(name)
        self._group = QButtonGroup(self)
        self._buttons: dict[str, _One] = {}
        self._flow = Flow(space=0, fill=True) if breaks else None
        line = self._flow or row(space=0)
        for code, words in choices:
            button = _One(look, words, height)
            button.setAccessibleName(f"{name}: {words}")
            button.setChecked(code == value)
            button.clicked.connect(self._clicked)
            self._group.addButton(button)
            self._buttons[code] = button
            line.addWidget(button)
        self.setLayout(line)
        one_stop(self._group)
        self.setMinimumHeight(height)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    @property
    def value(self) -> str:
        return next((code for code, button in self._buttons.items() if button.isChecked()), "")

    @property
    def codes(self) -> list[str]:
        return list(self._buttons)

    def button(self, code: str) -> QAbstractButton:
        return self._buttons[code]

    def choose(self, code: str) -> None:
        """Show another as chosen, without telling anybody."""
        if code in self._buttons:
            self._buttons[code].setChecked(True)
            one_stop(self._group)

    def _clicked(self) -> None:
        self.chosen.emit(self.value)

    def resizeEvent(self, event: QResizeEvent) -> None:
        if self._flow is not None:
            self.setFixedHeight(self._flow.heightForWidth(self.width()))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.look.edge, 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 6, 6)


def one_stop(group: QButtonGroup) -> None:
    """Tab comes to the chosen one of a group, or to the first; arrow keys go on from there."""
    chosen = group.checkedButton() or next(iter(group.buttons()), None)
    for button in group.buttons():
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus if button is chosen else Qt.FocusPolicy.ClickFocus)


class Line(QFrame):
    """A line across: the bench, or a separator."""

    def __init__(self, colour: QColor, *, upright: bool = False) -> None:
        super().__init__()
        self._colour = colour
        if upright:
            self.setFixedWidth(1)
        else:
            self.setFixedHeight(1)

    def paintEvent(self, event: QPaintEvent) -> None:
        QPainter(self).fillRect(self.rect(), self._colour)


class Ground(QWidget):
    """A plain coloured ground."""

    def __init__(self, colour: QColor) -> None:
        super().__init__()
        self._colour = colour

    def paintEvent(self, event: QPaintEvent) -> None:
        QPainter(self).fillRect(self.rect(), self._colour)


class Scroll(QScrollArea):
    """A page's content, scrolled where the window is too small for it; across only as a last resort."""

    def __init__(self, content: QWidget) -> None:
        super().__init__()
        self.setWidgetResizable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.viewport().setAutoFillBackground(False)
        self.setWidget(content)
        content.setAutoFillBackground(False)  # setWidget has it filled: the ground below shows through


def column(
    *parts: QWidget | QLayout | int | None, space: int = 8, margins: Sequence[int] = (0, 0, 0, 0)
) -> QVBoxLayout:
    """Widgets, layouts and gaps (a number) one under the other; None stretches."""
    made = QVBoxLayout()
    _fill(made, parts, space, margins)
    return made


def row(*parts: QWidget | QLayout | int | None, space: int = 8, margins: Sequence[int] = (0, 0, 0, 0)) -> QHBoxLayout:
    """A row of widgets, layouts and gaps (a number); None stretches."""
    made = QHBoxLayout()
    _fill(made, parts, space, margins)
    return made


def _fill(
    layout: QVBoxLayout | QHBoxLayout,
    parts: Sequence[QWidget | QLayout | int | None],
    space: int,
    margins: Sequence[int],
) -> None:
    layout.setSpacing(space)
    layout.setContentsMargins(*margins)
    for part in parts:
        if part is None:
            layout.addStretch(1)
        elif isinstance(part, int):
            layout.addSpacing(part)
        elif isinstance(part, QWidget):
            layout.addWidget(part)
        else:
            layout.addLayout(part)


def measured(words: Words) -> QHBoxLayout:
    """Words no wider than reads well, at the left of their room."""
    words.setMaximumWidth(words.look.text(theme.MEASURE))
    made = row(words, None)
    made.setStretch(0, 100)
    return made


def holding(layout: QLayout, widget: QWidget | None = None) -> QWidget:
    """A widget around a layout."""
    made = widget or QWidget()
    made.setLayout(layout)
    return made


def clear(layout: QLayout) -> None:
    """Take everything out of a layout and let it go."""
    while (item := layout.takeAt(0)) is not None:
        if (widget := item.widget()) is not None:
            widget.hide()
            widget.deleteLater()
        elif (inner := item.layout()) is not None:
            clear(inner)


def on_press(button: QAbstractButton, action: Callable[[], object]) -> QAbstractButton:
    """Connect a press to what it does, without the state that Qt brings along."""
    button.clicked.connect(lambda _checked=False: action())
    return button
