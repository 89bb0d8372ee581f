"""Certificates of a whole site: issued of every thermometer whose latest check has none yet, one after the other.

Each issue is a transaction of its own, so one that is cancelled keeps what was issued; the same call again issues
what is still missing.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection

from registry.documents.facts import Paper
from registry.services import files as to_disk
from registry.services import papers, table
from registry.services.papers import Issued
from registry.services.problems import KnownError, Refused, known_from_oserror, refuse
from registry.services.session import Actor, Session
from registry.services.table import TableRow, Wanted
from registry.store import queries

LEFT_OUT = ("lost", "retired")
MANY = 1_000_000  # no page of the table: all of them
TOGETHER = 500  # so many pages in one file at most: who prints more prints by station
Progress = Callable[[int], bool]  # told how many are done; answers False to stop


@dataclass(frozen=True, slots=True)
class Cannot:
    """One that gets no certificate now. code: why, of the problems of `checks`, or `withdrawn`; number: of that one."""

    thermometer: str
    tag_id: str
    code: str
    number: str = ""


@dataclass(frozen=True, slots=True)
class Wants:
    """One whose latest check has no certificate yet."""

    thermometer: str
    tag_id: str


@dataclass(frozen=True, slots=True)
class Has:
    """One whose latest check has a certificate that stands."""

    thermometer: str
    tag_id: str
    issued: Issued


@dataclass(frozen=True, slots=True)
class Missing:
    """How those that were asked for stand, each in the order of their tag ids."""

    wanting: tuple[Wants, ...]
    has: tuple[Has, ...]
    cannot: tuple[Cannot, ...]


@dataclass(frozen=True, slots=True)
class Batch:
    """What came of it. issued: now; had: before; left: so many were not come to, since it was cancelled.

    files: what was written, in order.
    """

    issued: tuple[Has, ...]
    had: tuple[Has, ...]
    cannot: tuple[Cannot, ...]
    left: int
    files: tuple[Path, ...] = ()


# --- who wants one -------------------------------------------------------------------------------------------


def missing(session: Session, wanted: Wanted) -> Missing:
    """Of those that fit, who wants a certificate of its latest check, who has one, and who can get none and why.

    Lost and retired ones are left out.
    """
    with session.reading() as connection:
        rows = table.page(session, connection, wanted, size=MANY, columns=()).rows
        found = [_stands(connection, row) for row in rows if row.status not in LEFT_OUT]
    return Missing(
        tuple(one for one in found if isinstance(one, Wants)),
        tuple(one for one in found if isinstance(one, Has)),
        tuple(one for one in found if isinstance(one, Cannot)),
    )


def _stands(connection: Connection, row: TableRow) -> Wants | Has | Cannot:
    """One that was withdrawn is not issued anew by the dozen: whoever withdrew it had a reason."""
    thermometer, tag_id = row.thermometer, row.tag_id
    try:
        latest = set(papers.of_latest(connection, thermometer))
    except Refused as refused:
        code = refused.problems[0].code
        only_imported = code == "none_yet" and row.last_check is not None
        return Cannot(thermometer, tag_id, "imported" if only_imported else code)
    of_it = [
        one
        for one in papers.issued(connection, thermometer)
        if latest <= set(queries.entry_hashed(connection, thermometer, one.entry_hash).payload["rests_on"])
    ]
    standing = [one for one in of_it if not one.replaced]
    if standing:
        return Has(thermometer, tag_id, standing[-1])
    return Cannot(thermometer, tag_id, "withdrawn", of_it[-1].number) if of_it else Wants(thermometer, tag_id)


# --- issuing -------------------------------------------------------------------------------------------------


def issue_missing(
    session: Session,
    actor: Actor,
    wanted: Wanted,
    out: Path,
    *,
    language: str | None = None,
    paper: Paper | None = None,
    every: bool = False,
    progress: Progress = lambda done: True,
) -> Batch:
    """Issue what is missing and write the pages: into the folder `out`, or into one file where it ends in .pdf.

    every: also the pages of those whose latest check had a certificate before. What is refused meanwhile is named
    and stops nothing. A folder's file is written as soon as its certificate is issued; trouble with the disk ends it
    all, and the next call writes with `every` what is issued already.
    """
    if not actor.may("lead", "officer"):
        raise refuse("actor", "not_allowed", roles="lead, officer")
    asked, one_file = missing(session, wanted), out.suffix.lower() == ".pdf"
    _ready(out, one_file=one_file)
    had = asked.has if every else ()
    if one_file and len(asked.wanting) + len(had) > TOGETHER:
        raise refuse("out", "too_many_together", value=str(TOGETHER))
    issued: list[Has] = []
    cannot = list(asked.cannot)
    files = [] if one_file else [_written(_file(out, one), _page(session, one)) for one in had]
    reached = 0
    for one in asked.wanting:
        if not progress(reached):
            break
        reached += 1
        try:
            made = papers.issue_certificate(session, actor, one.thermometer, language=language, paper=paper)
        except Refused as refused:
            cannot.append(Cannot(one.thermometer, one.tag_id, refused.problems[0].code))
            continue
        issued.append(Has(one.thermometer, one.tag_id, made))
        if not one_file:
            files.append(_written(_file(out, issued[-1]), _page(session, issued[-1])))
    pages = sorted([*had, *issued], key=lambda one: one.tag_id)
    if one_file and pages:
        files.append(_written(out, together(session, pages)))
    return Batch(tuple(issued), asked.has, tuple(cannot), len(asked.wanting) - reached, tuple(files))


def together(session: Session, those: Sequence[Has]) -> bytes:
    """Their pages as they were issued, in one PDF to print; each with its own page numbers and end mark."""
    from registry.documents import finish  # late: reportlab

    return finish.joined([_page(session, one) for one in those])


def _page(session: Session, one: Has) -> bytes:
    with session.reading() as connection:
        return papers.copy_of(connection, one.issued)


def _file(folder: Path, one: Has) -> Path:
    return folder / f"{one.tag_id}-{one.issued.number}.pdf"


def _ready(out: Path, *, one_file: bool) -> None:
    """Before anything is issued: a place that cannot be had would leave certificates without their files."""
    folder = out.parent if one_file else out
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise KnownError("wrong_place", path=str(folder)) from None
    except OSError as error:
        raise _known(error, folder) from error
    if one_file and out.is_dir():
        raise KnownError("wrong_place", path=str(out))
    if one_file:
        to_disk.refuse_record(out)


def _written(path: Path, content: bytes) -> Path:
    try:
        to_disk.write(path, content)
    except OSError as error:
        raise _known(error, path) from error
    return path


def _known(error: OSError, path: Path) -> Exception:
    return known_from_oserror(error, path) or error
