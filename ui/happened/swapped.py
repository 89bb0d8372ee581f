"""A place whose content is made anew: the new one is in sight, and may take the focus, as soon as it is put there."""

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QLayout, QScrollArea, QVBoxLayout, QWidget

from ui.parts import holding


class Swapped(QWidget):
    """Holds one layout at a time."""

    def __init__(self) -> None:
        super().__init__()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._inner: QWidget | None = None

    def put(self, layout: QLayout) -> None:
        self.empty()
        self._inner = holding(layout)
        self._column.addWidget(self._inner)
        self._inner.show()

    def reveal(self) -> None:
        """Bring it into sight, once it has its place."""
        QTimer.singleShot(0, self, self._reveal)

    def _reveal(self) -> None:
        parent = self.parentWidget()
        while parent is not None and not isinstance(parent, QScrollArea):
            parent = parent.parentWidget()
        if isinstance(parent, QScrollArea) and self._inner is not None:
            parent.ensureWidgetVisible(self._inner, 16, 24)

    def empty(self) -> None:
        if self._inner is not None:
            self._column.removeWidget(self._inner)
            self._inner.hide()
            self._inner.deleteLater()
            self._inner = None
