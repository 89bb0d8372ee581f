"""Stored pages on screen: drawn from the very bytes that were kept."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QImage, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from ui.pdf import LOCK
from ui.theme import Look

WIDEST = 1000  # px at 100 %: wider does not read better
SCALE = 2.4  # pixels for a point of 1/72 inch: sharp at twice the size of a usual screen


@dataclass(frozen=True, slots=True)
class Sheet:
    image: QImage
    text: str


def sheets(pdf: bytes) -> list[Sheet]:
    """Every page of a document as a picture, with its words for who can't see it."""
    import pypdfium2  # late: 60 ms

    with LOCK:
        document = pypdfium2.PdfDocument(pdf)
        try:
            return [_sheet(document[number]) for number in range(len(document))]
        finally:
            document.close()


def _sheet(page: "object") -> Sheet:
    bitmap = page.render(scale=SCALE)  # type: ignore[attr-defined]
    kind = {1: QImage.Format.Format_Grayscale8, 3: QImage.Format.Format_BGR888, 4: QImage.Format.Format_RGB32}
    image = QImage(bytes(bitmap.buffer), bitmap.width, bitmap.height, bitmap.stride, kind[bitmap.n_channels]).copy()
    words = page.get_textpage()  # type: ignore[attr-defined]
    try:
        return Sheet(image, words.get_text_range())
    finally:
        words.close()
        bitmap.close()


class Paper(QWidget):
    """A page, as wide as there is room for, on the white it was printed on."""

    def __init__(self, look: Look, sheet: Sheet, name: str) -> None:
        super().__init__()
        self._look, self._image = look, sheet.image
        self.setAccessibleName(name)
        self.setAccessibleDescription(sheet.text)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMinimumWidth(300)

    def _paper(self, width: int) -> QSize:
        wide = min(width, self._look.text(WIDEST))
        return QSize(wide, round(wide * self._image.height() / self._image.width()))

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.setFixedHeight(self._paper(self.width()).height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        size = self._paper(self.width())
        wanted = size * self.devicePixelRatioF()
        small = self._image.scaled(
            wanted, Qt.AspectRatioMode.IgnoreAspectRatio, Qt.TransformationMode.SmoothTransformation
        )
        where = QRectF(0, 0, size.width(), size.height())
        painter.drawImage(where, small, QRectF(small.rect()))
        painter.setPen(QPen(self._look.edge, 1))
        painter.drawRect(where.adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()
