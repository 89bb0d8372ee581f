"""A new key and a new chain that carry on where another ended: after restoring, moving, copying, or losing a key.

One key signs one chain on one computer, and does so once; so these are all the same act.
"""

from dataclasses import dataclass
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from sqlalchemy import Connection

from registry.journal import signing
from registry.records.chain import ChainOpened, Head, InstallationAccepted
from registry.records.forms import Code, Hash, Name, Signature
from registry.store import reading, summary, transaction
from registry.store.database import Database
from registry.store.transaction import Clock, Signer, Transaction

BECAUSE = ("restored", "moved", "new_key", "lost_key", "copied")


@dataclass(frozen=True, slots=True)
class OldHead:
    """The last entry of the chain that is carried on."""

    chain: str
    seq: int
    hash: str


def old_head(connection: Connection, chain_no: int) -> OldHead:
    """Where a chain in this database ends."""
    head = transaction.head(connection, chain_no)
    return OldHead(reading.chain_key(connection, chain_no), head.seq, head.hash)


def succeed(
    database: Database,
    old: OldHead,
    old_key: Ed25519PrivateKey | None,
    new_key: Ed25519PrivateKey,
    because: str,
    *,
    name: str,
    program: str,
    by: str,
    clock: Clock,
) -> Signer:
    """Open a new chain that names its predecessor; with the old key's word it has the same scope too.

    Without that word it waits for an administrator to accept it. The new chain is a demo where the old one was.
    """
    chain = signing.public_bytes(new_key)
    if because not in BECAUSE or chain.hex() == old.chain:
        raise ValueError("a succession has one of its reasons and a key of its own")
    with database.writing() as connection:
        signer = Signer(new_key, chain.hex(), transaction.new_chain(connection, chain.hex()))
        entries = Transaction(connection, signer, clock, by)
        entries.add(
            ChainOpened(
                name=Name(name),
                opened_because=Code(because),
                program=Name(program),
                demo=_is_demo(connection, old.chain) or None,
                predecessor=Head(chain=Hash(old.chain), seq=old.seq, hash=Hash(old.hash)),
                old_key_signature=_word(old_key, old, chain),
            )
        )
        scope = _scope(connection, old.chain) if old_key is not None else None
        if scope is not None:
            entries.replace(
                InstallationAccepted(
                    accepted=Hash(chain.hex()),
                    group=scope.get("group"),
                    whole_group=scope.get("whole_group"),
                    sites=scope.get("sites"),
                )
            )
        entries.finish()
    return signer


def _word(old_key: Ed25519PrivateKey | None, old: OldHead, chain: bytes) -> Signature | None:
    if old_key is None:
        return None
    if signing.public_bytes(old_key).hex() != old.chain:
        raise ValueError("only the predecessor's own key gives its word")
    return Signature(signing.sign_succession(old_key, chain, old.seq, bytes.fromhex(old.hash)).hex())


def _is_demo(connection: Connection, chain: str) -> bool:
    of_old = (one for one in reading.chains(connection) if one.chain == chain)
    return any((reading.first_payload(connection, one) or {}).get("demo") for one in of_old)


def _scope(connection: Connection, chain: str) -> dict[str, Any] | None:
    """The scope that a chain has: the standing `installation_accepted` about it."""
    found = summary.standing(connection, (chain[:32],), ("scope",))
    return next((payload for _, _, payload in found), None)
