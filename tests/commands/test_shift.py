"""A whole shift by command: twelve thermometers in one bath, and what is asked of the record afterwards."""

import json
from pathlib import Path

import pytest

from registry.services import clock
from tests.commands.desk import Clock, Kitchen, instant


def test_twelve_thermometers_share_one_bath(kitchen: Kitchen) -> None:
    first, *_ = tags = kitchen.tags
    inside, off, flat, away = tags[:9], tags[9], tags[10], tags[11]
    made = kitchen.json("bath", "ice", "--made", "crushed_packed")
    # ±2 °F about 32 °F in steps of half a division, ±1 °C about 0 °C: the limits of the rule, by hand.
    ranges = {(one["lowest"], one["highest"]): one["tag_ids"] for one in made["must_read"]}
    assert ranges == {("30 F", "34 F"): tags[:3], ("-1.0 C", "1.0 C"): tags[3:]}

    for n, tag in enumerate(inside):
        said = kitchen.json("read", tag, "32" if n < 3 else f"-0,{n}")
        assert (said["outcome_in_accepted_bath"], said["recorded"], said["wants_more"]) == ("pass", True, 0)
    assert kitchen("read", inside[3], "-0.5").code == 1  # it has a check in this bath already
    assert kitchen.json("read", inside[3], "-0.5", "--again")["readings"] == ["-0.5 C"]

    waits = kitchen("read", off, "1.4")
    assert waits.code == 5
    assert waits.out.splitlines()[0] == f"{off}: Waits (1.4\u00a0°C)"
    assert "read it 2 times more" in waits.out
    assert kitchen("read", off, "1.4").code == 5
    confirmed = kitchen("--json", "read", off, "1.5")
    # The first readings judged the bath, so nobody waits for a press.
    assert (confirmed.code, confirmed.data["word"]) == (5, "adjust_or_do_not_use")
    assert confirmed.data["readings"] == ["1.4 C", "1.4 C", "1.5 C"]
    assert confirmed.data["offset"] == "1.4333 dC"  # (1.4 + 1.4 + 1.5) / 3 - 0.0, by hand

    assert "no reading (The battery is flat)" in kitchen.done("no-reading", flat, "battery-flat")
    assert "It stays due" in kitchen.done("not-found", away)

    judged = kitchen.done("bath", "judge", "accepted").splitlines()
    assert judged[0] == f"Bath {made['number']} is accepted: 11 checks count."
    row = next(line for line in judged if line.startswith(off))
    assert row.split("  ")[1:3] == ["Adjust or do not use", "Fail at the ice point"]
    assert "±1\u00a0°C" in row
    assert "simple acceptance" in row
    assert judged[-1] == "Local codes come first."

    adjusted = kitchen.json("adjust", off, "--how", "reset", "--as-left", "0.1")
    assert (adjusted["outcome"], adjusted["offset"]) == ("pass", "0.1 dC")
    closed = kitchen.json("close")
    counts = [closed[name] for name in ("checked", "adjusted", "not_found", "no_reading", "out_of_use")]
    assert counts == [10, 1, 1, 1, 0]
    assert flat in closed["not_done"]
    assert first not in closed["not_done"]

    due = kitchen.json("due")
    states = {one["tag_id"]: one["state"] for one in due["due"] if one["rule"] == "each_shift"}
    assert states[away] == "not_found"
    assert first not in states
    assert kitchen("due", "--fail-if-due").code == 5

    (check,) = kitchen.json("history", off)["checks"]
    assert (check["outcome"], check["as_left"], check["as_left_outcome"]) == ("fail", ["0.1 C"], "pass")
    assert (check["initials"], check["reference"], check["tolerance"]) == ("AR", "0.0 C", "1 dC")
    assert "as left" in kitchen.done("history", off, "--newest", "1").lower()


def _check(kitchen: Kitchen, tag: str, *readings: str) -> None:
    kitchen.json("bath", "ice")
    for one in readings:
        kitchen.json("read", tag, one)
    kitchen.done("bath", "judge", "accepted")


def test_closing_names_first_who_failed_and_was_left_so(kitchen: Kitchen) -> None:
    _check(kitchen, kitchen.tags[0], "36", "36", "36")
    lines = kitchen.done("close").splitlines()
    assert lines[0] == (
        f"Adjust or do not use: {kitchen.tags[0]} (Grill). It failed and was neither adjusted nor taken out of use."
    )
    assert lines[1].endswith("the list is closed.")
    assert lines[2].startswith("1 checked, 0 adjusted, 0 out of use")
    again = kitchen.json("close")
    assert again["failed"] == [{"tag_id": kitchen.tags[0], "place": "Grill", "why": "failed"}]


