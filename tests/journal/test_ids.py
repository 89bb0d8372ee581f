"""Ids against RFC 9562 and Python's own reader of UUIDs."""

import uuid
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.journal.ids import IdSource, is_id, new_id


def test_the_example_of_the_rfc() -> None:
    # RFC 9562 appendix A.6: 017F22E2-79B0-7CC3-98C4-DC0C0C07398F, of 22 February 2022, 14:22:22 UTC-5. Its
    # rand_a is random there and holds microseconds here, so those three digits are left out.
    instant = datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC)
    made = new_id(int(instant.timestamp()) * 1_000_000, lambda count: bytes.fromhex("18c4dc0c0c07398f"))
    assert made[:13] + made[16:] == "017f22e279b07" + "98c4dc0c0c07398f"


def test_the_fraction_of_a_millisecond() -> None:
    # RFC 9562 section 6.2, method 3: its example takes 0.4567 to 1870 (0x74E) by rounding down; a whole
    # microsecond less, 0.456, gives 1867.776, rounded down 0x74B.
    assert int(0.4567 * 4096) == 0x74E
    assert new_id(1_672_576_496_123_456, bytes)[13:16] == f"{int(0.456 * 4096):03x}" == "74b"


@given(st.integers(0, 2**48 * 1000 - 1), st.binary(min_size=8, max_size=8))
def test_pythons_reader_agrees(now_us: int, filling: bytes) -> None:
    made = new_id(now_us, lambda count: filling[:count])
    read = uuid.UUID(made)
    assert (read.version, read.variant) == (7, uuid.RFC_4122)
    assert read.hex == made
    assert read.int >> 80 == now_us // 1000
    assert is_id(made)


@given(st.integers(0, 2**47), st.integers(1, 5000))
def test_later_sorts_later(now_us: int, later: int) -> None:
    low, high = b"\x00" * 8, b"\xff" * 8
    assert new_id(now_us, lambda count: high) < new_id(now_us + later, lambda count: low)


@given(st.lists(st.integers(10**15, 10**15 + 3), min_size=2, max_size=30))
def test_ids_grow_whatever_the_clock_does(instants: list[int]) -> None:
    clock = iter(instants)
    source = IdSource(lambda: next(clock), lambda count: b"\x00" * count)
    made = [source.new() for _ in instants]
    assert made == sorted(set(made))


def test_ids_follow_the_clock_again() -> None:
    clock = iter([1000, 1000, 5_000_000])
    source = IdSource(lambda: next(clock), bytes)
    assert [int(source.new()[:12], 16) for _ in range(3)] == [1, 1, 5000]


@pytest.mark.parametrize("now_us", [-1, 2**48 * 1000])
def test_instants_outside_are_refused(now_us: int) -> None:
    with pytest.raises(ValueError, match="1970"):
        new_id(now_us, bytes)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "017F22E279B07CC398C4DC0C0C07398F",
        "017f22e279b04cc398c4dc0c0c07398f",  # version 4
        "017f22e279b07cc3c8c4dc0c0c07398f",  # another variant
        "017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
        "017f22e279b07cc398c4dc0c0c07398f\n",
    ],
)
def test_what_is_no_id(text: str) -> None:
    assert not is_id(text)
