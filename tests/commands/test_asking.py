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


def adjusted_and_voided(kitchen: Kitchen, tag: str) -> str:
    """The number of a check that was adjusted for, and is void now."""
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    for _ in range(3):
        kitchen("read", tag, "3.0")
    kitchen.done("bath", "judge", "accepted")
    kitchen.done("adjust", tag, "--how", "reset", "--as-left", "0.0")
    number: str = kitchen.json("history", tag)["checks"][0]["number"]
    kitchen.done("void", number, "--why", "mistyped")
    kitchen.clock.set("2026-03-03 09:00")
    return number


def test_was_leaves_a_void_check_out_and_says_so(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    number = adjusted_and_voided(kitchen, tag)
    said = kitchen.json("was", tag, "2026-03-03", "08:00")
    (point,) = said["points"]
    assert (point["answer"], point["why"], point["before"], point["void"]) == (
        "not_known",
        "not_measured",
        None,
        [number],
    )
    out = kitchen.done("was", tag, "2026-03-03", "08:00")
    assert f"Check {number} is void and left out." in out
    assert "adjusted and not measured here" in out


def test_of_one_never_checked_was_says_why_it_is_not_known(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    kitchen.clock.set("2026-03-03 09:00")
    assert kitchen.json("was", tag, "2026-03-03", "08:00")["why"] == "never_checked"
    assert "No check of this thermometer is on record." in kitchen.done("was", tag, "2026-03-03", "08:00")
