"""The monthly log of a site on screen: every line, what was missed, who looked through it; printed, and reviewed."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QLineEdit, QWidget

from registry.records.outcomes import OUTSIDE
from registry.services import log_sheet, monthly_log, reviews
from registry.services.log_sheet import Written
from registry.services.monthly_log import Log, LogLine
from registry.services.problems import Refused
from registry.services.session import day_at
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.forms import List
from ui.parts import LINK, Button, Line, Scroll, Sentence, Words, clear, column, holding, measured, on_press, row
from ui.proof import typed
from ui.proof.cells import CellRow, Cells
from ui.saving import SaveTable

FIGURES = ("expected", "actual", "off_by", "limit")
WRAPPING = ("method", "actual", "outcome", "as_left", "action")


def site_box(desk: Desk, *, every: str = "") -> List:
    """A list of the sites; `every`: the words of a first line that stands for all of them."""
    box = List(desk.look)
    box.setMinimumHeight(theme.DESK)
    box.setAccessibleName(desk.say("proof.site"))
    if every:
        box.addItem(every, "")
    for one in desk.sites():
        box.addItem(one.payload.name, one.subject)
    return box


class LogPart(QWidget):
    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk, self.small = desk, small
        self.log: Log | None = None
        today = day_at(desk.session.clock(), desk.site.payload.zone)
        self.month = today.replace(day=1)
        self._wanted = ("", self.month)
        self._build()

    def _build(self) -> None:
        desk, look = self.desk, self.desk.look
        self.site = site_box(desk)
        self.site.setCurrentIndex(max(0, self.site.findData(desk.site.subject)))
        self.site.currentIndexChanged.connect(self._site_chosen)
        self.typed_month = QLineEdit()
        self.typed_month.setMinimumHeight(theme.DESK)
        self.typed_month.setAccessibleName(desk.say("proof.log.month"))
        self.typed_month.returnPressed.connect(self._month_typed)
        earlier = on_press(Button(look, desk.say("proof.log.earlier")), self._earlier)
        later = on_press(Button(look, desk.say("proof.log.later")), self._later)
        self.print = on_press(Button(look, desk.say("proof.log.print")), self._print)
        self.save = SaveTable(desk, self._table_out, LINK)
        self.review = on_press(Button(look, desk.say("proof.log.review")), self._review)
        self.review.setVisible(desk.may("officer"))
        bar = Flow(self.site, earlier, self.typed_month, later, self.print, self.review, space=10)
        self.sentence = Sentence(look, size=20 if self.small else 24)
        self.reviewed = Words(look, "", 15)
        self.more = on_press(Button(look, desk.say("proof.log.more"), LINK), self._tell_more)
        self._notes = column(space=8, margins=(24, 4, 24, 4))
        self.notes = Scroll(holding(self._notes))
        self.notes.hide()
        heads = [desk.say(f"log.head.{one}") for one in log_sheet.COLUMNS]
        self.table = Cells(
            look,
            desk.say("log.title"),
            heads,
            figures=[log_sheet.COLUMNS.index(one) for one in FIGURES],
            wrapping=[log_sheet.COLUMNS.index(one) for one in WRAPPING],
        )
        self.table.opened.connect(self._opened)
        beside = row(self.reviewed, self.save, self.more, space=16)
        beside.setStretch(0, 1)
        told = holding(
            column(self.reviewed, row(self.more, None), row(self.save, None), space=0) if look.narrow else beside
        )
        if look.zoom > 1:
            self.table.setMinimumHeight(look.text(200))  # the page is scrolled as well
        whole = column(
            holding(column(bar, margins=(24, 6, 24, 14))),
            Line(look.bench),
            holding(column(self.sentence, told, margins=(24, 10, 24, 4), space=4)),
            self.notes,
            holding(column(self.table, margins=(14, 0, 14, 0))),
            space=0,
        )
        whole.setStretch(3, 1)
        whole.setStretch(4, 2)
        whole.setContentsMargins(0, 0, 0, 0)
        self.setLayout(whole)

    # --- which site, which month -----------------------------------------------------------------------------

    def about(self, site: str, day: date) -> None:
        self.month = day.replace(day=1)
        self.site.blockSignals(True)
        self.site.setCurrentIndex(max(0, self.site.findData(site)))
        self.site.blockSignals(False)
        self.read_again()

    def _site_chosen(self) -> None:
        self.read_again()

    def _earlier(self) -> None:
        self._go_to(typed.month_before(self.month))

    def _later(self) -> None:
        self._go_to(typed.month_after(self.month))

    def _month_typed(self) -> None:
        desk = self.desk
        today = day_at(desk.session.clock(), desk.site.payload.zone)
        try:
            self._go_to(typed.month(self.typed_month.text(), desk.region, desk.language, today))
        except Refused as refused:
            desk.notice_of(refused)

    def _go_to(self, month: date) -> None:
        self.month = month
        self.read_again()

    # --- showing ---------------------------------------------------------------------------------------------

    def read_again(self) -> None:
        if self.site.count():
            site, month = self._wanted = str(self.site.currentData()), self.month
            self.desk.in_background(
                lambda _: monthly_log.month(self.desk.session, site, month.year, month.month), self._read, self._refused
            )

    def _refused(self, error: Exception) -> None:
        """A month that has not begun: the one before stays."""
        if self.log is not None:
            self.month = self.log.first_day
            self._name_month(self.log)
        self.desk.notice_of(error)

    def _read(self, log: object) -> None:
        assert isinstance(log, Log)
        if (log.site, log.first_day) != self._wanted:
            return  # another was asked for meanwhile
        self.log, self.month = log, log.first_day
        to = Written(self.desk.language, self.desk.region, log.zone)
        self._name_month(log)
        self.sentence.say(_headline(self.desk, log))
        self.reviewed.say(" ".join(log_sheet.reviews(log, to)))
        several = len(log_sheet.rules_used(log)) > 1
        self.table.show_rows(
            [CellRow(log_sheet.cells(line, to, name_rule=several), _weight(line)) for line in log.lines]
        )
        clear(self._notes)
        for sentence in _notes(self.desk, log, to):
            self._notes.addLayout(measured(Words(self.desk.look, sentence, 14, colour="muted")))
        self._notes.addStretch(1)

    def _name_month(self, log: Log) -> None:
        name = log_sheet.month_name(log, self.desk.language)
        self.typed_month.setText(name)
        wide = QFontMetrics(self.desk.look.font(15)).horizontalAdvance
        self.typed_month.setFixedWidth(max(wide(name), wide("September 2026")) + 40)

    def _tell_more(self) -> None:
        self.notes.setVisible(not self.notes.isVisible())

    def _opened(self, number: int) -> None:
        assert self.log is not None
        self.desk.go("thermometers", self.log.lines[number].thermometer)

    # --- printing, reviewing ---------------------------------------------------------------------------------

    def _print(self) -> None:
        if self.log is not None:
            suggested = f"log-{self.log.first_day:%Y-%m}.pdf"
            self.desk.ask.where_to_save(self.desk.say("proof.log.print"), suggested, self._print_to)

    def _print_to(self, path: Path) -> None:
        self._path = path
        desk, log = self.desk, self.log
        assert log is not None
        desk.in_background(lambda _: log_sheet.printed(desk.session, log, language=desk.language), self._printed)

    def _printed(self, pages: object) -> None:
        assert isinstance(pages, bytes)
        self.desk.save(self._path, pages)

    def _table_out(self) -> Any:
        log = self.log
        if log is None:
            return None

        def make(words: Any) -> Any:
            from registry.services import tables_out

            return tables_out.monthly_log(words, log)

        return f"log-{log.first_day:%Y-%m}", make

    def _review(self) -> None:
        """The officer says so twice: it is a signed entry."""
        log = self.log
        if log is None:
            return
        desk, last = self.desk, min(log.last_day, day_at(log.until, log.zone))
        sentence = desk.say("proof.log.sure", site=log.name, first=desk.day(log.first_day), last=desk.day(last))

        def agreed() -> None:
            desk.did(lambda: reviews.review(desk.session, desk.actor, log.site, log.first_day, last))

        desk.ask.sure(sentence, desk.say("proof.log.review"), agreed, details=desk.say("proof.log.review_means"))


def _headline(desk: Desk, log: Log) -> str:
    checks = [line for line in log.lines if line.kind == "check" and line.state != "voided"]
    outside = sum(line.check is not None and line.check.outcome in OUTSIDE for line in checks)
    month = log_sheet.month_name(log, desk.language)
    values: dict[str, object] = {"site": log.name, "month": month, "checks": len(checks), "outside": outside}
    if not log.lines:
        return desk.say("proof.log.empty", site=log.name, month=month)
    if log.no_shifts:
        return desk.say("proof.log.missed_unknown", **values)
    return desk.say("proof.log.headline", missed=log.count("missed"), **values)


def _notes(desk: Desk, log: Log, to: Written) -> Iterator[str]:
    yield from log_sheet.summary(log, to)
    yield desk.say("log.missed_means")
    yield desk.say("log.scope")
    yield from log_sheet.sources(log, to)
    yield desk.say("log.account")
    yield desk.say("caution.local_codes_first")


def _weight(line: LogLine) -> str:
    if line.state == "voided":
        return "grey"
    outside = line.check is not None and line.check.outcome in OUTSIDE and line.state in ("counts", "imported")
    return "bold" if outside or line.kind in ("missed", "left_open", "not_found") else ""
