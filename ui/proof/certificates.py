"""Issued certificates: found by site, tag id, number or day; each as the very page that was kept."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics, QKeyEvent
from PySide6.QtWidgets import QLineEdit, QStackedWidget, QWidget

from registry.services import certificates, exchange, page_verify, plain_certificate
from registry.services.certificates import Certificate, Found
from registry.services.page_verify import Verified
from registry.services.problems import Refused
from registry.services.session import day_at
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import LINK, Button, Line, Scroll, Sentence, Words, clear, column, holding, on_press, row
from ui.proof import typed
from ui.proof.batch import Issuing, IssuingPart
from ui.proof.cells import CellRow, Cells
from ui.proof.log import site_box
from ui.proof.pages import Paper, sheets
from ui.saving import SaveTable
from ui.thermometers import issuing
from ui.thermometers.printing import Printing

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
        self._page = self._issued = b""
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
        self.verify = on_press(Button(look, say("proof.find.verify")), self._ask_file)
        self.batch = on_press(Button(look, say("batch.issue_for")), self._ask_batch)
        if not desk.may("lead", "officer"):
            self.batch.hide()
        bar = Flow(*parts, _named(desk, "", find), _named(desk, "", self.verify), space=12)
        self.sentence = Sentence(look, size=20 if self.small else 24)
        if look.zoom > 1:
            top: Any = column(self.sentence, row(self.batch, None))
        else:
            top = row(self.sentence, self.batch, space=16)
            top.setStretch(0, 1)
        heads = [say(f"certificates.head.{one}") for one in HEADS]
        self.table = Cells(look, say("proof.find.list"), heads, wrapping=(4,), one_press=True)
        self.table.opened.connect(self._opened)
        if look.zoom > 1:
            self.table.setMinimumHeight(look.text(200))  # the page is scrolled as well
        self.more = on_press(Button(look, say("proof.find.more")), self._more)
        self.more.hide()
        self.save_list = SaveTable(desk, self._table_out, LINK)
        listed = column(
            holding(column(bar, margins=(24, 6, 24, 14))),
            Line(look.bench),
            IssuingPart(desk),
            holding(column(top, Words(look, say("proof.find.how"), 14, colour="muted"),
                           margins=(24, 10, 24, 4), space=4)),
            holding(column(self.table, margins=(14, 0, 14, 0))),
            holding(row(self.more, None, self.save_list, margins=(24, 6, 24, 8))),
            space=0,
        )  # fmt: skip
        listed.setStretch(4, 1)
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

    def _table_out(self) -> Any:
        """All that fit what stands in the fields."""
        try:
            wanted = self._wanted()
        except Refused as refused:
            self.desk.notice_of(refused)
            return None
        session = self.desk.session

        def make(words: Any) -> Any:
            from registry.services import tables_out

            return tables_out.all_certificates(session, words, wanted)

        return self.desk.say("spreadsheet.file.certificates"), make

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
        return self.desk.say(f"certificates.state.{one.standing}", number=one.told_by)

    # --- all of a site ---------------------------------------------------------------------------------------

    def _ask_batch(self) -> None:
        """For the site that is chosen; the only one need not be."""
        sites = {one.subject: one for one in self.desk.sites()}
        chosen = str(self.site.currentData() or "") or (next(iter(sites)) if len(sites) == 1 else "")
        if not chosen:
            self.desk.notice(self.desk.say("batch.choose_site"))
            return
        Issuing.of(self.desk).ask(chosen, sites[chosen].payload.letters)

    # --- one certificate -------------------------------------------------------------------------------------

    def _viewer(self) -> QWidget:
        desk, look, say = self.desk, self.desk.look, self.desk.say
        self.back = on_press(Button(look, say("proof.find.back")), self._back)
        save = on_press(Button(look, say("proof.find.save")), self._save)
        self.as_issued = on_press(Button(look, say("proof.find.save_as_issued")), self._save_as_issued)
        self.acts = on_press(Button(look, say("proof.find.acts")), self._ask_what)
        self.printing = Printing(desk, self)
        self.verdict = Words(look, "", 15, bold=True)
        self.verdict.hide()
        its = on_press(Button(look, say("proof.to_thermometer"), LINK), self._to_thermometer)
        self.title = Sentence(look, size=20 if self.small else 24)
        self._papers = column(space=16, margins=(24, 12, 24, 24))
        self.reader = Scroll(holding(self._papers))
        self.reader.setFocusPolicy(Qt.FocusPolicy.StrongFocus)  # arrows and page keys turn over
        self.reader.setAccessibleName(desk.say("proof.find.page"))
        self.html = on_press(Button(look, say("proof.find.save_html")), self._make_html)
        self.dcc = on_press(Button(look, say("proof.find.save_dcc")), self._make_dcc)
        buttons = Flow(self.back, save, self.html, self.dcc, self.as_issued, self.acts, its, space=12)
        head = column(self.title, self.verdict, buttons, space=10, margins=(24, 6, 24, 14))
        whole = column(holding(head), Line(look.bench), self.reader, space=0)
        whole.setStretch(2, 1)
        return holding(whole)

    def _opened(self, number: int) -> None:
        self.open(self._known[number])

    def open(self, certificate: Certificate, verdict: str = "") -> None:
        """Show a certificate; verdict: what was found of a file that is held against it."""
        self.shown = certificate
        self.verdict.say(verdict)
        self.verdict.setVisible(bool(verdict))
        session, wanted = self.desk.session, self.shown.number
        self.desk.in_background(partial(_read_page, session, wanted), self._show_page)

    def _show_page(self, read: object) -> None:
        assert isinstance(read, tuple)
        assert self.shown is not None
        self._issued, self._page, papers = read
        desk, one = self.desk, self.shown
        self.as_issued.setVisible(self._page != self._issued)
        self.acts.setVisible(one.state == "stands" and bool(issuing.acts(desk, one)))
        issued = desk.instant(one.kept.issued_at, self._zones.get(one.site))
        self.title.say(
            desk.say(
                f"proof.find.title_{one.standing}", number=one.number, tag=one.tag_id, issued=issued, by=one.told_by
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

    def _make_html(self) -> None:
        assert self.shown is not None
        session, kept = self.desk.session, self.shown.kept
        self.desk.in_background(lambda _: (kept.number, plain_certificate.html(session, kept)), self._save_html)

    def _save_html(self, made: object) -> None:
        assert isinstance(made, tuple)
        number, content = made
        title = self.desk.say("proof.find.save_html")
        self.desk.ask.where_to_save(title, f"{number}.html", lambda path: self.desk.save(path, content))

    def _make_dcc(self) -> None:
        assert self.shown is not None
        session, kept = self.desk.session, self.shown.kept
        self.desk.in_background(lambda _: (kept.number, exchange.xml(session, kept)), self._save_dcc)

    def _save_dcc(self, made: object) -> None:
        assert isinstance(made, tuple)
        number, content = made
        title = self.desk.say("proof.find.save_dcc")
        self.desk.ask.where_to_save(title, f"{number}.xml", lambda path: self.desk.save(path, content))

    def _save_as_issued(self) -> None:
        assert self.shown is not None
        title, issued = self.desk.say("proof.find.save_as_issued"), self._issued
        self.desk.ask.where_to_save(title, f"{self.shown.number}.pdf", lambda path: self.desk.save(path, issued))

    # --- amending, replacing, withdrawing --------------------------------------------------------------------

    def _ask_what(self) -> None:
        one = self.shown
        assert one is not None
        self.desk.ask.choose(
            self.desk.say("proof.find.acts_title", number=one.number),
            issuing.acts(self.desk, one),
            lambda what: self.printing.certificate(one.kept.thermometer, one.tag_id, what),
        )

    # --- a file from outside ---------------------------------------------------------------------------------

    def _ask_file(self) -> None:
        self.desk.ask.which_file(
            self.desk.say("proof.find.verify"), self.desk.say("proof.find.pdf_files"), self._verify
        )

    def _verify(self, path: Path) -> None:
        session, language, region = self.desk.session, self.desk.language, self.desk.region

        def work(_progress: object) -> tuple[str, Verified]:
            return path.name, page_verify.verify_page(session, page_verify.read_file(path), language, region)

        self.desk.in_background(work, self._verified)

    def _verified(self, read: object) -> None:
        assert isinstance(read, tuple)
        name, found = read
        assert isinstance(found, Verified)
        one = found.certificate
        if one is None:
            self.desk.notice(self.desk.say(f"verify.{found.answer}", file=name))
            return
        sentence = self.desk.say(f"verify.{found.answer}", file=name, number=one.number, tag=one.tag_id)
        self.open(one, "\n".join([sentence, *found.says]))

    def _to_thermometer(self) -> None:
        if self.shown is not None:
            self.desk.go("thermometers", self.shown.kept.thermometer)


def _named(desk: Desk, words: str, widget: QWidget) -> QWidget:
    """A field with its name above."""
    return holding(column(Words(desk.look, words, 14, colour="muted", wrap=False), widget, space=2))


def _read_page(session: Any, number: str, _progress: object) -> tuple[bytes, bytes, list[Any]]:
    """The page as issued, as it is handed out, and that one's sheets."""
    issued, page = certificates.page(session, number), certificates.copy(session, number)
    return issued, page, list(sheets(page))
