"""The question with fields in it: which thermometer, on which day, at what time. It says at once what is not clear."""

from string import Formatter
from typing import Any

from PySide6.QtCore import QStringListModel, Qt, Signal
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QCompleter, QLineEdit, QWidget

from registry.services import places, table, thermometers, typed
from registry.services.problems import Problem, Refused, refuse
from registry.services.session import day_at
from registry.services.thermometers import Thermometer
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import MAIN, Button, Words, column, on_press
from ui.proof import typed as loosely

TAGS_SHOWN = 12
NAMES = ("tag", "day", "time")


class Written(QLineEdit):
    """A field within a sentence, as wide as what may stand in it."""

    def __init__(self, desk: Desk, name: str, size: float, sample: str) -> None:
        super().__init__()
        self.setAccessibleName(desk.say(f"proof.field.{name}"))
        self.setStyleSheet(f"QLineEdit {{ font-size: {desk.look.text(size)}px; font-weight: bold; }}")
        self._metrics = QFontMetrics(desk.look.font(size, bold=True))
        self._least = self._metrics.horizontalAdvance(sample)
        self.setFixedHeight(max(theme.TOUCH, self._metrics.height() + 20))
        self.fit()

    def fit(self) -> None:
        self.setFixedWidth(max(self._least, self._metrics.horizontalAdvance(self.text())) + 30)


class Question(QWidget):
    """`asked` brings the thermometer's id and the instant; what was typed stands as it was understood."""

    asked = Signal(str, object)  # an instant has more digits than Qt's int

    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk = desk
        look, size = desk.look, 20 if small else 26
        today = day_at(desk.session.clock(), desk.site.payload.zone)
        samples = {"tag": "MM000M", "day": desk.day(today.replace(month=9, day=28)), "time": "12:30 PM"}
        self.fields = {name: Written(desk, name, size, samples[name]) for name in NAMES}
        parts: list[QWidget] = []
        for words, name, _, _ in Formatter().parse(desk.say("proof.question", tag="{tag}", day="{day}", time="{time}")):
            if words.strip():
                parts.append(Words(look, words.strip(), size, wrap=False))
            if name:
                parts.append(self.fields[name])
        self.ask = on_press(Button(look, desk.say("proof.ask"), MAIN, height=theme.TOUCH), self.ask_now)
        sentence = Flow(*parts, self.ask, space=look.text(7 if small else 10), down=10, middle=True)
        hint = desk.say("proof.hint", day=desk.day(today), iso=today.isoformat())
        self.hint = Words(look, hint, 14, colour="muted")
        self.problem = Words(look, "", 15, colour="caution", bold=True)
        self.problem.hide()
        self.setLayout(column(sentence, self.hint, self.problem, space=6))
        self._complete(self.fields["tag"])
        for one in self.fields.values():
            one.returnPressed.connect(self.ask_now)
            one.textChanged.connect(self._typed)

    # --- the tag's completer ---------------------------------------------------------------------------------

    def _complete(self, tag: QLineEdit) -> None:
        self._tags = QStringListModel(self)
        completer = QCompleter(self._tags, self)
        completer.setCompletionMode(QCompleter.CompletionMode.UnfilteredPopupCompletion)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        if (popup := completer.popup()) is not None:
            popup.setFont(self.desk.look.font(15))
        tag.setCompleter(completer)
        tag.textEdited.connect(self._offer)

    def _offer(self, begun: str) -> None:
        """Tag ids that begin so; also those whose maker, model or serial holds it."""
        found: list[str] = []
        if begun.strip():
            with self.desk.session.reading() as connection:
                wanted = table.Wanted(text=begun)
                page = table.page(self.desk.session, connection, wanted, size=TAGS_SHOWN, columns=())
            found = [one.tag_id for one in page.rows if one.tag_id]
        self._tags.setStringList(found)

    # --- asking ----------------------------------------------------------------------------------------------

    def values(self) -> dict[str, str]:
        return {name: one.text() for name, one in self.fields.items()}

    def fill(self, values: dict[str, str]) -> None:
        for name, text in values.items():
            if name in self.fields:
                self.fields[name].setText(text)

    def take_tag(self, code: str) -> None:
        """A scanned tag: the day and the time are asked next."""
        self.fields["tag"].setText(code)
        empty = next((one for one in self.fields.values() if not one.text()), None)
        (empty or self.ask).setFocus()

    def fill_with(self, thermometer_id: str, at: int) -> None:
        """What is asked about, in the thermometer's own local time."""
        with self.desk.session.reading() as connection:
            of = thermometers.thermometer(connection, thermometer_id)
            zone = self._zone(connection, of)
        day, time = self.desk.day(day_at(at, zone)), self.desk.clock_time(at, zone)
        self.fill({"tag": of.tag_id, "day": day, "time": time})
        self.hint.hide()

    def ask_now(self) -> None:
        try:
            thermometer, at = self._understood()
        except Refused as refused:
            self._refuse(refused.problems[0])
            return
        self.fill_with(thermometer, at)
        self.asked.emit(thermometer, at)

    def _understood(self) -> tuple[str, int]:
        desk, said = self.desk, {name: text.strip() for name, text in self.values().items()}
        missing = next((name for name in NAMES if not said[name]), None)
        if missing:
            raise refuse(missing, "missing")
        with desk.session.reading() as connection:
            of = thermometers.find(connection, said["tag"])
            zone = self._zone(connection, of)
        now = desk.session.clock()
        on = loosely.day(said["day"], desk.region, desk.language, day_at(now, zone))
        return of.row.thermometer, typed.moment(on, loosely.time(said["time"]), zone, now)

    def _zone(self, connection: Any, of: Thermometer) -> str:
        site = places.site_named_by_id(connection, of.row.site) if of.row.site else self.desk.site
        return site.payload.zone

    def _refuse(self, problem: Problem) -> None:
        """One sentence beneath, and the cursor in the field that it is about."""
        field = {"tag_id": "tag"}.get(problem.field, problem.field)
        missing = problem.code == "missing"
        sentence = self.desk.say(f"proof.missing.{field}") if missing else self.desk.say_problem(problem)
        self.problem.say(sentence)
        self.problem.show()
        if field in self.fields:
            self.fields[field].setAccessibleDescription(sentence)
            self.fields[field].setFocus()
            self.fields[field].selectAll()

    def _typed(self) -> None:
        for one in self.fields.values():
            one.setAccessibleDescription("")
            one.fit()
        self.problem.hide()
        self.hint.show()
