"""Proof: was it right then, the monthly log, is the record whole, the certificates. Only a review is recorded here."""

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget

from registry.services.certificates import Certificate
from ui.desk import Desk
from ui.page import Page
from ui.parts import Choice, Scroll, column, holding
from ui.proof.about import LogOf
from ui.proof.answer import AnswerPart
from ui.proof.certificates import CertificatesPart
from ui.proof.log import LogPart
from ui.proof.record import RecordPart

PARTS = ("answer", "log", "record", "certificates")


class ProofPage(Page):
    name = "proof"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.small = False
        self._made: dict[str, QWidget] = {}
        choices = [(one, desk.say(f"proof.part.{one}")) for one in PARTS]
        self.choice = Choice(self.look, choices, "answer", desk.say("proof.parts"), breaks=True)
        self.choice.chosen.connect(self.show_part)
        self._parts = column(space=0)  # one of them in sight: a stack would be as high as its highest
        head = column(self.choice, margins=(24, 14, 24, 8))
        head.setAlignment(self.choice, Qt.AlignmentFlag.AlignLeft)
        whole = column(holding(head), self._parts, space=0)
        whole.setStretch(1, 1)
        # Large text leaves no room beneath what stands fixed above: there all of it is scrolled.
        self.setLayout(column(Scroll(holding(whole)), space=0) if self.look.zoom > 1 else whole)

    # --- the four parts --------------------------------------------------------------------------------------

    def part(self, name: str) -> QWidget:
        """A part is made when it is first gone to."""
        if name not in self._made:
            of = {"answer": AnswerPart, "log": LogPart, "record": RecordPart, "certificates": CertificatesPart}[name]
            self._made[name] = of(self.desk, small=self.small)
            self._made[name].hide()
            self._parts.addWidget(self._made[name])
        return self._made[name]

    def show_part(self, name: str) -> None:
        self._bring(name)
        self.read_again()

    def _bring(self, name: str) -> None:
        self.choice.choose(name)
        wanted, focus = self.part(name), QApplication.focusWidget()
        if focus is not None and any(part is not wanted and part.isAncestorOf(focus) for part in self._made.values()):
            self.choice.button(name).setFocus()  # what is hidden would hand it to whatever comes next
        for part in self._made.values():
            part.setVisible(part is wanted)

    @property
    def answer(self) -> AnswerPart:
        part = self.part("answer")
        assert isinstance(part, AnswerPart)
        return part

    @property
    def log(self) -> LogPart:
        part = self.part("log")
        assert isinstance(part, LogPart)
        return part

    @property
    def record(self) -> RecordPart:
        part = self.part("record")
        assert isinstance(part, RecordPart)
        return part

    @property
    def certificates(self) -> CertificatesPart:
        part = self.part("certificates")
        assert isinstance(part, CertificatesPart)
        return part

    # --- what the frame asks ---------------------------------------------------------------------------------

    def show_about(self, about: object) -> None:
        """about: (thermometer's id, instant) asks at once; a LogOf shows that month; else it stands as it was."""
        if isinstance(about, tuple) and len(about) == 2:
            self.show_part("answer")
            self.answer.ask(*about)
        elif isinstance(about, LogOf):
            self.log.about(about.site, about.day)
            self._bring("log")
        elif isinstance(about, Mapping):
            self._go_on(about)
        else:
            self.show_part(self.choice.value)
            if self.choice.value == "answer" and self.answer.about is None:
                self.answer.question.fields["tag"].setFocus()

    def read_again(self) -> None:
        part = self._made.get(self.choice.value)
        if isinstance(part, AnswerPart | LogPart | CertificatesPart):
            part.read_again()

    def scanned(self, code: str) -> bool:
        """A tag goes into the question, or finds its certificates."""
        if self.choice.value == "answer":
            self.answer.question.take_tag(code)
            return True
        if self.choice.value == "certificates":
            self.certificates.find_tag(code)
            return True
        return False

    def set_small(self, small: bool) -> None:
        self.small = small

    def keep_draft(self) -> dict[str, object]:
        draft: dict[str, object] = {"part": self.choice.value}
        for part in self._made.values():
            if isinstance(part, AnswerPart):
                draft |= {"question": part.question.values(), "asked": part.about}
            elif isinstance(part, LogPart) and part.log is not None:
                draft["log"] = (part.log.site, part.log.first_day)
            elif isinstance(part, CertificatesPart):
                draft |= {"certificates": part.values(), "certificate": part.shown}
            elif isinstance(part, RecordPart):
                draft["record"] = part.keep_draft()
        return draft

    def _go_on(self, draft: Mapping[str, object]) -> None:
        """As it stood before the window was drawn anew."""
        asked, log, wanted = draft.get("asked"), draft.get("log"), draft.get("certificates")
        if isinstance(asked, tuple):
            self.answer.ask(*asked)
        question = draft.get("question")
        if isinstance(question, dict) and asked is None:
            self.answer.question.fill(question)
        if isinstance(wanted, dict):
            self.certificates.fill(wanted)
        if isinstance(log, tuple):
            self.log.about(*log)
        self.show_part(str(draft.get("part", "answer")))
        if draft.get("record") is not None:
            self.record.go_on(draft["record"])
        certificate = draft.get("certificate")
        if isinstance(certificate, Certificate):
            self.certificates.open(certificate)
