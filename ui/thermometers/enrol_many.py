"""Enrolling many: a grid to fill, to paste into, or to fill from a spreadsheet's file; tried first, then recorded."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from PySide6.QtCore import QModelIndex, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QProgressBar, QWidget

from registry.services import csvfile, places, thermometers
from registry.services.csvfile import normal
from registry.services.problems import KnownError, Refused, known_from_oserror
from registry.services.rehearsal import rehearsing
from registry.services.thermometers import NewThermometer
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import LINK, MAIN, Button, Line, Words, column, holding, on_press, row
from ui.thermometers import grid_rows
from ui.thermometers.grid import Grid
from ui.thermometers.grid_model import MOST, PROBLEM, GridModel
from ui.thermometers.grid_rows import Around, GridRow
from ui.work import Job, Progress

DRAFT = "enrol_many"
TRYING, RECORDING = "trying", "recording"


@dataclass(frozen=True, slots=True)
class _Result:
    """What became of some rows: the tag ids given, or what stands against them, by id."""

    tags: Mapping[str, str]
    refused: Mapping[str, Refused]


class EnrolMany(QWidget):
    back_wanted = Signal()

    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk, self.look, self.say, self._small = desk, desk.look, desk.say, small
        self.model = GridModel(desk, desk.session.new_id, self)
        self.model.filled.connect(self._filled)
        self.grid = Grid(desk, self.model)
        self._running = ""
        self._job: Job | None = None
        self._done: _Result | None = None  # by the work itself, so that what was recorded is known when it stops
        self._build()

    # --- building --------------------------------------------------------------------------------------------

    def _build(self) -> None:
        look, say = self.look, self.say
        edge = 16 if self._small else 28
        self.back = on_press(Button(look, say("thermometers.all"), LINK), self.back_wanted.emit)
        title = Words(look, say("enrol.many_title"), 22 if self._small else 26, bold=True)
        self.paste_button = on_press(Button(look, say("enrol.paste")), self.paste)
        self.file_button = on_press(Button(look, say("enrol.from_file")), self.ask_file)
        self.forget_button = on_press(Button(look, say("enrol.forget_done")), self.model.forget_done)
        self.yes = on_press(Button(look, say("enrol.try_first"), MAIN), self.try_first)
        self.cancel = on_press(Button(look, say("enrol.cancel")), self._stop)
        about = Words(look, say("enrol.many_about"), 15, colour="muted")
        head = column(row(self.back, None), title, about, space=4, margins=(edge, 8, edge, 12))
        tools = holding(Flow(self.paste_button, self.file_button, self.forget_button))
        self.sentence = Words(look, "", 17, bold=True)
        self.cell = Words(look, "", 14, colour="caution", bold=True)
        self.bar = QProgressBar()
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName(say("enrol.progress"))
        foot = row(column(self.sentence, self.cell, self.bar, space=4), self.cancel, self.yes, space=16)
        foot.setStretch(0, 1)
        foot.setContentsMargins(edge, 10, edge, 14)
        self.grid.selectionModel().currentChanged.connect(self._at_cell)
        parts = (head, Line(look.bench), column(tools, margins=(edge, 10, edge, 8)), self.grid, Line(look.line), foot)
        whole = column(*parts, space=0)
        whole.setStretch(3, 1)
        self.setLayout(whole)

    def begin(self) -> None:
        """What was left unrecorded, and empty rows."""
        drafts = self.desk.drafts
        kept = (drafts.get(DRAFT) if drafts is not None else None) or []
        rows = [GridRow(str(one["id"]), dict(one["cells"])) for one in kept] if not self.model.rows else self.model.rows
        self.model.show_rows(rows, self._around())
        self.grid.fit()
        self._show_state()
        self.grid.begin()

    def _around(self) -> Around:
        desk = self.desk
        with desk.session.reading() as connection:
            sites, stations = places.sites(connection), places.stations(connection)
        today = desk.session.today(desk.site.payload)
        return Around(sites, stations, desk.site.subject, desk.unit, desk.region, desk.language, today)

    # --- what is shown ---------------------------------------------------------------------------------------

    def _waiting(self) -> list[GridRow]:
        return [one for one in self.model.rows if one.waits]

    def _filled(self) -> None:
        self._keep()
        self._show_state()

    def _keep(self) -> None:
        """On the disk at each change, so that nothing is lost."""
        kept = [{"id": one.id, "cells": one.cells} for one in self._waiting()]
        if self.desk.drafts is not None:
            try:
                self.desk.drafts.keep(DRAFT, kept or None)
            except KnownError as trouble:
                self.desk.notice_of(trouble)

    def _show_state(self) -> None:
        waiting = self._waiting()
        wrong = sum(bool(one.problems) for one in waiting)
        done = sum(bool(one.tag) for one in self.model.rows)
        if self._running:
            self.sentence.say(self.say(f"enrol.{self._running}"))
        elif not waiting:
            self.sentence.say(self.say("enrol.rows_done" if done else "enrol.rows_none", count=done))
        elif wrong:
            self.sentence.say(self.say("enrol.rows_wrong", count=wrong, rows=len(waiting)))
        else:
            self.sentence.say(self.say("enrol.rows_good", count=len(waiting)))
        self.yes.setEnabled(bool(waiting) and not wrong and not self._running)
        self.cancel.setVisible(bool(self._running))
        self.bar.setVisible(bool(self._running))
        self.forget_button.setVisible(done > 0)
        for one in (self.paste_button, self.file_button, self.forget_button, self.grid):
            one.setEnabled(not self._running)
        self._at_cell(self.grid.currentIndex())

    def _at_cell(self, index: QModelIndex, _before: QModelIndex | None = None) -> None:
        """What is wrong in the current cell, whole."""
        said = str(index.data(PROBLEM) or "") if index.isValid() else ""
        self.cell.say(said)
        self.cell.setVisible(bool(said))

    # --- filling from elsewhere ------------------------------------------------------------------------------

    def paste(self) -> None:
        """As Ctrl+V in the grid, from the first empty row on."""
        text = QGuiApplication.clipboard().text()
        if not text.strip():
            self.desk.notice(self.say("enrol.nothing_to_paste"))
            return
        self.model.paste(text, self.model.first_empty(), 1)
        self.grid.setFocus()

    def ask_file(self) -> None:
        self.desk.ask.which_file(self.say("enrol.which_file"), self.say("enrol.csv_files"), self.take_file)

    def take_file(self, path: Path, encoding: str | None = None) -> None:
        """Its rows come into the grid, behind what stands there; columns not known are named and left out."""
        try:
            table = csvfile.open_table(_content(path), grid_rows.column_names(), encoding)
            rows = list(islice(table.rows(), MOST + 1))
        except Refused as refused:
            if refused.problems[0].code == "not_this_encoding" and encoding is None:
                self._ask_encoding(path)
            else:
                self.desk.notice_of(refused)
            return
        except KnownError as trouble:
            self.desk.notice_of(trouble)
            return
        names = [grid_rows.column_names().get(normal(title)) for title in table.header]
        first = self.model.first_empty()
        taken = rows[: MOST - first]
        self.model.put(
            [
                (first + n, name, cell)
                for n, (_, cells) in enumerate(taken)
                for name, cell in zip(names, cells, strict=False)
                if name is not None
            ]
        )
        self._tell_file(taken, rows, [title for title, name in zip(table.header, names, strict=True) if not name])

    def _tell_file(self, taken: list[Any], rows: list[Any], unknown: list[str]) -> None:
        said = [self.say("enrol.file_read", count=len(taken))]
        if unknown:
            said.append(self.say("enrol.columns_left_out", columns=", ".join(unknown)))
        if len(taken) < len(rows):
            said.append(self.say("enrol.too_many", most=MOST))
        self.desk.notice(" ".join(said))
        self.grid.setFocus()

    def _ask_encoding(self, path: Path) -> None:
        choices = [(one, one) for one in csvfile.ENCODINGS if one != "utf-8"]
        self.desk.ask.choose(self.say("enrol.encoding"), choices, lambda one: self.take_file(path, one))

    # --- trying and recording --------------------------------------------------------------------------------

    def _read_rows(self) -> list[tuple[str, NewThermometer]]:
        around = self._around()
        found = [(one.id, grid_rows.read(one, around)) for one in self._waiting()]
        grid_rows.same_tags(self.model.rows)
        return [(row_id, new) for row_id, new in found if new is not None]

    def try_first(self) -> None:
        """Each row is said to the services and taken back: what they have against it shows before anything stays."""
        rows = self._read_rows()
        if self._running or not rows or any(one.problems for one in self._waiting()):
            self.model.tell()
            return
        session, actor = self.desk.session, self.desk.actor

        def work(progress: Progress) -> _Result:
            refused = {}
            for n, (row_id, new) in enumerate(rows):
                try:
                    with rehearsing(session) as rehearsal:
                        thermometers.enrol(rehearsal, actor, new, thermometer=row_id)
                except Refused as problem:
                    refused[row_id] = problem
                if not progress(100 * (n + 1) // len(rows)):
                    break
            return _Result({}, refused)

        self._run(TRYING, work)

    def record(self) -> None:
        """One after another; what is enrolled stays so when it is stopped."""
        rows = self._read_rows()
        session, actor = self.desk.session, self.desk.actor
        tags: dict[str, str] = {}
        refused: dict[str, Refused] = {}
        self._done = _Result(tags, refused)

        def work(progress: Progress) -> _Result:
            for n, (row_id, new) in enumerate(rows):
                try:
                    thermometers.enrol(session, actor, new, thermometer=row_id)
                    with session.reading() as connection:
                        tags[row_id] = thermometers.thermometer(connection, row_id).tag_id
                except Refused as problem:
                    refused[row_id] = problem
                if not progress(100 * (n + 1) // len(rows)):
                    break
            return _Result(tags, refused)

        if not self._running:
            self._run(RECORDING, work)

    def _run(self, what: str, work: Any) -> None:
        self._running = what
        self.bar.setValue(0)
        self._show_state()
        self._job = Job(work)
        self._job.progressed.connect(self.bar.setValue)
        self._job.succeeded.connect(self._ended)
        self._job.cancelled.connect(self._stopped)
        self._job.failed.connect(self._failed)
        self.desk.jobs.start(self._job)

    def _stop(self) -> None:
        if self._job is not None:
            self._job.cancel()

    def _ended(self, result: Any) -> None:
        was, self._running = self._running, ""
        self._take(result)
        if was == RECORDING:
            self.desk.recorded.emit()
        elif not result.refused:
            self._ask_to_record()

    def _take(self, result: _Result) -> None:
        for one in self.model.rows:
            one.tag = result.tags.get(one.id, one.tag)
            if (refused := result.refused.get(one.id)) is not None:
                grid_rows.note(one, refused)
        self.model.tell()

    def _ask_to_record(self) -> None:
        count = len(self._waiting())
        question, yes = self.say("enrol.sure", count=count), self.say("enrol.enrol_count", count=count)
        self.desk.ask.sure(question, yes, self.record, details=self.say("enrol.sure_details"))

    def _stopped(self) -> None:
        was, self._running = self._running, ""
        if was == RECORDING and self._done is not None:
            self._take(self._done)
            self.desk.recorded.emit()
        self._show_state()

    def _failed(self, error: object) -> None:
        was, self._running = self._running, ""
        if was == RECORDING and self._done is not None:
            self._take(self._done)
        self._show_state()
        assert isinstance(error, Exception)
        self.desk.notice_of(error)


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        known = known_from_oserror(error, path)
        if known is None:
            raise
        raise known from error
