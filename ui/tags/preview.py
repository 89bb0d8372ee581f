"""The very page that will be printed, as large as there is room for, on white."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from ui.pdf import Picture
from ui.theme import Look

DPI = 203  # of the picture: sharp enough for a label four times its size
MOST = 4.0  # a label is shown at most so many times its size


class Preview(QWidget):
    def __init__(self, look: Look, name: str) -> None:
        super().__init__()
        self.look = look
        self._picture: Picture | None = None
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMinimumWidth(200)
        self.setFixedHeight(120)

    @property
    def picture(self) -> Picture | None:
        return self._picture

    def show_picture(self, picture: Picture | None) -> None:
        self._picture = picture
        self.setAccessibleDescription(picture.text if picture else "")
        self._set_height()
        self.update()

    def _size(self) -> QSize:
        assert self._picture is not None
        image = self._picture.image
        wide = min(self.width() - 2, round(image.width() / DPI * 96 * MOST))
        return QSize(wide, round(wide * image.height() / image.width()))

    def _set_height(self) -> None:
        self.setFixedHeight(self._size().height() + 2 if self._picture else 120)

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._set_height()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._picture is None:
            return
        painter = QPainter(self)
        size = self._size()
        wanted = size * self.devicePixelRatioF()
        small = self._picture.image.scaled(
            wanted, Qt.AspectRatioMode.IgnoreAspectRatio, Qt.TransformationMode.SmoothTransformation
        )
        where = QRectF(1, 1, size.width(), size.height())
        painter.drawImage(where, small, QRectF(small.rect()))
        painter.setPen(QPen(self.look.edge, 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(where.adjusted(-0.5, -0.5, 0.5, 0.5))
        painter.end()
