"""What every page is handed: the open registry, who works where, how things look, and how they are said."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterable
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, TypeVar

from PySide6.QtCore import QObject, Signal

from registry.services import files, settings
from registry.services.problems import KnownError, Problem, Refused, known_from_oserror
from registry.wording import format, refusals, say
from ui import theme
from ui.theme import Look
from ui.work import Job, Runner

if TYPE_CHECKING:  # SQLAlchemy comes along in a thread, after the first paint
    from registry.quantity import Reading, TemperatureDifference, Unit
    from registry.records.places import SiteSet
    from registry.records.rules import GroupSet
    from registry.services.drafts import WindowDrafts
    from registry.services.lookup import Fact
    from registry.services.people import Person
    from registry.services.session import Actor, Session
    from ui.asking import Asking

T = TypeVar("T")


class Desk(QObject):
    """One window's desk. Pages read from `session` and tell here what they did; nothing is kept elsewhere."""

    recorded = Signal()  # something was recorded: who shows it reads again
    rebuild = Signal()  # the look, the language, the person or the site is another one
    noticed = Signal(str, str)  # a sentence, and details behind a press (or "")
    wanted = Signal(str, object)  # go to a place, with what to show there
    back_wanted = Signal()  # to the place that one came from

    session: Session
    drafts: WindowDrafts | None = None
    actor: Actor
    person: Person
    site: Fact[SiteSet]
    group: GroupSet
    ask: Asking

    def __init__(self, home: Path, jobs: Runner, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.home, self.jobs = home, jobs
        self.trouble: KnownError | None = None  # what hinders the use of this computer's own file
        self.came_from = ""  # the place from which a press led here; "" where this one was chosen at the left
        self._chosen: dict[str, str] = {}
        self._kept_here: TemporaryDirectory[str] | None = None
        self.find_local()
        self.is_open = self.is_closed = False
        self.rebuild.connect(self._look_up_settings)  # before anybody who draws anew

    def find_local(self) -> None:
        """The file with settings and PINs. Where nothing may be written, a copy that lasts as long as the window."""
        found, self.trouble = None, None
        try:
            found = settings.local_file(self.home)
        except KnownError as trouble:
            self.trouble = trouble
        except OSError as error:
            self.trouble = known_from_oserror(error, self.home)
            if self.trouble is None:
                raise
        if found is not None and os.access(found.path, os.W_OK):
            self.local = found
            return
        self._kept_here = self._kept_here or TemporaryDirectory()
        if found is not None:
            shutil.copyfile(found.path, Path(self._kept_here.name) / found.path.name)
        self.local = settings.local_file(Path(self._kept_here.name))
        if self.trouble is not None and self.trouble.code == "read_only":
            self.trouble = None  # the registry opens, to be looked at

    # --- how it looks and is said ----------------------------------------------------------------------------

    @property
    def look(self) -> Look:
        return theme.chosen(self.setting)

    @property
    def language(self) -> str:
        chosen = self.setting("language")
        if chosen != "group":
            return chosen
        return self.group.language if self.is_open else settings.language_of_system()

    @property
    def region(self) -> str:
        return format.region_in(self.language, self.group.region if self.is_open else "en_GB")

    @property
    def unit(self) -> Unit:
        """The unit that people here think in; a thermometer's own dial comes before it."""
        chosen = self.setting("unit")
        found = self.group.unit if chosen == "group" else chosen
        return "F" if found == "F" else "C"

    def setting(self, name: str) -> str:
        """As it was when the window was last drawn: each sentence asks for the language, and a file is slow to ask."""
        if name not in self._chosen:
            self._chosen[name] = settings.setting(self.local, name)
        return self._chosen[name]

    def _look_up_settings(self) -> None:
        self._chosen.clear()

    def choose(self, name: str, value: str) -> None:
        """Choose a setting; the window is drawn anew."""
        settings.choose(self.local, name, value)
        self.rebuild.emit()

    def say(self, code: str, /, **values: object) -> str:
        return say(code, self.language, **values)

    def say_problem(self, problem: Problem) -> str:
        return refusals.problem(problem.field, problem.code, problem.values, self.language)

    def temperature(self, reading: Reading) -> str:
        return format.temperature(reading, self.region)

    def offset(self, difference: TemperatureDifference, places: int | None = None) -> str:
        return format.offset(difference, self.region, places)

    def instant(self, at: int, zone: str | None = None) -> str:
        return format.instant(at, zone or self.site.payload.zone, self.region)

    def clock_time(self, at: int, zone: str | None = None) -> str:
        return format.clock(at, zone or self.site.payload.zone, self.region)

    def day(self, when: date) -> str:
        return format.day(when, self.region)

    @property
    def demo(self) -> bool:
        return self.is_open and self.session.demo

    # --- doing things ----------------------------------------------------------------------------------------

    def may(self, *roles: str) -> bool:
        """Whether who works here may record what these roles may, on this computer now."""
        return self.session.signer is not None and self.actor.may(*roles)

    def tried(self, action: Callable[[], T]) -> T | None:
        """Do something that records; a refusal becomes a notice. None where it was refused."""
        try:
            return action()
        except (Refused, KnownError) as error:
            self.notice_of(error)
            return None

    def did(self, action: Callable[[], T], then: Callable[[T], object] | None = None) -> bool:
        """As `tried`, and everybody reads again. Whether it was done."""
        try:
            result = action()
        except (Refused, KnownError) as error:
            self.notice_of(error)
            return False
        if then is not None:
            then(result)
        self.recorded.emit()
        return True

    def notice(self, sentence: str, details: str = "") -> None:
        self.noticed.emit(sentence, details)

    def notice_of(self, error: BaseException) -> None:
        """A refusal or a known trouble as its sentence; anything else is our bug and goes to the report."""
        if isinstance(error, Refused):
            self.notice(" ".join(self.say_problem(one) for one in error.problems))
        elif isinstance(error, KnownError):
            details = ", ".join(f"{name}: {value}" for name, value in error.values.items())
            self.notice(refusals.trouble(error.code, self.language), details)
        else:
            raise error

    def offer_tags(self, count: object) -> None:
        """So many want a new status tag; where none does, nothing is said."""
        if count:
            self.notice(self.say("tags.closed_wants", count=count))

    def tell_too_few(self, *thermometers: str) -> None:
        """Where a station is left with too few now that these cannot be used, say so."""
        from registry.services.words import shortage

        if said := shortage.sentences(self.session, thermometers, self.language):
            self.notice(" ".join(said))

    def save(self, path: Path, content: bytes) -> bool:
        """Write a file and tell where it lies, or why it could not be written."""
        try:
            files.write(path, content)
        except Refused as refused:
            self.notice_of(refused)
            return False
        except OSError as error:
            if (known := known_from_oserror(error, path)) is None:
                raise
            self.notice_of(known)
            return False
        self.notice(self.say("frame.saved", path=str(path)))
        return True

    def in_background(
        self,
        work: Callable[[Callable[[int], bool]], Any],
        done: Callable[[Any], object],
        failed: Callable[[Exception], object] | None = None,
        progressed: Callable[[int], object] | None = None,
    ) -> Job:
        """Start a job. `done`, `failed` and `progressed` are bound methods of window objects."""
        job = Job(work)
        job.succeeded.connect(done)
        job.failed.connect(failed or self.notice_of)
        if progressed is not None:
            job.progressed.connect(progressed)
        self.jobs.start(job)
        return job

    # --- going somewhere -------------------------------------------------------------------------------------

    def go(self, place: str, about: object = None) -> None:
        """To one of the places: shift, thermometers, drift, proof, setup, happened."""
        self.wanted.emit(place, about)

    def go_back(self) -> None:
        self.back_wanted.emit()

    def site_names(self) -> dict[str, str]:
        return {one.subject: one.payload.name for one in self.sites()}

    def sites(self) -> Iterable[Fact[SiteSet]]:
        from registry.services import places

        with self.session.reading() as connection:
            return places.sites(connection)

    def close(self) -> None:
        """Wait for what runs, then let go of everything; a second time does nothing more."""
        self.is_closed = True
        self.jobs.close()
        if self.drafts is not None:
            self.drafts.close()
            self.drafts = None
        if self.is_open:
            self.session.close()
            self.is_open = False
        if self._kept_here is not None:
            self._kept_here.cleanup()
