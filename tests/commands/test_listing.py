"""The list of thermometers by command: filters, orders, how many."""

from tests.commands.desk import Kitchen


def tags(said: dict[str, list[dict[str, str]]]) -> list[str]:
    return [one["tag_id"] for one in said["thermometers"]]


def test_the_list_is_narrowed_sorted_and_cut(kitchen: Kitchen) -> None:
    dials, digitals = kitchen.tags[:3], kitchen.tags[3:]
    assert tags(kitchen.json("thermometers", "--type", "bimetal-stem")) == dials
    assert tags(kitchen.json("thermometers", "--find", "brisa", "--sort", "serial", "--descending")) == digitals[::-1]
    assert tags(kitchen.json("thermometers", "--find", digitals[0].lower())) == digitals[:1]
    assert tags(kitchen.json("thermometers", "--station", "Grill", "--first", "2")) == dials[:2]
    said = kitchen.json("thermometers", "--first", "5", "--sort", "last-check-at")
    assert (len(said["thermometers"]), said["count"], said["every"]) == (5, 12, 12)


def test_the_count_is_said_with_the_lines(kitchen: Kitchen) -> None:
    lines = kitchen.done("thermometers", "--find", "7003").splitlines()
    assert lines[0] == "1 of one that fits; 12 in all."
    assert kitchen.tags[6] in lines[2]
    assert kitchen.done("thermometers", "--find", "nowhere").splitlines() == ["0 of 0 that fit; 12 in all."]


def test_those_that_are_due_are_listed(kitchen: Kitchen) -> None:
    due = {one["tag_id"] for one in kitchen.json("due")["due"]}
    assert set(tags(kitchen.json("thermometers", "--due"))) == due


def test_an_unknown_column_is_refused(kitchen: Kitchen) -> None:
    said = kitchen("thermometers", "--sort", "colour")
    assert said.code == 1
    assert "last_check_at" in said.err


# --- how one stands now --------------------------------------------------------------------------------------


def in_ice(kitchen: Kitchen, tag: str, *shown: str) -> None:
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    for one in shown:
        kitchen("read", tag, one)
    kitchen.done("bath", "judge", "accepted")


def first_line(kitchen: Kitchen, tag: str) -> str:
    return kitchen.done("thermometer", tag).splitlines()[0]


def outcome_in_the_list(kitchen: Kitchen, tag: str) -> str:
    return kitchen.done("thermometers", "--find", tag).splitlines()[2]


def test_who_was_adjusted_is_said_as_left_with_what_was_found(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    in_ice(kitchen, tag, "1.6", "1.6", "1.6")
    assert outcome_in_the_list(kitchen, tag).endswith("Check first  03/03/2026  Fail")
    kitchen.clock.set("2026-03-03 06:15")
    kitchen.done("adjust", tag, "--how", "reset", "--as-left", "0.1")
    assert outcome_in_the_list(kitchen, tag).endswith("Pass as left, adjusted; as found: Fail")
    assert tags(kitchen.json("thermometers", "--outcome", "pass")) == [tag]
    assert tags(kitchen.json("thermometers", "--outcome", "fail")) == []
    listed = kitchen.json("thermometers", "--find", tag)["thermometers"][0]
    told = kitchen.json("thermometer", tag)
    assert {name: told[name] for name in listed} == listed
    assert (told["last_outcome"], told["left"], told["as_found"]) == ("pass", "judged", "fail")
    line = first_line(kitchen, tag)
    assert line.startswith(f"{tag}: In service, Quay. Ice point: Pass as left, adjusted 3\u00a0March 2026, 06:1")
    assert "; as found: Fail." in line
    history = kitchen.done("history", tag)
    assert "Fail at the ice point" in history  # what was found stays to be seen


def test_a_later_failure_stands_in_the_first_line(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    in_ice(kitchen, tag, "0.1")
    assert "Ice point: Pass, 3\u00a0March 2026, 06:10. Overdue: Hot point every 90 days (none yet)." in first_line(
        kitchen, tag
    )
    kitchen.clock.set("2026-03-04 06:10")
    in_ice(kitchen, tag, "1.6", "1.6", "1.6")
    line = first_line(kitchen, tag)
    assert line.startswith(
        f"{tag}: Check first, Quay. Ice point: Fail, 4\u00a0March 2026, 06:10. Wanted now: Outside its"
    )
    said = kitchen.json("thermometer", tag)
    assert [(one["point"], one["outcome"]) for one in said["now"]] == [("ice_point", "fail")]
    assert said["due"][0] == {"rule": "check_first", "state": "due", "due_at": said["now"][0]["at"]}


def test_what_was_never_checked_or_is_out_of_use_says_so(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    assert first_line(kitchen, tag).startswith(f"{tag}: In service, Quay. It has not been checked yet. ")
    kitchen.done("take-out", tag, "--why", "spare")
    assert first_line(kitchen, tag).endswith("Not in use: it owes no check.")


def test_how_one_stands_in_spanish(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    in_ice(kitchen, tag, "1.6", "1.6", "1.6")
    said = kitchen("--language", "es", "thermometer", tag)
    assert "Punto de hielo: No apto, 3\u00a0de marzo de 2026, 06:10." in said.out.splitlines()[0]
    assert "March" not in said.out


def test_all_that_it_owes_is_told_the_worst_first(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    kitchen.done("incident", tag, "dropped")
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    for _ in range(3):
        kitchen("read", tag, "3.0")
    kitchen.done("bath", "judge", "accepted")
    first = kitchen.done("thermometer", tag).splitlines()[0]
    assert "Ice point: Fail" in first
    assert 0 < first.index("Wanted now: Outside its limits") < first.index("; Dropped, ") < first.index("Overdue: ")


def test_what_its_use_is_limited_to_is_told_beside_check_first(kitchen: Kitchen) -> None:
    tag = kitchen.tags[3]
    kitchen.done("limit", tag, "--only", "cold")
    out = kitchen.done("thermometer", tag)
    assert f"{tag}: Limited use: cold food only, Quay." in out
    assert "hot food, cold food. Limited use: cold food only" in out
    kitchen.done("incident", tag, "dropped")
    assert f"{tag}: Check first. Limited use: cold food only, Quay." in kitchen.done("thermometer", tag)
    assert kitchen.json("thermometer", tag)["only"] == "cold"
