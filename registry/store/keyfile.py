"""The installation's private key, and beside it the marker of how far its chain had got, on which computer.

The key is in no backup and no bundle. The marker shows when a database is older than the chain that this key
has signed, or lies on another computer: going on would give one sequence number to two entries.
"""

import os
import platform
import re
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import Literal, Self

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from registry.journal.text import EntryError, decode, encode
from registry.store.errors import KnownError, known_errors
from registry.store.slots import SlotFile, sync_folder

MACHINE_TAG = b"thermometer-registry/machine/1\x00"
_MARKER_SLOT = 4096  # a sector of its own for each slot, so that no write spoils both
_MARKER_VERSION = 1

Standing = Literal["same", "ahead", "behind", "branched", "other_chain", "elsewhere", "unmarked"]


@dataclass(frozen=True, slots=True)
class KeyFile:
    """A private key as found on disk; `warning` says that others may read it."""

    path: Path
    private_key: Ed25519PrivateKey = field(repr=False)
    warning: Literal["key_open_to_others"] | None = None

    @classmethod
    def create(cls, path: Path, private_key: Ed25519PrivateKey) -> Self:
        """Write a new key file, durable when this returns; KnownError "key_exists" where one is."""
        with known_errors(path):
            try:
                descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
            except FileExistsError:
                raise KnownError("key_exists", path=str(path)) from None
            try:
                with open(descriptor, "wb") as file:
                    file.write(_pem(private_key))
                    file.flush()
                    os.fsync(descriptor)
                sync_folder(path.parent)
            except BaseException:
                path.unlink()  # half a key is none, and would stand in the way of the next try
                raise
        return cls(path, private_key)

    @classmethod
    def load(cls, path: Path) -> Self:
        """Read a key file; KnownError "key_missing" or "key_damaged"."""
        with known_errors(path):
            try:
                pem, mode = path.read_bytes(), path.stat().st_mode
            except FileNotFoundError:
                raise KnownError("key_missing", path=str(path)) from None
            except IsADirectoryError:
                raise KnownError("key_damaged", path=str(path)) from None
        try:
            key = serialization.load_pem_private_key(pem, password=None)
        except (ValueError, TypeError, UnsupportedAlgorithm):
            key = None
        if not isinstance(key, Ed25519PrivateKey):
            raise KnownError("key_damaged", path=str(path))
        return cls(path, key, "key_open_to_others" if mode & 0o077 else None)


@dataclass(frozen=True, slots=True)
class Marker:
    """The last entry that this key is known to have signed, and the computer on which it did."""

    machine: str
    chain: bytes
    seq: int  # -1 before entry 0
    hash: bytes

    def save(self, path: Path, *, sync: bool = False) -> None:
        """Keep the marker at `path`, after the commit that it tells of.

        Without `sync` a power cut may bring an earlier one back; that does no harm, as the database is then
        ahead of it. With `sync` it costs as much as the commit: for the first marker and at closing.
        """
        fields = {
            "chain": self.chain.hex(),
            "hash": self.hash.hex(),
            "machine": self.machine,
            "seq": self.seq,
            "v": _MARKER_VERSION,
        }
        with SlotFile.open(path, _MARKER_SLOT) as file:
            file.save(encode(fields), sync=sync)

    @classmethod
    def load(cls, path: Path) -> Self | None:
        """The marker at `path`; None where there is none or none can be read."""
        if not path.exists():
            return None
        try:
            with SlotFile.open(path, _MARKER_SLOT, read_only=True) as file:
                text = file.load()
        except KnownError as problem:
            if problem.code in ("not_ours", "wrong_place"):  # something else lies there
                return None
            raise
        try:
            fields = decode(text) if text is not None else {}
            if fields.get("v", 0) > _MARKER_VERSION:
                raise KnownError("newer_file", path=str(path))
            chain, hash = bytes.fromhex(fields["chain"]), bytes.fromhex(fields["hash"])
            return cls(fields["machine"], chain, fields["seq"], hash)
        except (EntryError, KeyError, TypeError, ValueError):
            return None


def marker_path(key_path: Path) -> Path:
    """Where the marker of the key at `key_path` lies."""
    return key_path.with_name(key_path.name + ".marker")


def may_have_signed(key_path: Path) -> bool:
    """Whether a key lies there that may have signed something: any but one whose marker says that it has not.

    Without that, a key made by a start that was cut off would stand in the way for ever.
    """
    if not key_path.exists():
        return False
    marker = Marker.load(marker_path(key_path))
    return marker is None or marker.seq >= 0


def compare(
    marker: Marker | None, machine: str, chain: bytes, seq: int, hash_at: Callable[[int], bytes | None]
) -> Standing:
    """How a database stands to the marker beside its key.

    `chain` and `seq` are of the database's own chain and its last entry (-1 where it has none), `hash_at`
    gives the hash of one of its entries. The marker may lag: a database ahead of it by any amount is good,
    as long as it holds the marker's entry. See `may_write`.
    """
    if marker is None:
        return "unmarked"
    if marker.machine != machine:
        return "elsewhere"
    if marker.chain != chain:
        return "other_chain"
    if seq < marker.seq:
        return "behind"
    if marker.seq >= 0 and hash_at(marker.seq) != marker.hash:
        return "branched"
    return "same" if seq == marker.seq else "ahead"


def may_write(standing: Standing) -> bool:
    """Whether the chain may go on; otherwise it opens read-only until a person says what happened."""
    return standing in ("same", "ahead")


def machine_id(source: Path = Path("/etc/machine-id")) -> str:
    """What stands for this computer in a marker: a hash, as machine-id(5) forbids to show the id itself.

    Where there is no such id, of the network card's address, or of the host's name where that has none.
    """
    try:
        raw = source.read_text(encoding="ascii").strip()
    except (OSError, ValueError):
        raw = ""
    if not re.fullmatch("[0-9a-f]{32}", raw):
        raw = _other_id(uuid.getnode())
    return sha256(MACHINE_TAG + raw.encode()).hexdigest()


def _other_id(node: int) -> str:
    # With the multicast bit set the number is made up at each start (RFC 9562 section 6.10).
    return platform.node() if node >> 40 & 1 else f"{node:012x}"


def _pem(private_key: Ed25519PrivateKey) -> bytes:
    return private_key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
