"""The photo of a thermometer: small beside its facts, large on a press, kept from a file and taken back."""

from pathlib import Path
from typing import Any

from PySide6.QtCore import QBuffer, QByteArray, QObject, QRect, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QImage, QImageReader, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QScrollArea, QSizePolicy, QWidget

from registry.services import mend, pictures
from registry.services.pictures import WHY_REMOVED, Picture
from registry.services.problems import Refused
from registry.services.session import day_at
from registry.services.thermometer_page import ThermometerPage
from ui import theme
from ui.desk import Desk
from ui.parts import LINK, Button, Pressed, Words, column, on_press, row
from ui.theme import Look
from ui.thermometers.story_words import begun
from ui.work import Progress

SMALL, LARGE = QSize(260, 170), QSize(1000, 480)  # at 100 % text
JPEG = b"\xff\xd8\xff"  # how one begins
MOST_SHOWN = 4096  # pixels a side: what came in a bundle was made by another program, perhaps


class Adding(QObject):
    """A photo being read and kept; it outlives the page that began it."""

    changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.desk = desk
        self.running = False

    @classmethod
    def of(cls, desk: Desk) -> "Adding":
        """The one of this window."""
        found = desk.findChild(cls)
        return found if isinstance(found, cls) else cls(desk)

    def start(self, thermometer: str, file: Path) -> None:
        if self.running:
            return
        session, actor = self.desk.session, self.desk.actor

        def work(_progress: Progress) -> Any:
            return pictures.add_picture(session, actor, thermometer, pictures.read_file(file))

        self._settle(True)
        self.desk.in_background(work, self._kept, self._failed)

    def _kept(self, _picture: Any) -> None:
        self._settle(False)
        self.desk.notice(self.desk.say("picture.kept"))
        self.desk.recorded.emit()

    def _failed(self, error: Exception) -> None:
        self._settle(False)
        self.desk.notice_of(error)

    def _settle(self, running: bool) -> None:
        self.running = running
        self.changed.emit()


class Photo(Pressed):
    """A picture that is pressed, as large as there is room for and no larger than `most`.

    closes: Escape presses it too.
    """

    def __init__(self, look: Look, most: QSize, *, closes: bool = False) -> None:
        super().__init__()
        self.look, self.most, self._closes = look, most, closes
        self.image = QImage()
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def show_image(self, image: QImage) -> None:
        self.image = image
        self.updateGeometry()
        self.update()

    def _fitted(self, room: QSize) -> QSize:
        if self.image.isNull():
            return QSize(theme.DESK, theme.DESK)
        return self.image.size().scaled(room, Qt.AspectRatioMode.KeepAspectRatio)

    def sizeHint(self) -> QSize:
        return self._fitted(self.most)

    def minimumSizeHint(self) -> QSize:
        return QSize(theme.DESK, theme.DESK)

    def heightForWidth(self, width: int) -> int:
        return max(self._fitted(QSize(min(width, self.most.width()), self.most.height())).height(), theme.DESK)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self._closes and event.key() == Qt.Key.Key_Escape:
            self.click()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        box = QRect(self.rect().topLeft(), self._fitted(self.size().boundedTo(self.most)))
        if not self.image.isNull():
            painter.drawImage(box, self.image)
        focus = self.hasFocus()
        painter.setPen(QPen(self.look.pen if focus else self.look.edge, 3 if focus else 1))
        painter.drawRect(box.adjusted(1, 1, -2, -2) if focus else box.adjusted(0, 0, -1, -1))


