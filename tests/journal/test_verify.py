"""Walking over chains: what was done to one is found and named, and named once."""

from collections.abc import Callable

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st

from registry.journal import verify
from registry.journal.entry import Entry, make
from registry.journal.signing import public_bytes, sign_head
from registry.journal.verify import Head, Row, walk
from tests.journal.vectors import CHAIN, KEY, OTHER_CHAIN, OTHER_KEY

LENGTH = 12


def entry(chain: bytes, seq: int, prev: str, note: str = "") -> Entry:
    payload = {"note": note or f"entry {seq}"}
    return make(
        at=1772548200000000 + seq,
        by="system",
        chain=chain.hex(),
        kind="noted",
        kv=1,
        payload=payload,
        prev=prev,
        seq=seq,
    )


def chain_of(key: Ed25519PrivateKey, length: int, signed: Callable[[int], bool] = lambda seq: True) -> list[Row]:
    """Rows of a sound chain, with a head signature beside those entries that `signed` picks."""
    chain, prev, rows = public_bytes(key), "0" * 64, list[Row]()
    for seq in range(length):
        made = entry(chain, seq, prev)
        signature = sign_head(key, chain, seq, made.hash) if signed(seq) else None
        rows.append((chain, seq, made.text, made.hash, signature))
        prev = made.hash.hex()
    return rows


SOUND = chain_of(KEY, LENGTH, lambda seq: seq % 3 == 2)
OTHER = chain_of(OTHER_KEY, 4)


def found(rows: list[Row], *, deep: bool = False) -> list[tuple[str, int]]:
    report = walk(rows, deep=deep)
    assert report.found == len(report.findings)
    assert report.good is (report.found == 0)
    assert report.entries == len(rows)
    return [(finding.code, finding.seq) for finding in report.findings]


def changed(
    rows: list[Row],
    at: int,
    *,
    seq: int | None = None,
    text: bytes | None = None,
    hash: bytes | None = None,
    signature: bytes | None = None,
) -> list[Row]:
    """`rows` with some columns of one row replaced."""
    was = rows[at]
    now = (
        was[0],
        was[1] if seq is None else seq,
        was[2] if text is None else text,
        was[3] if hash is None else hash,
        was[4] if signature is None else signature,
    )
    return [*rows[:at], now, *rows[at + 1 :]]


@pytest.mark.parametrize("deep", [False, True])
def test_sound_chains_have_nothing_to_find(deep: bool) -> None:
    report = walk(SOUND + OTHER, deep=deep)
    assert report.good
    assert report.findings == []
    assert report.entries == LENGTH + 4
    assert report.heads == [Head(CHAIN, LENGTH - 1, SOUND[-1][3]), Head(OTHER_CHAIN, 3, OTHER[-1][3])]


def test_no_rows_are_no_damage() -> None:
    assert walk([]).good
    assert walk([]).entries == 0
    assert walk([]).heads == []


@pytest.mark.parametrize("deep", [False, True])
@pytest.mark.parametrize("at", range(LENGTH))
def test_a_changed_text_is_named_once(at: int, deep: bool) -> None:
    text = SOUND[at][2].replace(b'"note":"entry', b'"note":"fable')
    assert found(changed(SOUND, at, text=text), deep=deep) == [("text_changed", at)]


@pytest.mark.parametrize("at", range(LENGTH - 1))
def test_a_text_changed_with_its_hash_breaks_the_next_link(at: int) -> None:
    forged = entry(CHAIN, at, SOUND[at - 1][3].hex() if at else "0" * 64, "forged")
    rows = changed(SOUND, at, text=forged.text, hash=forged.hash)
    assert found(rows) == [("link_broken", at + 1)]


def test_a_last_text_changed_with_its_hash_breaks_the_signature() -> None:
    at = LENGTH - 1
    forged = entry(CHAIN, at, SOUND[at - 1][3].hex(), "forged")
    assert found(changed(SOUND, at, text=forged.text, hash=forged.hash)) == [("signature_bad", at)]


