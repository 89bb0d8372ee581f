"""Tags by command: of some, of all that want one, on sheets and rolls; the calibration page; refused in sentences."""

from pathlib import Path

import pytest

from registry.services import settings
from tests.commands.desk import Kitchen
from tests.documents import reading


def checked(kitchen: Kitchen, *tags: str) -> None:
    bath = kitchen.json("bath", "ice")["number"]
    for tag in tags:
        kitchen.done("read", tag, "0.1", "--bath", bath)
    kitchen.done("bath", "judge", "accepted", "--bath", bath)


def test_tags_of_some_are_written_to_one_file(kitchen: Kitchen, tmp_path: Path) -> None:
    one, two = kitchen.tags[3:5]
    out = tmp_path / "tags.pdf"
    said = kitchen.json("tag", "identity", one, two, one, "--stock", "60x30", "--out", str(out))
    assert (said["done"], len(said["tags"]), said["stock"]) == ("tags_printed", 2, "60x30")
    assert reading.pages_of(out.read_bytes()) == 2
    assert reading.size_of(out.read_bytes()) == pytest.approx((60, 30), abs=0.07)


def test_only_those_that_want_one_from_a_label_on(kitchen: Kitchen, tmp_path: Path) -> None:
    one, two = kitchen.tags[3:5]
    checked(kitchen, one, two)
    out = tmp_path / "tags.pdf"
    sheet = ("tag", "sheet", "--site", "KI", "--wanted", "--stock", "a4_38.1x21.2", "--start", "5", "--out", str(out))
    said = kitchen.json(*sheet, "--trim-x", "0,5", "--trim-y", "-0.5", "--dpi", "600", "--code", "datamatrix")
    assert [each["tag"] for each in said["tags"]] == ["status", "status"]
    words = reading.words_of(out.read_bytes())
    assert one in words
    assert two in words
    again = kitchen(*sheet, "--replace")
    assert (again.code, "wants a tag now" in again.err) == (1, True)


def test_what_cannot_be_drawn_is_named_beside_what_was(kitchen: Kitchen, tmp_path: Path) -> None:
    one = kitchen.tags[3]
    checked(kitchen, one)
    out = tmp_path / "tags.pdf"
    said = kitchen.done("tag", "sheet", "--kind", "both", "--stock", "a4_63.5x38.1", "--out", str(out))
    lines = said.splitlines()
    assert lines[0].startswith("13 tags:")
    assert f"Not printed, {kitchen.tags[4]}: It has not been checked yet: check it first." in lines
    assert len(lines) == 12


def test_a_station_alone(kitchen: Kitchen, tmp_path: Path) -> None:
    out = tmp_path / "tags.pdf"
    said = kitchen.json("tag", "sheet", "--station", "Grill", "--kind", "identity", "--out", str(out))
    assert len(said["tags"]) == 3


def test_what_was_chosen_on_this_computer_is_taken(kitchen: Kitchen, tmp_path: Path) -> None:
    local = settings.local_file(kitchen.home)
    settings.choose(local, "label", "letter_66.7x25.4")
    out = tmp_path / "tags.pdf"
    said = kitchen.json("tag", "identity", kitchen.tags[3], "--out", str(out))
    assert said["stock"] == "letter_66.7x25.4"
    assert reading.size_of(out.read_bytes()) == pytest.approx((215.9, 279.4), abs=0.07)


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        (("--stock", "a5"), "a5 is no label known here"),
        (("--stock", "a4_63.5x38.1", "--start", "22"), "There is no label 22 on this sheet: they count from 1 to 21."),
        (("--trim-x", "7"), "farther than a trim goes"),
        (("--trim-y", "x"), "x is not a number"),
        (("--dpi", "150"), "150 is none of these"),
        (("--code", "ean"), "ean is none of these"),
        (("--stock", "38.1x21.2", "--code", "code128"), ""),
    ],
)
def test_refused_in_a_sentence_and_nothing_is_written(
    kitchen: Kitchen, tmp_path: Path, asked: tuple[str, ...], sentence: str
) -> None:
    out = tmp_path / "tags.pdf"
    said = kitchen("tag", "identity", kitchen.tags[3], *asked, "--out", str(out))
    assert said.code == (1 if sentence else 0), said
    assert sentence in said.err
    assert out.exists() == (not sentence)


def test_a_calibration_page_for_a_sheet_and_a_roll(kitchen: Kitchen, tmp_path: Path) -> None:
    out = tmp_path / "calibration.pdf"
    said = kitchen.done("tag", "calibration", "--stock", "a4_63.5x38.1", "--out", str(out))
    assert said.strip() == f"Calibration page: {out}. Print it at actual size."
    assert "100" in reading.words_of(out.read_bytes())
    said = kitchen.done("tag", "calibration", "--stock", "50x25", "--out", str(out), "--replace")
    assert "scales run inwards" in said


def test_where_the_file_cannot_be_written_nothing_is_recorded(kitchen: Kitchen, tmp_path: Path) -> None:
    tag = kitchen.tags[3]
    said = kitchen("tag", "identity", tag, "--out", str(tmp_path / "nowhere" / "tags.pdf"))
    assert said.code != 0
    story = kitchen.done("history", tag)
    assert "Tag printed" not in story
    kitchen.done("tag", "identity", tag, "--out", str(tmp_path / "tags.pdf"))
    assert "Tag printed" in kitchen.done("history", tag)


def test_a_roll_has_no_label_to_start_at(kitchen: Kitchen, tmp_path: Path) -> None:
    out = tmp_path / "tags.pdf"
    refused = kitchen("tag", "identity", kitchen.tags[3], "--stock", "50x25", "--start", "5", "--out", str(out))
    assert refused.code != 0
    assert "Only a sheet has a first label" in refused.err
    assert not out.exists()
