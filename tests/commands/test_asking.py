"""What is due, by command."""

from tests.commands.desk import Kitchen


def point_of(kitchen: Kitchen, tag: str) -> str:
    """The column *Point* of a row of the due list."""
    lines = kitchen.done("due").splitlines()
    head = next(line for line in lines if line.startswith("Tag"))
    row = next(line for line in lines if line.startswith(tag))
    return row[head.index("Point") : head.index("Why")].strip()


def test_a_point_says_what_is_meant(kitchen: Kitchen) -> None:
    """Overdue by its hot point; due in this shift at whatever point; where it was outside, there."""
    tag = kitchen.tags[3]
    assert point_of(kitchen, tag) == "Boiling, or compared hot"
    due = [line for line in kitchen.done("due").splitlines() if line.startswith(tag)]
    assert [("Any point" in line, " any " in line) for line in due] == [(False, False), (True, False)]
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    for _ in range(3):
        kitchen("read", tag, "1.6")
    kitchen.done("bath", "judge", "accepted")
    assert "Where it was outside" in kitchen.done("due")