def test_closing_twice_says_so_and_records_once(kitchen: Kitchen) -> None:
    first = kitchen.json("close")
    assert (first["closed_before"], first["recorded"]) == (None, True)
    kitchen.clock.set("2026-03-03 06:31")
    again = kitchen.done("close").splitlines()
    assert again[0] == "This shift was closed at 06:10 by AR already."
    before = kitchen.json("verify")
    said = kitchen.json("close")
    assert (said["closed_before"]["initials"], said["recorded"]) == ("AR", False)
    assert kitchen.json("verify") == before  # nothing was recorded
    _check(kitchen, kitchen.tags[4], "0.1")  # checks can still be added
    assert kitchen.json("close")["recorded"]


def test_was_it_right_is_answered_with_the_checks_around(kitchen: Kitchen) -> None:
    tag, other = kitchen.tags[4], kitchen.tags[5]
    _check(kitchen, tag, "0.1")
    asked = ("was", tag, "2026-03-03", "14:30")
    kitchen.clock.set("2026-03-03 15:00")
    assert kitchen.done(*asked).startswith("It is not known whether")
    kitchen.clock.set("2026-03-04 06:10")
    _check(kitchen, tag, "0.3")
    said = kitchen.done(*asked).splitlines()
    assert said[0].startswith(f"Yes: {tag} was right on 3\u00a0March 2026, 14:30")
    assert said[1] == "Ice point: right. Good before and after, and nothing in between."
    assert "offset +0.1" in said[2]
    assert "offset +0.3" in said[3]
    assert "Pass at the ice point, by simple acceptance" in said[2]

    _check(kitchen, other, "0.1")
    kitchen.clock.set("2026-03-05 06:10")
    _check(kitchen, other, "1.6", "1.7", "1.6")
    found = kitchen.json("was", other, "2026-03-04", "14:30")
    (point,) = found["points"]
    assert (found["answer"], point["why"], point["after"]["outcome"]) == ("not_known", "outside_after", "fail")
    kitchen.clock.set("2026-03-05 07:10")
    assert kitchen.json("was", other, "2026-03-05", "07:00")["answer"] == "no"
    later = kitchen("was", tag, "2026-03-09", "14:30")
    assert (later.code, later.err) == (1, "That time has not come yet: look at the day and the time.\n")


def test_a_questioned_reading_is_taken_only_when_it_is_said_again(kitchen: Kitchen) -> None:
    dial, digital = kitchen.tags[0], kitchen.tags[6]
    kitchen.json("bath", "ice")
    refused = kitchen("read", digital, "32.5")
    assert refused.code == 1
    assert "other unit" in refused.err
    assert "--again" in refused.err
    assert kitchen.json("history", digital)["checks"] == []
    assert kitchen.json("read", digital, "32.5", "--again")["readings"] == ["32.5 C"]
    assert "finer digits" in kitchen("read", dial, "32.5").err
    twice = kitchen("read", digital, "a5", "--again")
    assert (twice.code, twice.err) == (1, "a5 is not a number: type digits with one point or comma, such as 0.5.\n")


def test_a_reading_kept_waiting_is_named_when_the_bath_is_judged(kitchen: Kitchen) -> None:
    tag = kitchen.tags[7]
    kitchen.json("bath", "ice")
    assert kitchen("read", tag, "1.8").code == 5
    assert kitchen.json("bath", "judge", "accepted")["waiting"] == [tag]


def test_last_judges_by_the_readings_there_are(kitchen: Kitchen) -> None:
    kitchen.json("bath", "ice")
    said = kitchen("--json", "read", kitchen.tags[7], "1.8", "--last")
    assert (said.code, said.data["recorded"], said.data["outcome"]) == (5, True, "fail")


def test_which_bath_is_meant(kitchen: Kitchen) -> None:
    tag = kitchen.tags[8]
    assert kitchen("read", tag, "0.1").err.startswith("No bath is open")
    one = kitchen.json("bath", "ice")["number"]
    other = kitchen.json("bath", "boil")["number"]
    both = kitchen("read", tag, "0.1")
    assert both.code == 1
    assert one in both.err
    assert other in both.err
    assert kitchen.json("read", tag, "0.1", "--bath", one.lower())["point"] == "ice_point"
    entry = kitchen.json("history", tag)["rest"][0]["number"]
    assert "something else than a bath" in kitchen("read", tag, "0.1", "--bath", entry).err


