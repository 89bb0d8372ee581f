"""People: their roles are in the journal, their names beside it where they can be erased."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection

from registry.records.places import PersonErased, PersonNamed, PersonSet, PersonTrained, SiteSet
from registry.services.problems import Problem, Refused, refuse
from registry.services.session import ROLES, Actor, Session, clean, recorded, state_once
from registry.store import queries
from registry.store.transaction import Transaction


@dataclass(frozen=True, slots=True)
class Person:
    """A person as shown; the name is empty where it was erased."""

    person: str
    name: str
    initials: str
    roles: tuple[str, ...]
    sites: tuple[str, ...]
    left: str | None


def add_named(
    session: Session,
    entries: Transaction,
    person: str,
    roles: tuple[str, ...],
    name: str,
    initials: str,
    sites: tuple[str, ...] = (),
) -> None:
    entries.replace(PersonSet(person=person, roles=roles, sites=sites or None))
    fields_hash = entries.keep_detached({"initials": clean(initials), "name": clean(name)})
    entries.replace(PersonNamed(person=person, fields_hash=fields_hash))


def add_person(
    session: Session,
    actor: Actor,
    name: str,
    initials: str,
    roles: tuple[str, ...],
    sites: tuple[str, ...] = (),
    *,
    person: str | None = None,
) -> str:
    """Add a person with name, initials and roles; returns the id. A second press with the same id records once."""
    problems = []
    if not name.strip():
        problems.append(Problem("name", "empty"))
    if not initials.strip() or len(clean(initials)) > 6:
        problems.append(Problem("initials", "not_valid"))
    problems += _role_problems(roles)
    person = person or session.new_id()
    with session.recording(actor, "officer") as entries:
        if "person" in queries.facts_of(entries.connection, person):
            return person
        _refuse_but_administrators(actor, roles)
        if _bears(entries.connection, initials):
            problems.append(Problem("initials", "taken", {"value": clean(initials)}))
        problems += _site_problems(entries.connection, sites)
        if problems:
            raise Refused(*problems)
        add_named(session, entries, person, roles, name, initials, sites)
    return person


def change_person(
    session: Session, actor: Actor, person: str, roles: tuple[str, ...], sites: tuple[str, ...] = ()
) -> None:
    """State anew what somebody may do and where (no sites: at every one), from now on."""
    with session.recording(actor, "officer") as entries:
        fact = queries.facts_of(entries.connection, person).get("person")
        if fact is None:
            raise refuse("person", "unknown_person", value=person)
        if fact.payload.left is not None:
            raise refuse("person", "has_left")
        if problems := _role_problems(roles) + _site_problems(entries.connection, sites):
            raise Refused(*problems)
        _refuse_but_administrators(actor, {*roles, *fact.payload.roles})
        if "administrator" not in roles:
            _refuse_last_administrator(entries.connection, person)
        state_once(entries, PersonSet(person=person, roles=_in_order(roles), sites=sites or None))


def _in_order(roles: Collection[str]) -> tuple[str, ...]:
    return tuple(one for one in ROLES if one in roles)


def _role_problems(roles: Collection[str]) -> list[Problem]:
    problems = [Problem("roles", "unknown", {"value": role}) for role in roles if role not in ROLES]
    return problems if roles else [Problem("roles", "empty")]


def _site_problems(connection: Connection, sites: Collection[str]) -> list[Problem]:
    known = {one.subject for one in queries.facts_named(connection, "site", SiteSet)}
    return [Problem("site", "unknown", {"value": one}) for one in sites if one not in known]


def _refuse_but_administrators(actor: Actor, roles: Collection[str]) -> None:
    """Only an administrator makes another, or ends one."""
    if "administrator" in roles and not actor.may("administrator"):
        raise refuse("actor", "not_allowed", roles="administrator")


def _bears(connection: Connection, initials: str) -> bool:
    low = clean(initials).casefold()
    return any(one.initials.casefold() == low and one.left is None for one in people(connection))


def people(connection: Connection) -> list[Person]:
    """Everyone, by initials."""
    named = {one.subject: one.payload.fields_hash for one in queries.facts_named(connection, "name", PersonNamed)}
    clear = queries.detached(connection, list(named.values()))
    found = []
    for fact in queries.facts_named(connection, "person", PersonSet):
        fields = clear.get(named.get(fact.subject, ""), {})
        found.append(
            Person(
                fact.subject,
                fields.get("name", ""),
                fields.get("initials", ""),
                tuple(fact.payload.roles),
                tuple(fact.payload.sites or ()),
                fact.payload.left,
            )
        )
    return sorted(found, key=lambda one: (one.initials, one.person))


def find_person(connection: Connection, initials: str) -> Person:
    """By initials; refused where nobody, or more than one, bears them."""
    found = [
        one for one in people(connection) if one.initials.casefold() == clean(initials).casefold() and not one.left
    ]
    if len(found) != 1:
        raise refuse("person", "unknown_person" if not found else "not_unique", value=initials)
    return found[0]


def person_left(session: Session, actor: Actor, person: str, day: date) -> None:
    with session.recording(actor, "officer") as entries:
        fact = queries.facts_of(entries.connection, person).get("person")
        if fact is None:
            raise refuse("person", "unknown_person", value=person)
        _refuse_but_administrators(actor, fact.payload.roles)
        _refuse_last_administrator(entries.connection, person)
        state_once(
            entries,
            PersonSet(person=person, roles=fact.payload.roles, sites=fact.payload.sites, left=day.isoformat()),
        )


def _refuse_last_administrator(connection: Connection, person: str) -> None:
    """Somebody has to hold that role."""
    holding = {one.person for one in people(connection) if "administrator" in one.roles and one.left is None}
    if holding == {person}:
        raise refuse("person", "last_administrator")


def record_training(
    session: Session,
    actor: Actor,
    person: str,
    kind: str,
    day: date,
    *,
    until: date | None = None,
    training: str | None = None,
) -> None:
    """Record a training of a person, and until when it holds; a second press with the same id records once."""
    if until is not None and until < day:
        raise refuse("until", "before_its_day")
    with session.recording(actor, "officer") as entries:
        if "person" not in queries.facts_of(entries.connection, person):
            raise refuse("person", "unknown_person", value=person)
        if recorded(entries.connection, person, "person_trained", "training", training) is None:
            training = training or session.new_id()
            entries.add(
                PersonTrained(
                    person=person,
                    training=training,
                    training_kind=kind,
                    day=day.isoformat(),
                    until=until.isoformat() if until else None,
                )
            )


def erase_person(session: Session, actor: Actor, person: str) -> None:
    """Erase a name: the entries stay and verify, the clear text is gone."""
    with session.recording(actor, "administrator") as entries:
        hashes = sorted(
            one.payload["fields_hash"]
            for one in queries.entries_about(entries.connection, person)
            if one.kind == "person_named"
        )
        if not hashes:
            raise refuse("person", "unknown_person", value=person)
        entries.add(PersonErased(person=person, hashes=tuple(hashes)))
        entries.erase_detached(hashes)
