"""One row: what it is and why, last time, the field, off by, the rule, the answer; below it what is to be done."""

from PySide6.QtCore import QPoint, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from registry.quantity import Unit
from registry.services.shift_bath import BathFacts
from registry.services.shift_keyed import Provisional
from registry.services.shift_row import ListRow
from registry.wording import format
from ui import theme
from ui.desk import Desk
from ui.drawings import Drawing
from ui.parts import LINK, Button, Words, clear, column, holding, on_press
from ui.parts import row as row_of
from ui.rule import Rule
from ui.shift.answers import answer, place_and_why
from ui.shift.field import ReadingField
from ui.shift.keying import WRITING, Keyed
from ui.shift.row_parts import Answering, Columns, KeyCap, Place

MENDED = ("recorded", "no_reading", "not_used", "not_found", "station_closed", "lent")


class RowWidget(QWidget):
    """One thermometer on the list. It shows what it is told and tells what was keyed and pressed."""

    keyed = Signal(str)
    entered = Signal()
    unit_chosen = Signal(str)
    instead_wanted = Signal()
    mend_wanted = Signal()
    field_moved = Signal(int)  # where the field stands, so that what opens below lines up

    def __init__(self, desk: Desk, row: ListRow, columns: Columns) -> None:
        super().__init__()
        self.desk, self.look, self.row, self.columns = desk, desk.look, row, columns
        self.current = False
        self._shown = (Keyed(), False)
        self._foreseen: Provisional | None = None
        self._again = False
        self._build()

    def _build(self) -> None:
        desk, look, columns = self.desk, self.look, self.columns
        self.setAccessibleName(self.row.tag_id)
        drawing = Drawing(look, QSize(columns.drawing, columns.drawing - 4))
        drawing.show_drawing(self.row.type, desk.say(f"type.{self.row.type}"))
        self.tag = Words(look, self.row.tag_id, 18, bold=True, wrap=False)
        self.under = Place(look)
        self.under.setMinimumWidth(columns.place)
        self.under.tell(*place_and_why(desk, self.row))
        names = QVBoxLayout()
        names.setSpacing(0)
        names.addStretch(1)
        names.addWidget(self.tag)
        names.addWidget(self.under)
        names.addStretch(1)
        self.last = self._figure(columns.last, 14, "muted")
        self.field = ReadingField(
            look,
            desk.say("shift.field", tag=self.row.tag_id),
            places=self._places(),
            size=26 if columns.small else 30,
            height=44,
        )
        self.field.keyed.connect(self.keyed)
        self.field.entered.connect(self.entered)
        self.unit = self._unit()
        self.off = self._figure(columns.off, 17, "ink")
        self.rule = Rule(look)
        self.rule.setFixedWidth(columns.rule)
        self.answering = Answering(look, self._ways(), desk.say("shift.ask_why", tag=self.row.tag_id))
        self.answering.setMinimumWidth(columns.answer)
        on_press(self.answering.ask, self._show_budget)
        line = QHBoxLayout()
        line.setContentsMargins(16 if columns.small else 24, 0, 4, 0)
        line.setSpacing(8)
        line.addWidget(drawing)
        line.addLayout(names, 2)
        if not columns.small:
            line.addWidget(self.last)
        line.addWidget(self.field)
        line.addWidget(self.unit)
        if not columns.small:
            line.addWidget(self.off)
        answer = QHBoxLayout() if columns.two_lines else line
        if columns.two_lines:
            answer.setContentsMargins(24 + columns.drawing, 0, 4, 4)
            answer.setSpacing(8)
        answer.addWidget(self.rule)
        answer.addWidget(self.answering, 3)
        self.below = QVBoxLayout()
        self.below.setContentsMargins(0, 0, 0, 0)
        holder = holding(column(line, answer, space=0) if columns.two_lines else line)
        holder.setMinimumHeight(columns.height)
        self.setLayout(column(holder, self.below, space=0, margins=(0, 0, 0, 1)))

    def _show_budget(self) -> None:
        if self.row.check is not None and self.row.check.row.recorded:
            from ui.budget import show_budget  # late: the first list does without it

            show_budget(self.desk, self.row.check.row.check)

    def _ways(self) -> QWidget:
        """What else may be done with the current row: one thing at a time, in a place of its own."""
        desk, look = self.desk, self.look
        self.instead = Button(look, desk.say("shift.instead"), LINK, height=theme.TOUCH, size=15)
        self.instead.setAccessibleName(desk.say("shift.instead_of", tag=self.row.tag_id))
        on_press(self.instead, self.instead_wanted.emit)
        self.mend = Button(look, desk.say("shift.mistyped"), LINK, height=theme.TOUCH, size=15)
        self.mend.setAccessibleName(desk.say("shift.mistyped_of", tag=self.row.tag_id))
        on_press(self.mend, self.mend_wanted.emit)
        self.cap = KeyCap(look, desk.say("shift.enter_key"))
        return holding(row_of(self.instead, self.mend, self.cap, None, space=0))

    def _figure(self, width: int, size: float, colour: str) -> Words:
        made = Words(self.look, "", size, colour=colour, wrap=False)
        made.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        made.setFixedWidth(width)
        return made

    def _unit(self) -> QWidget:
        """The unit on the dial; where it has two, a press changes to the other."""
        units = [one.unit for one in self.row.scales]
        self.unit_now: Unit = self.row.default_unit
        if len(units) < 2:
            label = Words(self.look, f"°{self.unit_now}", 16, colour="muted", wrap=False)
            label.setFixedWidth(self.columns.unit)
            return label
        button = Button(self.look, f"°{self.unit_now}", LINK, height=theme.TOUCH, size=16)
        button.setFixedWidth(self.columns.unit)
        button.setAccessibleName(self.desk.say("shift.unit_of", tag=self.row.tag_id))
        return on_press(button, self._other_unit)

    def _other_unit(self) -> None:
        other = next(one.unit for one in self.row.scales if one.unit != self.unit_now)
        self.unit_chosen.emit(other)

    def _places(self) -> int:
        """At least one decimal, so that all marks of a list stand on one axis."""
        exponent = self.row.scale(self.row.default_unit).step_as_read.normalize().as_tuple().exponent
        return max(1, -int(exponent))

    # --- showing ---------------------------------------------------------------------------------------------

    def show_row(
        self, row: ListRow, keyed: Keyed, foreseen: Provisional | None, bath: BathFacts | None, *, may: bool
    ) -> None:
        """Everything anew: the row as recorded, the field as kept, the answer before or after Enter."""
        self.row, self._foreseen = row, foreseen
        self.tag.say(row.tag_id)
        self.under.tell(*place_and_why(self.desk, row))
        self.unit_now = keyed.unit if row.state in WRITING else self._unit_shown()
        if isinstance(self.unit, (Words, Button)):
            self.unit.setText(f"°{self.unit_now}")
        self.unit.setEnabled(row.state != "partly")  # repeats are read in the unit of the first
        self._show_field(keyed, may)
        self._show_figures(foreseen, bath.point if bath is not None else "ice_point")
        check = row.check
        self._again = check is None or bath is None or (check.bath != bath.bath and check.point == bath.point)
        self._show_ways(keyed, may)

    def _unit_shown(self) -> Unit:
        check = self.row.check
        return check.row.readings[0].unit if check and check.row.readings else self.row.default_unit

    def _show_field(self, keyed: Keyed, may: bool) -> None:
        row, readings = self.row, self.row.check.row.readings if self.row.check else ()
        writing = row.state in WRITING and row.problem is None and may
        written = "" if writing else format.number(readings[-1].value, self.desk.region) if readings else ""
        self.field.set_written(not writing)
        if self.field.text() != (keyed.text if writing else written):
            self.field.write(keyed.text if writing else written)

    def _show_figures(self, foreseen: Provisional | None, point: str) -> None:
        row, desk = self.row, self.desk
        judged = foreseen.judged if foreseen else row.check.row.judged if row.check else None
        known = judged is not None
        tolerance = next((one.tolerance for one in row.scales if one.unit == self.unit_now), None)
        last = row.last_at(point) if known else None
        unit = self.unit_now
        self.last.say(desk.offset(last.to(unit), 1) if last is not None else "")
        self.off.say(desk.offset(judged.offset.to(unit)) if judged is not None else "")
        self.off.set_colour("muted" if row.check and row.check.bath_judged is None and not foreseen else "ink")
        limit = float(tolerance.value) if tolerance is not None else 0.0
        label = format.limit(tolerance, desk.region) if tolerance is not None else ""
        if judged is None:
            self.rule.set_values(
                name=desk.say("shift.limit_is", limit=label), tolerance=limit, waiting=True, label=label
            )
            return
        left = row.check.as_left if row.check is not None else None
        if left is not None and left.judged is not None:
            judged = left.judged  # the mark stands where the answer beside it does; as found stands in the field
        offset = judged.offset.to(unit)
        expanded = float(judged.u.to(unit).value) * float(judged.k)
        held = row.check is not None and row.check.bath_judged is None and foreseen is None
        self.rule.set_values(
            name=desk.say("shift.limit_is", limit=label),
            description=desk.say("shift.off_by_is", offset=desk.offset(offset)),
            tolerance=limit,
            offset=float(offset.value),
            expanded=expanded,
            last=float(last.to(unit).value) if last is not None else None,
            outcome=None if held else judged.outcome,
            high=offset.value > 0,
            label=label,
        )

    def _show_ways(self, keyed: Keyed, may: bool) -> None:
        state, here = self.row.state, may and self.current
        self._shown = (keyed, may)
        self.answering.show_answer(answer(self.desk, self.row, keyed, self._foreseen, current=self.current))
        self.answering.ask.setVisible(self.row.check is not None and self.row.check.row.recorded)
        self.cap.setVisible(here and bool(keyed.text) and not self.columns.small)
        self.instead.setVisible(here and state == "waiting" and not keyed.text)
        self.mend.setVisible(here and state in MENDED)
        self.mend.setText(self.desk.say("shift.read_it" if self._again else "shift.mistyped"))

    def tell_where(self) -> None:
        self.field_moved.emit(self.field.mapTo(self, QPoint(0, 0)).x())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        QTimer.singleShot(0, self, self.tell_where)  # once the layout has moved the field

    def show_below(self, widget: QWidget | None) -> None:
        """Open something under the row, or close what is open."""
        clear(self.below)
        if widget is not None:
            self.below.addWidget(widget)

    @property
    def opened(self) -> QWidget | None:
        """What stands open under the row; what is being taken away is no longer it."""
        item = self.below.itemAt(0)
        return item.widget() if item is not None else None

    def set_current(self, current: bool) -> None:
        if current == self.current:
            return
        self.current = current
        if self.columns.small:
            self.field.set_size(34 if current else 26, 64 if current else theme.TOUCH)
        self._show_ways(*self._shown)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        if self.current:
            painter.fillRect(self.rect(), self.look.pentint)
        painter.fillRect(24, self.height() - 1, self.width() - 24, 1, self.look.line)
