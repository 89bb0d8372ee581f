"""How long they hold, another plan, what is to come, odd regularity, and what a station needs, by command."""

import json
import shutil
from pathlib import Path

import pytest
from icalendar import Calendar

from registry.services import clock
from tests.commands.desk import Clock, Kitchen, instant


@pytest.fixture(scope="module")
def week(set_up: Kitchen, tmp_path_factory: pytest.TempPathFactory) -> Kitchen:
    """A dial and four digitals of the twelve each morning, one digital outside on the last."""
    home = tmp_path_factory.mktemp("week") / "home"
    shutil.copytree(set_up.home, home)
    kitchen = Kitchen(home, Clock(instant("2026-03-03 06:10")), list(set_up.tags))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(clock, "now_us", kitchen.clock)
        patch.setenv("THERMOMETER_REGISTRY_AS", "AR")
        for day in range(3, 10):
            kitchen.clock.set(f"2026-03-{day:02} 06:10")
            kitchen.done("bath", "ice", "--made", "crushed_packed")
            for n in (0, 3, 4, 5, 6):
                shown = "32" if n == 0 else ("2.0" if (day, n) == (9, 4) else "0.1")
                for _ in range(3 if shown == "2.0" else 1):
                    assert kitchen("read", kitchen.tags[n], shown).err == ""
            kitchen.done("bath", "judge", "accepted")
    return kitchen


@pytest.fixture
def after_a_week(week: Kitchen, kitchen: Kitchen) -> Kitchen:
    """The morning after, in a copy of its own."""
    shutil.rmtree(kitchen.home)
    shutil.copytree(week.home, kitchen.home)
    kitchen.clock.set("2026-03-10 06:10")
    return kitchen


def test_the_interval_by_type(after_a_week: Kitchen) -> None:
    lines = after_a_week.done("interval").splitlines()
    assert lines[0].startswith("How long they hold between checks, at 95\N{NO-BREAK SPACE}%")
    assert "Thermistor probe: keep each shift; too few failures to say." in lines
    assert "  1 of 24 checks found one outside." in lines
    assert lines[-1] == "Local codes come first."
    said = after_a_week.json("interval", "--by", "model", "--target", "90")
    assert said["target"] == 0.9
    probes = next(one for one in said["groups"] if one["key"] == "Brisa")
    assert (probes["checks"], probes["failures"], probes["left_out"]) == (24, 1, {"first": 4})
    assert probes["fit"]["model"] == "exponential"
    assert said["plans_kept"][0]["done"] == 35
    assert after_a_week("interval", "--by", "colour").code == 1
    for wrong in ("many", "101"):
        refused = after_a_week("interval", "--target", wrong)
        assert (refused.code, "percentage" in refused.err) == (1, True)
    assert "Sonda de termistor: deje en cada turno" in after_a_week.done("--language", "es", "interval")


def test_the_interval_of_nothing(kitchen: Kitchen) -> None:
    said = kitchen.json("interval")
    assert {one["advice"]["says"] for one in said["groups"]} == {"too_few"}


def test_another_plan_is_replayed(after_a_week: Kitchen) -> None:
    said = after_a_week.json("replay", "--plan", "risk_based", "--site", "KI")
    assert (said["plan_in_force"], said["plan"], said["missed"]) == ("each_shift", "risk_based", 7 * 7)
    # Eight days of twelve each day; or of three dials daily and nine digitals, whose weeks begin on one day after the
    # other: on the first day two by days and one by turns, then one of each, five by turns alone, and at last one by
    # turns beside the two whose week is over.
    assert (said["kept"]["checks"], said["other"]["checks"]) == (8 * 12, 8 * 3 + 3 + 2 + 5 + 3)
    (spell,) = said["spells"]
    assert spell["tag_id"] == after_a_week.tags[4]
    assert spell["kept"]["days"] < spell["other"]["days"]
    assert any("It asks" in line for line in after_a_week.done("replay", "--plan", "risk_based").splitlines())
    assert after_a_week("replay", "--plan", "never").code == 1


