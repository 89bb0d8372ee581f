"""How far each thermometer of a bath moved since last time: a dot each, piled where they moved alike."""

from collections.abc import Collection, Mapping

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from registry.charts import Dot, DotPile, Spot
from ui.marks import box, disc, fill, polygon, stroke
from ui.plots.asked import Asked
from ui.plots.sheet import TEXT, Sheet, has_length, pale
from ui.theme import Look


def paint_pile(
    painter: QPainter,
    rect: QRectF,
    pile: DotPile,
    look: Look,
    *,
    nought: str = "",
    together: Collection[str] = (),
    agreed: str = "",
    names: Mapping[str, str] | None = None,
) -> None:
    """How far each moved since last time. nought: words at the line of no move; together: keys of those that moved
    alike, `agreed` the words above them; names: words above single dots, by key."""
    metrics = QFontMetricsF(look.font(TEXT))
    area = pile_area(rect, look)
    sheet = Sheet(painter, look, rect, area, small=False)
    if not has_length(pile.value):
        return
    painter.save()
    _pile_axis(sheet, pile)
    step = _step(area, pile, look)
    places = {dot.key: _spot(area, pile, dot, look) for dot in pile.dots}
    _pile_words(sheet, nought, _pile_x(area, pile, 0.0), area.top() + metrics.height(), look.ink)
    alike = [places[key] for key in together if key in places]
    if alike:
        left, right = min(x for x, _ in alike) - 10, max(x for x, _ in alike) + 10
        top = min(y for _, y in alike) - step / 2 - 3
        fill(painter, box(left, top, right - left, area.bottom() - top, 4), pale(look.caution, 0.24))
        _pile_words(sheet, agreed, (left + right) / 2, top - 2, look.caution, bold=True)
    for x, y in places.values():
        stroke(painter, disc(x, y, step * 0.4), look.ink, 1.6)
    for key, words in (names or {}).items():
        if key in places:
            _pile_words(sheet, words, places[key][0], places[key][1] - step / 2 - 2, look.muted)
    painter.restore()


def pile_area(rect: QRectF, look: Look) -> QRectF:
    """Where the dots stand, above the figures and words of the axis."""
    return rect.adjusted(8, 2, -8, -2 * QFontMetricsF(look.font(TEXT)).height() - 12)


def _step(area: QRectF, pile: DotPile, look: Look) -> float:
    """From one dot of a column to the next, px."""
    room = area.height() - QFontMetricsF(look.font(TEXT)).height() - 8
    return min(max(room / max(pile.highest, 1), 1.0), 12.0)


def _spot(area: QRectF, pile: DotPile, dot: Dot, look: Look) -> Spot:
    step = _step(area, pile, look)
    return _pile_x(area, pile, dot.value), area.bottom() - 3 - step / 2 - dot.level * step


def _pile_x(area: QRectF, pile: DotPile, value: float) -> float:
    return area.left() + pile.value.place(value) * area.width()


def _pile_axis(sheet: Sheet, pile: DotPile) -> None:
    look, area = sheet.look, sheet.area
    high = QFontMetricsF(look.font(TEXT)).height()
    stroke(sheet.painter, polygon([(area.left(), area.bottom()), (area.right(), area.bottom())]), look.edge, 1)
    x = _pile_x(area, pile, 0.0)
    stroke(sheet.painter, polygon([(x, area.top() + high + 4), (x, area.bottom() + 6)]), look.ink, 1.6, flat=True)
    free = sheet.whole.left()
    for tick in pile.value.ticks:
        x = _pile_x(area, pile, tick.at)
        stroke(sheet.painter, polygon([(x, area.bottom()), (x, area.bottom() + 5)]), look.edge, 1, flat=True)
        width = QFontMetricsF(look.font(TEXT)).horizontalAdvance(tick.label)
        if x - width / 2 >= free and x + width / 2 <= sheet.whole.right():
            sheet.write(tick.label, QRectF(x - width / 2, area.bottom() + 6, width, high), "middle", look.muted)
            free = x + width / 2 + 6
    place = QRectF(sheet.whole.left(), area.bottom() + 8 + high, sheet.whole.width(), high)
    sheet.write(pile.value.title, place, "middle", look.muted)


def _pile_words(sheet: Sheet, text: str, x: float, bottom: float, colour: QColor, *, bold: bool = False) -> None:
    """Centred over a place, kept within the picture; left out where other words stand."""
    metrics = QFontMetricsF(sheet.look.font(TEXT, bold=bold))
    width = metrics.horizontalAdvance(text) + 2
    left = min(max(x - width / 2, sheet.whole.left()), max(sheet.whole.right() - width, sheet.whole.left()))
    place = QRectF(left, bottom - metrics.height(), width, metrics.height())
    if text and not any(place.intersects(other) for other in sheet.taken):
        sheet.write(text, place, "middle", colour, bold=bold)
        sheet.taken.append(place)


class Pile(Asked):
    """The dots of a bath; each is asked about by pointer or arrow keys, and says beside it what it shows."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(look, parent, beside=True)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.words = self._words_of
        self._pile: DotPile | None = None
        self._labels: tuple[str, Collection[str], str, Mapping[str, str]] = ("", (), "", {})

    def show_pile(
        self,
        pile: DotPile,
        name: str,
        *,
        nought: str = "",
        together: Collection[str] = (),
        agreed: str = "",
        names: Mapping[str, str] | None = None,
    ) -> None:
        self._pile, self._labels = pile, (nought, together, agreed, names or {})
        self.show_marks(range(len(pile.dots)) if has_length(pile.value) else (), name, pile.text)
        self.update()

    def _words_of(self, number: int) -> str:
        assert self._pile is not None
        return self._pile.dots[number].text

    def place_of(self, number: int) -> Spot:
        assert self._pile is not None
        return _spot(pile_area(QRectF(self.rect()), self._look), self._pile, self._pile.dots[number], self._look)

    def sizeHint(self) -> QSize:
        return QSize(300, 150)

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._pile is None:
            return
        painter = QPainter(self)
        nought, together, agreed, names = self._labels
        paint_pile(
            painter,
            QRectF(self.rect()),
            self._pile,
            self._look,
            nought=nought,
            together=together,
            agreed=agreed,
            names=names,
        )
        if self._chosen >= 0:
            x, y = self.place_of(self._chosen)
            stroke(painter, disc(x, y, 8), self._look.pen, 3)
        elif self.hasFocus():
            stroke(painter, box(1.5, 1.5, self.width() - 3, self.height() - 3, 6), self._look.pen, 3)
        painter.end()