class PictureShown(QWidget):
    """What stands beside the facts. `add` and `large` have their places elsewhere on the page."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look, self.say = desk, desk.look, desk.say
        self.page: ThermometerPage | None = None
        self.picture: Picture | None = None
        look = self.look
        self.adding = Adding.of(desk)
        self.adding.changed.connect(self._settle)
        self.add = on_press(Button(look, "", LINK), self._ask)
        self.small = Photo(look, QSize(look.text(SMALL.width()), look.text(SMALL.height())))
        self.large = Photo(look, QSize(look.text(LARGE.width()), look.text(LARGE.height())), closes=True)
        on_press(self.small, lambda: self._enlarge(True))
        on_press(self.large, lambda: self._enlarge(False))
        self.told = Words(look, "", 14, colour="muted")
        self.take_back = on_press(Button(look, self.say("picture.take_back"), LINK), self._ask_why)
        self.setLayout(column(row(self.small, None), self.told, row(self.take_back, None), space=4))
        self.large.hide()

    # --- showing ---------------------------------------------------------------------------------------------

    def show_of(self, page: ThermometerPage) -> None:
        """The photo of this thermometer that counts now; nothing where there is none."""
        another = self.page is None or page.of.row.thermometer != self.page.of.row.thermometer
        before, self.page = self.picture, page
        with self.desk.session.reading() as connection:
            self.picture = pictures.picture_of(connection, page.of.row.thermometer)
            if self.picture is not None and self.picture != before:
                self._read(connection, self.picture)
        if another or self.picture != before:
            self.large.hide()
        self._tell()
        self._settle()

    def _read(self, connection: Any, picture: Picture) -> None:
        try:
            content = pictures.content_of(connection, picture)
        except Refused:  # its bytes have not come with the entry
            content = b""
        image = decoded(content)
        self.large.show_image(image)
        ratio = self.devicePixelRatioF()
        size = QSize(round(self.small.most.width() * ratio), round(self.small.most.height() * ratio))
        small = image if image.isNull() else image.scaled(
            size, Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation
        )  # fmt: skip
        self.small.show_image(small)
        self.small.setFixedSize(self.small.sizeHint())

    def _tell(self) -> None:
        page, picture = self.page, self.picture
        focus = self.small.hasFocus() or self.take_back.hasFocus()
        self.setVisible(picture is not None)
        if page is None or picture is None:
            if focus:
                self.add.setFocus()
            return
        day = self.desk.day(day_at(picture.at, page.zone))
        who = page.names.get(picture.by) or self.say("story.name_erased")
        shown = not self.small.image.isNull()
        self.told.say(self.say("picture.told" if shown else "picture.not_shown", day=day, who=who))
        self.small.setVisible(shown and self.large.isHidden())
        for photo, hint in ((self.small, "enlarge"), (self.large, "smaller")):
            photo.setAccessibleName(self.say("picture.photo", tag=page.of.tag_id))
            photo.setAccessibleDescription(f"{self.told.text()} {self.say(f'picture.{hint}')}")
            photo.setToolTip(self.say(f"picture.{hint}"))
        self.take_back.setVisible(self._may_take_back(picture))

    def _may_take_back(self, picture: Picture) -> bool:
        own = picture.by == self.desk.actor.person and self.desk.session.clock() - picture.at <= mend.OWN_FOR_US
        return self.desk.may("officer") or (own and self.desk.may("lead"))

    def _settle(self) -> None:
        running = self.adding.running
        words = "reading" if running else "another" if self.picture is not None else "add"
        self.add.setText(self.say(f"picture.{words}"))
        self.add.setEnabled(not running)
        self.add.setVisible(self.desk.may("lead", "officer"))
        self.add.updateGeometry()

    def _enlarge(self, large: bool) -> None:
        self.large.setVisible(large)
        self.small.setVisible(not large)
        (self.large if large else self.small).setFocus()
        QTimer.singleShot(0, self, self._into_sight)

    def _into_sight(self) -> None:
        """Once it has its place."""
        shown = self.large if self.large.isVisible() else self.small
        around: QWidget | None = self.parentWidget()
        while around is not None and not isinstance(around, QScrollArea):
            around = around.parentWidget()
        if around is not None:
            around.ensureWidgetVisible(shown, 0, 8)

    # --- doing -----------------------------------------------------------------------------------------------

    def _ask(self) -> None:
        if self.page is not None:
            one, title = self.page.of.row.thermometer, self.say("picture.which", tag=self.page.of.tag_id)
            self.desk.ask.which_file(title, self.say("picture.kinds"), lambda file: self.adding.start(one, file))

    def _ask_why(self) -> None:
        reasons = tuple((one, begun(self.say(f"story.void_why.{one}"))) for one in WHY_REMOVED)
        self.desk.ask.choose(self.say("picture.why"), reasons, self._take_back)

    def _take_back(self, why: str) -> None:
        if self.page is None:
            return
        session, actor, one = self.desk.session, self.desk.actor, self.page.of.row.thermometer
        self.desk.did(lambda: pictures.remove_picture(session, actor, one, why))


def decoded(content: bytes) -> QImage:
    """The picture; an empty one where it is none that we keep."""
    if not content.startswith(JPEG):
        return QImage()
    buffer = QBuffer()
    buffer.setData(QByteArray(content))
    reader = QImageReader(buffer, b"jpeg")
    size = reader.size()
    if not size.isValid() or max(size.width(), size.height()) > MOST_SHOWN:
        return QImage()
    return reader.read()
