"""People from a file: name, initials, what each may do, and where."""

from dataclasses import dataclass

from sqlalchemy import Connection

from registry.records.places import PersonNamed, PersonSet
from registry.services import people, places
from registry.services.csvfile import Table, normal
from registry.services.import_cells import BadCell, code_of, words_for
from registry.services.import_journal import Import, Imported, Progress
from registry.services.import_rows import Options, Row
from registry.services.import_things import ThingsPlan, record, try_out
from registry.services.problems import refuse
from registry.services.rehearsal import Rehearsal
from registry.services.session import ROLES, Actor, Session, clean
from registry.store.transaction import Transaction

COLUMNS = ("initials", "name", "roles", "site")
REQUIRED = ("initials", "name")
ABOUT = {"sites": "site", "actor": "roles"}  # what a service says a problem is about, as a column


@dataclass(frozen=True, slots=True)
class _Person:
    row: int
    person: str
    name: str
    initials: str
    roles: tuple[str, ...]
    sites: tuple[str, ...]


def check_people(
    session: Session,
    connection: Connection,
    actor: Actor,
    content: bytes | Table,
    options: Options = Options(),  # noqa: B008
) -> ThingsPlan:
    """Read the whole file and try it out; Refused names each bad cell. Who has no role named is a lead where asked."""
    found: list[_Person] = []

    def add(rehearsal: Rehearsal, row: Row) -> None:
        initials = row.take("initials", lambda text: text, needed=True) or ""
        name = row.take("name", lambda text: text, needed=True) or ""
        roles = _roles_of(row, options)
        sites = row.take_said("site", row.text("site") or options.site, lambda text: _sites(rehearsal.connection, text))
        if row.good and roles and sites is not None:
            person = people.add_person(rehearsal, actor, name, initials, roles, sites)
            found.append(_Person(row.number, person, clean(name), clean(initials), roles, sites))

    laid, rows, _ = try_out(session, connection, content, options, COLUMNS, REQUIRED, add, ABOUT)
    return ThingsPlan("people", laid, rows, tuple(one.initials for one in found), tuple(found))


def _roles_of(row: Row, options: Options) -> tuple[str, ...] | None:
    """As the row says; where it says nothing it is asked whether such are leads."""
    if not row.text("roles") and "all_leads" in options.asked:
        return ("lead",)
    if not row.text("roles"):
        row.bad("roles" if "roles" in row.cells else "initials", "role_missing")
    return row.take("roles", _roles)


def _parts(text: str) -> list[str]:
    """Several in one cell, with commas, semicolons or strokes between."""
    return [part for one in text.replace(";", ",").replace("/", ",").split(",") if (part := one.strip())]


def _roles(text: str) -> tuple[str, ...]:
    words = words_for("role", ROLES)
    chosen = {code_of(part, words) for part in _parts(text)}
    if not chosen:
        raise BadCell("missing")
    return tuple(one for one in ROLES if one in chosen)


def _sites(connection: Connection, text: str) -> tuple[str, ...]:
    """By letters or name; empty means every site, as for one who is added by hand."""
    return tuple(dict.fromkeys(places.site_named(connection, part).subject for part in _parts(text)))


def record_people(session: Session, actor: Actor, plan: ThingsPlan, progress: Progress | None = None) -> Imported:
    """Record people that were found good. One whose initials were taken meanwhile is refused, and all with it."""

    def say(started: Import) -> "_Say":
        return _Say(started.import_)

    return record(session, actor, plan, say, progress)


@dataclass(frozen=True, slots=True)
class _Say:
    import_: str

    def __call__(self, entries: Transaction, one: _Person) -> None:
        taken = {normal(each.initials) for each in people.people(entries.connection) if each.left is None}
        if normal(one.initials) in taken:
            raise refuse("initials", "taken", value=one.initials)
        where, sites = self.import_, one.sites or None
        entries.add(PersonSet(person=one.person, roles=one.roles, sites=sites, import_=where, row=one.row))
        fields_hash = entries.keep_detached({"initials": one.initials, "name": one.name})
        entries.add(PersonNamed(person=one.person, fields_hash=fields_hash, import_=where, row=one.row))
