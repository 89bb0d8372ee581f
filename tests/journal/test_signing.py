"""Signatures against RFC 8032, and that one made for one purpose is good for no other."""

from hashlib import sha256

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from registry.journal import signing
from tests.journal.vectors import (
    CHAIN,
    KEY,
    OTHER_CHAIN,
    OTHER_KEY,
    RFC_8032,
    SECOND_HASH,
    SECOND_SIGNATURE,
)

HASH = bytes.fromhex(SECOND_HASH)
SIGNATURE = bytes.fromhex(SECOND_SIGNATURE)


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_the_library_makes_the_signatures_of_the_rfc(secret: str, public: str, message: str, signature: str) -> None:
    # RFC 8032 section 7.1, tests 1 to 3.
    key = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret))
    assert signing.public_bytes(key).hex() == public
    assert key.sign(bytes.fromhex(message)).hex() == signature


def test_the_vector() -> None:
    assert signing.sign_head(KEY, CHAIN, 1, HASH) == SIGNATURE
    assert signing.head_holds(CHAIN, 1, HASH, SIGNATURE)


def test_a_head_is_signed_over_its_tag_and_fixed_parts() -> None:
    message = b"thermometer-registry/head/1\x00" + CHAIN + (1).to_bytes(8, "big") + HASH
    KEY.public_key().verify(SIGNATURE, message)  # raises where it does not hold
    assert KEY.sign(message) == SIGNATURE


def flipped(part: bytes, bit: int) -> bytes:
    return bytes([part[0] ^ bit, *part[1:]])


def test_nothing_in_a_head_can_be_changed() -> None:
    assert not signing.head_holds(OTHER_CHAIN, 1, HASH, SIGNATURE)
    assert not signing.head_holds(CHAIN, 2, HASH, SIGNATURE)
    for at in range(8):
        assert not signing.head_holds(CHAIN, 1, flipped(HASH, 1 << at), SIGNATURE)
        assert not signing.head_holds(CHAIN, 1, HASH, flipped(SIGNATURE, 1 << at))


@pytest.mark.parametrize(
    ("chain", "seq", "hash", "signature"),
    [
        (CHAIN[:31], 1, HASH, SIGNATURE),
        (b"", 1, HASH, SIGNATURE),
        (CHAIN, -1, HASH, SIGNATURE),
        (CHAIN, 1 << 64, HASH, SIGNATURE),
        (CHAIN, 1, HASH + b"x", SIGNATURE),
        (CHAIN, 1, HASH, SIGNATURE[:63]),
        (CHAIN, 1, HASH, b""),
        (CHAIN, 1, HASH, "text"),
    ],
)
def test_damaged_bytes_do_not_hold_and_do_not_crash(chain: bytes, seq: int, hash: bytes, signature: bytes) -> None:
    assert not signing.head_holds(chain, seq, hash, signature)


def test_a_chain_is_signed_by_its_own_key() -> None:
    with pytest.raises(ValueError, match="own key"):
        signing.sign_head(OTHER_KEY, CHAIN, 1, HASH)


def test_a_succession_is_the_old_keys_word_and_no_head() -> None:
    word = signing.sign_succession(KEY, OTHER_CHAIN, 1, HASH)
    message = b"thermometer-registry/succession/1\x00" + OTHER_CHAIN + (1).to_bytes(8, "big") + HASH
    assert word == KEY.sign(message)
    assert signing.succession_holds(CHAIN, OTHER_CHAIN, 1, HASH, word)
    assert not signing.succession_holds(OTHER_CHAIN, OTHER_CHAIN, 1, HASH, word)
    assert not signing.succession_holds(CHAIN, CHAIN, 1, HASH, word)
    assert not signing.succession_holds(CHAIN, OTHER_CHAIN, 2, HASH, word)
    assert not signing.head_holds(CHAIN, 1, HASH, signing.sign_succession(KEY, CHAIN, 1, HASH))


def test_keys_are_new_each_time_and_have_a_short_name() -> None:
    first, second = signing.public_bytes(signing.new_key()), signing.public_bytes(signing.new_key())
    assert first != second
    assert signing.fingerprint(CHAIN) == sha256(CHAIN).digest()[:16]
    assert len(signing.fingerprint(CHAIN)) == 16
