"""Looking after the record: verify, rebuild, work it out again, back up, restore, carry on with a new key."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TextIO

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from sqlalchemy import Connection

from registry.compute import check as method
from registry.journal import signing
from registry.journal.entry import NO_HASH
from registry.journal.numbers import installation_code
from registry.records.baths import BathJudged
from registry.services import checks
from registry.services.problems import refuse
from registry.services.session import DATABASE_NAME, KEY_NAME, SYSTEM, Actor, Session, open_session
from registry.services.start import PROGRAM
from registry.store import backup as store_backup
from registry.store import checking, comparing, export, keyfile, queries, rebuild, recompute, succession
from registry.store.database import open_database
from registry.store.errors import KnownError

OLD_KEY_NAME = KEY_NAME + ".old"
Progress = Callable[[int], bool]  # told how many entries were passed; answers False to stop


def go_on(_: int) -> bool:
    return True


def verify(session: Session, *, deep: bool = False, progress: Progress = go_on) -> checking.Report:
    """Is the record whole, up to where the marker beside the key knows that it had got?

    Deep: every signature, every text encoded again, what is folded against a rebuild.
    """
    return checking.verify(session.database, deep=deep, marker=_marker(session), progress=progress)


def _marker(session: Session) -> keyfile.Marker | None:
    """What lies beside the key; None where there is none, or where it is `why_read_only` that it cannot be read."""
    if session.home is None:
        return None
    try:
        return keyfile.Marker.load(keyfile.marker_path(session.home / KEY_NAME))
    except KnownError:
        return None


def why_not_compared(session: Session) -> str:
    """Code of the trouble that keeps this record from being written; the marker may then say nothing of its end."""
    why = session.why_read_only or ""
    return "" if why in ("asked_for", "read_only") else why


def rebuild_projections(session: Session, actor: Actor, progress: Progress = go_on) -> list[comparing.Difference]:
    """Say where the folded tables differ from the journal, then make them anew."""
    if not actor.may("officer"):
        raise refuse("actor", "not_allowed", roles="officer")
    found = comparing.compare(session.database, progress)
    rebuild.rebuild(session.database, progress)
    return found


def judge_again(payload: dict[str, Any], bath: dict[str, Any] | None) -> Mapping[str, Any]:
    """A recorded check or adjustment as today's code would write it, from its frozen inputs alone."""
    if bath is None:
        return {}
    judged = method.judge(checks.inputs_from(payload, bath, as_left="as_left" in payload))
    return {
        "reference": judged.reference.text(),
        "offset": method.written(judged.offset.value, judged.offset.unit).text(),
        "u": judged.u.text(),
        "k": f"{judged.k:f}",
        "outcome": judged.outcome,
    }


def work_out_again(session: Session, progress: Progress = go_on) -> Iterator[recompute.Otherwise]:
    """Every check that today's code would judge otherwise."""
    return recompute.recompute(session.database, judge_again, progress)


def judged_by_program(session: Session) -> int:
    """How many baths stand as the program judged them.

    They are not worked out again: what each thermometer's record led to expect is not frozen with the judgement, only
    the bath's error that was found, its uncertainty and who was trusted.
    """
    with session.reading() as connection:
        judgements = queries.facts_named(connection, "judgement", BathJudged)
    return sum(one.payload.judged_by == "diagnose" for one in judgements)


def export_journal(session: Session, file: TextIO) -> int:
    """The whole record as JSON lines; returns how many."""
    return export.write_journal(session.database, file)


def export_checks(session: Session, file: TextIO) -> int:
    """Every check as CSV; returns how many."""
    return export.write_checks(session.database, file)


def back_up(session: Session, actor: Actor, folder: Path, progress: Progress = go_on) -> store_backup.Backup | None:
    """A verified copy of the record in `folder`, without the key; progress is told per cent. None where stopped."""
    if not actor.may("lead", "officer"):
        raise refuse("actor", "not_allowed", roles="lead, officer")
    if session.signer is None:
        raise KnownError("read_only")
    return store_backup.backup(session.database, session.signer.chain_no, folder, session.clock, progress=progress)


