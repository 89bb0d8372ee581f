"""Which thermometer: scan it, type its tag id, or touch it in the list of its station."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QStringListModel, Qt, Signal
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QCompleter, QLineEdit, QVBoxLayout, QWidget

from registry.services import thermometers
from registry.services.lookup import ThermometerRow
from registry.services.problems import Refused
from ui import theme
from ui.desk import Desk
from ui.drawings import paint_drawing
from ui.flow import Flow
from ui.happened.standing import by_station
from ui.happened.swapped import Swapped
from ui.happened.tile import Tile
from ui.parts import Words, column


class PickField(QWidget):
    """A field that completes the tag ids of this site; Enter picks, what is not known is said beneath.

    `popup`: the completions hang below the field; without, whoever owns it shows them, and names the `only` one.
    """

    picked = Signal(str)
    typed = Signal(str)
    unknown = Signal()

    def __init__(self, desk: Desk, label: str, *, popup: bool = True) -> None:
        super().__init__()
        self.desk = desk
        self.only = ""
        self.fitting = 0  # how many have what is typed in their tag id, where whoever owns it counts them
        lay = QVBoxLayout(self)
        lay.setContentsMargins(0, 0, 0, 0)
        lay.setSpacing(4)
        self.label = Words(desk.look, label, 14, colour="muted")
        self.field = QLineEdit()
        self.field.setMinimumHeight(theme.TOUCH)
        self.field.setMaximumWidth(desk.look.text(320))
        self.setMinimumWidth(desk.look.text(260))
        self.field.setAccessibleName(label)
        self.label.setBuddy(self.field)
        self._known = QStringListModel(self)
        completer = QCompleter(self._known, self.field)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        completer.setFilterMode(Qt.MatchFlag.MatchContains)
        if popup and (below := completer.popup()) is not None:
            below.setFont(desk.look.font(17))
        completer.activated.connect(self._chosen)
        if popup:
            self.field.setCompleter(completer)
        self.field.textEdited.connect(self._edited)
        self.field.returnPressed.connect(self._entered)
        self._problem = Words(desk.look, "", 14, bold=True, colour="caution")
        self._problem.hide()
        for one in (self.label, self.field, self._problem):
            lay.addWidget(one)

    def know(self, tags: Sequence[str]) -> None:
        self._known.setStringList(list(tags))

    def _chosen(self, tag: object) -> None:
        if isinstance(tag, str):
            self.take(tag)

    def _edited(self, text: str) -> None:
        self._problem.hide()
        self.typed.emit(text.strip())

    def _entered(self) -> None:
        typed = self.field.text().strip()
        if self.fitting > 1 and typed.casefold() not in map(str.casefold, self._known.stringList()):
            self.say_problem(self.desk.say("happened.several_fit", count=self.fitting))
        elif typed:
            self.take(self.only or typed)

    def take(self, tag: str) -> bool:
        """A tag id, typed, chosen or scanned. Whether it was known."""
        try:
            with self.desk.session.reading() as connection:
                found = thermometers.find(connection, tag)
        except Refused as refused:
            self.say_problem(" ".join(self.desk.say_problem(one) for one in refused.problems))
            self.unknown.emit()
            return False
        self._problem.hide()
        self.picked.emit(found.row.thermometer)
        return True

    def say_problem(self, sentence: str) -> None:
        self._problem.say(sentence)
        self._problem.setVisible(bool(sentence))
        self.field.setAccessibleDescription(sentence)


class Picker(QWidget):
    """The field, and below it a touch list by station; what is typed narrows the list."""

    picked = Signal(str)

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        lay = QVBoxLayout(self)
        lay.setContentsMargins(0, 0, 0, 0)
        lay.setSpacing(10)
        self.field = PickField(desk, desk.say("happened.scan_or_type"), popup=False)
        self.field.picked.connect(self.picked)
        self.field.typed.connect(self.narrow)
        self.field.unknown.connect(self._say_once)
        lay.addWidget(self.field)
        self._list = Swapped()
        lay.addWidget(self._list)
        lay.addStretch(1)
        self._rows: list[tuple[str, list[ThermometerRow]]] = []
        self._narrowed = ""

    def read_again(self) -> None:
        self._rows = by_station(self.desk)
        self.field.know([row.tag_id or "" for _, rows in self._rows for row in rows])
        self._fill()

    def narrow(self, text: str) -> None:
        self._narrowed = text.casefold()
        self._fill()

    def _fill(self) -> None:
        lines = column(space=8)
        found = [(station, [self._tile(row) for row in rows if self._fits(row)]) for station, rows in self._rows]
        fitting = [tile.text() for _, tiles in found for tile in tiles]
        self.field.only = fitting[0] if self._narrowed and len(fitting) == 1 else ""
        self.field.fitting = len(fitting) if self._narrowed else 0
        widest = max((tile.sizeHint().width() for _, tiles in found for tile in tiles), default=0)
        for station, tiles in found:
            if tiles:
                name = station or self.desk.say("happened.no_station")
                lines.addWidget(Words(self.look, name, 15, bold=True))
                lines.addLayout(Flow(*tiles, equal=True, at_least=widest))
        if not lines.count():
            code = "happened.none_like_it" if self._rows else "happened.none_here"
            lines.addWidget(Words(self.look, self.desk.say(code), 17, colour="muted"))
        self._list.put(lines)

    def _say_once(self) -> None:
        """What is said beneath the field is enough: an empty list has nothing to add."""
        if self._narrowed and not self.field.fitting:
            self._list.empty()

    def _fits(self, row: ThermometerRow) -> bool:
        return self._narrowed in (row.tag_id or "").casefold()

    def _tile(self, row: ThermometerRow) -> Tile:
        ready = row.service_status == "in_service"
        under = self.desk.say(f"status.{row.service_status}" if not ready else f"type.{row.type}")
        look, kind = self.look, row.type or ""

        def painted(painter: QPainter, rect: QRectF) -> None:
            paint_drawing(painter, rect, kind, look)

        tile = Tile(look, row.tag_id or "", painted, under)
        tile.setObjectName(row.thermometer)
        tile.clicked.connect(self._pressed)
        return tile

    def _pressed(self) -> None:
        self.picked.emit(self.sender().objectName())
