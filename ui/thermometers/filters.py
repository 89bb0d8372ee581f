"""What the table is narrowed by: a text, a site and its station, type, status, outcome, what is due."""

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox, QLineEdit, QWidget

from registry import resources
from registry.records.places import StationSet
from registry.services import places
from registry.services.table import DUE, Wanted
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.forms import List
from ui.parts import LINK, Button, on_press

NAMES = ("site", "station", "type", "status", "outcome", "due")
STATUSES = ("in_service", "check_first", "limited_use", "out_of_use", "lost", "retired")
OUTCOMES = ("pass", "conditional_pass", "conditional_fail", "fail", "not_accepted", "cannot_decide")
_HEADS = {"outcome": "last_outcome", "due": "next_due"}
TYPING_MS = 250  # the table follows once typing rests so long


class _Search(QLineEdit):
    """Escape empties it; where it is empty already, Escape is somebody else's."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.text():
            self.clear()
            self.returnPressed.emit()
        else:
            super().keyPressEvent(event)


class Narrow(List):
    """One list; its first entry narrows nothing, and names it."""

    def __init__(self, desk: Desk, name: str) -> None:
        super().__init__(desk.look)
        self.desk, self.name = desk, name
        self.setMinimumHeight(theme.DESK)
        self.setAccessibleName(desk.say(f"thermometers.head.{_HEADS.get(name, name)}"))
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(6)
        self.currentIndexChanged.connect(self._resized)

    def _resized(self) -> None:
        self.updateGeometry()  # Qt asks anew only where the width is its own

    def offer(self, choices: Sequence[tuple[str, str]], value: str) -> None:
        self.blockSignals(True)
        self.clear()
        self.addItem(self.desk.say(f"thermometers.every.{self.name}"), "")
        for code, words in choices:
            self.addItem(words, code)
        self.setCurrentIndex(max(0, self.findData(value)))
        widest = max(self.fontMetrics().horizontalAdvance(self.itemText(n)) for n in range(self.count()))
        self.view().setMinimumWidth(widest + 40)
        self.blockSignals(False)

    def sizeHint(self) -> QSize:
        """As wide as what is chosen, up to a limit; the open list shows all words whole."""
        wide = self.fontMetrics().horizontalAdvance(self.currentText()) + 50
        return QSize(min(wide, self.desk.look.text(260)), max(theme.DESK, super().sizeHint().height()))

    minimumSizeHint = sizeHint

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()  # it scrolls the page, and never changes what was chosen


class Filters(QWidget):
    changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.search = _Search()
        self.search.setMinimumHeight(theme.DESK)
        self.search.setMinimumWidth(desk.look.text(210))
        self.search.setPlaceholderText(desk.say("thermometers.search"))
        self.search.setAccessibleName(desk.say("thermometers.search_all"))
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(TYPING_MS)
        self._rest.timeout.connect(self._tell)
        self.search.textEdited.connect(self._rest.start)
        self.search.returnPressed.connect(self._entered)
        self.lists = {name: Narrow(desk, name) for name in NAMES}
        for one in self.lists.values():
            one.currentIndexChanged.connect(self._chosen)
        self.none = on_press(Button(desk.look, desk.say("thermometers.no_filter"), LINK), self.clear)
        self.none.hide()
        self.setLayout(Flow(self.search, *self.lists.values(), self.none))
        self._text = ""
        self.fill({})

    def _choices(self, name: str, site: str) -> list[tuple[str, str]]:
        say = self.desk.say
        if name in ("site", "station"):
            with self.desk.session.reading() as connection:
                sites = {one.subject: one.payload.name for one in places.sites(connection)}
                stations = places.stations(connection, site or None)
            if name == "site":
                return list(sites.items())
            shown = {} if site else sites
            return [(one.subject, _of_site(one.payload, shown)) for one in stations]
        if name == "type":
            return [(code, say(f"type.{code}")) for code in resources.instrument_types()]
        if name == "due":
            return [(code, say(f"thermometers.due.{code}")) for code in DUE]
        return [(code, say(f"{name}.{code}")) for code in (STATUSES if name == "status" else OUTCOMES)]

    # --- what is chosen --------------------------------------------------------------------------------------

    def values(self) -> dict[str, str]:
        chosen = {name: str(one.currentData() or "") for name, one in self.lists.items()}
        return {"text": self.search.text().strip(), **chosen}

    def wanted(self) -> Wanted:
        chosen = {name: value or None for name, value in self.values().items() if name != "text"}
        return Wanted(**chosen, text=self.search.text().strip())

    def count(self) -> int:
        """How many of them narrow the table."""
        return sum(bool(value) for value in self.values().values())

    def fill(self, values: Mapping[str, str]) -> None:
        """Choose all of them, without telling anybody."""
        self.search.setText(values.get("text", ""))
        self._text = self.search.text()
        for name, one in self.lists.items():
            one.offer(self._choices(name, values.get("site", "")), values.get(name, ""))
        self._arrange()

    def clear(self) -> None:
        self.fill({})
        self.search.setFocus()
        self._tell()

    def _entered(self) -> None:
        self._rest.stop()
        self._tell()

    def _chosen(self) -> None:
        if self.sender() is self.lists["site"]:
            values = self.values()
            self.lists["station"].offer(self._choices("station", values["site"]), values["station"])
        self._tell()

    def _tell(self) -> None:
        self._arrange()
        self.changed.emit()

    def _arrange(self) -> None:
        self.none.setVisible(self.count() > 0)
        for one in self.lists.values():
            one.updateGeometry()
        layout = self.layout()
        assert layout is not None
        layout.invalidate()


def _of_site(station: StationSet, names: Mapping[str, str]) -> str:
    """Two sites may have a station of one name."""
    return f"{station.name} ({names.get(station.site, '')})" if len(names) > 1 else station.name
