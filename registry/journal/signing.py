"""Ed25519 signatures of an installation's key (RFC 8032), each over a text that says what it is for."""

from hashlib import sha256

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

# A signature made for one purpose must never be taken for another, hence a tag in front of each.
HEAD_TAG = b"thermometer-registry/head/1\x00"
SUCCESSION_TAG = b"thermometer-registry/succession/1\x00"


def new_key() -> Ed25519PrivateKey:
    """A fresh private key from the system's random source."""
    return Ed25519PrivateKey.generate()


def public_bytes(private_key: Ed25519PrivateKey) -> bytes:
    """The 32 bytes of the public key, which name the chain."""
    return private_key.public_key().public_bytes_raw()


def fingerprint(public_key: bytes) -> bytes:
    """The first 16 bytes of SHA-256 of the public key, as certificates show it."""
    return sha256(public_key).digest()[:16]


def sign_head(private_key: Ed25519PrivateKey, chain: bytes, seq: int, hash: bytes) -> bytes:
    """The signature beside entry `seq`, whose hash is `hash`: it vouches for all entries up to it."""
    if public_bytes(private_key) != chain:
        raise ValueError("a chain is signed by its own key only")
    return private_key.sign(_message(HEAD_TAG, chain, seq, hash))


def head_holds(chain: bytes, seq: int, hash: bytes, signature: bytes) -> bool:
    """Whether the key that `chain` is has signed entry `seq` with this hash."""
    return _holds(chain, signature, HEAD_TAG, chain, seq, hash)


def sign_succession(old_key: Ed25519PrivateKey, new_chain: bytes, old_seq: int, old_hash: bytes) -> bytes:
    """The old key's word that `new_chain` carries on after its own entry `old_seq`."""
    return old_key.sign(_message(SUCCESSION_TAG, new_chain, old_seq, old_hash))


def succession_holds(old_chain: bytes, new_chain: bytes, old_seq: int, old_hash: bytes, signature: bytes) -> bool:
    """Whether the key that `old_chain` is has named `new_chain` its successor after entry `old_seq`."""
    return _holds(old_chain, signature, SUCCESSION_TAG, new_chain, old_seq, old_hash)


def _message(tag: bytes, chain: bytes, seq: int, hash: bytes) -> bytes:
    # Parts of another length could be shifted against one another and so sign something else.
    if len(chain) != 32 or len(hash) != 32:
        raise ValueError("keys and hashes have 32 bytes")
    return tag + chain + seq.to_bytes(8, "big") + hash


def _holds(key: bytes, signature: bytes, tag: bytes, chain: bytes, seq: int, hash: bytes) -> bool:
    try:
        Ed25519PublicKey.from_public_bytes(key).verify(signature, _message(tag, chain, seq, hash))
    except (InvalidSignature, ValueError, TypeError, OverflowError):  # damaged bytes, not our mistake
        return False
    return True
