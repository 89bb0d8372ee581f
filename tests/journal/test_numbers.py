"""Check characters against published examples; numbers and tag ids."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.journal import numbers
from tests.journal.vectors import CHAIN

CODES = st.text(st.sampled_from(numbers.CODE_LETTERS), min_size=4, max_size=4)


@pytest.mark.parametrize(
    ("body", "check"),
    [
        # Global Release Identifier standard, the worked example of its check character (ISO/IEC 7064
        # MOD 37,36); also in the documentation of the library python-stdnum.
        ("A12425GABC1234002", "M"),
        # The project's own numbers, settled beforehand.
        ("LM004135", "2"),
        ("LM214", "L"),
        ("KQBH0001", "1"),
    ],
)
def test_check_character(body: str, check: str) -> None:
    assert numbers.check_character(body) == check
    assert numbers.has_valid_check(body + check)


@given(st.text(st.sampled_from(numbers.ALPHABET), min_size=1, max_size=12), st.data())
def test_one_wrong_character_never_passes(body: str, data: st.DataObject) -> None:
    # What ISO/IEC 7064 promises of every system in it: all single substitutions are found.
    whole = body + numbers.check_character(body)
    at = data.draw(st.integers(0, len(whole) - 1))
    other = data.draw(st.sampled_from(numbers.ALPHABET.replace(whole[at], "")))
    assert not numbers.has_valid_check(whole[:at] + other + whole[at + 1 :])


@pytest.mark.parametrize("text", ["", "L", "LM214", "lm214l", "LM-214L", "LM214Ł"])
def test_no_valid_check(text: str) -> None:
    assert not numbers.has_valid_check(text)


def test_the_vector() -> None:
    code = numbers.installation_code(CHAIN)
    assert code == "KQBH"
    assert numbers.entry_number(code, 1) == "KQBH00011"


@given(CODES, st.integers(0, 2**53 - 1))
def test_a_number_reads_back(code: str, seq: int) -> None:
    assert numbers.read_entry_number(numbers.entry_number(code, seq)) == (code, seq)


@given(st.binary(min_size=32, max_size=32))
def test_a_code_has_four_letters_that_are_no_digits_in_disguise(key: bytes) -> None:
    code = numbers.installation_code(key)
    assert len(code) == 4
    assert set(code) <= set("ABCDEFGHJKLMNPQRSTUVWXYZ")


def with_check(body: str) -> str:
    return body + numbers.check_character(body)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "KQBH00012",
        with_check("KQBH001"),
        with_check("KQBH00001"),  # 0001 is the only spelling of 1
        with_check("KQBI0001"),
        with_check("KQB0001"),
        with_check("KQBHX0001"),
        "KQBH000１1",
    ],
)
def test_what_is_no_number(text: str) -> None:
    assert numbers.read_entry_number(text) is None


def test_a_number_is_read_as_people_write_it() -> None:
    assert numbers.read_entry_number(" kqbh 0001 1 ") == ("KQBH", 1)


@pytest.mark.parametrize(("code", "seq"), [("KQB", 1), ("KQBI", 1), ("kqbh", 1), ("KQBH", -1), ("KQBH5", 1)])
def test_no_number_is_made_of_anything_else(code: str, seq: int) -> None:
    with pytest.raises(ValueError):
        numbers.entry_number(code, seq)


def test_tag_ids_that_are_given() -> None:
    assert numbers.tag_id_given("LM", 214) == "LM214L"
    assert numbers.tag_id_given("LM", 7)[:5] == "LM007"
    assert numbers.tag_id_given("LM", 12345)[:7] == "LM12345"
    for n in (0, 7, 214, 12345, 999_999_999):
        tag_id = numbers.tag_id_given("AB", n)
        assert numbers.valid_tag_id(tag_id)
        assert numbers.has_valid_check(tag_id)


@pytest.mark.parametrize(
    ("letters", "n"), [("L", 1), ("LMN", 1), ("L1", 1), ("LM", -1), ("LM", 10**9), ("lm", 1), ("Ñ", 1)]
)
def test_no_tag_id_is_given_from_anything_else(letters: str, n: int) -> None:
    with pytest.raises(ValueError):
        numbers.tag_id_given(letters, n)


@pytest.mark.parametrize(
    ("typed", "valid"),
    [
        ("lm 214 l", True),
        ("A1", True),
        ("A", False),
        ("ABCDEF123456", True),
        ("ABCDEF1234567", False),
        ("1A", False),
        ("A-1", False),
        ("", False),
        ("Aß", False),
        ("Aı", False),
        ("A１", False),
    ],
)
def test_tag_ids_as_typed(typed: str, valid: bool) -> None:
    assert numbers.valid_tag_id(numbers.normal_tag_id(typed)) is valid


def test_a_tag_id_is_kept_without_blanks_and_in_capitals() -> None:
    assert numbers.normal_tag_id(" lm\t214\u00a0l\n") == "LM214L"
    assert not numbers.valid_tag_id("LM214L\n")
