"""The receipt: the fixed vector, Base45 against RFC 9285, damage."""

from hashlib import sha256

import base45
import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.journal.receipt import Receipt, read_receipt, receipt_text
from registry.journal.signing import sign_head
from registry.journal.text import EntryError
from tests.journal.vectors import (
    CHAIN,
    KEY,
    OTHER_CHAIN,
    RECEIPT_SHA256,
    SECOND_HASH,
    SECOND_SIGNATURE,
)

HASH = bytes.fromhex(SECOND_HASH)
SIGNATURE = bytes.fromhex(SECOND_SIGNATURE)
TEXT = receipt_text(CHAIN, 1, HASH, SIGNATURE)


def test_the_vector() -> None:
    assert len(TEXT) == 162
    assert sha256(TEXT.encode()).hexdigest() == RECEIPT_SHA256
    assert read_receipt(TEXT) == Receipt(sha256(CHAIN).digest()[:8], 1, HASH, SIGNATURE)


@pytest.mark.parametrize(
    ("plain", "encoded"),
    # RFC 9285 sections 4.3 and 4.4.
    [(b"AB", "BB8"), (b"Hello!!", "%69 VD92EX0"), (b"base-45", "UJCLQE7W581"), (b"ietf!", "QED8WEX0")],
)
def test_the_library_writes_base45_as_the_rfc_does(plain: bytes, encoded: str) -> None:
    assert base45.b45encode(plain) == encoded.encode()
    assert base45.b45decode(encoded) == plain


def test_paper_alone_proves_the_entry() -> None:
    receipt = read_receipt(TEXT)
    assert receipt.holds(CHAIN)
    assert not receipt.holds(OTHER_CHAIN)
    assert not receipt.holds(b"short")


@given(st.integers(0, 2**32 - 1), st.binary(min_size=32, max_size=32))
def test_a_receipt_reads_back(seq: int, hash: bytes) -> None:
    receipt = read_receipt(receipt_text(CHAIN, seq, hash, sign_head(KEY, CHAIN, seq, hash)))
    assert (receipt.seq, receipt.hash) == (seq, hash)
    assert receipt.holds(CHAIN)


def test_any_changed_character_is_refused_or_does_not_hold() -> None:
    for at in range(len(TEXT)):
        changed = TEXT[:at] + ("0" if TEXT[at] != "0" else "1") + TEXT[at + 1 :]
        try:
            receipt = read_receipt(changed)
        except EntryError:
            continue
        assert not receipt.holds(CHAIN)


@pytest.mark.parametrize(
    "text", ["", TEXT[:-1], TEXT[:-3], TEXT + "000", TEXT + "\n", TEXT.lower(), "é" * 162, ":::" * 54]
)
def test_what_is_no_receipt(text: str) -> None:
    with pytest.raises(EntryError) as caught:
        read_receipt(text)
    assert caught.value.code == "not_a_receipt"


@pytest.mark.parametrize(
    ("chain", "seq", "hash", "signature"),
    [
        (CHAIN[:31], 1, HASH, SIGNATURE),
        (CHAIN, -1, HASH, SIGNATURE),
        (CHAIN, 1 << 32, HASH, SIGNATURE),
        (CHAIN, 1, HASH[:31], SIGNATURE),
        (CHAIN, 1, HASH, SIGNATURE[:63]),
    ],
)
def test_no_receipt_is_made_of_anything_else(chain: bytes, seq: int, hash: bytes, signature: bytes) -> None:
    with pytest.raises(ValueError):
        receipt_text(chain, seq, hash, signature)
