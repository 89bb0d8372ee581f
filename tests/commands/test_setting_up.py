"""Set-up by command: places, people, rules, and thermometers from purchase to retirement."""

from hashlib import sha256
from pathlib import Path

import pytest
from PIL import Image

from tests.commands.desk import Kitchen


def test_what_was_set_up_is_listed(kitchen: Kitchen) -> None:
    assert "12\u00a0m" in kitchen.done("site", "list")
    assert kitchen.json("station", "list")["stations"][0]["name"] == "Grill"
    (shift,) = kitchen.json("shift", "list")["shifts"]
    assert (shift["start"], shift["weekdays"]) == ("06:00", [0, 1, 2, 3, 4, 5, 6])
    assert [one["initials"] for one in kitchen.json("person", "list")["people"]] == ["AR", "LG"]
    kitchen.done("site", "change", "KI", "--elevation", "40 ft")
    (site,) = kitchen.json("site", "list")["sites"]
    assert (site["elevation"], site["name"]) == ("40 ft", "Quay")


def test_weekdays_are_typed_as_a_range_or_a_list(kitchen: Kitchen) -> None:
    kitchen.done("shift", "add", "Weekend", "08:00", "12:00", "--days", "sat,sun")
    kitchen.done("shift", "add", "Night", "22:00", "06:00", "--days", "fri-mon")
    days = {one["name"]: one["weekdays"] for one in kitchen.json("shift", "list")["shifts"]}
    assert (days["Weekend"], days["Night"]) == ([5, 6], [0, 4, 5, 6])
    assert kitchen("shift", "add", "X", "08:00", "12:00", "--days", "someday").code == 1


def test_people_are_trained_leave_and_are_erased(kitchen: Kitchen) -> None:
    kitchen.done("person", "trained", "LG", "--kind", "ice point", "--day", "2026-03-01")
    kitchen.done("person", "left", "lg")
    assert kitchen("person", "erase", "LG").err == (
        "Erasing the name of LG cannot be undone: say it again with --yes.\n"
    )
    kitchen.done("person", "erase", "LG", "--yes")
    names = [one["name"] for one in kitchen.json("person", "list")["people"]]
    assert sorted(names) == ["", "Ada Reed"]
    assert kitchen("verify", "--deep").code == 0


