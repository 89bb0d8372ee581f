"""`drift` without a tag: the ranking, groups and incidents, for people and for machines."""

import csv
from pathlib import Path

import pytest

from tests.commands.desk import Kitchen
from tests.commands.test_measuring import checked


def weeks(kitchen: Kitchen, first: list[str]) -> None:
    """Three digitals checked together, a week apart, the first as said."""
    for n, shown in enumerate(first):
        kitchen.clock.set(f"2026-03-{3 + 7 * n:02d} 06:10")
        checked(kitchen, shown, "0.1", "0.0")


def test_all_are_ranked_by_their_chance_to_be_out(kitchen: Kitchen) -> None:
    assert kitchen.done("drift").splitlines() == ["12 in use were not measured yet, so nothing is known of them."]
    weeks(kitchen, ["0.1", "0.4", "0.7"])
    lines = kitchen.done("drift", "--limit", "2").splitlines()
    assert lines[0].startswith("3 thermometers in use, by their chance to be out of tolerance by the end of")
    assert lines[0].endswith("2 shown.")
    assert lines[1].startswith("By these chances about ")
    assert lines[2].split()[:4] == ["Tag", "Place", "Type", "Model"]
    assert lines[3].split()[0] == kitchen.tags[3]
    assert len(lines) == 6
    assert lines[5] == "9 in use were not measured yet, so nothing is known of them."
    said = kitchen.json("drift")
    assert (said["by_day"], said["count"], said["never_measured"]) == ("2026-04-16", 3, 9)
    first = said["ranked"][0]
    assert first["tag_id"] == kitchen.tags[3]
    alone = kitchen.json("drift", kitchen.tags[3])
    assert {key: first[key] for key in ("says", "offset", "expanded", "may_be_out_on")} == {
        key: alone[key] for key in ("says", "offset", "expanded", "may_be_out_on")
    }
    assert (first["point"], [one["checks"] for one in first["points"]]) == ("ice_point", [3])
    assert [one | {"chance_out": 0} for one in first["points"]] == [one | {"chance_out": 0} for one in alone["points"]]
    assert lines[2].index("Worst point") == lines[3].index(" ice ") + 1
    assert [one["offset"] for one in first["newest"]] == ["0.1000 dC", "0.4000 dC", "0.7000 dC"]
    assert said["ranked"][0]["chance_out_by_day"] >= said["ranked"][1]["chance_out_by_day"]


@pytest.mark.slow
def test_a_later_day_has_higher_chances(kitchen: Kitchen) -> None:
    weeks(kitchen, ["0.1", "0.2"])
    soon = kitchen.json("drift", "--by-day", "2026-03-11")
    later = kitchen.json(
        "drift", "--by-day", "2026-12-24", "--site", "KI", "--type", "thermistor_probe", "--model", "BRISA"
    )
    assert later["by_day"] == "2026-12-24"
    assert later["expected_out"] > soon["expected_out"]
    assert kitchen.json("drift", "--model", "other")["count"] == 0
    assert kitchen.done("drift", "--type", "oven").strip() == "No thermometer to tell of."


@pytest.mark.slow
def test_who_failed_stands_apart(kitchen: Kitchen) -> None:
    weeks(kitchen, ["0.1", "0.1"])
    kitchen.clock.set("2026-03-17 06:10")
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    for _ in range(3):
        kitchen("read", kitchen.tags[3], "1.6")
    kitchen.done("bath", "judge", "accepted")
    lines = kitchen.done("drift").splitlines()
    assert "1 in use failed and was not mended: no chance is told of it." in lines
    said = kitchen.json("drift")
    assert [one["tag_id"] for one in said["failed"]] == [kitchen.tags[3]]
    assert kitchen.tags[3] not in {one["tag_id"] for one in said["ranked"]}
    assert said["failed"][0]["chance_out_by_day"] is None


@pytest.mark.slow
def test_how_groups_drift(kitchen: Kitchen) -> None:
    assert kitchen.done("drift", "--groups", "model").strip() == "No thermometer to tell of."
    weeks(kitchen, ["0.1", "0.2", "0.2"])
    lines = kitchen.done("drift", "--groups", "maker").splitlines()
    assert lines[0].startswith("How they drift in a month")
    assert lines[2].split()[:3] == ["Brisa", "3", "9"]
    (group,) = kitchen.json("drift", "--groups", "type")["groups"]
    assert (group["key"], group["thermometers"], group["checks"], group["wears"]) == ("thermistor_probe", 3, 9, False)
    refused = kitchen("drift", "--groups", "colour")
    assert refused.code == 1
    assert "model, maker, type, site" in refused.err


@pytest.mark.slow
def test_what_incidents_did(kitchen: Kitchen) -> None:
    assert kitchen.done("drift", "--incidents").strip().startswith("No incident with a check")
    weeks(kitchen, ["0.1", "0.1"])
    kitchen.done("incident", kitchen.tags[3], "dropped")
    kitchen.clock.set("2026-03-11 06:10")
    checked(kitchen, "0.1", "0.1", "0.0")
    lines = kitchen.done("drift", "--incidents").splitlines()
    assert lines[2].startswith("Dropped   1")
    (drop,) = kitchen.json("drift", "--incidents")["incidents"]
    assert (drop["incident"], drop["checked_after"], drop["stepped"]) == ("dropped", 1, 0)


def test_one_thing_at_a_time(kitchen: Kitchen) -> None:
    refused = kitchen("drift", kitchen.tags[3], "--incidents")
    assert (refused.code, refused.err) == (
        1,
        "Ask for one thing at a time: a tag, the ranking, groups, or incidents.\n",
    )
    past = kitchen("drift", "--by-day", "2026-01-01")
    assert past.err == "2026-01-01 is no day ahead: choose today or a later day, within ten years.\n"


@pytest.mark.slow
def test_in_spanish(kitchen: Kitchen) -> None:
    weeks(kitchen, ["0.1", "0.2"])
    lines = kitchen.done("--language", "es", "drift").splitlines()
    assert lines[0].startswith("3 termómetros en uso, por su probabilidad de estar fuera de tolerancia al final del")
    assert "Etiqueta" in lines[2]


def test_ranking_and_groups_go_to_a_spreadsheet_whole(kitchen: Kitchen, tmp_path: Path) -> None:
    weeks(kitchen, ["0.1", "0.4", "0.7"])
    file = tmp_path / "ranking.csv"
    said = kitchen.json("drift", "--limit", "1", "--out", str(file))
    count = kitchen.json("drift")["count"]
    assert count > 1
    assert said["rows"] == count
    head, first, *_ = csv.reader(file.read_text("utf-8-sig").splitlines())
    assert head[0] == "Tag id"
    assert first[head.index("Worst point")] == "ice"
    by_type = tmp_path / "groups.csv"
    assert kitchen.json("drift", "--groups", "type", "--out", str(by_type))["rows"] == 1
    lines = by_type.read_text("utf-8-sig").splitlines()
    assert lines[0].startswith("Group,Thermometers,Checks,Drift a month,From,To,")
    assert lines[1].split(",")[1] == str(count)
    refused = kitchen("drift", "--incidents", "--out", str(tmp_path / "x.csv"))
    assert "Only the ranking and the groups" in refused.err
