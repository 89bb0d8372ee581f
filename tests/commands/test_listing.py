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
