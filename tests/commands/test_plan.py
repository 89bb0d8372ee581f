"""The recheck plan by command: shown, added to, changed, taken from, tried, for one site and given back."""

from pathlib import Path

from registry.compute.schedule import RULES
from tests.commands.desk import Kitchen


def codes(kitchen: Kitchen, *site: str) -> list[str]:
    return [one["rule"] for one in kitchen.json("plan", "show", *site)["plan"]["rules"]]


def test_a_rule_is_added_changed_and_removed(kitchen: Kitchen) -> None:
    said = kitchen.done("plan", "add", "every-days", "--days", "3", "--type", "bimetal_stem", "--point", "ice_point")
    assert said == ("From now on: Every 3 days, at the ice point (Bimetal stem). It is set for the whole group.\n")
    shown = kitchen.done("plan", "show")
    assert "A plan of your own" in shown
    assert "Every 3 days, at the ice point" in shown
    said = kitchen.done("plan", "days", "every_days", "1", "--type", "bimetal_stem")
    assert said.startswith("From now on: Every day, at the ice point")
    assert kitchen.done("plan", "remove", "every_days").startswith("No longer: Every day")
    assert "every_days" not in codes(kitchen)
    assert kitchen("verify", "--deep").code == 0


def test_a_rule_for_a_tag_and_a_site_names_them(kitchen: Kitchen) -> None:
    tag = kitchen.tags[0]
    kitchen.done("plan", "add", "forecast", "--tag", tag, "--only-at", "KI")
    assert f"{tag}; only at Quay" in kitchen.done("plan", "show")
    assert kitchen("plan", "add", "forecast", "--tag", "ZZ999").err.startswith("No thermometer bears ZZ999")
    assert kitchen("plan", "add", "forecast", "--only-at", "ZZ").err.startswith("There is no site ZZ")


def test_a_site_gets_its_own_and_goes_back(kitchen: Kitchen) -> None:
    kitchen.done("plan", "add", "forecast", "--site", "KI")
    assert kitchen.done("plan", "show", "--site", "KI").startswith("Recheck plan of Quay alone, since ")
    assert "forecast" not in codes(kitchen)
    assert kitchen.done("plan", "back", "--site", "KI") == "Quay follows the group's plan again.\n"
    assert kitchen.done("plan", "show", "--site", "KI").startswith("Quay follows the group's plan, since ")
    said = kitchen.json("plan", "set", "risk_based", "--site", "KI")
    assert (said["done"], said["plan"]) == ("plan_set", "risk_based")
    assert codes(kitchen, "--site", "KI") != codes(kitchen)


def test_what_is_wrong_is_said_in_one_sentence(kitchen: Kitchen) -> None:
    for words, said in (
        (("add", "whenever"), "whenever is none of these: after_adjustment, "),
        (("add", "every_days"), "Say every how many days.\n"),
        (("add", "every_days", "--days", "0"), "That number of days cannot be kept: give 1 to 3660.\n"),
        (("add", "each_shift", "--days", "2"), "This rule has no days: leave them out.\n"),
        (("add", "each_shift"), "The plan has this rule for the same thermometers already: "),
        (("add", "every_days", "--days", "2", "--type", "spoon"), "spoon is none of these: "),
        (("remove", "new"), "What is new, and what had an incident, must be checked before it is used: "),
        (("remove", "sentinel"), "The plan has no such rule: look at its rules.\n"),
        (("add", "forecast", "--since", "2030-01-01"), "A plan is in force as soon as it is recorded: "),
        (("back",), "This site follows the group's plan already.\n"),
    ):
        found = kitchen("plan", *words)
        assert (found.code, found.err[: len(said)]) == (1, said)
    assert kitchen("--as", "LG", "plan", "add", "forecast").err.startswith("This asks for another role")


def test_what_would_not_be_checked_regularly_is_named_first(kitchen: Kitchen) -> None:
    found = kitchen("plan", "remove", "each_shift")
    assert found.code == 1
    assert found.err.startswith("These would no longer be checked regularly: ")
    assert "Thermistor probe" in found.err
    kitchen.done("plan", "remove", "each_shift", "--yes")


def test_a_change_is_tried_before_it_is_made(kitchen: Kitchen) -> None:
    before = codes(kitchen)
    said = kitchen.json("plan", "remove", "each_shift", "--try")
    assert said["no_longer_asked"]
    assert said["hours_a_year"]["other"] == 0
    tried = kitchen.done("--language", "es", "plan", "add", "every_days", "--days", "7", "--try")
    assert "El plan cambiado" in tried
    assert codes(kitchen) == before


def test_a_rule_that_changes_nothing_is_said_to(kitchen: Kitchen) -> None:
    weekly = ("plan", "add", "every_days", "--days", "7", "--type", "bimetal_stem")
    assert "Bimetal stem: another rule asks more often (In each shift), so" in kitchen.done(*weekly)
    kitchen.done("plan", "set", "risk_based")
    said = kitchen.done(*weekly)
    assert "Bimetal stem: another rule asks more often (Every day), so this one changes nothing for it." in said
    assert "Bimetálico de varilla: otra regla pide más a menudo (Cada día)" in kitchen.done(
        "--language", "es", "plan", "days", "every_days", "5", "--type", "bimetal_stem"
    )
    daily = kitchen.done("plan", "add", "every_days", "--days", "2", "--type", "oven")
    assert "another rule" not in daily
    assert "another rule" not in kitchen.done("plan", "remove", "every_days", "--type", "bimetal_stem")