# --- succession ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class CarryingOn:
    """How a record goes on after a restore, a move or a lost key.

    by: the person who says so. chain_code: which installation's chain is carried on, where there are several.
    """

    because: str
    name: str
    by: str = SYSTEM.person
    old_key: Path | None = None
    chain_code: str = ""


def restore(
    backup_file: Path,
    home: Path,
    told: CarryingOn,
    *,
    clock: Callable[[], int],
    random: Callable[[int], bytes],
    machine: str | None = None,
    key: Ed25519PrivateKey | None = None,
    progress: Progress = go_on,
) -> Session:
    """A registry in an empty folder from a backup: taken like a bundle, verified, folded; then a new key and chain."""
    home.mkdir(parents=True, exist_ok=True)
    if (home / KEY_NAME).exists():
        raise KnownError("key_exists", path=str(home / KEY_NAME))
    database, taken = store_backup.restore(backup_file, home / DATABASE_NAME, progress=progress)
    database.close()
    if not (taken.finished and taken.report.good):
        raise refuse("backup", "not_whole")
    return carry_on(home, told, clock=clock, random=random, machine=machine, key=key)


def carry_on(
    home: Path,
    told: CarryingOn,
    *,
    clock: Callable[[], int],
    random: Callable[[int], bytes],
    machine: str | None = None,
    key: Ed25519PrivateKey | None = None,
) -> Session:
    """Say what happened to a registry that may only be looked at, and go on with a new key and chain.

    The old key, where it is given or lies in the folder, signs the succession; it is then set aside as
    `registry.key.old`, since one key signs one chain on one computer, once.
    """
    if told.because not in succession.BECAUSE:
        raise refuse("because", "unknown", value=told.because)
    old_key_path = told.old_key or _key_lying_here(home)
    database = open_database(home / DATABASE_NAME)
    try:
        with database.reading() as connection:
            old = succession.old_head(connection, _chain_to_carry_on(connection, old_key_path, told.chain_code))
    except BaseException:
        database.close()
        raise
    old_key = _old_key(old_key_path, old.chain)
    new_key = key or signing.new_key()
    key_path, machine = home / KEY_NAME, machine or keyfile.machine_id()
    if keyfile.may_have_signed(key_path):
        key_path.replace(key_path.with_name(OLD_KEY_NAME))
    key_path.unlink(missing_ok=True)
    keyfile.marker_path(key_path).unlink(missing_ok=True)
    marker = keyfile.Marker(machine, signing.public_bytes(new_key), -1, NO_HASH)
    marker.save(keyfile.marker_path(key_path), sync=True)  # before the key, as at a first start
    keyfile.KeyFile.create(key_path, new_key)
    try:
        succession.succeed(
            database,
            old,
            old_key,
            new_key,
            told.because,
            name=told.name,
            program=PROGRAM,
            by=told.by,
            clock=clock,
        )
    finally:
        database.close()
    return open_session(home, clock=clock, random=random, machine=machine)


def _key_lying_here(home: Path) -> Path:
    """The key of the folder, or the one set aside by a carrying on that was cut off."""
    key, aside = home / KEY_NAME, home / OLD_KEY_NAME
    return aside if aside.exists() and not keyfile.may_have_signed(key) else key


def _chain_to_carry_on(connection: Connection, key_path: Path, wanted: str) -> int:
    """The chain that is asked for; else that of the key which lies here; else the only one nobody carried on."""
    open_ends = {
        chain_no: chain
        for chain_no, chain in queries.chains(connection)
        if chain not in queries.predecessors(connection)
    }
    codes = {chain_no: installation_code(bytes.fromhex(chain)) for chain_no, chain in open_ends.items()}
    found = [one for one, code in codes.items() if code == wanted.upper()] if wanted else list(open_ends)
    mine = [one for one in found if _old_key(key_path, open_ends[one]) is not None]
    if len(mine or found) != 1:
        raise refuse("chain", "say_which", value=", ".join(sorted(codes.values())))
    return (mine or found)[0]


def _old_key(path: Path, chain: str) -> Ed25519PrivateKey | None:
    """The predecessor's key, if this is it; another key is nobody's word."""
    try:
        found = keyfile.KeyFile.load(path).private_key
    except KnownError:
        return None
    return found if signing.public_bytes(found).hex() == chain else None
