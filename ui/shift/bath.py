"""The bath on the left: what all should show, which range passes, how long to wait; or how to make one."""

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QVBoxLayout, QWidget

from registry.services.shift_bath import BathFacts, Passing, Span
from registry.services.shift_list import ShiftView
from registry.wording import format
from ui import theme
from ui.desk import Desk
from ui.drawings import Drawing
from ui.parts import LINK, MAIN, Button, Scroll, Words, column, holding, on_press, row
from ui.shift.making import CAUTIONS, MakeBath
from ui.shift.settling import Settling
from ui.theme import Look

MOST_NAMED = 3  # tag ids beside a range
_METHODS = {"ice_point": "ice", "boiling_point": "boil", "comparison": "beside_reference"}


def must_read(desk: Desk, facts: BathFacts) -> list[str]:
    """The range that passes, in each unit on the dials; where it isn't the same for all, whose it is stands by it."""
    told = []
    for unit in dict.fromkeys(one.unit for one in facts.spans):
        common, *others = (one for one in facts.passing if one.span.unit == unit)
        if not others:
            told.append(desk.say("shift.must_read", **_edges(desk, common.span)))
            continue
        told += [_of_those(desk, one) for one in others]
        alone = len(common.tag_ids) == 1
        told.append(
            _of_those(desk, common) if alone else desk.say("shift.others_must_read", **_edges(desk, common.span))
        )
    return told


def _of_those(desk: Desk, one: Passing) -> str:
    """A range with the tag ids that it is of."""
    tags, more = ", ".join(one.tag_ids[:MOST_NAMED]), len(one.tag_ids) - MOST_NAMED
    if more > 0:
        tags = f"{tags} {desk.say('shift.and_more', count=more)}"
    return desk.say("shift.those_must_read", tags=tags, **_edges(desk, one.span))


def _edges(desk: Desk, span: Span) -> dict[str, str]:
    low, high = (format.number(one.value, desk.region) for one in (span.lowest, span.highest))
    return {"low": low, "high": high, "unit": f"°{span.unit}"}


class BathPanel(QWidget):
    """The bath that is open with its drawing, or the making of one, whose press stays in sight whatever scrolls."""

    made = Signal()
    another_wanted = Signal()

    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self._making: MakeBath | None = None
        self._shown: tuple[object, ...] = ()
        self._column = QVBoxLayout()
        self._column.setContentsMargins(24, 20, 4, 0)
        self._inner = QWidget()
        self._column.addWidget(self._inner)
        self._sheet = holding(self._column)
        self.ready = Button(self.look, desk.say("shift.bath_ready"), MAIN, height=56)
        self.ready.setEnabled(desk.may("lead", "officer"))
        on_press(self.ready, self._ready)
        may_not = [] if self.ready.isEnabled() else [Words(self.look, desk.say("shift.may_not"), 14, colour="muted")]
        self._going_on = holding(column(self.ready, *may_not, margins=(24, 8, 16 if small else 4, 12)))
        self.setLayout(column(Scroll(self._sheet), self._going_on, space=0))

    def least_width(self) -> int:
        """As wide as its words and a scroll bar ask for."""
        wide = max(self._sheet.minimumSizeHint().width() + 14, self._going_on.minimumSizeHint().width())
        return max(self.look.text(theme.BATH) + 8, wide)

    def show_view(self, view: ShiftView) -> None:
        """The bath that is open, or the making of one; what is being filled in stays."""
        facts = view.bath
        key = (
            (facts.bath, facts.too_old, facts.judged, facts.passing)
            if facts
            else ("none", view.shift.shift.name if view.shift else "")
        )
        if key == self._shown:
            return
        self._shown = key
        fresh = QWidget()
        self._column.replaceWidget(self._inner, fresh)
        self._inner.hide()
        self._inner.deleteLater()
        self._inner = fresh
        inner = QVBoxLayout(fresh)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(8)
        self._head(inner, view)
        self._making = None
        if facts is None:
            self._making = MakeBath(self.desk)
            self._making.made.connect(self.made)
            inner.addWidget(self._making)
            inner.addStretch(1)
        else:
            self._facts(inner, facts)
        self._going_on.setVisible(facts is None)

    def _ready(self) -> None:
        if self._making is not None:
            self._making.make()

    def _head(self, inner: QVBoxLayout, view: ShiftView) -> None:
        name = view.shift.shift.name if view.shift else self.desk.say("shift.none_on")
        inner.addWidget(Words(self.look, name, 24, bold=True))
        inner.addWidget(Words(self.look, self.desk.instant(self.desk.session.clock()), 15, colour="muted"))
        inner.addSpacing(6)

    def _facts(self, inner: QVBoxLayout, facts: BathFacts) -> None:
        desk, look = self.desk, self.look
        inner.addWidget(Words(look, desk.say("shift.all_should_show"), 15, colour="muted"))
        inner.addLayout(reference_line(desk, facts, 76))
        for told in must_read(desk, facts):
            inner.addWidget(Words(look, told, 16, bold=True))
        inner.addWidget(Words(look, desk.say(f"bath.{facts.made}"), 14, colour="muted"))
        if facts.station_pressure is not None:
            inner.addWidget(Words(look, why_boiling(desk, facts), 14, colour="muted"))
        if facts.beside:
            beside = ", ".join(f"{tag} {desk.temperature(shown)}" for tag, shown in facts.beside)
            inner.addWidget(Words(look, desk.say("shift.beside", told=beside), 14, colour="muted"))
        if facts.judged is not None:
            inner.addWidget(Words(look, desk.say(f"shift.judged_{facts.judged}"), 15, bold=True))
        if facts.too_old:
            inner.addWidget(Words(look, desk.say("problem.bath.too_old"), 15, bold=True, colour="caution"))
        links = QHBoxLayout()
        how = on_press(
            Button(look, desk.say("shift.how_to_make"), LINK, height=theme.TOUCH), lambda: tell_how(desk, facts.point)
        )
        another = on_press(
            Button(look, desk.say("shift.another_bath"), LINK, height=theme.TOUCH), self.another_wanted.emit
        )
        links.addWidget(how)
        links.addWidget(another)
        links.addStretch(1)
        inner.addLayout(links)
        inner.addStretch(1)
        drawing = Drawing(look, QSize(look.text(224), look.text(216)))
        drawing.show_drawing(f"bath_{facts.point.removesuffix('_point')}", depth=desk.say("shift.deep"))
        inner.addWidget(drawing, 0, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom)

    def show_doubt(self, doubted: bool) -> None:
        if (number := self._inner.findChild(Reference)) is not None:
            number.show_doubt(doubted)

    def first_field(self) -> QWidget | None:
        """What takes the focus while there is no bath."""
        return self.ready if self._making is not None else None


