"""Every mark, drawing, rule and plot on one sheet: `python -m tests.ui.gallery OUT.png [--dark] [--zoom 2]`."""

import os
import sys
from argparse import ArgumentParser
from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication

from registry import charts
from registry.charts import Checked, Happened, History, Turned
from registry.quantity import TemperatureDifference, Unit
from ui import drawings, marks, plots, rule, theme
from ui.rule import RuleValues
from ui.theme import Look

DAY = 86_400_000_000
NOW = 1_779_174_000_000_000  # 19 May 2026, 07:00 UTC
WIDTH = 1280
TYPES = (
    "bimetal_stem", "thermistor_probe", "thermocouple_probe", "rtd_probe", "infrared", "liquid_in_glass", "fixed_air",
    "oven", "fry", "candy", "roast", "dish_machine", "hot_water",
)  # fmt: skip
OTHERS = (
    "adjust_nut", "adjust_reset", "adjust_trim", "adjust_none", "ice_step_1", "ice_step_2", "ice_step_3", "ice_step_4",
    "ice_point", "boiling_point", "comparison", "happened",
)  # fmt: skip
RULES: tuple[RuleValues, ...] = (
    {"tolerance": 1.0, "offset": 0.05, "expanded": 0.25, "last": -0.1, "outcome": "pass"},
    {"tolerance": 1.0, "offset": 0.6, "expanded": 0.7, "last": 0.4, "outcome": "conditional_pass"},
    {"tolerance": 1.0, "offset": 1.2, "expanded": 0.5, "last": 0.8, "outcome": "conditional_fail"},
    {"tolerance": 1.0, "offset": 2.5, "last": 0.5, "outcome": "fail"},
    {"tolerance": 1.0, "offset": -1.6, "expanded": 0.4, "last": -0.7, "outcome": "fail"},
    {"tolerance": 1.0, "offset": 1.5, "last": 0.6, "outcome": "waits"},
    {"tolerance": 1.0, "waiting": True},
)


def difference(value: str, unit: Unit = "C") -> TemperatureDifference:
    return TemperatureDifference(Decimal(value), unit)


def words() -> charts.Words:
    """Plain English, only for this sheet and for tests; the program words its charts elsewhere."""

    def number(value: Decimal, unit: Unit) -> str:
        return f"{value:+}".replace("-", "−").replace("+0.0", "0.0")

    def time(code: str, local: object, first: bool) -> str:
        return f"{local:%-d %b}" if code in ("day", "week") else f"{local:%b %Y}" if first else f"{local:%b}"

    def say(code: str, **values: object) -> str:
        shown = {
            key: number(each.value, "C") for key, each in values.items() if isinstance(each, TemperatureDifference)
        }
        return {
            "offset_axis": "offset, °C", "moved_axis": "moved since last time, °C", "papers_moves": "papers, moves",
            "as_found": f"as found {shown.get('value')}", "as_left": f"as left {shown.get('value')}",
            "incident": str(values.get("what")).replace("_", " "), "check_before": "check before, 06:44",
            "check_after": "check after, 22:12", "moment": "14:30",
        }.get(code, code)  # fmt: skip

    return charts.Words(number, time, say)


def story() -> History:
    """Fourteen months of a probe that drifts, is trimmed, and is dropped."""
    checks, turned, at = [], NOW - 195 * DAY, 0
    for number in range(60):
        at = NOW - 425 * DAY + number * 7 * DAY + 3 * DAY
        days = (at - (NOW - 425 * DAY)) / DAY
        drift = days * 0.0042 if at <= turned else (at - turned) / DAY * 0.0021 + (0.2 if at > NOW - 70 * DAY else 0)
        offset = Decimal(round((drift - 0.1 + 0.08 * ((number * 7) % 5 - 2) / 2) * 10)) / 10
        outcome = "pass" if abs(offset) <= Decimal("0.7") else "conditional_pass"
        checks.append(Checked(at, TemperatureDifference(offset, "C"), outcome, difference("0.2")))
    checks.append(Checked(turned - DAY, difference("1.3"), "fail", difference("0.2")))
    happened = (
        Happened(NOW - 307 * DAY, "temperature_shock"), Happened(NOW - 70 * DAY, "dropped"),
        Happened(NOW - 425 * DAY, "paper"), Happened(NOW - 260 * DAY, "move"), Happened(NOW - 69 * DAY, "paper"),
    )  # fmt: skip
    adjusted = Turned(turned - DAY, difference("1.3"), difference("0.0"))
    ordered = tuple(sorted((one for one in checks if one.at <= NOW), key=lambda one: one.at))
    return History("Europe/London", NOW, difference("1.0"), ordered, (adjusted,), happened)


