"""Printing identity and status tags: drawn first, as often as one likes; recorded once they are printed or saved."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from sqlalchemy import Connection

from registry.records.thermometers import TagPrinted
from registry.services import pages, tag_facts, thermometers
from registry.services.problems import KnownError, Problem, Refused, refuse
from registry.services.session import Actor, Session
from registry.services.tag_setup import Setup, check_setup, stock_code
from registry.store import queries

if TYPE_CHECKING:
    from registry.documents.facts import TagFacts
    from registry.documents.tags import Printing

Kind = Literal["status", "identity"]
KINDS: tuple[Kind, ...] = ("status", "identity")  # in the order in which they are printed
PRINTERS = ("lead", "officer")  # the roles that may print tags
TOGETHER = 100  # entries of one transaction


@dataclass(frozen=True, slots=True)
class Asked:
    """One tag that is wanted."""

    thermometer: str
    kind: Kind


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A tag that could not be drawn, and why."""

    tag_id: str
    kind: Kind
    problem: Problem


@dataclass(frozen=True, slots=True)
class Drawn:
    """Tags in one document, status tags first; entries: what is recorded once they are printed."""

    pdf: bytes
    setup: Setup
    entries: tuple[TagPrinted, ...]
    left_out: tuple[LeftOut, ...]

    def count(self, kind: Kind) -> int:
        return sum(1 for one in self.entries if one.tag == kind)


def draw(session: Session, asked: Sequence[Asked], setup: Setup, batch: str = "") -> Drawn:
    """The tags that can be drawn, in one document; refused where there is none. Nothing is recorded.

    batch: names the sheets in their top margin.
    """
    from registry.documents import tags  # late: reportlab

    check_setup(setup)
    how = _printing(setup, batch)
    run = session.new_id()
    ordered = sorted(asked, key=lambda one: KINDS.index(one.kind))
    drawn: list[TagFacts] = []
    entries: list[TagPrinted] = []
    left_out: list[LeftOut] = []
    with session.reading() as connection:
        for one in ordered:
            try:
                facts, entry = _facts(session, connection, one, run, stock_code(setup.stock))
                with pages.refusing():
                    tags.fits(facts, how)
            except Refused as refused:
                tag_id = thermometers.thermometer(connection, one.thermometer).tag_id
                left_out.append(LeftOut(tag_id, one.kind, refused.problems[0]))
            else:
                drawn.append(facts)
                entries.append(entry)
    if not drawn:
        reasons = {(one.problem.field, one.problem.code): one.problem for one in left_out}
        raise Refused(*(reasons.values() or [Problem("tags", "none")]))
    with pages.refusing():
        pdf = tags.print_tags(drawn, how)
    return Drawn(pdf, setup, tuple(entries), tuple(left_out))


def record(session: Session, actor: Actor, drawn: Drawn) -> None:
    """Say in the journal what was printed: one entry a tag, all with the id of this printing. Twice adds nothing."""
    for start in range(0, len(drawn.entries), TOGETHER):
        with session.recording(actor, *PRINTERS) as entries:
            for one in drawn.entries[start : start + TOGETHER]:
                if not _recorded(entries.connection, one):
                    entries.add(one)


def _recorded(connection: Connection, one: TagPrinted) -> bool:
    if not queries.said_lately(connection, one.thermometer, "tag_printed", "print", one.print):
        return False
    printed = queries.events_of(connection, one.thermometer, ("tag_printed",))
    said = (queries.entry_at(connection, event.chain_no, event.seq).payload for event in printed)
    return any(each["print"] == one.print and each["tag"] == one.tag for each in said)


def may_print(session: Session, actor: Actor) -> None:
    """Refused before anything comes out of a printer where it could not be recorded."""
    if not actor.may(*PRINTERS):
        raise refuse("actor", "not_allowed", roles=", ".join(PRINTERS))
    if session.signer is None:
        raise KnownError(session.why_read_only or "read_only")


def calibration(stock: str, language: str) -> bytes:
    """The page that tells by how much a printer misses on this stock."""
    from registry.documents.calibration import calibration_page  # late: reportlab

    check_setup(Setup(stock=stock))
    with pages.refusing():
        return calibration_page(stock, language)


def _printing(setup: Setup, batch: str) -> "Printing":
    from registry.documents.codes import Coding
    from registry.documents.tags import Printing

    code: Literal["qr", "datamatrix", "code128"] = (
        "datamatrix" if setup.code == "datamatrix" else "code128" if setup.code == "code128" else "qr"
    )
    trim = (float(setup.trim_right), float(setup.trim_down))
    return Printing(setup.stock, Coding(code, setup.dpi), setup.start, trim, batch)


def _facts(
    session: Session, connection: Connection, asked: Asked, run: str, stock: str
) -> tuple["TagFacts", TagPrinted]:
    if asked.kind == "status":
        return tag_facts.status(session, connection, asked.thermometer, run, stock)
    facts = tag_facts.identity(session, connection, asked.thermometer)
    return facts, tag_facts.identity_entry(asked.thermometer, run, stock)


# --- one at once ---------------------------------------------------------------------------------------------


def print_tags(
    session: Session,
    actor: Actor,
    asked: Sequence[Asked],
    setup: Setup,
    keep: Callable[[bytes], object],
    batch: str = "",
) -> Drawn:
    """Draw tags, have them kept or printed by `keep`, and record them where that went well."""
    may_print(session, actor)
    drawn = draw(session, asked, setup, batch)
    keep(drawn.pdf)
    record(session, actor, drawn)
    return drawn


def print_identity_tag(session: Session, actor: Actor, thermometer_id: str, size: str = "50x25") -> bytes:
    """A permanent tag, drawn and recorded as printed."""
    asked = [Asked(thermometer_id, "identity")]
    return print_tags(session, actor, asked, replace(Setup(), stock=size), lambda _: None).pdf


def print_status_tag(session: Session, actor: Actor, thermometer_id: str, size: str = "50x25") -> bytes:
    """A status tag of the last judged check, drawn and recorded as printed.

    Refused for lost and retired ones, and while the last check waits for its bath.
    """
    asked = [Asked(thermometer_id, "status")]
    return print_tags(session, actor, asked, replace(Setup(), stock=size), lambda _: None).pdf