class Reference(Words):
    """The reference, large; in doubt it is muted with a broken caution underline."""

    def __init__(self, look: Look, text: str, size: float) -> None:
        super().__init__(look, text, size, wrap=False)
        self._doubted = False

    def show_doubt(self, doubted: bool) -> None:
        self._doubted = doubted
        self.set_colour("muted" if doubted else "ink")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if self._doubted:
            painter = QPainter(self)
            painter.setPen(QPen(self.look.caution, 3, Qt.PenStyle.DashLine))
            painter.drawLine(2, self.height() - 3, self.width() - 2, self.height() - 3)
            painter.end()


def reference_line(desk: Desk, facts: BathFacts, size: float) -> QHBoxLayout:
    """The reference, large, in the unit that people think in; the other beneath its sign."""
    own = facts.reference[0 if desk.unit == "C" else 1]
    other = facts.reference[1 if desk.unit == "C" else 0]
    number = Reference(desk.look, format.number(own.value, desk.region), size)
    number.setAccessibleName(desk.say("shift.should_show", reading=desk.temperature(own)))
    signs = QVBoxLayout()
    signs.setSpacing(0)
    signs.addStretch(1)
    signs.addWidget(Words(desk.look, f"°{own.unit}", size * 0.38, wrap=False))
    signs.addWidget(Words(desk.look, desk.temperature(other), 15, colour="muted", wrap=False))
    signs.addStretch(1)
    line = QHBoxLayout()
    line.setSpacing(8)
    line.addWidget(number)
    line.addLayout(signs)
    line.addStretch(1)
    return line


def why_boiling(desk: Desk, facts: BathFacts) -> str:
    """Where the pressure came from, as it is in this room."""
    pascal = float((facts.station_pressure or "0 Pa").split()[0])
    hectopascal = f"{format.number(round(pascal / 100), desk.region)}{format.HARD_SPACE}hPa"
    return desk.say("shift.why_boiling", source=desk.say(f"pressure_source.{facts.pressure_source}"), here=hectopascal)


def tell_how(desk: Desk, point: str) -> None:
    """The method and its cautions, on a sheet."""
    cautions = "\n".join(desk.say(f"caution.{code}") for code in CAUTIONS[point])
    method = desk.say(f"method.{_METHODS[point]}")
    desk.ask.sure(
        desk.say("shift.how_to_make"), desk.say("frame.go_on"), lambda: None, details=f"{method}\n\n{cautions}"
    )


class BathStrip(QWidget):
    """Small windows: the bath in one line above the list."""

    another_wanted = Signal()

    def __init__(self, desk: Desk, facts: BathFacts) -> None:
        super().__init__()
        look = desk.look
        wide = look.zoom == 1  # large text: one under the other
        line = QBoxLayout(QBoxLayout.Direction.LeftToRight if wide else QBoxLayout.Direction.TopToBottom, self)
        line.setContentsMargins(16, 4, 12, 4)
        line.setSpacing(16 if wide else 4)
        line.addLayout(reference_line(desk, facts, 46))
        told = QVBoxLayout()
        told.setSpacing(0)
        told.addStretch(1)
        ranges = "\n".join(must_read(desk, facts))
        told.addWidget(Words(look, ranges or desk.say(f"bath.{facts.made}"), 16, bold=True))
        self.settling = Settling(desk, facts, small=True)
        told.addWidget(self.settling)
        told.addStretch(1)
        line.addLayout(told, 1)
        how = on_press(
            Button(look, desk.say("shift.how_short"), LINK, height=theme.TOUCH), lambda: tell_how(desk, facts.point)
        )
        other = Button(look, desk.say("shift.another_bath"), height=theme.TOUCH)
        line.addLayout(row(how, on_press(other, self.another_wanted.emit), *([] if wide else [None]), space=16))
