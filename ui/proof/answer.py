"""Was it right then? The question, the answer in a sentence, and all that it rests on."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services import answer_sheet, proof_page
from registry.services.proof_page import AnswerShown, PointShown
from ui.charting import chart_words, point_words
from ui.desk import Desk
from ui.flow import Flow
from ui.marks import Mark
from ui.parts import (
    LINK,
    Button,
    Choice,
    Line,
    Scroll,
    Sentence,
    Words,
    clear,
    column,
    holding,
    measured,
    on_press,
    row,
)
from ui.plots import Plot
from ui.plots.told import Told
from ui.proof import wording
from ui.proof.question import Question
from ui.proof.sides import Sides, reads_high

MARKS = {"yes": "pass", "no": "fail", "not_known": "waits"}


class AnswerPart(QWidget):
    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk, self.small = desk, small
        self.about: tuple[str, int] | None = None
        self.shown: AnswerShown | None = None
        self.question = Question(desk, small=small)
        self.question.asked.connect(self._asked)
        self._inner = column(space=10, margins=(24, 16, 24, 20))
        whole = column(
            holding(column(self.question, margins=(24, 6, 24, 14))),
            Line(desk.look.bench),
            # Large text: the whole page is scrolled, and nothing in it once more.
            Scroll(holding(self._inner)) if desk.look.zoom == 1 else holding(self._inner),
            space=0,
        )
        whole.setStretch(2, 1)
        self.setLayout(whole)
        self._say_how()

    # --- asking ----------------------------------------------------------------------------------------------

    def ask(self, thermometer_id: str, at: int) -> None:
        self.question.fill_with(thermometer_id, at)
        self._asked(thermometer_id, at)

    def _asked(self, thermometer_id: str, at: int) -> None:
        self.about = (thermometer_id, at)
        desk, words = self.desk, partial(chart_words, self.desk)
        self.desk.in_background(
            lambda _: proof_page.answer(desk.session, thermometer_id, at, desk.language, desk.region, words),
            self._answered,
        )

    def read_again(self) -> None:
        if self.about is not None:
            self._asked(*self.about)

    def _answered(self, shown: object) -> None:
        assert isinstance(shown, AnswerShown)
        if (shown.answer.of.row.thermometer, shown.answer.at) == self.about:  # else another was asked meanwhile
            self.shown = shown
            self._show(shown)

    # --- showing ---------------------------------------------------------------------------------------------

    def _say_how(self) -> None:
        self._inner.addWidget(Words(self.desk.look, self.desk.say("proof.how"), 17, colour="muted"))
        self._inner.addStretch(1)

    def _show(self, shown: AnswerShown) -> None:
        clear(self._inner)
        desk, look = self.desk, self.desk.look
        answer = shown.answer
        first = next((one for one in shown.points if one.of.answer == answer.answer), None)
        mark = Mark(look, look.text(28))
        high = reads_high(first.before) if first else None
        mark.show_mark("outcome", MARKS[answer.answer], "", high)
        self.sentence = Sentence(look, size=18 if look.narrow else 22 if self.small else 28)
        self.sentence.say(wording.headline(desk, shown))
        head = row(mark, self.sentence, space=14)
        head.setAlignment(mark, Qt.AlignmentFlag.AlignTop)
        head.setStretch(1, 1)
        self._inner.addLayout(head)
        self._point = column(space=10)
        several = len(shown.points) > 1
        if several:
            self._inner.addLayout(self._each_point(shown))
        choice = [self._which_point(shown, first)] if several else []
        self._inner.addLayout(Flow(*choice, *self._presses(), space=12))
        self._inner.addLayout(self._point)
        if first is not None:
            self._show_point(first)
        for sentence in wording.known_then(desk, shown):
            self._inner.addLayout(measured(Words(look, sentence, 15)))
        for code in ("proof.scope", "proof.no_pack"):
            self._inner.addLayout(measured(Words(look, desk.say(code), 14, colour="muted")))
        self._inner.addStretch(1)

    def _presses(self) -> list[QWidget]:
        look, say = self.desk.look, self.desk.say
        return [
            on_press(Button(look, say("proof.print_answer")), self._print),
            on_press(Button(look, say("proof.to_thermometer"), LINK), self._to_thermometer),
        ]

    def _each_point(self, shown: AnswerShown) -> QVBoxLayout:
        """What is said of each class of point."""
        look = self.desk.look
        lines = QVBoxLayout()
        lines.setSpacing(4)
        for one in shown.points:
            mark = Mark(look, look.text(18))
            mark.show_mark("outcome", MARKS[one.of.answer], "", reads_high(one.before))
            inset = look.text(5)  # its middle under that of the large mark, its words under the large ones
            line = row(inset, mark, inset + 14, Words(look, one.said, 17), space=0)
            line.setStretch(3, 1)
            lines.addLayout(line)
        return lines

    def _which_point(self, shown: AnswerShown, first: PointShown | None) -> QWidget:
        """Which of them is shown beneath."""
        desk, look = self.desk, self.desk.look
        codes = [wording.class_of(one) for one in shown.points]
        choices = [(code, desk.say(f"proof.point.{code}")) for code in codes]
        self.choice = Choice(
            look, choices, wording.class_of(first) if first else "", desk.say("proof.which_point"), breaks=True
        )
        self.choice.chosen.connect(self._point_chosen)
        return self.choice

    def _point_chosen(self, code: str) -> None:
        assert self.shown is not None
        self._show_point(next(one for one in self.shown.points if wording.class_of(one) == code))

    def _show_point(self, point: PointShown) -> None:
        assert self.shown is not None
        clear(self._point)
        desk, look, shown = self.desk, self.desk.look, self.shown
        if len(shown.points) == 1:
            self._point.addWidget(Words(look, point.said, 17))
        for sentence in wording.read_before(desk, point):
            said = Sentence(look, size=17)
            said.say(sentence)
            self._point.addWidget(said)
        self.plot = Plot(look)
        self.asked_point = Told(desk, desk.say("proof.plot_hint"), desk.say("proof.plot"), flat=not look.narrow)
        self.plot.words = partial(self._point_in_words, point, shown.zone)
        self.plot.told.connect(self.asked_point.say)
        self.plot.show_chart(point.chart, desk.say("proof.plot"), wording.plot_aloud(desk, point))
        self.plot.setMinimumHeight(look.text(176))
        self._point.addWidget(self.plot)
        self._point.addLayout(self.asked_point)
        self.asked_point.summarise(wording.plot_aloud(desk, point))
        self._point.addWidget(Sides(desk, point))
        for sentence in wording.between(desk, point, shown.zone):
            self._point.addLayout(measured(Words(look, sentence, 15)))

    def _point_in_words(self, point: PointShown, zone: str, number: int) -> str:
        return point_words(self.desk, point.chart, zone, number, "proof")

    # --- going on --------------------------------------------------------------------------------------------

    def _to_thermometer(self) -> None:
        if self.about is not None:
            self.desk.go("thermometers", self.about[0])

    def _print(self) -> None:
        assert self.shown is not None
        desk, answer = self.desk, self.shown.answer
        day = wording.file_day(answer.at, self.shown.zone)
        suggested = f"{answer.of.tag_id}-{day}.pdf"
        desk.ask.where_to_save(desk.say("proof.print_answer"), suggested, self._print_to)

    def _print_to(self, path: Path) -> None:
        assert self.about is not None
        desk, (thermometer, at) = self.desk, self.about
        self._path = path
        desk.in_background(
            lambda _: answer_sheet.printed(desk.session, thermometer, at, language=desk.language), self._printed
        )

    def _printed(self, page: object) -> None:
        assert isinstance(page, bytes)
        self.desk.save(self._path, page)
