"""Issued certificates: found by site, tag id, number or day; each as the very page that was kept."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics, QKeyEvent
from PySide6.QtWidgets import QLineEdit, QStackedWidget, QWidget

from registry.services import certificates
from registry.services.certificates import Certificate, Found
from registry.services.problems import Refused
from registry.services.session import day_at
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import LINK, Button, Line, Scroll, Sentence, Words, clear, column, holding, on_press, row
from ui.proof import typed
from ui.proof.cells import CellRow, Cells
from ui.proof.log import site_box
from ui.proof.pages import Paper, sheets

HEADS = ("number", "tag", "issued", "who", "state", "page")
FIELDS = ("tag", "number", "from_day", "to_day")
SAMPLES = {"tag": "MM000M", "number": "KQBH000011", "from_day": "2026-09-28", "to_day": "2026-09-28"}
PAGE = 200


class CertificatesPart(QWidget):
    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk, self.small = desk, small
        self._known: list[Certificate] = []
        self._after: str | None = None
        self._turn = 0
        self.shown: Certificate | None = None
        self._page = b""
        self._zones = {one.subject: one.payload.zone for one in desk.sites()}
        self._build()

    def _build(self) -> None:
        desk, look, say = self.desk, self.desk.look, self.desk.say
        self.site = site_box(desk, every=say("proof.every_site"))
        self.site.currentIndexChanged.connect(self.read_again)
        self.fields = {name: self._field(name) for name in FIELDS}
        parts: list[QWidget] = [_named(desk, say("proof.site"), self.site)]
        parts += [_named(desk, say(f"proof.find.{name}"), self.fields[name]) for name in FIELDS]
        find = on_press(Button(look, say("proof.find.find")), self.read_again)
        bar = Flow(*parts, _named(desk, "", find), space=12)
        self.sentence = Sentence(look, size=20 if self.small else 24)
        heads = [say(f"certificates.head.{one}") for one in HEADS]
        self.table = Cells(look, say("proof.find.list"), heads, wrapping=(4,), one_press=True)
        self.table.opened.connect(self._opened)
        if look.zoom > 1:
            self.table.setMinimumHeight(look.text(200))  # the page is scrolled as well
        self.more = on_press(Button(look, say("proof.find.more")), self._more)
        self.more.hide()
        listed = column(
            holding(column(bar, margins=(24, 6, 24, 14))),
            Line(look.bench),
            holding(column(self.sentence, Words(look, say("proof.find.how"), 14, colour="muted"),
                           margins=(24, 10, 24, 4), space=4)),
            holding(column(self.table, margins=(14, 0, 14, 0))),
            holding(row(self.more, None, margins=(24, 6, 24, 8))),
            space=0,
        )  # fmt: skip
        listed.setStretch(3, 1)
        self.stack = QStackedWidget()
        self.stack.addWidget(holding(listed))
        self.stack.addWidget(self._viewer())
        self.setLayout(column(self.stack, space=0))

    def _field(self, name: str) -> QLineEdit:
        made = QLineEdit()
        made.setMinimumHeight(theme.DESK)
        wide = QFontMetrics(self.desk.look.font(15)).horizontalAdvance(SAMPLES[name])
        made.setFixedWidth(wide + 34)
        made.setAccessibleName(self.desk.say(f"proof.find.{name}"))
        made.returnPressed.connect(self.read_again)
        return made

    # --- finding ---------------------------------------------------------------------------------------------

    def values(self) -> dict[str, str]:
        return {"site": str(self.site.currentData()), **{name: one.text() for name, one in self.fields.items()}}

    def fill(self, values: dict[str, str]) -> None:
        self.site.blockSignals(True)
        self.site.setCurrentIndex(max(0, self.site.findData(values.get("site", ""))))
        self.site.blockSignals(False)
        for name, one in self.fields.items():
            one.setText(values.get(name, ""))

    def find_tag(self, tag: str) -> None:
        self.shown = None
        self.stack.setCurrentIndex(0)
        self.fill({"tag": tag})
        self.read_again()

    def read_again(self) -> None:
        self._known = []
        self._find(None)

    def _more(self) -> None:
        self._find(self._after)

    def _find(self, after: str | None) -> None:
        try:
            wanted = self._wanted()
        except Refused as refused:
            self.desk.notice_of(refused)
            return
        session = self.desk.session
        self._turn = turn = self._turn + 1
        self.desk.in_background(
            lambda _: (turn, certificates.find(session, **wanted, limit=PAGE, after=after)), self._found, self._refused
        )

    def _wanted(self) -> dict[str, Any]:
        desk, said = self.desk, {name: text.strip() for name, text in self.values().items()}
        today = day_at(desk.session.clock(), desk.site.payload.zone)
        days = {
            name: typed.day(said[name], desk.region, desk.language, today, name) if said[name] else None
            for name in ("from_day", "to_day")
        }
        return {"site": said["site"] or None, "tag": said["tag"] or None, "number": said["number"] or None, **days}

    def _refused(self, error: Exception) -> None:
        self.desk.notice_of(error)

    def _found(self, told: object) -> None:
        assert isinstance(told, tuple)
        turn, found = told
        assert isinstance(found, Found)
        if turn != self._turn:
            return  # something else was asked for meanwhile
        desk = self.desk
        self._known += found.certificates
        self._after = found.after
        self.more.setVisible(found.after is not None)
        count, shown = found.count, len(self._known)
        self.sentence.say(
            desk.say("certificates.found", count=count, shown=shown) if shown else desk.say("certificates.none")
        )
        self.table.show_rows([self._row(one) for one in self._known])

    def _row(self, one: Certificate) -> CellRow:
        desk = self.desk
        texts = (
            one.number,
            one.tag_id,
            desk.instant(one.kept.issued_at, self._zones.get(one.site)),
            one.name or one.initials,
            self._state(one),
            desk.say("certificates.kept" if one.stored else "certificates.not_kept"),
        )
        return CellRow(texts, "" if one.state == "stands" else "grey")

    def _state(self, one: Certificate) -> str:
        return self.desk.say(f"certificates.state.{one.standing}", number=one.by_number)

    # --- one certificate -------------------------------------------------------------------------------------

    def _viewer(self) -> QWidget:
        desk, look, say = self.desk, self.desk.look, self.desk.say
        self.back = on_press(Button(look, say("proof.find.back")), self._back)
        save = on_press(Button(look, say("proof.find.save")), self._save)
        its = on_press(Button(look, say("proof.to_thermometer"), LINK), self._to_thermometer)
        self.title = Sentence(look, size=20 if self.small else 24)
        self._papers = column(space=16, margins=(24, 12, 24, 24))
        self.reader = Scroll(holding(self._papers))
        self.reader.setFocusPolicy(Qt.FocusPolicy.StrongFocus)  # arrows and page keys turn over
        self.reader.setAccessibleName(desk.say("proof.find.page"))
        head = column(self.title, Flow(self.back, save, its, space=12), space=10, margins=(24, 6, 24, 14))
        whole = column(holding(head), Line(look.bench), self.reader, space=0)
        whole.setStretch(2, 1)
        return holding(whole)

    def _opened(self, number: int) -> None:
        self.open(self._known[number])

    def open(self, certificate: Certificate) -> None:
        self.shown = certificate
        session, wanted = self.desk.session, self.shown.number
        self.desk.in_background(partial(_read_page, session, wanted), self._show_page)

    def _show_page(self, read: object) -> None:
        assert isinstance(read, tuple)
        assert self.shown is not None
        self._page, papers = read
        desk, one = self.desk, self.shown
        issued = desk.instant(one.kept.issued_at, self._zones.get(one.site))
        self.title.say(
            desk.say(
                f"proof.find.title_{one.standing}", number=one.number, tag=one.tag_id, issued=issued, by=one.by_number
            )
        )
        clear(self._papers)
        for number, sheet in enumerate(papers, 1):
            name = desk.say("proof.find.page_of", page=number, pages=len(papers), number=one.number)
            line = row(Paper(desk.look, sheet, name), space=0)
            self._papers.addLayout(line)
        self._papers.addStretch(1)
        self.stack.setCurrentIndex(1)
        self.reader.verticalScrollBar().setValue(0)
        self.back.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.stack.currentIndex() == 1:
            self._back()
        else:
            super().keyPressEvent(event)

    def _back(self) -> None:
        self.shown = None
        self.stack.setCurrentIndex(0)
        self.table.setFocus()

    def _save(self) -> None:
        assert self.shown is not None
        self.desk.ask.where_to_save(self.desk.say("proof.find.save"), f"{self.shown.number}.pdf", self._save_to)

    def _save_to(self, path: Path) -> None:
        self.desk.save(path, self._page)

    def _to_thermometer(self) -> None:
        if self.shown is not None:
            self.desk.go("thermometers", self.shown.kept.thermometer)


def _named(desk: Desk, words: str, widget: QWidget) -> QWidget:
    """A field with its name above."""
    return holding(column(Words(desk.look, words, 14, colour="muted", wrap=False), widget, space=2))


def _read_page(session: Any, number: str, _progress: object) -> tuple[bytes, list[Any]]:
    page = certificates.page(session, number)
    return page, list(sheets(page))
