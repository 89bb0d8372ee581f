"""First start: a new installation, its key and chain, the group with its rules, and who may do what."""

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from registry import resources
from registry.journal import signing
from registry.journal.entry import NO_HASH
from registry.journal.ids import IdSource
from registry.records.chain import ChainOpened, InstallationAccepted
from registry.records.rules import GroupSet
from registry.services import people, rules
from registry.services.clock import now_us
from registry.services.problems import Problem, Refused
from registry.services.session import DATABASE_NAME, KEY_NAME, SYSTEM, Actor, Session
from registry.store import database, keyfile, queries, transaction
from registry.store.database import Database
from registry.store.errors import KnownError
from registry.store.transaction import Signer

PROGRAM = "thermometer-registry 0.1"


@dataclass(frozen=True, slots=True)
class FirstStart:
    """The few questions of a first start; what is left out comes with the country."""

    group_name: str
    country: str
    administrator_name: str
    administrator_initials: str
    installation_name: str = ""
    jurisdiction: str | None = None
    language: Literal["en", "es"] = "en"
    plan: str = "each_shift"
    unit: Literal["C", "F"] | None = None


def first_start(
    home: Path,
    asked: FirstStart,
    *,
    clock: Callable[[], int] = now_us,
    random: Callable[[int], bytes] = secrets.token_bytes,
    key: Ed25519PrivateKey | None = None,
    demo: bool = False,
    machine: str | None = None,
    url: str | None = None,
) -> tuple[Session, Actor]:
    """Make the registry in an empty folder (or in the database of `url`) and say who administers it.

    One that was cut off before its first entry is carried on with.
    """
    problems = _problems(asked)
    if problems:
        raise Refused(*problems)
    home.mkdir(parents=True, exist_ok=True)
    if keyfile.may_have_signed(home / KEY_NAME) and not (home / DATABASE_NAME).exists():
        raise KnownError("key_exists", path=str(home / KEY_NAME))  # before a database is made beside it
    made = _empty_database(url or home / DATABASE_NAME)
    machine = machine or keyfile.machine_id()
    private_key = _first_key(home / KEY_NAME, key or signing.new_key(), machine)
    chain = signing.public_bytes(private_key).hex()
    with made.writing() as connection:
        chain_no = transaction.chain_number(connection, chain) or transaction.new_chain(connection, chain)
    session = Session(
        made,
        home,
        Signer(private_key, chain, chain_no),
        clock,
        IdSource(clock, random),
        random,
        machine,
    )
    return session, _record(session, asked, demo)


def _empty_database(target: Path | str) -> Database:
    """A new database, or one without entries that an earlier start left behind when it was cut off."""
    try:
        return database.create(target)
    except KnownError as problem:
        if problem.code != "exists_already":
            raise
        try:
            found = database.open_database(target)
        except KnownError:  # somebody else's
            raise problem from None
        with found.reading() as connection:
            if queries.count_entries(connection) == 0:
                return found
        found.close()
        raise


def _first_key(path: Path, key: Ed25519PrivateKey, machine: str) -> Ed25519PrivateKey:
    """Keep the key, or take the one that an earlier start kept and never used."""
    if keyfile.may_have_signed(path):
        raise KnownError("key_exists", path=str(path))
    if path.exists():
        try:
            return keyfile.KeyFile.load(path).private_key
        except KnownError as problem:
            if problem.code != "key_damaged":
                raise
            path.unlink()  # cut off while it was written
    # The marker goes first, so that a crash in between does not leave a key that nobody knows how far it got.
    first = keyfile.Marker(machine, signing.public_bytes(key), -1, NO_HASH)
    first.save(keyfile.marker_path(path), sync=True)
    return keyfile.KeyFile.create(path, key).private_key


def _problems(asked: FirstStart) -> list[Problem]:
    found = []
    if not asked.group_name.strip():
        found.append(Problem("group_name", "empty"))
    if not asked.administrator_name.strip() or not asked.administrator_initials.strip():
        found.append(Problem("administrator", "empty"))
    if asked.country not in resources.countries():
        found.append(Problem("country", "unknown", {"value": asked.country}))
    if asked.jurisdiction is not None and asked.jurisdiction not in resources.jurisdictions():
        found.append(Problem("jurisdiction", "unknown", {"value": asked.jurisdiction}))
    if asked.language not in resources.languages():
        found.append(Problem("language", "unknown", {"value": asked.language}))
    if asked.plan not in resources.default_plans():
        found.append(Problem("plan", "unknown", {"value": asked.plan}))
    return found


def _record(session: Session, asked: FirstStart, demo: bool) -> Actor:
    country = resources.countries()[asked.country]
    group, person = session.new_id(), session.new_id()
    assert session.signer is not None
    with session.recording(SYSTEM) as entries:
        entries.add(
            ChainOpened(
                name=asked.installation_name.strip() or asked.group_name.strip(),
                opened_because="first_start",
                program=PROGRAM,
                demo=True if demo else None,
            )
        )
        entries.replace(InstallationAccepted(accepted=session.signer.chain, group=group, whole_group=True))
        entries.replace(
            GroupSet(
                group=group,
                name=asked.group_name.strip(),
                country=asked.country,
                jurisdiction=asked.jurisdiction or country.jurisdiction,
                language=asked.language,
                region=country.region,
                unit=asked.unit or country.unit,
                paper=country.paper.lower(),
            )
        )
        people.add_named(
            session,
            entries,
            person,
            ("administrator",),
            asked.administrator_name,
            asked.administrator_initials,
        )
        rules.set_starting_rules(
            session, entries, group, asked.jurisdiction or country.jurisdiction, asked.plan, country.region
        )
    return Actor(person, frozenset(("administrator",)))
