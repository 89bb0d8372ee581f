"""Failed checks of a period, and what is to be replaced, by command."""

from pathlib import Path

from tests.commands.desk import Kitchen


def glass(kitchen: Kitchen, *more: str) -> str:
    said = kitchen.json("enrol", "liquid_in_glass", "--scale", "C:1:-10:110", "--maker", "Alba", "--model", "S", *more)
    tag: str = said["tag_id"]
    return tag


def test_none_failed_and_nothing_is_to_be_replaced(kitchen: Kitchen) -> None:
    assert kitchen.done("failures", "--weeks", "4") == "No check failed in the last 4 weeks.\n"
    assert kitchen.done("to-replace") == "Nothing on record asks for replacing any.\n"
    assert kitchen("failures", "--type", "spoon").err.startswith("spoon is none of these: ")


def test_what_was_taken_out_of_use_is_to_be_replaced_with_what_it_cost(kitchen: Kitchen, tmp_path: Path) -> None:
    first, second = glass(kitchen, "--price", "19.90"), glass(kitchen)
    for tag in (first, second):
        kitchen.done("take-out", tag, "--why", "damaged")
    shown = kitchen.done("to-replace")
    assert "It was taken out of use as damaged." in shown
    assert f"as {first} cost" in shown
    assert "Price known for 2 of 2; sum: €39.80." in shown
    said = kitchen.json("to-replace")
    assert [(one["tag_id"], one["why"], one["price_like"]) for one in said["to_replace"]] == [
        (first, "damaged", None), (second, "damaged", first),
    ]  # fmt: skip
    assert (said["price_known"], said["sums"]) == (2, [{"amount": "39.80", "currency": "EUR"}])
    file = tmp_path / "replace.csv"
    kitchen.done("to-replace", "--out", str(file))
    assert second in file.read_text(encoding="utf-8-sig")


def test_failed_checks_are_listed_and_written(kitchen: Kitchen, tmp_path: Path) -> None:
    tag = glass(kitchen)
    kitchen.json("bath", "ice")
    kitchen("read", tag, "5")
    kitchen("read", tag, "5")
    kitchen("read", tag, "5")
    kitchen("read", tag, "5")
    kitchen.done("bath", "judge", "accepted")
    shown, said = kitchen.done("failures"), kitchen.json("failures")
    (one,) = said["failures"]
    assert (one["tag_id"], one["now"], said["open"]) == (tag, "open", 1)
    assert "nothing yet" in shown
    assert "do it by hand" in shown
    file = tmp_path / "failed.csv"
    kitchen.done("failures", "--out", str(file))
    assert tag in file.read_text(encoding="utf-8-sig")
