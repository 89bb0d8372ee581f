"""What is shown when the registry cannot be opened, and when we made a mistake."""

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QDialog, QPlainTextEdit, QVBoxLayout, QWidget

from registry.services.problems import KnownError
from registry.wording import refusals
from ui.desk import Desk
from ui.frame import Frame
from ui.parts import MAIN, Button, Words, column, on_press, row


class CannotOpen(QWidget):
    """One sentence what hinders and what to do; where it lies; and once more."""

    again = Signal()

    def __init__(self, desk: Desk, error: KnownError) -> None:
        super().__init__()
        look = desk.look
        where = str(error.values.get("path", desk.home))
        self.setLayout(
            column(
                None,
                Words(look, desk.say("frame.cannot_open"), 26, bold=True),
                Words(look, refusals.trouble(error.code, desk.language), 17),
                Words(look, where, 14, colour="muted"),
                row(on_press(Button(look, desk.say("frame.try_again"), MAIN), self.again.emit), None),
                None,
                space=16,
                margins=(48, 24, 48, 24),
            )
        )


def tell_mistake(frame: Frame, trace: str, log: Path | None) -> QDialog:
    """Nothing that was recorded is lost; what was being keyed in is kept; where the log lies, and a copy of it."""
    desk = frame.desk
    dialog = QDialog(frame)
    dialog.setWindowTitle(desk.say("frame.title"))
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    text = QPlainTextEdit(trace)
    text.setReadOnly(True)
    text.setAccessibleName(desk.say("frame.details"))
    lay = QVBoxLayout(dialog)
    lay.setContentsMargins(28, 24, 28, 24)
    lay.addWidget(Words(desk.look, desk.say("frame.our_mistake"), 20, bold=True))
    lay.addWidget(Words(desk.look, desk.say("frame.nothing_lost"), 15))
    if log is not None:
        lay.addWidget(Words(desk.look, desk.say("frame.log_lies", path=str(log)), 14, colour="muted"))
    lay.addWidget(text)
    copy = on_press(Button(desk.look, desk.say("frame.copy")), lambda: QGuiApplication.clipboard().setText(trace))
    away = on_press(Button(desk.look, desk.say("frame.go_on"), MAIN), dialog.accept)
    lay.addLayout(row(None, copy, away))
    wide, high = (desk.look.text(one) for one in (560, 420))
    dialog.resize(min(wide, frame.width() - 40), min(high, frame.height() - 40))
    dialog.open()
    return dialog