def judged(kitchen: Kitchen) -> dict[str, str | None]:
    return {one["number"]: one["judged"] for one in kitchen.json("baths")["baths"]}


def in_ice(kitchen: Kitchen) -> str:
    """A bath that its own thermometers judged good."""
    bath: str = kitchen.json("bath", "ice")["number"]
    for tag in kitchen.tags[3:9]:
        kitchen.json("read", tag, "0.1")
    assert judged(kitchen)[bath] == "accepted"
    return bath


@pytest.mark.slow
def test_condemned_twice_no_other_bath_is_condemned(kitchen: Kitchen) -> None:
    earlier = in_ice(kitchen)
    kitchen.json("close")
    bath = kitchen.json("bath", "ice")["number"]
    kitchen.json("bath", "judge", "condemned")
    again = kitchen("bath", "judge", "condemned")
    assert (again.code, again.out, again.err) == (1, "", "No bath is open: name one with --bath.\n")
    assert judged(kitchen) == {earlier: "accepted", bath: "condemned"}
    assert kitchen("read", kitchen.tags[9], "0.1").err.startswith("No bath is open")
    assert kitchen.json("bath", "judge", "accepted", "--bath", bath)["judged"] == "accepted"


@pytest.mark.slow
def test_an_older_bath_that_is_open_condemned_the_newer_one_is_not_meant(kitchen: Kitchen) -> None:
    older = kitchen.json("bath", "boil")["number"]
    newer = kitchen.json("bath", "ice")["number"]
    for tag in kitchen.tags[3:9]:
        kitchen.json("read", tag, "0.1", "--bath", newer)
    assert judged(kitchen) == {older: None, newer: "accepted"}
    assert newer in kitchen("read", kitchen.tags[9], "0.1").err  # either may be meant
    assert newer in kitchen("bath", "judge", "condemned").err
    kitchen.json("bath", "judge", "condemned", "--bath", older)
    assert kitchen("bath", "judge", "condemned").err.startswith("No bath is open")
    assert judged(kitchen) == {older: "condemned", newer: "accepted"}


@pytest.mark.slow
def test_a_bath_is_read_on_in_till_its_shift_is_closed(kitchen: Kitchen) -> None:
    bath = in_ice(kitchen)
    assert kitchen.json("read", kitchen.tags[9], "0.1")["recorded"]
    kitchen.json("close")
    assert kitchen("read", kitchen.tags[10], "0.1").err.startswith("No bath is open")
    assert kitchen("bath", "judge", "condemned").err.startswith("No bath is open")
    assert kitchen.json("read", kitchen.tags[10], "0.1", "--bath", bath)["recorded"]


def test_again_answers_only_what_was_asked_about_that_value(kitchen: Kitchen) -> None:
    one, other = kitchen.tags[6:8]
    kitchen.json("bath", "ice")
    assert kitchen("read", one, "50", "--again").code == 1  # nothing was asked yet
    assert "far from what it should show" in kitchen("read", one, "85").err
    beyond = kitchen("read", one, "500", "--again")  # its scale ends at 150 °C
    assert beyond.code == 1
    assert "500" in beyond.err
    assert kitchen("read", other, "500", "--again").code == 1
    assert kitchen("read", one, "85", "--again").code == 1  # asked before the last
    assert kitchen.json("history", one)["checks"] == kitchen.json("history", other)["checks"] == []
    assert kitchen.json("read", one, "85", "--again")["readings"] == ["85 C"]
    assert kitchen("read", one, "85", "--again").code == 1  # answered once


def test_again_answers_for_the_very_adjustment_and_pressure(kitchen: Kitchen) -> None:
    tag = kitchen.tags[6]
    _check(kitchen, tag, "1.4", "1.4", "1.4")
    left = ("adjust", tag, "--how", "reset", "--as-left")
    assert kitchen(*left, "50").code == 1
    assert kitchen(*left, "500", "--again").code == 1
    assert kitchen(*left, "500", "--again").code == 5
    assert kitchen(*left, "500", "--again").code == 1
    kitchen.done("site", "add", "Hill", "--letters", "HI", "--zone", "Europe/London", "--elevation", "1500 m")
    boil = ("bath", "boil", "--site", "HI", "--pressure-source", "room_barometer", "--pressure")
    # In a room at 1500 m stand about 845 hPa (ISO 2533); 1013 hPa is likelier a forecast's, reduced to sea level.
    assert kitchen(*boil, "1013 hPa", "--again").code == 1
    assert kitchen(*boil, "1015 hPa", "--again").code == 1
    assert kitchen(*boil, "1015 hPa", "--again").code == 0
    assert kitchen(*boil, "1015 hPa", "--again").code == 1


