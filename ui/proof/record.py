"""Verify the record: what was looked at, what does not hold and what that means, and what verifying cannot show."""

import time
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from PySide6.QtWidgets import QProgressBar, QWidget

from registry.services import proof_page, upkeep
from registry.services.proof_page import Verified
from registry.services.upkeep import Progress
from registry.wording import format
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import MAIN, Button, Line, Scroll, Sentence, Words, clear, column, holding, on_press
from ui.proof.cells import CellRow, Cells
from ui.work import Job

TOLD = 200  # findings told one by one
# What a finding means, by what it is about; everything else is about entries.
_ABOUT = {
    "lists": ("column_differs", "folded_differs", "rebuild_unfinished", "not_compared"),
    "pages": ("document_changed", "document_length", "document_missing", "detached_changed"),
    "succession": ("predecessor_differs", "succession_bad"),
    "file": ("file_damaged", "schema_altered"),
    "end": ("end_missing", "end_differs"),
}


@dataclass(frozen=True, slots=True)
class Looked:
    verified: Verified
    seconds: float


class RecordPart(QWidget):
    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk, self.small = desk, small
        self.looked: Looked | None = None
        self._deep: bool | None = None  # which way runs now, if any
        self._job: Job | None = None
        look, say = desk.look, desk.say
        self.plain = on_press(Button(look, say("proof.record.verify"), MAIN), self._verify)
        self.deep = on_press(Button(look, say("proof.record.verify_deep")), self._verify_deep)
        self.stop = on_press(Button(look, say("proof.record.stop")), self._cancel)
        self.stop.hide()
        presses = Flow(self.plain, self.deep, self.stop, space=12)
        self.bar = QProgressBar()
        self.bar.setAccessibleName(say("proof.record.progress"))
        self.bar.setTextVisible(False)
        self.bar.hide()
        self.passed = Words(look, "", 14, colour="muted")
        self.passed.hide()
        self.sentence = Sentence(look, size=24 if small else 30)
        self.sentence.say(say("proof.record.not_yet"))
        self._told = column(space=8)
        inner = column(self.sentence, self._told, 8, *self._always(), None, space=10, margins=(24, 16, 24, 20))
        head = column(presses, self.bar, self.passed, space=8, margins=(24, 6, 24, 14))
        sheet = holding(inner)
        sheet.setMaximumWidth(look.text(theme.MEASURE))
        whole = column(holding(head), Line(look.bench), Scroll(sheet) if look.zoom == 1 else sheet, space=0)
        whole.setStretch(2, 1)
        self.setLayout(whole)

    def _always(self) -> Iterator[QWidget]:
        """Who signs, and what no verification can show; in sight before it is asked for as well."""
        desk, look = self.desk, self.desk.look
        yield Line(look.line)
        yield Words(look, desk.say("proof.record.signs"), 18, bold=True)
        code = proof_page.own_code(desk.session)
        yield Words(look, desk.say("proof.record.signed_by", code=code) if code else desk.say("proof.record.nobody"))
        yield Line(look.line)
        yield Words(look, desk.say("proof.record.cannot"), 18, bold=True)
        for one in ("cut_off", "key_copied", "who", "true", "plain"):
            yield Words(look, desk.say(f"proof.record.cannot_{one}"))

    # --- verifying -------------------------------------------------------------------------------------------

    def _verify(self) -> None:
        self._start(deep=False)

    def _verify_deep(self) -> None:
        self._start(deep=True)

    def _start(self, *, deep: bool) -> None:
        session = self.desk.session

        def work(progress: Progress) -> Looked:
            begun = time.monotonic()
            return Looked(proof_page.verify(session, deep=deep, progress=progress), time.monotonic() - begun)

        self._deep = deep
        self._running(True)
        self.bar.setRange(0, proof_page.entries(session))
        self.bar.setValue(0)
        self.sentence.say(self.desk.say("proof.record.looking"))
        clear(self._told)
        self._job = self.desk.in_background(work, self._done, self._failed, self._went_on)
        self._job.cancelled.connect(self._stopped)

    def _cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()

    def _running(self, runs: bool) -> None:
        if not runs:
            self._deep = None
        for one in (self.bar, self.passed, self.stop):
            one.setVisible(runs)
        for one in (self.plain, self.deep):
            one.setVisible(not runs)
        if self.isVisible():
            (self.stop if runs else self.plain).setFocus()

    def _went_on(self, passed: int) -> None:
        self.bar.setValue(min(passed, self.bar.maximum()))
        self.passed.say(self.desk.say("proof.record.so_far", passed=format.number(passed, self.desk.region)))

    def _stopped(self) -> None:
        self._running(False)
        self.sentence.say(self.desk.say("proof.record.stopped"))

    def _failed(self, error: Exception) -> None:
        self._running(False)
        self.sentence.say(self.desk.say("proof.record.not_yet"))
        self.desk.notice_of(error)

    def _done(self, looked: object) -> None:
        assert isinstance(looked, Looked)
        self._running(False)
        self._show(looked)

    def _show(self, looked: Looked) -> None:
        self.looked = looked
        report = looked.verified.report
        if not report.finished:
            self._stopped()
            return
        clear(self._told)
        say = self.desk.say
        self.sentence.say(say("proof.record.whole") if report.good else say("proof.record.found", count=report.found))
        for sentence in _sentences(self.desk, looked):
            self._told.addWidget(Words(self.desk.look, sentence, 17))
        if not report.good:
            self._tell_findings(looked.verified)
        self._tell_ends(looked.verified)

    # --- drawn anew ------------------------------------------------------------------------------------------

    def keep_draft(self) -> Looked | bool | None:
        """What was found, or which way runs: it is begun again."""
        if self._deep is not None:
            self._cancel()
            return self._deep
        return self.looked

    def go_on(self, draft: object) -> None:
        if isinstance(draft, bool):
            self._start(deep=draft)
        elif isinstance(draft, Looked):
            self._show(draft)

    # --- telling ---------------------------------------------------------------------------------------------

    def _tell_findings(self, verified: Verified) -> None:
        desk, look = self.desk, self.desk.look
        for about in dict.fromkeys(_about(one.code) for one in verified.findings):
            self._told.addWidget(Words(look, desk.say(f"proof.record.means_{about}")))
        self._told.addWidget(Words(look, desk.say("proof.record.what_to_do"), bold=True))
        heads = (desk.say("proof.record.entry"), desk.say("proof.record.what"))
        self.findings = Cells(look, desk.say("proof.record.findings"), heads, wrapping=(1,))
        shown = verified.findings[:TOLD]
        no_entry = desk.say("proof.record.no_entry")
        self.findings.setMinimumHeight(look.text(52) + min(len(shown), 6) * max(44, look.text(40)))
        self._told.addWidget(self.findings)
        told = [(one.number or no_entry, desk.say(f"finding.{one.code}", **one.values)) for one in shown]
        self.findings.show_rows([CellRow(one) for one in told])
        if verified.report.found > len(shown):
            self._told.addWidget(Words(look, desk.say("proof.record.first_of", shown=len(shown)), 14, colour="muted"))

    def _tell_ends(self, verified: Verified) -> None:
        for number, hash_ in verified.ends:
            words = self.desk.say("proof.record.ends", number=number, hash=hash_)
            self._told.addWidget(Words(self.desk.look, words))


def _about(code: str) -> str:
    return next((about for about, codes in _ABOUT.items() if code in codes), "entries")


def _sentences(desk: Desk, looked: Looked) -> Iterator[str]:
    """How much was looked at, when and how long; then what is no damage and yet to be known."""
    report = looked.verified.report
    told = {
        "count": report.entries,
        "passed": format.number(report.entries, desk.region),
        "when": desk.instant(looked.verified.at),
        "seconds": _seconds(looked.seconds, desk.region),
    }
    how = "deep" if looked.verified.deep else "plain"
    yield desk.say(f"proof.record.{'read' if report.good else 'read_found'}_{how}", **told)
    if report.documents:
        yield desk.say(
            "proof.record.pages", count=report.documents, passed=format.number(report.documents, desk.region)
        )
    if report.newer:
        yield desk.say("cli.verify_newer", count=report.newer, passed=format.number(report.newer, desk.region))
    if report.demo:
        yield desk.say("proof.record.demo")
    if why := upkeep.why_not_compared(desk.session):
        yield desk.say(f"trouble.{why}")


def _seconds(seconds: float, region: str) -> str:
    return format.number(Decimal(f"{max(seconds, 0.1):.1f}"), region)
