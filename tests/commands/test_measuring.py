"""What is known of a thermometer, a check, a bath and a site, by command."""

import pytest

from tests.commands.desk import Kitchen


def checked(kitchen: Kitchen, *shown: str) -> str:
    """A check of the first three in a bath of their own, judged; the number of the first one's check."""
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    for tag, reading in zip(kitchen.tags[3:], shown, strict=False):
        kitchen("read", tag, reading)
    kitchen.done("bath", "judge", "accepted")
    history = kitchen.json("history", kitchen.tags[3])
    number: str = history["checks"][-1]["number"]
    return number


def test_one_that_was_never_measured(kitchen: Kitchen) -> None:
    assert kitchen.done("drift", kitchen.tags[3]).strip() == "Not measured yet, so nothing is known of it."
    assert kitchen.json("drift", kitchen.tags[3])["says"] == "never"


def test_how_one_stands(kitchen: Kitchen) -> None:
    checked(kitchen, "0.2", "0.1", "-0.1")
    lines = kitchen.done("drift", kitchen.tags[3]).splitlines()
    assert lines[0].startswith("Too few checks yet to say whether it drifts")
    assert "By its one check it is off by +0.20" in lines[1]
    assert lines[-1].startswith("No model like it is known here yet")
    said = kitchen.json("drift", kitchen.tags[3])
    assert (said["says"], said["checks"], said["learned_from"]) == ("young", 1, 0)
    assert 0 <= said["chance_out"] < 0.05


def test_what_a_check_is_made_of(kitchen: Kitchen) -> None:
    number = checked(kitchen, "0.2", "0.1", "-0.1")
    lines = kitchen.done("budget", number)
    assert "shared by site and method" in lines
    assert "k = 2.0" in lines
    said = kitchen.json("budget", number)
    assert sum(one["share"] for one in said["components"]) > 0.999
    assert said["would_decide"] is None


def test_a_budget_of_something_else_is_refused(kitchen: Kitchen) -> None:
    bath = kitchen.json("bath", "ice")["number"]
    refused = kitchen("budget", bath)
    assert (refused.code, refused.err) == (1, f"{bath} is not the number of a check: see history for those.\n")


@pytest.mark.slow
def test_what_a_bath_s_thermometers_say_of_it(kitchen: Kitchen) -> None:
    for _ in range(4):
        checked(kitchen, "0.2", "0.1", "-0.1")
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    for tag, reading in zip(kitchen.tags[3:], ("1.0", "0.9", "0.7"), strict=False):
        kitchen.json("read", tag, reading)
    lines = kitchen.done("bath", "look").splitlines()
    assert lines[0] == "The thermometers agree with each other and not with the bath."
    assert "+0.8\u00a0°C off: too warm" in lines[1]
    said = kitchen.json("bath", "look")
    assert (said["verdict"], said["wanted"], len(said["thermometers"])) == ("bad", ["remake"], 3)
    assert not any(one["out_even_so"] for one in said["thermometers"])


def test_a_site_without_habits(kitchen: Kitchen) -> None:
    checked(kitchen, "0.2", "0.1", "-0.1")
    assert kitchen.done("habits").strip() == "Nothing is habitual about the baths of this kitchen."
    assert kitchen.json("habits")["habits"][0]["notable"] is False


@pytest.mark.slow
def test_the_background_learns_models(kitchen: Kitchen) -> None:
    for _ in range(4):
        checked(kitchen, "0.2", "0.1", "-0.1")
    assert kitchen.json("background")["models_learned"] >= 1
    assert kitchen.json("background")["models_learned"] == 0
