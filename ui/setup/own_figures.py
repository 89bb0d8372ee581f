"""Own figures: an afternoon with the kitchen's own thermometers, from the sheet to the figures that count then."""

from datetime import date
from pathlib import Path

from registry.services import own_figures, rules
from registry.services.import_rows import Options
from registry.services.own_figures import OwnFigures
from registry.services.problems import KnownError, Problem, Refused
from registry.services.words import own_figures as sentences
from registry.store.errors import known_from_oserror
from registry.wording import refusals
from ui.desk import Desk
from ui.forms import Field, Form
from ui.parts import MAIN, Button, Words, on_press, row
from ui.setup.inline import said
from ui.setup.part import Part

STEPS = range(1, 6)


class OwnFiguresPart(Part):
    name = "own_figures"
    roles = ("officer",)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.found: OwnFigures | None = None
        self.set = ""  # the id under which what was found will be recorded: once, however often it is pressed
        self.problems: tuple[Problem, ...] = ()
        self.trouble = ""
        self.given: Path | None = None  # the sheet that was given back last
        with desk.session.reading() as connection:
            self.tags = ", ".join(own_figures.suggested(connection, desk.site.subject))

    def fill(self) -> None:
        self.words("own_figures.lead")
        self.words("caution.local_codes_first", muted=True)
        self._fill_in_force()
        if self.may_change and self.found is not None:
            self._fill_found(self.found)
        elif self.may_change:
            self._fill_job()

    def _fill_in_force(self) -> None:
        self.head("own_figures.in_force")
        with self.desk.session.reading() as connection:
            standing = rules.rules_in_force(connection).figures.figures
        measured = {code: one for code, one in standing.items() if one.measured}
        if not measured:
            self.words("own_figures.none_yet", muted=True)
            return
        rows = [
            (*sentences.standing(code, one, self.desk.language, self.desk.region), self._day(one.measured))
            for code, one in measured.items()
        ]
        heads = tuple(f"own_figures.head.{one}" for one in ("figure", "in_force", "dof", "day"))
        self.table(heads, rows, (4, 0, 0, 2))

    def _day(self, day: str | None) -> str:
        return self.desk.day(date.fromisoformat(day)) if day else ""

    # --- the job ---------------------------------------------------------------------------------------------

    def _fill_job(self) -> None:
        self.head("own_figures.job")
        for number in STEPS:
            self.put(Words(self.look, f"{number}. {self.say(f'own_figures.step.{number}')}"))
        self.form = Form(self.look, [Field("tag_id", self.say("own_figures.which"), value=self.tags)])
        self.form.submitted.connect(self.save_sheet)
        self.save_button = on_press(Button(self.look, self.say("own_figures.save_sheet")), self.save_sheet)
        self.back_button = on_press(Button(self.look, self.say("own_figures.give_back"), MAIN), self.ask)
        self.put(self.form, row(self.save_button, None))
        self.words("own_figures.step.window")
        self.put(row(self.back_button, None))
        self.refused(self.problems)
        if any(one.code == "formula" for one in self.problems):
            self.right_button = on_press(Button(self.look, self.say("own_figures.formulas_right")), self.they_are_right)
            self.put(row(self.right_button, None))
        if self.trouble:
            self.put(Words(self.look, self.trouble, bold=True, colour="caution"))

    def focus_name(self) -> str:
        """What is typed is kept when the page is made anew."""
        if self.may_change and self.found is None:
            self.tags = self.form.values()["tag_id"]
        return ""

    def save_sheet(self) -> None:
        self.focus_name()
        tags = self.tags.replace(",", " ").split()
        try:
            with self.desk.session.reading() as connection:
                text = own_figures.blank_sheet(connection, tags)
        except Refused as refused:
            self.form.show_problems(refused.problems, lambda one: said(one, self.desk))
            return
        title, name = self.say("own_figures.save_sheet"), self.say("own_figures.file_name")
        self.desk.ask.where_to_save(title, name, lambda path: self.desk.save(path, text.encode()))

    def ask(self) -> None:
        self.focus_name()
        self.desk.ask.which_file(self.say("own_figures.give_back"), self.say("setup.csv_files"), self.work_out)

    def they_are_right(self) -> None:
        """What the cells with a formula show was worked out by a spreadsheet program: the question is answered."""
        self.focus_name()
        if self.given is not None:
            self.work_out(self.given, asked=frozenset({"formula"}))

    def work_out(self, path: Path, asked: frozenset[str] = frozenset()) -> None:
        """What the sheet comes to; nothing is recorded."""
        self.problems, self.trouble, self.given = (), "", path
        try:
            content = path.read_bytes()
            with self.desk.session.reading() as connection:
                self.found = own_figures.work_out(self.desk.session, connection, content, Options(asked=asked))
            self.set = self.desk.session.new_id()
        except Refused as refused:
            self.problems = tuple(refused.problems)
        except KnownError as error:
            self.trouble = refusals.trouble(error.code, self.desk.language)
        except OSError as error:
            if (known := known_from_oserror(error, path)) is None:
                raise
            self.trouble = refusals.trouble(known.code, self.desk.language)
        self.read_again()

    # --- what it comes to ------------------------------------------------------------------------------------

    def _fill_found(self, found: OwnFigures) -> None:
        self.head("own_figures.comes_to", count=found.readings)
        heads = tuple(f"own_figures.head.{one}" for one in ("figure", "before", "own", "dof", "rests_on"))
        rows = [sentences.row(one, self.desk.language, self.desk.region) for one in found.figures]
        self.table(heads, rows, (4, 0, 0, 0, 3))
        for one in found.missing:
            self.words(f"own_figures.missing.{one}")
        self.words("own_figures.before_use", muted=True)
        self.use_button = on_press(Button(self.look, self.say("own_figures.use"), MAIN), self.use)
        self.use_button.setEnabled(bool(found.figures))
        self.put(row(self.use_button, on_press(Button(self.look, self.say("frame.not_now")), self.start_over), None))

    def use(self) -> None:
        found, desk = self.found, self.desk
        if found is None:
            return
        day = desk.session.today(desk.site.payload).isoformat()

        def told(_set: str) -> None:
            self.found = None
            desk.notice(self.say("own_figures.used", count=found.readings))

        desk.did(lambda: own_figures.use(desk.session, desk.actor, found, day, figures=self.set), told)

    def start_over(self) -> None:
        self.found = None
        self.read_again()