def test_the_hours_of_the_group_s_plan_are_those_of_the_sites_that_follow_it(kitchen: Kitchen) -> None:
    kitchen.done("plan", "set", "risk_based", "--site", "KI")
    said = kitchen.done("plan", "show")
    assert "About 0 hours a year" in said
    assert "for all thermometers now in use where this plan is followed." in said
    assert "About 0 hours" not in kitchen.done("plan", "show", "--site", "KI")


# --- every output with a plan of one's own -------------------------------------------------------------------


def everything(kitchen: Kitchen) -> None:
    """A site's own plan with a rule of every code, for types, a tag and points, and checks over some days."""
    digital = kitchen.tags[5]
    for words in (
        ("every_days", "--days", "1", "--type", "bimetal_stem", "--point", "ice_point"),
        ("every_days", "--days", "3", "--tag", digital),
        ("forecast", "--type", "thermistor_probe"),
        ("sentinel", "--type", "thermistor_probe"),
        ("hot_point", "--days", "5", "--tag", digital),
        ("after_adjustment", "--days", "1", "--type", "bimetal_stem"),
    ):
        kitchen.done("plan", "add", *words, "--site", "KI")
    kitchen.done("plan", "remove", "each_shift", "--site", "KI", "--yes")
    kitchen.done("plan", "add", "each_shift", "--type", "bimetal_stem", "--site", "KI")
    kitchen.done("plan", "add", "each_shift", "--type", "oven")  # the group's, which the site does not follow
    for day in ("2026-03-03 07:00", "2026-03-04 07:00", "2026-03-05 07:00"):
        kitchen.clock.set(day)
        kitchen.done("bath", "ice")
        for tag in (digital, kitchen.tags[6]):
            kitchen.done("read", tag, "0.1")
        kitchen.done("bath", "judge", "accepted")
    kitchen.done("incident", kitchen.tags[7], "dropped")
    kitchen.clock.set("2026-03-09 07:00")


def test_every_output_knows_an_own_plan_with_every_rule(kitchen: Kitchen, tmp_path: Path) -> None:
    everything(kitchen)
    assert {one["rule"] for one in kitchen.json("plan", "show", "--site", "KI")["plan"]["rules"]} == RULES
    digital = kitchen.tags[5]
    pages = {
        "log": ("log", "--month", "2026-03"),
        "wall-list": ("wall-list",),
        "when-off": ("when-off",),
        "overview": ("overview",),
        "shift-sheet": ("shift-sheet",),
        "certificate": ("certificate", digital),
    }
    shown = [
        ("due", "--all"),
        ("drift",),
        ("drift", digital),
        ("interval",),
        ("replay",),
        ("replay", "--plan", "risk_based"),
        ("log", "--month", "2026-03"),
        ("calendar",),
        ("activity", "--weeks", "2"),
        ("thermometers",),
        ("thermometer", digital),
        ("thermometer", kitchen.tags[0]),
        ("rules", "show", "--site", "KI"),
        ("plan", "show", "--site", "KI"),
    ]
    for words in shown:
        kitchen.done("--language", "es", *words)
    for name, words in pages.items():
        out = tmp_path / f"{name}.pdf"
        kitchen.done(*words, "--out", str(out))
        assert out.stat().st_size > 1000
    codes = {one["rule"] for one in kitchen.json("due", "--all")["due"]}
    assert {"each_shift", "every_days", "after_incident", "new", "hot_point"} <= codes
    assert "Un plan propio" in kitchen.done("--language", "es", "plan", "show", "--site", "KI")
    assert "A plan of your own" in kitchen.done("replay")


def test_a_certificate_says_recheck_by_the_own_plan(kitchen: Kitchen, tmp_path: Path) -> None:
    """Every three days: checked on March 5, so by March 8."""
    everything(kitchen)
    kitchen.clock.set("2026-03-05 08:00")
    for rule in ("sentinel", "forecast"):
        kitchen.done("plan", "remove", rule, "--site", "KI", "--yes")
    kitchen.done("plan", "remove", "hot_point", "--tag", kitchen.tags[5], "--site", "KI")
    kitchen.done("plan", "remove", "hot_point", "--site", "KI")
    said = kitchen.json("certificate", kitchen.tags[5], "--out", str(tmp_path / "one.pdf"))
    assert said["number"]
    listed = {one["tag_id"]: one["next_due"] for one in kitchen.json("thermometers")["thermometers"]}
    assert listed[kitchen.tags[5]] == "2026-03-08"


def test_what_it_costs_is_said(kitchen: Kitchen) -> None:
    kitchen.done("plan", "set", "each_shift")
    dear = kitchen.json("plan", "show")["hours_a_year"]
    assert f"About {round(dear)} hours a year" in kitchen.done("plan", "show")
    kitchen.done("plan", "remove", "each_shift", "--yes")
    assert kitchen.json("plan", "show")["hours_a_year"] == 0
    kitchen.done("plan", "add", "every_days", "--days", "2", "--tag", kitchen.tags[0])
    # by hand: 365.25 / 2 checks of 40 s
    assert kitchen.json("plan", "show")["hours_a_year"] == round(365.25 / 2 * 40 / 3600, 2) < dear