def test_a_boiling_bath_asks_about_the_likelier_pressure(kitchen: Kitchen) -> None:
    # IAPWS-IF97 gives 99.974 °C at 1013.25 hPa; the reference is worked out, then shown to a tenth.
    made = kitchen.json("bath", "boil", "--pressure", "1013,25 hPa", "--pressure-source", "room_barometer")
    assert made["reference"].startswith("99.974")
    assert kitchen("bath", "boil", "--container", "cup").err.startswith("Water in a cup or a glass can be hotter")
    assert "too old" not in kitchen("bath", "boil").err
    assert kitchen("bath", "boil", "--pressure", "1013.25 bar").err.startswith("1013.25 bar is not a pressure")


def test_a_comparison_stands_on_an_outside_certificate(kitchen: Kitchen) -> None:
    reference, tag = kitchen.tags[3], kitchen.tags[4]
    kitchen.done(
        "reference", reference, "--number", "26-1044", "--issuer", "North Laboratory", "--issued", "2026-01-10",
        "--point", "0:0.1:0.05:2", "--point", "70:-0.2:0.08:2",
    )  # fmt: skip
    made = kitchen.json("bath", "compare", "--beside", reference, "70.0")
    assert made["reference"] == "69.8 C"  # 70.0 and its correction of -0.2
    assert kitchen.json("read", tag, "69.9")["offset"] == "0.1 dC"
    itself = kitchen("read", reference, "70.0")
    assert (itself.code, "against itself" in itself.err) == (1, True)
    missing = kitchen("bath", "compare")
    assert missing.err == "Name the reference thermometer and what it shows.\n"


def test_something_happened_and_the_kitchen_goes_on(kitchen: Kitchen) -> None:
    tag, other = kitchen.tags[3], kitchen.tags[4]
    kitchen.json("bath", "ice")
    for one in (tag, other):
        kitchen.json("read", one, "0.1")
    kitchen.done("bath", "judge", "accepted")
    assert "agrees with" in kitchen.done("use", tag, "4.2", "--beside", other, "4.0")
    assert "apart" in kitchen.done("side-by-side", tag, "-18.2", "-18.0", "--whose", "inspector")
    kitchen.clock.set("2026-03-03 07:00")
    dropped = kitchen.json("incident", tag, "dropped", "--at", "06:50")
    assert dropped["at"] == "2026-03-03T06:50:00.000000Z"
    assert dropped["thermometers"][0]["status"] == "check_first"
    listed = kitchen.json("thermometers", "--status", "check_first")
    assert ([one["tag_id"] for one in listed["thermometers"]], listed["every"]) == ([tag], 12)
    assert kitchen.json("lost", other)["tag_id"] == other
    assert kitchen.json("thermometer", other)["status"] == "lost"
    assert "not out" not in kitchen.done("found", other)
    assert kitchen.json("thermometer", other)["status"] == "check_first"


