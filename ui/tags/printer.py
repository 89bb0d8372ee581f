"""The system's printers through Qt: each page is drawn at the printer's own dots, so that no module is stretched."""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from PySide6.QtCore import QMarginsF, QPoint, QSizeF
from PySide6.QtGui import QImage, QPageLayout, QPageSize, QPainter

from registry.services.problems import KnownError
from ui import pdf

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter


class Printers:
    """The printers of this computer; tests give others."""

    def names(self) -> list[str]:
        from PySide6.QtPrintSupport import QPrinterInfo  # late: few print

        return list(QPrinterInfo.availablePrinterNames())

    def printer(self, name: str) -> "QPrinter":
        from PySide6.QtPrintSupport import QPrinter, QPrinterInfo

        return QPrinter(QPrinterInfo.printerInfo(name), QPrinter.PrinterMode.HighResolution)


def print_pages(
    printer: "QPrinter", content: bytes, dpi: int, size_mm: tuple[float, float], went_on: Callable[[int], bool]
) -> None:
    """Every page of a PDF on the printer, dot by dot; KnownError where it takes nothing."""
    printer.setResolution(dpi)
    printer.setFullPage(True)
    size = QPageSize(QSizeF(*size_mm), QPageSize.Unit.Millimeter, "", QPageSize.SizeMatchPolicy.FuzzyMatch)
    turned = QPageLayout.Orientation.Portrait
    printer.setPageLayout(QPageLayout(size, turned, QMarginsF(0, 0, 0, 0)))
    painter = QPainter()
    if not painter.begin(printer):
        raise KnownError("no_printer")
    painter.setRenderHint(QPainter.RenderHint.LosslessImageRendering)  # a code in JPEG has grey seams
    try:
        # A driver may have other dots than it was asked for: the picture is drawn at those it has.
        has = printer.logicalDpiX() or dpi
        for number, image in enumerate(_pages(content, has)):
            if number and not printer.newPage():
                raise KnownError("no_printer")
            painter.drawImage(QPoint(0, 0), image)
            if not went_on(number + 1):
                printer.abort()
                return
    finally:
        painter.end()


def _pages(content: bytes, dpi: float) -> Iterator[QImage]:
    number = 0
    while True:
        shown = pdf.picture(content, number, dpi)
        yield shown.image
        number += 1
        if number == shown.of:
            return
