"""Numbers that people quote and ids on tags, with the check character of ISO/IEC 7064 MOD 37,36."""

import re
from hashlib import sha256

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
CODE_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # no I and no O, which read as 1 and 0

_ENTRY_NUMBER = re.compile(f"([{CODE_LETTERS}]{{4}})([0-9]{{4,}})[0-9A-Z]")


def check_character(text: str) -> str:
    """The character to append to `text` (0-9 and A-Z only).

    Source: ISO/IEC 7064:2003, hybrid system MOD 37,36.

    >>> check_character("LM214")
    'L'
    """
    product = 36
    for character in text:
        product = (product + ALPHABET.index(character)) % 36 or 36
        product = product * 2 % 37
    return ALPHABET[(1 - product) % 36]


def has_valid_check(text: str) -> bool:
    """Whether the last character of `text` is the check character of those before it."""
    return len(text) > 1 and set(text) <= set(ALPHABET) and check_character(text[:-1]) == text[-1]


def installation_code(public_key: bytes) -> str:
    """Four letters off the key: with them a number is one installation's own without anybody choosing."""
    return "".join(CODE_LETTERS[byte % 24] for byte in sha256(public_key).digest()[:4])


def entry_number(code: str, seq: int) -> str:
    """The number under which people quote entry `seq` of the installation with this code.

    >>> entry_number("KQBH", 1)
    'KQBH00011'
    """
    if seq < 0 or not re.fullmatch(f"[{CODE_LETTERS}]{{4}}", code):
        raise ValueError("four code letters and a seq from 0 make an entry number")
    body = f"{code}{seq:04d}"
    return body + check_character(body)


def read_entry_number(text: str) -> tuple[str, int] | None:
    """Code and seq of a number as typed, None if it is not one (other digits, wrong check character).

    >>> read_entry_number("kqbh 00011")
    ('KQBH', 1)
    """
    match = _ENTRY_NUMBER.fullmatch(normal_tag_id(text))
    if match is None or not has_valid_check(match[0]):
        return None
    code, seq = match[1], int(match[2])
    return (code, seq) if entry_number(code, seq) == match[0] else None


def tag_id_given(site_letters: str, n: int) -> str:
    """The n-th tag id that the program gives at a site: two letters, three digits or more, check character.

    >>> tag_id_given("LM", 214)
    'LM214L'
    """
    if not 0 <= n < 10**9 or not re.fullmatch("[A-Z]{2}", site_letters):
        raise ValueError("two letters and a number from 0 of up to nine digits make a tag id")
    body = f"{site_letters}{n:03d}"
    return body + check_character(body)


def normal_tag_id(text: str) -> str:
    """`text` without blanks and in capitals, as a tag id is kept; anything but ASCII stays as it was."""
    # "ß".upper() is "SS": other letters must not turn into a valid id.
    text = "".join(text.split())
    return text.upper() if text.isascii() else text


def valid_tag_id(text: str) -> bool:
    """Whether `text`, already normal, can be a tag id: 2 to 12 of A-Z and 0-9, the first a letter."""
    return re.fullmatch("[A-Z][A-Z0-9]{1,11}", text) is not None
