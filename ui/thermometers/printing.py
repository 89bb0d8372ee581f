"""Tags and certificates as PDF files: what is printed, where it is saved, drawn beside the window."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject

from registry.services import certificates, papers, tag_printing
from registry.services.certificates import Certificate
from registry.services.thermometer_page import ThermometerPage
from ui.desk import Desk
from ui.work import Job, Progress

TAGS = ("identity", "status")
ISSUE, REPLACE, AGAIN = "issue", "replace", "again"
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
        standing = [one for one in kept if one.state == "stands"]
        choices = [(one, say(f"thermometers.print_{one}")) for one in TAGS]
        choices.append((ISSUE, say("thermometers.print_certificate")))
        choices += [
            (f"{REPLACE} {one.number}", say("thermometers.print_replacing", number=one.number)) for one in standing[:1]
        ]
        choices += [(f"{AGAIN} {one.number}", self._again_words(one)) for one in kept if one.stored]
        self.desk.ask.choose(say("thermometers.print_title", tag=tag), choices, lambda what: self._where(page, what))

    def _again_words(self, one: Certificate) -> str:
        code = "thermometers.print_again" if one.standing == one.state else f"certificates.again.{one.standing}"
        return self.say(code, number=one.number, day=self.desk.instant(one.kept.issued_at))

    def _where(self, page: ThermometerPage, what: str) -> None:
        kind, _, number = what.partition(" ")
        name = number if kind == AGAIN else self.say(f"thermometers.file.{kind if kind in TAGS else 'certificate'}")
        suggested = f"{page.of.tag_id}-{name}.pdf"
        work = self._work(page.of.row.thermometer, kind, number)
        title = self.say("thermometers.save_title")
        self.desk.ask.where_to_save(title, suggested, lambda path: self._start(path, work))

    def _work(self, thermometer: str, kind: str, number: str) -> Callable[[Progress], bytes]:
        session, actor, size = self.desk.session, self.desk.actor, self.desk.setting("label")
        if kind == "identity":
            return lambda _: tag_printing.print_identity_tag(session, actor, thermometer, size)
        if kind == "status":
            return lambda _: tag_printing.print_status_tag(session, actor, thermometer, size)
        if kind == AGAIN:
            return lambda _: certificates.page(session, number)
        certificate = session.new_id()  # a second press with it issues nothing more
        replaces = number if kind == REPLACE else None
        return partial(self._issue, thermometer, certificate, replaces)

    def _issue(self, thermometer: str, certificate: str, replaces: str | None, _: Progress) -> bytes:
        session, chosen = self.desk.session, self.desk.setting("paper")
        paper: Any = None if chosen == "group" else chosen
        issued = papers.issue_certificate(
            session, self.desk.actor, thermometer, paper=paper, replaces=replaces, certificate=certificate
        )
        with session.reading() as connection:
            return papers.page_of(connection, issued)

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
