"""Pages of a PDF as pictures. PDFium works for one thread at a time: whoever draws holds the lock."""

from dataclasses import dataclass
from threading import Lock

from PySide6.QtGui import QImage

LOCK = Lock()


@dataclass(frozen=True, slots=True)
class Picture:
    """A page in greys; text: its words, for who can't see it. page counts from 0."""

    image: QImage
    text: str
    page: int
    of: int


def picture(pdf: bytes, page: int, dpi: float) -> Picture:
    """One page, so many dots an inch; a page that is not there is the last one."""
    import pypdfium2  # late: 60 ms

    with LOCK:
        document = pypdfium2.PdfDocument(pdf)
        try:
            at = max(0, min(page, len(document) - 1))
            one = document[at]
            # A page of whole dots stays so: rounding up would make it one more, and stretch every module.
            bitmap = one.render(scale=dpi / 72 - 1e-6, grayscale=True)
            kind = QImage.Format.Format_Grayscale8
            image = QImage(bytes(bitmap.buffer), bitmap.width, bitmap.height, bitmap.stride, kind).copy()
            words = one.get_textpage()
            text = " ".join(words.get_text_range().split())
            words.close()
            bitmap.close()
            return Picture(image, text, at, len(document))
        finally:
            document.close()
