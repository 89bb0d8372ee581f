"""Print tags: which ones, on what, and the very page that will come out; saved as a PDF or sent to a printer."""

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractButton, QWidget

from registry.services import tag_printing, tag_setup
from registry.services.problems import KnownError, Refused
from registry.services.tag_printing import Drawn
from registry.services.tag_setup import Setup
from registry.services.tag_wants import Want
from registry.wording import format
from ui import pdf
from ui.desk import Desk
from ui.flow import Flow
from ui.page import Page
from ui.parts import LINK, MAIN, Button, Line, Scroll, Sentence, Words, clear, column, holding, on_press, row
from ui.pdf import Picture
from ui.tags.about import About
from ui.tags.how import HowPart
from ui.tags.preview import DPI, Preview
from ui.tags.printer import Printers, print_pages
from ui.tags.which import WhichPart
from ui.work import Job, Progress

LEFT = 400  # px at 100 %: the column of choices
NAMED = 6  # tags left out that are named with why

Shown = tuple[Drawn, Picture]


class TagsPage(Page):
    """`show_about`: an `About`, nothing for the site, or what `keep_draft` kept."""

    name = "tags"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.say = desk.say
        self.printers = Printers()
        self._small: bool | None = None
        self._at = 0  # the page that is shown
        self._of = 0
        self._looking: Job | None = None
        self._drawing: Job | None = None
        self._busy = False  # a file or a printer is at work: another press does nothing
        self._path: Path | None = None
        self._lay = column(space=0)
        self.setLayout(self._lay)
        self.set_small(False)

    # --- building --------------------------------------------------------------------------------------------

    def set_small(self, small: bool) -> None:
        if small == self._small:
            return
        kept = self.keep_draft() if self._small is not None else None
        self._small = small
        clear(self._lay)
        self._build(small)
        if kept is not None:
            self._restore(kept)

    def _build(self, small: bool) -> None:
        look, say, edge = self.look, self.say, 16 if small else 28
        self.back = on_press(Button(look, say("tags.back"), LINK), self._go_back)
        self.sentence = Sentence(look, "", 22 if small else 26)
        self.which, self.how = WhichPart(self.desk), HowPart(self.desk)
        self.which.changed.connect(self.look_again)
        self.which.ticked.connect(self.draw)
        self.how.changed.connect(self.draw)
        buttons = self._buttons()
        if small or look.narrow:
            flow = holding(Flow(*reversed(buttons)))  # what is pressed most comes first
            head = holding(column(row(self.back, None), self.sentence, flow, space=6, margins=(edge, 8, edge, 12)))
        else:
            across = row(self.sentence, *buttons)
            across.setStretch(0, 1)
            head = holding(column(row(self.back, None), across, space=0, margins=(edge, 8, edge, 14)))
        choices = column(
            Words(look, say("tags.which_head"), 18, bold=True),
            self.which,
            12,
            Words(look, say("tags.how_head"), 18, bold=True),
            self.how,
            12,
            Words(look, say("tags.each_head"), 18, bold=True),
            self.which.each,
            12,
            Words(look, say("tags.printer_head"), 18, bold=True),
            self.how.printer,
            None,
            space=6,
            margins=(edge, 14, edge - 8, 20),
        )
        shown = self._build_shown(edge)
        if small or look.narrow:
            whole = column(head, Line(look.bench), choices, Line(look.line), shown, space=0)
            self._lay.addWidget(Scroll(holding(whole)))
            return
        left = Scroll(holding(choices))
        left.setFixedWidth(look.text(LEFT) + 2 * edge)
        both = row(left, Line(look.line, upright=True), Scroll(shown), space=0)
        both.setStretch(2, 1)
        whole = column(head, Line(look.bench), both, space=0)
        whole.setStretch(2, 1)
        self._lay.addLayout(whole)

    def _buttons(self) -> tuple[QAbstractButton, ...]:
        look, say = self.look, self.say
        self.print_button = on_press(Button(look, say("tags.print"), MAIN), self.print)
        self.save_button = on_press(Button(look, say("tags.save")), self.save)
        self.calibrate_button = on_press(Button(look, say("tags.calibration")), self.calibrate)
        return self.calibrate_button, self.save_button, self.print_button

    def _build_shown(self, edge: int) -> QWidget:
        look, say = self.look, self.say
        self.told = Words(look, "", 15, bold=True)
        self.problem = Words(look, "", 15, colour="caution", bold=True)
        self.preview = Preview(look, say("tags.preview"))
        self.earlier = on_press(Button(look, say("tags.page_before")), partial(self.turn, -1))
        self.later = on_press(Button(look, say("tags.page_after")), partial(self.turn, 1))
        self.page_words = Words(look, "", 14, colour="muted")
        self._turning = holding(Flow(self.earlier, self.later, self.page_words, middle=True))
        self.may_not = Words(look, say("tags.may_not"), 14, colour="muted")
        self.may_not.setVisible(not self.desk.may(*tag_printing.PRINTERS))
        return holding(
            column(
                self.may_not,
                self.told,
                self.problem,
                self.preview,
                self._turning,
                None,
                space=10,
                margins=(edge - 4, 14, edge, 20),
            )
        )

    # --- going about -----------------------------------------------------------------------------------------

    def show_about(self, about: object) -> None:
        if isinstance(about, dict):
            self._restore(about)
            return
        self.which.begin(about if isinstance(about, About) else About())
        self._at = 0
        self.look_again()
        self.back.setFocus()

    def read_again(self) -> None:
        self.look_again()

    def keep_draft(self) -> dict[str, object] | None:
        return {"which": self.which.kept(), "how": self.how.kept(), "at": self._at}

    def _restore(self, kept: Mapping[str, Any]) -> None:
        self.which.restore(kept["which"])
        self.how.restore(kept["how"])
        self._at = int(kept["at"])
        self.look_again()

    def _go_back(self) -> None:
        about = self.which.about
        self.desk.go("thermometers", about.thermometers[0] if len(about.thermometers) == 1 else None)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self._go_back()
        else:
            super().keyPressEvent(event)

    # --- who wants one ---------------------------------------------------------------------------------------

    def look_again(self) -> None:
        """Who wants a tag, as it is recorded now, and with it what would be printed."""
        part, desk = self.which, self.desk
        station, site, kinds, about = part.station, desk.site.subject, part.kinds, part.about
        session = desk.session
        if self._looking is not None:
            self._looking.cancel()

        def work(_: Progress) -> Sequence[Want]:
            return WhichPart.looking(station, site, kinds, about, session)

        self._looking = self._begin(work, self._looked)

    def _looked(self, wants: object) -> None:
        assert isinstance(wants, list)
        self._looking = None
        self.which.show_wants(wants)
        count = sum(1 for one in wants if one.why)
        self.sentence.say(self.say("tags.wanted", count=count) if count else self.say("tags.none_wanted"))
        self.draw()

    # --- what would come out ---------------------------------------------------------------------------------

    def draw(self) -> None:
        asked = self.which.asked()
        self.how.show_count(len(asked))
        if self._drawing is not None:
            self._drawing.cancel()
            self._drawing = None
        try:
            setup = self.how.setup()
        except Refused as refused:
            self._show_nothing(" ".join(self.desk.say_problem(one) for one in refused.problems))
            return
        if not asked:
            self._show_nothing("")
            return
        session, batch, at = self.desk.session, self.batch, self._at

        def work(_: Progress) -> Shown:
            drawn = tag_printing.draw(session, asked, setup, batch)
            return drawn, pdf.picture(drawn.pdf, at, DPI)

        self._drawing = self._begin(work, self._show_drawn, self._not_drawn)

    @property
    def batch(self) -> str:
        """In the group's language, as the tags beneath it are."""
        site = self.desk.site.payload
        return f"{site.name}, {format.day(self.desk.session.today(site), self.desk.group.region)}"

    def _begin(
        self,
        work: Callable[[Progress], object],
        done: Callable[[Any], object],
        failed: Callable[[Any], object] | None = None,
    ) -> Job:
        return self.desk.in_background(work, done, failed)

    def _show_drawn(self, shown: object) -> None:
        assert isinstance(shown, tuple)
        drawn, picture = shown
        self._at, self._of = picture.page, picture.of
        self.preview.show_picture(picture)
        self.preview.show()
        self._turning.setVisible(picture.of > 1)
        self.page_words.say(self.say("tags.page_of", page=picture.page + 1, of=picture.of))
        self.earlier.setEnabled(picture.page > 0)
        self.later.setEnabled(picture.page + 1 < picture.of)
        self.told.say(self._count_words(drawn))
        self.told.show()
        self._show_problem(self._left_out(drawn))
        self._enable(True)

    def _count_words(self, drawn: Drawn) -> str:
        said = [(kind, drawn.count(kind)) for kind in tag_printing.KINDS]
        return ", ".join(self.say(f"tags.count_{kind}", count=count) for kind, count in said if count)

    def _left_out(self, drawn: Drawn) -> str:
        said = [
            self.say("tags.left_out", tag=one.tag_id, why=self.desk.say_problem(one.problem))
            for one in drawn.left_out[:NAMED]
        ]
        more = len(drawn.left_out) - NAMED
        return "\n".join([*said, *([self.say("tags.and_more", count=more)] if more > 0 else [])])

    def _not_drawn(self, error: Exception) -> None:
        if isinstance(error, Refused):
            self._show_nothing(" ".join(self.desk.say_problem(one) for one in error.problems))
        else:
            self._show_nothing("")
            self.desk.notice_of(error)

    def _show_nothing(self, why: str) -> None:
        self.preview.show_picture(None)
        self.preview.hide()
        self._turning.hide()
        self.told.hide()
        self._show_problem(why)
        self._enable(False)

    def _show_problem(self, why: str) -> None:
        self.problem.say(why)
        self.problem.setVisible(bool(why))

    def _enable(self, able: bool) -> None:
        able = able and self.desk.may(*tag_printing.PRINTERS)
        self.print_button.setEnabled(able)
        self.save_button.setEnabled(able)

    def turn(self, by: int) -> None:
        self._at = max(0, min(self._at + by, self._of - 1))
        self.draw()

    # --- doing it --------------------------------------------------------------------------------------------

    def _ready(self) -> Setup | None:
        """What it is printed on, kept for the next time; None where it cannot be printed, which is then said."""
        try:
            tag_printing.may_print(self.desk.session, self.desk.actor)
            setup = self.how.setup()
            tag_setup.keep_setup(self.desk.local, setup)
        except Refused as refused:
            if left := self.how.show_problems(refused):
                self.desk.notice(" ".join(left))
            return None
        except KnownError as trouble:
            self.desk.notice_of(trouble)
            return None
        return setup

    def save(self) -> None:
        setup = self._ready()
        if setup is not None and not self._busy:
            title = self.say("tags.save")
            self.desk.ask.where_to_save(title, self.say("tags.file"), lambda path: self._save_to(path, setup))

    def _save_to(self, path: Path, setup: Setup) -> None:
        session, asked, batch = self.desk.session, self.which.asked(), self.batch
        self._path = path
        self._busy = True
        self._begin(lambda _: tag_printing.draw(session, asked, setup, batch), self._saved, self._not_done)

    def _saved(self, drawn: Drawn) -> None:
        """Recorded only where the file lies there."""
        self._busy = False
        if self._path is not None and self.desk.save(self._path, drawn.pdf):
            self.desk.did(lambda: tag_printing.record(self.desk.session, self.desk.actor, drawn))

    def print(self) -> None:
        setup = self._ready()
        if setup is None or self._busy:
            return
        names = self.printers.names()
        if not names:
            self.desk.notice_of(KnownError("no_printer"))
            return
        choices = [(one, one) for one in names]
        self.desk.ask.choose(self.say("tags.which_printer"), choices, lambda name: self._print_on(name, setup))

    def _print_on(self, name: str, setup: Setup) -> None:
        session, asked, batch = self.desk.session, self.which.asked(), self.batch
        printer = self.printers.printer(name)

        def work(went_on: Progress) -> tuple[Drawn, str]:
            drawn = tag_printing.draw(session, asked, setup, batch)
            print_pages(printer, drawn.pdf, setup.dpi, tag_setup.page_mm(setup.stock), went_on)
            return drawn, name

        self._busy = True
        self._begin(work, self._printed, self._not_done)

    def _printed(self, done: tuple[Drawn, str]) -> None:
        self._busy = False
        drawn, name = done
        if self.desk.did(lambda: tag_printing.record(self.desk.session, self.desk.actor, drawn)):
            self.desk.notice(self.say("tags.printed", what=self._count_words(drawn), printer=name))

    def _not_done(self, error: Exception) -> None:
        self._busy = False
        self.desk.notice_of(error)

    def calibrate(self) -> None:
        """Nothing is recorded: it is no tag."""
        try:
            setup = self.how.setup()
        except Refused as refused:
            if left := self.how.show_problems(refused):
                self.desk.notice(" ".join(left))
            return
        page = self.desk.tried(lambda: tag_printing.calibration(setup.stock, self.desk.language))
        if page is None:
            return
        title = self.say("tags.calibration")
        self.desk.ask.where_to_save(title, self.say("tags.calibration_file"), lambda path: self._calibrated(path, page))

    def _calibrated(self, path: Path, page: bytes) -> None:
        if self.desk.save(path, page) and tag_setup.sheet(self.how.stock) is None:
            self.desk.notice(f"{self.say('frame.saved', path=str(path))} {self.say('tags.calibrate_roll')}")
