"""Import: choose a file, have it looked through whole, answer what it leaves open, then record it."""

from datetime import UTC, datetime
from pathlib import Path

from PySide6.QtWidgets import QProgressBar

from registry.services import places
from registry.services.importing import HistoryPlan, Imported, ShiftPlan
from registry.services.problems import Problem
from registry.wording import format, refusals
from ui.desk import Desk
from ui.flow import Flow
from ui.forms import CHOICE, FEW, YES, Field, Form
from ui.parts import MAIN, Button, Words, on_press, row
from ui.setup.import_asked import (
    ASKED_OF,
    HISTORY,
    LEAVE_OUT,
    ORDERS,
    PEOPLE,
    POINTS,
    SHIFT,
    THERMOMETERS,
    questions,
)
from ui.setup.import_columns import SHOWN, Matching
from ui.setup.import_run import LOOKING, RECORDING, ImportRun, Plan
from ui.setup.inline import WIDEST, said
from ui.setup.part import Part

NAMED = 12  # tag ids or initials told one by one


class ImportPart(Part):
    name = "import"
    roles = ("lead", "officer")

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.run = ImportRun.of(desk)
        self.run.changed.connect(self.read_again)
        self.run.progressed.connect(self._went_on)

    def fill(self) -> None:
        self.words("setup.about.import", muted=True)
        if not self.may_change:
            return
        if self.run.running:
            self._fill_running()
        elif self.run.done is not None:
            self._fill_done(self.run.done)
        elif self.run.plan is not None:
            self._fill_plan(self.run.plan)
        else:
            self._fill_file()

    def focus_name(self) -> str:
        """What is typed is kept when the page is made anew."""
        if not (self.run.running or self.run.done or self.run.plan) and self.may_change:
            self.run.said |= self.form.values()
        return ""

    # --- the file --------------------------------------------------------------------------------------------

    def _fill_file(self) -> None:
        choose = Button(self.look, self.say("setup.choose_csv"))
        on_press(choose, self.ask)
        self.form = Form(self.look, self._fields())
        self.form.setMaximumWidth(self.look.text(WIDEST))
        self.form.fill(self.run.said)
        self.form.submitted.connect(self.look_through)
        self.form.changed.connect(self._another_kind)
        self.button = Button(self.look, self.say("setup.look_through"), MAIN)
        on_press(self.button, self.look_through)
        about = (row(choose, None), self.form)
        self._fill_problems()
        if self.run.problems or self.run.looked is not None:  # what was pressed last is answered first
            self.put(row(self.button, None), 8)
            self.head("setup.import_file")
            self.put(*about)
        else:
            self.put(*about, row(self.button, None))

    def _fields(self) -> list[Field]:
        say = self.say
        kinds = [(SHIFT, say("setup.one_shift"))]
        if self.desk.may("officer"):
            more = [(THERMOMETERS, say("setup.thermometers")), (PEOPLE, say("setup.people_of_file"))]
            kinds = [(HISTORY, say("setup.history")), *kinds, *more]
        said = self.run.said.get("kind", "")
        kind = self._kind = said if said in dict(kinds) else kinds[0][0]
        with self.desk.session.reading() as connection:
            sites = tuple((one.payload.letters, one.payload.name) for one in places.sites(connection))
        each = ("", say("setup.each_row_says"))
        points = (each, *((one, say(f"point.{one}")) for one in POINTS))
        orders = tuple((one, say(f"setup.order.{one}")) for one in ORDERS)
        asked = [
            Field("unit", say("setup.import_unit"), FEW, "", (each, ("C", "°C"), ("F", "°F"))),
            Field("point", say("setup.import_point"), CHOICE, "", points),
            Field("site", say("setup.import_site"), CHOICE, "", (each, *sites)),
            Field("initials", say("setup.import_initials"), hint=say("setup.import_initials_hint")),
            Field("day_order", say("setup.day_order"), CHOICE, "ymd", orders),
            Field("judge", say("setup.judge"), YES, "yes"),
        ]
        file = Field("file", say("setup.csv_file"))
        kind_of = Field("kind", say("setup.import_kind"), FEW, kind, tuple(kinds))
        return [file, kind_of, *(one for one in asked if one.name in ASKED_OF[kind])]

    def _another_kind(self) -> None:
        """Other things are asked of it."""
        said = self.form.values()
        if said["kind"] != self._kind:
            self.run.said |= said
            self.run.forget_looked()
            self.form.input("kind").setFocus()

    def _fill_problems(self) -> None:
        problems, run = self.run.problems, self.run
        asked = questions(problems, self.desk.language) if problems else []
        self.refused(problems)
        self.matching: Matching | None = None
        if run.looked is not None:
            self.head("setup.import_columns")
            self.words("setup.import_columns_how", muted=True)
            self.matching = Matching(self.desk, run.said["kind"], run.looked.columns)
            self.matching.setMaximumWidth(self.look.text(WIDEST + 200))
            self.put(self.matching)
        if asked:
            self.head("setup.import_asks")
            self.words("setup.import_asks_once", muted=True)
        self.asked = Form(self.look, asked)
        self.asked.setMaximumWidth(self.look.text(WIDEST))
        self.put(self.asked)
        trouble = refusals.trouble(run.trouble.code, self.desk.language) if run.trouble else ""
        if run.cancelled:
            trouble = self.say("importing.cancelled")
        if trouble:
            self.put(Words(self.look, trouble, bold=True, colour="caution"))

    def ask(self) -> None:
        ask = self.desk.ask
        ask.which_file(self.say("setup.choose_csv"), self.say("setup.csv_files"), self._take_file)

    def _take_file(self, path: Path) -> None:
        self.form.fill({"file": str(path)})

    def look_through(self) -> None:
        if self.form.values()["file"]:
            matched = self.matching.values() if self.matching is not None else {}
            self.run.look_through(self.form.values(), self.asked.values() | matched)
        else:
            self.form.show_problems([Problem("file", "not_chosen")], lambda one: said(one, self.desk))

    # --- while it runs, and after ----------------------------------------------------------------------------

    def _fill_running(self) -> None:
        recording = self.run.running == RECORDING
        self.told = Words(self.look, self.say("setup.recording" if recording else "setup.looking"), bold=True)
        self.bar = QProgressBar()
        self.bar.setRange(0, 100 if recording else 0)  # how many rows there are is not known while looking
        self.bar.setTextVisible(False)
        self.bar.setMaximumWidth(self.look.text(WIDEST))
        self.bar.setAccessibleName(self.told.text())
        self.cancel = Button(self.look, self.say("setup.cancel"))
        on_press(self.cancel, self.run.cancel)
        self.put(self.told, self.bar, row(self.cancel, None))

    def _went_on(self, done: int) -> None:
        if self.run.running == LOOKING:
            self.told.say(self.say("setup.rows_so_far", rows=self._number(done)))
        elif self.run.running == RECORDING:
            self.bar.setValue(done)
            # The second half takes up into the lists what counts already: it is no longer to be cancelled.
            self.cancel.setEnabled(done < 50 or isinstance(self.run.plan, ShiftPlan))

    def _fill_plan(self, plan: Plan) -> None:
        self.put(Words(self.look, self.say("cli.import_good", count=plan.rows), 22, bold=True))
        if isinstance(plan, HistoryPlan):
            first, last = (datetime.fromtimestamp(at / 1e6, UTC).date() for at in (plan.first_at, plan.last_at))
            self.words("setup.plan_from_to", first=self.desk.day(first), last=self.desk.day(last))
            self.words("setup.plan_outcomes", stated=self._number(plan.stated), judged=self._number(plan.judged))
            if plan.left_out:
                self.words("setup.plan_left_out", count=plan.left_out)
            if plan.new_people:
                self.words("cli.import_people", initials=", ".join(plan.new_people))
        elif isinstance(plan, ShiftPlan):
            self.words("setup.plan_checks", count=len(plan.checks))
        else:
            self.words(f"setup.plan_{plan.kind}", count=plan.rows, named=", ".join(plan.named[:NAMED]))
        self._fill_columns()
        self.words("setup.plan_last_word", muted=True)
        self.record_button = Button(self.look, self.say("setup.record_it"), MAIN)
        on_press(self.record_button, self.run.record)
        back = on_press(Button(self.look, self.say("frame.not_now")), self.run.start_over)
        columns = on_press(Button(self.look, self.say("setup.columns_again")), self.run.look_at_columns)
        self.put(Flow(self.record_button, columns, back))

    def _fill_columns(self) -> None:
        """What the columns were taken for, and which are not read, before anything is recorded."""
        looked = self.run.looked
        if looked is None:
            return
        self.head("setup.import_columns")
        heads = ["setup.column_title", "setup.column_holds", "setup.column_taken_for"]
        rows = [
            (one.title, one.sample[:SHOWN], self.say(f"importing.column.{one.is_}"))
            for one in looked.columns
            if one.is_ != LEAVE_OUT
        ]
        if self.look.narrow:  # no room side by side
            for title, _, taken_for in rows:
                self.put(Words(self.look, f"{title}: {taken_for}"))
        else:
            self.table(heads, rows, (2, 2, 3))
        left_out = ", ".join(one.title for one in looked.columns if one.is_ == LEAVE_OUT)
        if left_out:
            self.words("setup.columns_left_out", columns=left_out)

    def _fill_done(self, done: Imported) -> None:
        code = "importing.cancelled" if done.cancelled else "cli.imported"
        self.put(Words(self.look, self.say(code, count=done.rows), 22, bold=True))
        again = on_press(Button(self.look, self.say("setup.another_file")), self.run.start_over)
        self.put(row(again, None))

    def _number(self, count: int) -> str:
        return format.number(count, self.desk.region)
