"""The window itself: an empty sheet at the first paint. What fills it is loaded beside it, then put in."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QWidget

from ui import theme
from ui.theme import Look

# A style sheet fills the grounds: the first use of a painter would have Qt make all its enums, 20 ms of 130.
_GROUNDS = "Window {{ background: {sheet}; }} QFrame#column {{ background: {col}; }}"


class Window(QFrame):
    """Grounds where column and page will stand; then whatever it is given to hold."""

    first_painted = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._painted = False
        column = QFrame()
        column.setObjectName("column")
        column.setFixedWidth(look.text(theme.COLUMN))
        self._held: QWidget = column
        self._lay = QHBoxLayout(self)
        self._lay.setContentsMargins(0, 0, 0, 0)
        self._lay.addWidget(column)
        self._lay.addStretch(1)
        self.setStyleSheet(_GROUNDS.format(sheet=look.sheet.name(), col=look.col.name()))

    def hold(self, widget: QWidget) -> None:
        """Fill the window with a widget, whose title becomes the window's."""
        self._lay.removeWidget(self._held)
        self._lay.takeAt(0)
        self._held.deleteLater()
        self.setStyleSheet("")
        self._held = widget
        self._lay.addWidget(widget)
        widget.windowTitleChanged.connect(self.setWindowTitle)
        self.setWindowTitle(widget.windowTitle())

    def paintEvent(self, event: object) -> None:
        super().paintEvent(event)  # type: ignore[arg-type]
        if not self._painted:
            self._painted = True
            self.first_painted.emit()

    def closeEvent(self, event: object) -> None:
        """Closing is for what is held to see to."""
        self._held.close()
