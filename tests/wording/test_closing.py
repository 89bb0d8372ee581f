"""What is said of a list that is open or closed: every reason, one or several, another day."""

import pytest

from registry.wording import closing

DAY_US = 86_400_000_000
AT = 1_772_534_460_000_000  # 3 March 2026, 10:41 UTC: 05:41 in New York
ZONE = "America/New_York"


def test_several_are_named_in_one_sentence_the_gravest_reason_first() -> None:
    found = [("A1", "", "left_unread"), ("B2", "Grill", "failed"), ("C3", "", "failed"), ("D4", "", "left_outside")]
    assert closing.left_failed(found, "en") == [
        "Adjust or do not use: B2 (Grill), C3. They failed and were neither adjusted nor taken out of use.",
        "Adjust again or do not use: D4. It was adjusted, and its reading as left is outside.",
        "Read again or do not use: A1. It failed, was adjusted, and has not been read since.",
    ]
    assert closing.failed_so_far(found, "es") == [
        "Ajustar o no usar: B2 (Grill), C3.",
        "Ajustar otra vez o no usar: D4.",
        "Leer otra vez o no usar: A1.",
    ]


def test_nobody_failed_nothing_is_said() -> None:
    assert closing.left_failed([], "en") == closing.failed_so_far([], "en") == []


@pytest.mark.parametrize(
    ("days", "again", "initials", "said"),
    [
        (0, False, "MK", "This shift was closed at 05:41 by MK already."),
        (1, False, "", "This shift was closed at 3\u00a0March 2026, 05:41 already."),
        (0, True, "MK", "This shift was closed at 05:41 by MK already. What has changed since is recorded now."),
    ],
)
def test_when_and_by_whom_it_was_closed(days: int, again: bool, initials: str, said: str) -> None:
    now = AT + 60_000_000 + days * DAY_US
    assert closing.closed_already(AT, initials, again, now, "en", "en_GB", ZONE) == said
