"""What is due, by command."""

from pathlib import Path

import pytest

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


def imported(kitchen: Kitchen, file: Path, *rows: str) -> str:
    """The tag of a thermometer whose checks came from a file."""
    tag = kitchen.tags[3]
    file.write_text("\n".join(["tag,date,point,reading,unit,reference,outcome,initials", *rows]).replace("TAG", tag))
    kitchen.done("import", "history", str(file), "--yes-to", "outcome_against")
    return tag


def test_was_says_of_an_imported_check_only_what_is_known_of_it(kitchen: Kitchen, tmp_path: Path) -> None:
    rows = ("TAG,2026-02-01,ice,1.2,C,,pass,AR", "TAG,2026-02-20,boil,98.5,C,,pass,AR")
    tag = imported(kitchen, tmp_path / "old.csv", *rows)
    out = kitchen.done("was", tag, "2026-02-25", "08:00")
    assert "offset +1.2\N{NO-BREAK SPACE}°C, no limits known. Pass at the ice point, as its source says" in out
    assert "no offset known, no limits known. Pass at the boiling point, as its source says" in out
    assert "Whether it was adjusted is not recorded." in out
    assert "Not adjusted" not in out
    assert ", ." not in out
    assert "by ." not in out


def test_was_says_of_an_own_check_that_nothing_was_adjusted(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    kitchen.done("read", tag, "0.2")
    kitchen.done("bath", "judge", "accepted")
    kitchen.clock.set("2026-03-03 09:00")
    out = kitchen.done("was", tag, "2026-03-03", "08:00")
    assert "Pass at the ice point, by " in out
    assert "Not adjusted." in out


def test_initials_from_an_import_are_nobody_who_may_work(
    kitchen: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (lead,) = [one for one in kitchen.json("person", "list")["people"] if one["initials"] == "LG"]
    kitchen.done("person", "left", lead["initials"])
    imported(kitchen, tmp_path / "old.csv", "TAG,2026-02-01,ice,0.2,C,,,ZZ")
    monkeypatch.delenv("THERMOMETER_REGISTRY_AS")
    kitchen.done("station", "add", "Bar")


def test_a_time_alone_means_today(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    today = kitchen.json("was", tag, "2026-03-03", "04:00")
    assert kitchen.json("was", tag, "04:00") == today
    refused = kitchen("was", tag, "2026-03-03")
    assert refused.code != 0
    assert "2026-03-03" in refused.err