def test_who_does_it_is_asked_for_where_nobody_says(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("THERMOMETER_REGISTRY_AS")
    refused = kitchen("station", "add", "Bar")
    assert refused.code == 1
    assert "AR, LG" in refused.err
    allowed = kitchen("--as", "lg", "station", "add", "Bar")
    assert "another role" in allowed.err
    assert kitchen("--as", "XX", "station", "add", "Bar").err.startswith("Nobody here has the initials XX")
    assert kitchen("--as", "AR", "station", "add", "Bar").code == 0


def test_rules_are_shown_and_changed(kitchen: Kitchen) -> None:
    shown = kitchen.done("rules", "show")
    assert shown.rstrip().endswith("Local codes come first.")
    assert "±1\u00a0°C" in shown
    assert "None" not in shown
    kitchen.done("rules", "decision", "four-outcomes")
    kitchen.done("rules", "plan", "risk_based")
    kitchen.done("rules", "tolerance", "C", "5")
    rules = kitchen.json("rules", "show")
    assert (rules["rule"]["decision"], rules["plan"]["plan"]) == ("four_outcomes", "risk_based")
    own = [one["tolerance"] for one in rules["tolerances"]["tolerances"] if one["class"] == "owner"]
    assert own == ["5 dC"]
    choices = kitchen("rules", "decision", "strict").err
    assert choices == "strict is none of these: simple, guard_band, four_outcomes.\n"


def test_a_thermometer_is_amended_moved_and_retired(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    kitchen.done("amend", tag, "--scale", "C:0,1:-50:200", "--why", "mistyped")
    kitchen.done("move", tag, "--station", "Grill")
    shown = kitchen.json("thermometer", tag)
    assert shown["facts"]["scales"]["C"]["highest"] == "200 C"
    assert shown["facts"]["serial"] == "7000"
    assert shown["station"] is not None
    wrong = kitchen("amend", tag, "--scale", "C:0.1:200:-50", "--why", "mistyped")
    assert (wrong.code, wrong.err) == (1, "The scale begins above its end: look at both numbers.\n")
    kitchen.done("retag", tag, "GRILL1")
    assert kitchen("thermometer", tag).err == f"No thermometer bears {tag}: look at its tag.\n"
    assert "cold food" in kitchen.done("limit", "grill1", "--only", "cold")
    kitchen.done("take-out", "GRILL1", "--why", "damaged", "--give-to", "LG")
    assert kitchen.json("put-back", "GRILL1")["status"] == "check_first"
    kitchen.done("retire", "GRILL1")
    assert kitchen.json("thermometer", "GRILL1")["status"] == "retired"


def test_a_probe_that_parts_gets_another_sensor(kitchen: Kitchen) -> None:
    said = kitchen.json(
        "enrol", "thermocouple_probe", "--scale", "C:0.1:-50:300", "--maker", "Alba", "--sensor-maker", "Brisa",
        "--sensor-serial", "5", "--tag", "alba 1",
    )  # fmt: skip
    assert said["tag_id"] == "ALBA1"
    kitchen.done("sensor-changed", "ALBA1", "--maker", "Brisa", "--serial", "6")
    shown = kitchen.json("thermometer", "ALBA1")
    assert (shown["sensor"]["serial"], shown["status"]) == ("6", "check_first")
    assert "indicator and its sensor" in kitchen("amend", "ALBA1", "--maker", "X", "--why", "changed").err


def test_a_dial_does_not_part_and_a_tag_is_borne_once(kitchen: Kitchen) -> None:
    dial = ("enrol", "bimetal_stem", "--scale", "F:2:0:220")
    assert kitchen(*dial, "--sensor-maker", "X").err.startswith("The sensor of this type does not come off")
    assert kitchen(*dial, "--tag", kitchen.tags[0]).err.endswith("is taken already: choose another one.\n")
    assert kitchen("enrol", "spoon").err.startswith("spoon is none of these: ")
    assert kitchen("enrol", "oven", "--scale", "C-40").err.startswith("C-40 is not a scale: ")


# --- stated anew ---------------------------------------------------------------------------------------------


def test_a_shift_is_changed_ended_and_taken_up_again(kitchen: Kitchen) -> None:
    said = kitchen.done("shift", "change", "early", "--name", "Dawn", "--start", "05:30", "--days", "mon-fri")
    assert said == "Dawn is stated anew: 05:30 to 14:00, from the next time that it begins.\n"
    (shift,) = kitchen.json("shift", "list")["shifts"]
    assert (shift["name"], shift["start"], shift["end"], shift["weekdays"]) == (
        "Dawn",
        "05:30",
        "14:00",
        [0, 1, 2, 3, 4],
    )
    assert kitchen.done("shift", "end", "Dawn", "--day", "2026-03-06") == "Dawn is worked until 6\u00a0March 2026.\n"
    assert "6\u00a0March 2026" in kitchen.done("shift", "list")
    refused = kitchen("shift", "end", "Dawn", "--day", "2026-02-01")
    assert (refused.code, refused.err.split(":")[0]) == (1, "2026-02-01 is past")
    assert kitchen.done("shift", "go-on", "Dawn") == "Dawn goes on.\n"
    assert "to_day" not in kitchen.json("shift", "list")["shifts"][0]
    assert kitchen("shift", "change", "Noon", "--start", "10:00").code == 1
    assert kitchen("verify", "--deep").code == 0


def test_roles_are_changed_and_what_is_left_out_stays(kitchen: Kitchen) -> None:
    kitchen.done("person", "change", "LG", "--role", "lead", "--role", "officer", "--site", "KI")
    assert kitchen.done("person", "change", "LG", "--role", "auditor").startswith(
        "What LG may do is stated anew: Auditor"
    )
    luis = next(one for one in kitchen.json("person", "list")["people"] if one["initials"] == "LG")
    assert (luis["roles"], len(luis["sites"])) == (["auditor"], 1)
    kitchen.done("person", "change", "LG", "--every-site")
    luis = next(one for one in kitchen.json("person", "list")["people"] if one["initials"] == "LG")
    assert (luis["roles"], luis["sites"]) == (["auditor"], [])
    assert "administrator" in kitchen("person", "change", "AR", "--role", "lead").err.lower()
    trained = kitchen.json(
        "person", "trained", "LG", "--kind", "hygiene", "--day", "2026-03-01", "--until", "2028-03-01"
    )
    assert trained["until"] == "2028-03-01"


def test_the_group_is_renamed(kitchen: Kitchen) -> None:
    assert "Dock Kitchens" in kitchen.done("group", "name", "Dock Kitchens")
    assert kitchen.json("rules", "show")["group"]["name"] == "Dock Kitchens"
    assert kitchen("--as", "LG", "group", "name", "Mine").code == 1


# --- photos, and what was taken back -------------------------------------------------------------------------


def test_a_photo_is_kept_told_of_and_written_as_it_is_kept(kitchen: Kitchen, tmp_path: Path) -> None:
    tag, photo, out = kitchen.tags[0], tmp_path / "photo.png", tmp_path / "out.jpg"
    assert kitchen("picture", tag).err == "There is no photo of this thermometer.\n"
    Image.new("RGB", (300, 200), (90, 20, 20)).save(photo)
    said = kitchen.json("picture", tag, str(photo))
    number = said["number"]
    assert kitchen.done("picture", tag).startswith(f"The photo of {tag} was kept on ")
    written = kitchen.json("picture", tag, "--out", str(out))
    assert sha256(out.read_bytes()).hexdigest() == written["sha256"] == said["sha256"]
    with Image.open(out) as image:
        assert image.format == "JPEG"
    kitchen.done("void", number, "--why", "wrong_thermometer")
    assert kitchen("picture", tag, "--out", str(out)).code == 1
    photo.write_text("a letter")
    assert kitchen("picture", tag, str(photo)).err.startswith("This file is no JPEG, PNG or WebP picture")
    assert kitchen("picture", tag, str(tmp_path / "none.jpg")).code == 3


def test_a_report_that_was_taken_back_is_told(kitchen: Kitchen) -> None:
    assert kitchen.done("taken-back").startswith("No report of something that happened")
    tag = kitchen.tags[3]
    kitchen.done("incident", tag, "dropped")
    number = next(one["number"] for one in kitchen.json("history", tag)["rest"] if one["kind"] == "incident_reported")
    kitchen.done("void", number, "--why", "not_done")
    (one,) = kitchen.json("taken-back")["taken_back"]
    assert (one["tag_id"], one["what"], one["number"], one["why"]) == (tag, "dropped", number, "not_done")
    first, _, line = kitchen.done("taken-back", "--weeks", "2").splitlines()
    assert first.startswith("One report of something that happened was taken back in the last 2 weeks.")
    assert f"{tag}  Dropped: reported on" in line
    assert "both by AR (not done)" in line


def test_what_one_cost_is_said_shown_changed_and_taken_away(kitchen: Kitchen) -> None:
    dial = ("enrol", "bimetal_stem", "--scale", "F:2:0:220")
    tag = kitchen.json(*dial, "--price", "24,9")["tag_id"]
    assert kitchen.json("thermometer", tag)["facts"]["price"] == {"amount": "24.9", "currency": "EUR"}
    assert "Price" in kitchen.done("thermometer", tag)
    kitchen.done("amend", tag, "--price", "30 CHF", "--why", "mistyped")
    assert "CHF" in kitchen.done("thermometer", tag)
    kitchen.done("amend", tag, "--price", "none", "--why", "mistyped")
    assert "price" not in kitchen.json("thermometer", tag)["facts"]
    assert kitchen(*dial, "--price", "-3").err == "-3 is below zero: type what it cost, or leave it empty.\n"
