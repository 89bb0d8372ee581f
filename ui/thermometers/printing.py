"""What is printed of a thermometer: tags on their own page, certificates as files, drawn beside the window."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject

from registry.services import certificates
from registry.services.thermometer_page import ThermometerPage
from ui.desk import Desk
from ui.tags.about import ALL, About
from ui.thermometers import issuing
from ui.work import Job, Progress

TAGS = ("identity", "status")
OLDER = 12  # certificates offered to be printed again


class Printing(QObject):
    """One paper at a time: another press while it is drawn does nothing."""

    def __init__(self, desk: Desk, parent: QObject) -> None:
        super().__init__(parent)
        self.desk, self.say = desk, desk.say
        self._path: Path | None = None
        self._job: Job | None = None

    def choose(self, page: ThermometerPage) -> None:
        say, tag = self.say, page.of.tag_id
        found = certificates.find(self.desk.session, tag=tag, limit=OLDER).certificates
        kept = [one for one in found if one.kept.thermometer == page.of.row.thermometer]
        choices = [(one, say(f"thermometers.print_{one}")) for one in TAGS]
        choices += issuing.choices(self.desk, kept)
        self.desk.ask.choose(say("thermometers.print_title", tag=tag), choices, lambda what: self._where(page, what))

    def _where(self, page: ThermometerPage, what: str) -> None:
        thermometer, tag = page.of.row.thermometer, page.of.tag_id
        if what in TAGS:
            self.desk.go("tags", About((thermometer,), kind=what, which=ALL))
        else:
            self.certificate(thermometer, tag, what)

    def certificate(self, thermometer: str, tag: str, what: str) -> None:
        """Do what was chosen of `issuing.choices`."""
        issuing.ask(self.desk, thermometer, what, lambda name, work: self.save(tag, name, work))

    def save(self, tag: str, name: str, work: Callable[[Progress], bytes]) -> None:
        """Ask where, then draw it beside the window."""
        title = self.say("thermometers.save_title")
        self.desk.ask.where_to_save(title, f"{tag}-{name}.pdf", lambda path: self._start(path, work))

    def _start(self, path: Path, work: Callable[[Progress], bytes]) -> None:
        if self._job is None:
            self._path = path
            self._job = Job(work)
            self._job.succeeded.connect(self._drawn)
            self._job.failed.connect(self._failed)
            self.desk.jobs.start(self._job)

    def _drawn(self, content: object) -> None:
        path, self._job = self._path, None
        assert isinstance(content, bytes)
        self.desk.recorded.emit()
        if path is not None:
            self.desk.save(path, content)

    def _failed(self, error: object) -> None:
        self._job = None
        assert isinstance(error, Exception)
        self.desk.notice_of(error)