def test_what_is_to_come_is_written_as_a_calendar(after_a_week: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "ki.ics"
    said = after_a_week.done("calendar", "--site", "KI", "--out", str(file))
    events = list(Calendar.from_ical(file.read_bytes()).walk("VEVENT"))
    assert said == f"{len(events)} things to come at Quay, in {file}.\n"
    shown = after_a_week.json("calendar", "--site", "KI")
    assert {one["uid"] + "@thermometer-registry" for one in shown["entries"]} == {str(one["uid"]) for one in events}
    assert {one["kind"] for one in shown["entries"]} >= {"shift"}
    assert "Early: 12 thermometers to check, Quay" in after_a_week.done("calendar")


def test_odd_regularity_is_a_quiet_line(after_a_week: Kitchen) -> None:
    said = after_a_week.json("regular", "--days", "30")
    assert (said["sites"][0]["visits"], said["sites"][0]["often"]) == (7, True)
    assert "readings repeat what was shown last time" in after_a_week.done("regular")


def test_the_background_says_each_thing_once(kitchen: Kitchen) -> None:
    first = kitchen.json("background", "--quiet", "none")
    assert [one["code"] for one in first["notices"]] == ["before_use", "overdue", "shift"]
    assert first["notices"][0]["sentence"].startswith("Quay: 12 thermometers to check before they are used (")
    assert kitchen.json("background")["notices"] == []
    assert kitchen.done("background").splitlines()[-1] == "Nothing new to say."
    assert kitchen("background", "--quiet", "at night").code == 1


def test_what_a_station_needs(kitchen: Kitchen) -> None:
    said = kitchen.done("smallest", "Grill", "bimetal_stem", "4", "--site", "KI")
    assert said == "Grill needs 4 usable of Bimetal stem at least.\n"
    told = kitchen.json("background", "--quiet", "none")["notices"]
    assert "too_few" in {one["code"] for one in told}
    assert json.loads(kitchen("--json", "smallest", "Grill", "bimetal_stem", "0").out)["smallest"] == 0
    assert kitchen("smallest", "Grill", "spoon", "1").code == 1


def test_what_is_left_too_few_is_said_where_it_was_done(kitchen: Kitchen) -> None:
    kitchen.done("smallest", "Grill", "bimetal_stem", "3")
    few = "Quay, Grill: {} usable left of Bimetal stem; at least 3 needed."
    assert kitchen.done("take-out", kitchen.tags[0], "--why", "spare").splitlines()[-1] == few.format(2)
    assert kitchen.done("limit", kitchen.tags[1], "--only", "cold").splitlines()[-1] == few.format(1)
    assert kitchen.done("incident", kitchen.tags[2], "dropped").splitlines()[-1] == few.format(0)
    assert few.format(0) in kitchen.done("lost", kitchen.tags[2])
    assert "usable left" not in kitchen.done("take-out", kitchen.tags[5], "--why", "spare")


def test_closed_days_and_who_is_looked_at_by_turns(kitchen: Kitchen) -> None:
    said = kitchen.done("closed", "2026-03-04", "2026-03-05", "--site", "KI", "--why", "holiday")
    assert said == "Quay is closed for 2 days, March 4, 2026 to March 5, 2026.\n".replace(
        "March 4, 2026 to March 5, 2026", "4 March 2026 to 5 March 2026"
    ).replace("4 March", "4\N{NO-BREAK SPACE}March").replace("5 March", "5\N{NO-BREAK SPACE}March")
    days = {one["day"] for one in kitchen.json("calendar")["entries"] if one["kind"] == "shift"}
    assert "2026-03-04" not in days
    assert "2026-03-06" in days
    assert kitchen.json("closed", "2026-03-05", "--open")["done"] == "open"
    assert kitchen.json("closed", "2026-03-07", "--shift", "Early", "--station", "Grill")["first"] == "2026-03-07"
    assert "2026-03-05" in {one["day"] for one in kitchen.json("calendar")["entries"]}
    assert kitchen("closed", "tomorrow").code == 1
    assert kitchen("closed", "2026-03-05", "2026-03-04").code == 1
    assert kitchen.done("closed").splitlines()[1:] == [
        "Quay is open on 5\N{NO-BREAK SPACE}March 2026 all the same.",
        "Quay, Grill, Early is closed on 7\N{NO-BREAK SPACE}March 2026.",
    ]
    assert kitchen("closed", "2026-03-07", "--withdraw").code == 1  # the whole site is not closed then
    taken_back = kitchen.json("closed", "2026-03-07", "--withdraw", "--shift", "Early", "--station", "Grill")
    assert len(taken_back["calendars"]) == 1
    assert len(kitchen.json("closed")["calendars"]) == 2
    assert kitchen("closed", "--open").code == 1


def test_a_calendar_is_written_to_no_other_kind_of_file(kitchen: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "x.csv"
    refused = kitchen("calendar", "--site", "KI", "--out", str(file))
    assert refused.code != 0
    assert "x.csv is no calendar file: let its name end in .ics." in refused.err
    assert not file.exists()