def test_a_mistake_is_voided_by_its_number(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    kitchen.json("bath", "ice")
    kitchen.json("read", tag, "0.9")
    (check,) = kitchen.json("history", tag)["checks"]
    assert kitchen.json("void", check["number"], "--why", "mistyped")["kind"] == "check_recorded"
    (void,) = kitchen.json("history", tag)["checks"]
    assert void["voided"] is True
    assert "void" in kitchen.done("history", tag)
    assert "voided already" in kitchen("void", check["number"], "--why", "mistyped").err
    assert "number of an entry" in kitchen("void", "KQBH00012", "--why", "mistyped").err


def test_repeats_far_apart_are_asked_about(kitchen: Kitchen) -> None:
    tag = kitchen.tags[6]
    kitchen.json("bath", "ice")
    assert kitchen("read", tag, "32").code == 1
    kitchen.json("read", tag, "32", "--again")
    refused = kitchen("read", tag, "0.1")
    assert (refused.code, refused.err) == (
        1,
        "32\u00a0°C and 0.1\u00a0°C are far apart; was one of them mistyped? If it stands there so after another look, "
        "give the same command again with --again.\n",
    )
    assert kitchen.json("read", tag, "0.1", "--again")["readings"] == ["32 C", "0.1 C"]
    last = kitchen("read", tag, "0.1")
    assert last.code == 5
    assert "U ±48\u00a0°C" in last.out  # 4.53 · 18.42/√3
    assert "Its repeats lie further apart" in last.out
    assert kitchen("recompute").code == 0


def test_who_is_unsteady_hears_it_at_once(kitchen: Kitchen) -> None:
    bath = kitchen.json("bath", "ice")
    tag = kitchen.tags[6]
    for one in ("1.2", "0.5"):
        kitchen.json("read", tag, one)
    said = kitchen.done("read", tag, "1.2").splitlines()
    assert said[0] == f"{tag}: Waits (1.2\u00a0°C / 0.5\u00a0°C / 1.2\u00a0°C)"
    assert f"It counts once bath {bath['number']} is judged; then: Use, unsteady." in said
    assert "U ±1.1\u00a0°C" in said[1]


def test_a_reading_far_from_its_bath_is_asked_about(kitchen: Kitchen) -> None:
    tag = kitchen.tags[6]
    kitchen.json("bath", "ice")
    refused = kitchen("read", tag, "50")
    assert refused.code == 1
    assert refused.err.startswith("50\u00a0°C is far from what it should show here;")
    assert kitchen.json("read", tag, "50", "--again")["readings"] == ["50 C"]


def test_numbers_are_echoed_as_the_language_writes_them(
    tmp_path: Path, kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    spanish = Kitchen(tmp_path / "cocina", Clock(instant("2026-03-03 06:10")))
    monkeypatch.setattr(clock, "now_us", spanish.clock)
    spanish.done("start", "--group", "Cocinas Lobo", "--country", "ES", "--name", "Ana Ruiz", "--initials", "AR")
    spanish.done("site", "add", "Muelle", "--letters", "MU", "--zone", "Europe/Madrid", "--elevation", "650 m")
    tag = spanish.json("enrol", "thermistor_probe", "--scale", "C:0,1:-40:150")["tag_id"]
    spanish.done("bath", "ice")
    assert spanish("read", tag, "-1,25").err.startswith("−1,25\u00a0°C tiene cifras más finas")
    machine = json.loads(spanish("--json", "read", tag, "-1,25").err)
    assert machine["problems"][0]["values"] == {"value": "-1.25 C"}


@pytest.mark.slow
def test_in_a_bath_in_doubt_nobody_passes(kitchen: Kitchen) -> None:
    """Three that were right for a month all read 0.8 °C high: each waits, and hears what it would be."""
    three = kitchen.tags[3:6]
    for day in ("02", "09", "16", "23"):
        kitchen.clock.set(f"2026-03-{day} 06:10") if day != "02" else None
        kitchen.json("bath", "ice")
        for tag, shown in zip(three, ("0.2", "0.1", "-0.1"), strict=True):
            kitchen.json("read", tag, shown)
        kitchen.json("bath", "judge", "accepted")
    kitchen.clock.set("2026-03-30 06:10")
    kitchen.json("bath", "ice")
    kitchen.json("read", three[0], "1.0")
    said = kitchen("read", three[1], "0.9")
    assert said.code == 5
    lines = said.out.splitlines()
    assert lines[0] == f"{three[1]}: Waits (0.9\u00a0°C)"
    assert lines[1].startswith("In a good bath: Pass at the ice point: offset +0.9")
    assert not any(line.startswith(("Pass", "Use", "It counts once")) for line in lines)
    machine = kitchen.json("read", three[2], "0.7")
    assert (machine["outcome"], machine["word"]) == (None, "waits")
    assert (machine["outcome_in_accepted_bath"], machine["word_in_accepted_bath"]) == ("pass", "use")
    # One that is out even so is said as a fail, not as waiting.
    for shown in ("9.0", "9.0"):
        kitchen.json("read", kitchen.tags[6], shown)
    out = kitchen("read", kitchen.tags[6], "9.0").out.splitlines()
    assert out[0].startswith(f"{kitchen.tags[6]}: Adjust or do not use")
    assert out[1].startswith("Fail at the ice point")


def test_a_bath_names_who_does_not_go_into_it(kitchen: Kitchen) -> None:
    surface = kitchen.json("enrol", "infrared", "--scale", "C:0.1:-40:300")["tag_id"]
    oven = kitchen.json("enrol", "oven", "--scale", "C:10:50:300")["tag_id"]
    said = kitchen.done("bath", "ice", "--made", "crushed_packed").splitlines()
    assert f"Not in this bath: {surface} (for a surface thermometer: stirred slush)." in said
    assert f"Not in this bath: {oven} (a type that is not checked at this point)." in said
    stirred = kitchen.json("bath", "ice", "--made", "slush_stirred")
    assert stirred["not_in_it"] == [{"why": "not_for_this_type", "tag_ids": [oven]}]
