"""The owner's logo on certificates: what it is now, put there from a file, taken back."""

from pathlib import Path
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPixmap
from PySide6.QtWidgets import QLabel, QWidget

from registry.services import logos, pictures
from registry.services.session import day_at
from ui.desk import Desk
from ui.parts import Button, Words, column, on_press, row
from ui.work import Progress

MOST_SHOWN = 2000  # pixels a side: what came in a bundle was made by another program, perhaps


class LogoShown(QWidget):
    """Who may not change it sees what it is."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look, self.say = desk, desk.look, desk.say
        with desk.session.reading() as connection:
            found = logos.logo(desk.session, connection)
            content = pictures.content_of(connection, found) if found is not None else b""
        parts: list[Any] = [Words(self.look, self.say("setup.logo_why"), 15, colour="muted")]
        if found is not None:
            parts.append(self._picture(content))
            day = desk.day(day_at(found.at, desk.site.payload.zone))
            parts.append(Words(self.look, self.say("setup.logo_is", number=found.number, day=day), 14, colour="muted"))
        else:
            parts.append(Words(self.look, self.say("setup.logo_none"), 15))
        if desk.may("officer"):
            self.choose = on_press(Button(self.look, self.say("setup.logo_choose")), self._ask)
            buttons: list[QWidget | None] = [self.choose]
            if found is not None:
                self.remove = on_press(Button(self.look, self.say("setup.logo_remove")), self._remove)
                buttons.append(self.remove)
            parts.append(row(*buttons, None))
        self.setLayout(column(*parts, space=10))

    def _picture(self, content: bytes) -> QLabel:
        """On the white of paper, whatever the window's colours are."""
        shown = QLabel()
        image = QImage.fromData(content)
        if not image.isNull() and max(image.width(), image.height()) <= MOST_SHOWN:
            width, height = self.look.text(236), self.look.text(59)
            pixmap = QPixmap.fromImage(image)
            shown.setPixmap(
                pixmap.scaled(
                    width, height, Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation
                )
            )
        shown.setStyleSheet("background: white; padding: 10px;")
        shown.setSizePolicy(shown.sizePolicy().Policy.Fixed, shown.sizePolicy().Policy.Fixed)
        shown.setAccessibleName(self.say("setup.logo"))
        return shown

    def _ask(self) -> None:
        self.desk.ask.which_file(self.say("setup.logo_choose"), self.say("picture.kinds"), self._chosen)

    def _chosen(self, file: Path) -> None:
        session, actor = self.desk.session, self.desk.actor

        def work(_progress: Progress) -> Any:
            return logos.set_logo(session, actor, pictures.read_file(file))

        self.desk.in_background(work, self._kept)

    def _kept(self, _found: Any) -> None:
        self.desk.notice(self.say("setup.logo_kept"))
        self.desk.recorded.emit()

    def _remove(self) -> None:
        session, actor = self.desk.session, self.desk.actor
        self.desk.did(lambda: logos.remove_logo(session, actor), self._removed)

    def _removed(self, _done: Any) -> None:
        self.desk.notice(self.say("setup.logo_removed"))