def days_around() -> tuple[History, int, int, int]:
    """Two checks a day around the moment that is asked about."""
    moment = NOW - 76 * DAY
    steps = [(n, Decimal(2 + (n * 5) % 3) / 10) for n in range(-11, 12)]
    checks = tuple(
        Checked(moment + n * DAY // 2 + DAY // 6, TemperatureDifference(value, "C"), "pass", difference("0.25"))
        for n, value in steps
    )
    before, after = checks[10].at, checks[11].at
    return replace(story(), checks=checks, turned=(), happened=()), moment, before, after


def bath_pile() -> charts.DotPile:
    moves = [(f"TM {n}", difference(by)) for n, by in enumerate(("0.8", "0.9", "0.9", "0.9", "0.9", "2.4"))]
    return charts.dot_pile(moves, words(), "C")


class _Sheet:
    """A long sheet filled from the top."""

    def __init__(self, painter: QPainter, look: Look) -> None:
        self.painter, self.look, self.y = painter, look, 16.0

    def head(self, text: str) -> None:
        self.painter.setFont(self.look.font(18, bold=True))
        self.painter.setPen(self.look.ink)
        self.painter.drawText(QRectF(32, self.y, WIDTH, 30), Qt.AlignmentFlag.AlignVCenter, text)
        self.y += 38

    def row(
        self, codes: Sequence[str], size: float, step: float, paint: Callable[[QRectF, str], None], low: float = 26
    ) -> None:
        """One thing after another with its code below, wrapped at the right edge."""
        each_line = max(int((WIDTH - 64) // step), 1)
        for start in range(0, len(codes), each_line):
            for number, code in enumerate(codes[start : start + each_line]):
                x = 32 + number * step
                paint(QRectF(x, self.y, size, size), code)
                self.painter.setFont(self.look.font(12))
                self.painter.setPen(self.look.muted)
                self.painter.drawText(QRectF(x, self.y + size + 2, step - 6, 20), 0, code.replace("_", " "))
            self.y += size + low


def fill_sheet(painter: QPainter, look: Look) -> float:
    """Paints all of it; returns how long the sheet is."""
    sheet = _Sheet(painter, look)
    sheet.head("Instrument types: solid where each feels the temperature")
    for code_size, step in ((76.0, 174.0), (40.0, 92.0)):
        sheet.row(TYPES, code_size, step, lambda rect, code: drawings.paint_drawing(painter, rect, code, look))
    sheet.head("Adjusting, making the bath, points")
    sheet.row(OTHERS, 92, 201, lambda rect, code: drawings.paint_drawing(painter, rect, code, look))
    sheet.row(OTHERS, 40, 100, lambda rect, code: drawings.paint_drawing(painter, rect, code, look))
    _baths(sheet)
    for kind, codes in (
        ("outcome", marks.OUTCOMES),
        ("lead", marks.LEAD),
        ("service", marks.SERVICE),
        ("sign", marks.SIGNS),
    ):
        _marks(sheet, kind, codes)
    _rules(sheet)
    _plots(sheet)
    return sheet.y


def _baths(sheet: _Sheet) -> None:
    sheet.head("Baths on the bench")
    for number, name in enumerate(drawings.DEPTHS):
        where = QRectF(32 + number * 300, sheet.y, 240, 290)
        drawings.paint_bath(sheet.painter, where, name, sheet.look, "5 cm or more")
    sheet.y += 290
    sheet.painter.fillRect(QRectF(0, sheet.y, WIDTH, 1), sheet.look.bench)
    sheet.y += 20


def _marks(sheet: _Sheet, kind: str, codes: Sequence[str]) -> None:
    sheet.head({"outcome": "Outcomes", "lead": "The lead's word", "service": "Service status"}.get(kind, "Signs"))
    for size, step in ((26.0, 168.0), (18.0, 168.0), (11.0, 168.0)):
        shown = codes if size != 11 or kind in ("outcome", "sign") else ()
        step = step if kind != "sign" else 66

        def paint(rect: QRectF, code: str) -> None:
            marks.paint_mark(sheet.painter, rect, kind, code, True, sheet.look)

        sheet.row(shown, size, step, paint, low=24)
    if kind == "outcome":
        for number, code in enumerate(("conditional_fail", "fail")):
            marks.paint_outcome(sheet.painter, QRectF(32 + number * 168, sheet.y, 26, 26), code, False, sheet.look)
        sheet.y += 40
    if kind == "sign":
        for number, word in enumerate(("Enter", "Intro")):
            size = marks.key_cap_size(word, sheet.look)
            where = QRectF(32 + number * 110, sheet.y, size.width(), size.height())
            marks.paint_key_cap(sheet.painter, where, word, sheet.look)
        sheet.y += 44


def _rules(sheet: _Sheet) -> None:
    sheet.head("The graduated rule")
    for number, values in enumerate(RULES):
        where = QRectF(32 + number * 150, sheet.y, 104, 30 + sheet.look.text(22))
        rule.paint_rule(sheet.painter, where, sheet.look, **values, label="±1.0\u00a0°C")
    sheet.y += 68


def _plots(sheet: _Sheet) -> None:
    painter, look = sheet.painter, sheet.look
    sheet.head("Offsets over time")
    plots.paint_chart(painter, QRectF(32, sheet.y, 760, 410), charts.offset_chart(story(), words(), "C"), look)
    small = charts.small_chart(story(), "C")
    for number in range(3):
        plots.paint_chart(painter, QRectF(860, sheet.y + number * 56, 170, 42), small, look)
    plots.paint_pile(
        painter, QRectF(860, sheet.y + 190, 300, 150), bath_pile(), look, nought="a good bath",
        together=[f"TM {n}" for n in range(5)], agreed="five at +0.9", names={"TM 5": "TM 007 B"},
    )  # fmt: skip
    sheet.y += 430
    sheet.head("Days around a moment")
    history, moment, before, after = days_around()
    chart = charts.answer_chart(history, words(), "C", moment, before, after)
    plots.paint_chart(painter, QRectF(32, sheet.y, 1200, 240), chart, look)
    sheet.y += 250
    sheet.head("Nothing yet")
    empty = charts.offset_chart(History("UTC", NOW, difference("1.0")), words(), "C")
    plots.paint_chart(painter, QRectF(32, sheet.y, 560, 260), empty, look)
    crowded = replace(story(), happened=tuple(Happened(NOW - n * 9 * DAY, "dropped") for n in range(20)))
    plots.paint_chart(painter, QRectF(640, sheet.y, 400, 260), charts.offset_chart(crowded, words(), "C"), look)
    sheet.y += 270


def main(arguments: Sequence[str]) -> None:
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("out")
    parser.add_argument("--dark", action="store_true")
    parser.add_argument("--zoom", type=float, default=1.0)
    chosen = parser.parse_args(arguments)
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    app = QApplication([])
    theme.load_fonts()
    look = theme.look(dark=chosen.dark, zoom=chosen.zoom)
    length = 0.0
    for height in (1, 2):  # once to learn how long it is, once to keep
        image = QImage(WIDTH * 2, max(round(length), height) * 2, QImage.Format.Format_RGB32)
        image.setDevicePixelRatio(2)
        image.fill(look.sheet)
        painter = QPainter(image)
        length = fill_sheet(painter, look)
        painter.end()
    image.save(chosen.out)
    app.quit()


if __name__ == "__main__":
    main(sys.argv[1:])