@pytest.mark.parametrize("at", range(LENGTH))
def test_a_changed_hash_column_is_named_once(at: int) -> None:
    assert found(changed(SOUND, at, hash=bytes(32))) == [("text_changed", at)]
    assert found(changed(SOUND, at, hash=b"")) == [("text_changed", at)]


@pytest.mark.parametrize("at", range(LENGTH - 1))
def test_a_removed_entry_is_missing(at: int) -> None:
    assert found(SOUND[:at] + SOUND[at + 1 :]) == [("missing", at)]


def test_a_gap_says_how_far_it_goes() -> None:
    (finding,) = walk(SOUND[:3] + SOUND[6:]).findings
    assert (finding.code, finding.chain, finding.seq, finding.detail) == ("missing", CHAIN, 3, {"until": 5})


def test_a_removed_entry_cannot_be_hidden_by_counting_anew() -> None:
    rows = SOUND[:5] + [(row[0], row[1] - 1, *row[2:]) for row in SOUND[6:]]
    codes = found(rows)
    assert codes[:6] == [("seq_differs", seq) for seq in range(5, 11)]
    assert codes[6:] == [("signature_bad", 10)]


def test_swapped_entries_are_named() -> None:
    first, second = SOUND[4], SOUND[5]
    swapped: list[Row] = [(CHAIN, 4, *second[2:]), (CHAIN, 5, *first[2:])]
    codes = found(SOUND[:4] + swapped + SOUND[6:])
    assert codes == [("seq_differs", 4), ("seq_differs", 5), ("link_broken", 6)]


def test_an_inserted_entry_is_named() -> None:
    inserted = entry(CHAIN, 5, SOUND[4][3].hex(), "inserted")
    rows: list[Row] = [*SOUND[:6], (CHAIN, 5, inserted.text, inserted.hash, None), *SOUND[6:]]
    assert found(rows) == [("repeated", 5)]
    # The true branch going on after the other one is no further damage.
    assert found([*SOUND[:5], rows[6], SOUND[5], *SOUND[6:]]) == [("repeated", 5)]


def test_a_number_left_out_is_missing_even_where_the_links_hold() -> None:
    # Only who has the key can sign this; a number must not be given to nothing all the same.
    skipping = entry(CHAIN, 5, SOUND[3][3].hex())
    row = (CHAIN, 5, skipping.text, skipping.hash, sign_head(KEY, CHAIN, 5, skipping.hash))
    assert found([*SOUND[:4], row]) == [("missing", 4)]


def test_an_entry_out_of_order_is_named_and_the_others_are_not() -> None:
    assert found([*SOUND[:6], SOUND[3], *SOUND[6:]]) == [("repeated", 3)]


def test_a_cut_chain_is_seen_where_its_end_is_unsigned() -> None:
    report = walk(SOUND[:-1])
    (finding,) = report.findings
    assert (finding.code, finding.seq, finding.detail) == ("end_unsigned", 10, {"signed": 8})


def test_a_chain_cut_after_a_signature_shows_only_in_its_head() -> None:
    # Nothing inside can tell; the head is there to be compared with what is known outside.
    report = walk(SOUND[:9])
    assert report.good
    assert report.heads == [Head(CHAIN, 8, SOUND[8][3])]


def test_a_chain_without_any_signature() -> None:
    report = walk([(*row[:4], None) for row in SOUND])
    assert [(one.code, one.detail) for one in report.findings] == [("end_unsigned", {"signed": -1})]


@pytest.mark.parametrize("signature", [bytes(64), b"", b"x" * 63, SOUND[8][4]])
def test_a_bad_signature_at_the_end(signature: bytes) -> None:
    rows = changed(SOUND, LENGTH - 1, signature=signature)
    assert found(rows) == [("signature_bad", 11)]
    assert found(rows, deep=True) == [("signature_bad", 11)]


def test_a_bad_signature_inside_is_found_by_the_deep_walk() -> None:
    rows = changed(SOUND, 5, signature=bytes(64))
    assert found(rows) == []
    assert found(rows, deep=True) == [("signature_bad", 5)]


def test_a_chain_signed_by_another_key() -> None:
    signature = OTHER_KEY.sign(b"anything")
    assert found(changed(SOUND, LENGTH - 1, signature=signature)) == [("signature_bad", 11)]


