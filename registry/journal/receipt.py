"""The receipt in the square code on paper: 108 bytes that prove one entry, as Base45 (RFC 9285)."""

import struct
from dataclasses import dataclass
from hashlib import sha256

import base45

from registry.journal.signing import head_holds
from registry.journal.text import EntryError

_LAYOUT = struct.Struct(">8sI32s64s")


@dataclass(frozen=True, slots=True)
class Receipt:
    """What paper says of one entry."""

    key_start: bytes  # first 8 bytes of SHA-256 of the public key, to find the key by
    seq: int
    hash: bytes
    signature: bytes

    def holds(self, chain: bytes) -> bool:
        """Whether the key that `chain` is wrote this entry; anchors everything before it too."""
        return _key_start(chain) == self.key_start and head_holds(chain, self.seq, self.hash, self.signature)


def receipt_text(chain: bytes, seq: int, hash: bytes, signature: bytes) -> str:
    """The 162 characters of the receipt of entry `seq` of `chain`."""
    if (len(chain), len(hash), len(signature)) != (32, 32, 64) or not 0 <= seq < 1 << 32:
        raise ValueError("a receipt holds a key and a hash of 32 bytes, a signature of 64 and a seq of four")
    return str(base45.b45encode(_LAYOUT.pack(_key_start(chain), seq, hash, signature)), "ascii")


def read_receipt(text: str) -> Receipt:
    """The receipt that `text` spells, whether or not it holds; EntryError if it is none."""
    try:
        packed = base45.b45decode(text)
    except ValueError:
        raise EntryError("not_a_receipt") from None
    # Encoding again refuses a line end, which the decoder lets pass.
    if len(packed) != _LAYOUT.size or base45.b45encode(packed).decode("ascii") != text:
        raise EntryError("not_a_receipt")
    return Receipt(*_LAYOUT.unpack(packed))


def _key_start(chain: bytes) -> bytes:
    return sha256(chain).digest()[:8]