def test_entries_of_another_chain_are_not_this_ones() -> None:
    # All of a sound chain, under another chain's key: the last signature gives it away, the deep walk
    # names each entry.
    rows: list[Row] = [(OTHER_CHAIN, *row[1:]) for row in SOUND]
    assert found(rows) == [("signature_bad", 11)]
    named = [one for one in found(rows, deep=True) if one[0] == "chain_differs"]
    assert named == [("chain_differs", seq) for seq in range(LENGTH)]


def test_only_the_key_can_write_text_that_is_no_entry_and_the_deep_walk_finds_it() -> None:
    text = SOUND[-1][2].replace(b'"at":', b'"at": ')
    hash = verify.text_hash(text)
    rows = changed(SOUND, 11, text=text, hash=hash, signature=sign_head(KEY, CHAIN, 11, hash))
    assert found(rows) == []
    report = walk(rows, deep=True)
    assert [(one.code, one.detail) for one in report.findings] == [("text_refused", {"reason": "not_canonical"})]


@pytest.mark.parametrize(
    ("ending", "code"),
    [
        (b"}", "not_an_entry"),
        (b'"seq":11,"v":1}', "not_an_entry"),
        (b'"prev":"%b","seq":011,"v":1}' % SOUND[10][3].hex().encode(), "not_an_entry"),
        (b'"prev":"%b","seq":11,"v":1}\n' % SOUND[10][3].hex().encode(), "not_an_entry"),
        (b'"prev":"%b","seq":11,"v":2}' % SOUND[10][3].hex().encode(), "needs_a_newer_program"),
        (b'"prev":"%b","seq":12,"v":1}' % SOUND[10][3].hex().encode(), "seq_differs"),
        (b'"prev":"%b","seq":11,"v":1}' % SOUND[9][3].hex().encode(), "link_broken"),
    ],
)
def test_every_wrong_ending_has_its_name(ending: bytes, code: str) -> None:
    text = b'{"after":[],' + ending
    hash = verify.text_hash(text)
    rows = changed(SOUND, 11, text=text, hash=hash, signature=sign_head(KEY, CHAIN, 11, hash))
    assert found(rows) == [(code, 11)]


@pytest.mark.parametrize(("column", "value"), [(1, "5"), (1, None), (2, "text"), (2, None), (3, None)])
def test_a_column_of_another_type_is_a_finding_and_no_crash(column: int, value: object) -> None:
    row = list(SOUND[5])
    row[column] = value
    rows = [*SOUND[:5], tuple(row), *SOUND[6:]]
    assert found(rows) == [("row_malformed", 5), ("missing", 5)]  # type: ignore[arg-type]


def test_a_chain_column_of_another_kind_is_a_finding_and_no_crash() -> None:
    for chain in (b"", b"x" * 31, b"\xff" * 32):
        assert ("signature_bad", 3) in found([(chain, *row[1:]) for row in OTHER])


@given(st.data())
def test_any_one_changed_byte_is_found(data: st.DataObject) -> None:
    at = data.draw(st.integers(0, LENGTH - 1))
    column = data.draw(st.sampled_from([2, 3]))
    part = bytearray(SOUND[at][column])  # type: ignore[arg-type]
    where = data.draw(st.integers(0, len(part) - 1))
    part[where] ^= data.draw(st.integers(1, 255))
    rows = changed(SOUND, at, text=bytes(part)) if column == 2 else changed(SOUND, at, hash=bytes(part))
    assert ("text_changed", at) in found(rows)


def test_progress_is_told_and_can_stop() -> None:
    told: list[int] = []
    assert walk(SOUND, progress=lambda done: told.append(done) is None, every=5).good
    assert told == [0, 5, 10]
    report = walk(SOUND, progress=lambda done: done < 5, every=5)
    assert not report.finished
    assert not report.good
    assert report.found == 0
    assert report.entries == 5


def test_many_findings_are_counted_and_the_first_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(verify, "KEPT", 3)
    report = walk([(*row[:3], bytes(32), row[4]) for row in SOUND])
    assert report.found == LENGTH
    assert [finding.seq for finding in report.findings] == [0, 1, 2]
