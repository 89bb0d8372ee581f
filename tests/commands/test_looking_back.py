"""The monthly log, certificates, the printed answer and activity, by command."""

import json
from pathlib import Path

from tests.commands.desk import Kitchen
from tests.documents import reading


def a_shift(kitchen: Kitchen) -> str:
    """One is checked, the list is closed, and it is the next day; the tag id of the one that was checked."""
    tag = kitchen.tags[3]
    kitchen.json("bath", "ice", "--made", "crushed_packed")
    kitchen.done("read", tag, "0.2")
    kitchen.done("bath", "judge", "accepted")
    kitchen("close")
    kitchen.clock.set("2026-03-04 05:00")
    return tag


def test_the_log_names_what_was_checked_and_what_was_not(kitchen: Kitchen) -> None:
    tag = a_shift(kitchen)
    said = kitchen.json("log", "--site", "KI", "--month", "2026-03")
    kinds = {one["tag_id"]: one["kind"] for one in said["lines"] if one["day"] == "2026-03-03"}
    assert kinds.pop(tag) == "check"
    assert set(kinds) == set(kitchen.tags) - {tag}
    assert set(kinds.values()) == {"missed"}
    (check,) = [one for one in said["lines"] if one["kind"] == "check"]
    assert (check["readings"], check["reference"], check["offset"], check["outcome"]) == (
        ["0.2 C"],
        "0.0 C",
        "0.2 dC",
        "pass",
    )
    lines = kitchen.done("log").splitlines()
    assert lines[0] == f"Quay, March 2026: {len(said['lines'])} lines."
    assert any(tag in line and "Pass" in line and check["number"] in line for line in lines)
    assert lines[-1] == "Local codes come first."
    assert said["made_from"][0]["head"] in lines[-2]


def test_the_log_is_written_as_pages(kitchen: Kitchen, tmp_path: Path) -> None:
    tag = a_shift(kitchen)
    file = tmp_path / "log.pdf"
    said = kitchen.done("--language", "es", "log", "--month", "2026-03", "--out", str(file), "--paper", "letter")
    assert said == f"El parte de Quay, marzo de 2026, está en {file}.\n"
    text = reading.words_of(file.read_bytes())
    assert "Parte mensual de comprobaciones" in text
    assert tag in text


def test_a_month_that_is_none_is_refused(kitchen: Kitchen) -> None:
    for month in ("2026-13", "March", "2026-3"):
        said = kitchen("log", "--month", month)
        assert (said.code, said.err) == (1, f"{month} is not a month: type it as 2026-03.\n")
    assert kitchen("log", "--month", "2031-01").code == 1


def test_certificates_are_found_and_written_again(kitchen: Kitchen, tmp_path: Path) -> None:
    tag = a_shift(kitchen)
    assert kitchen.done("certificates") == "No certificate fits.\n"
    first, copy = tmp_path / "first.pdf", tmp_path / "copy.pdf"
    issued = kitchen.json("certificate", tag, "--out", str(first))
    (one,) = kitchen.json("certificates", "--tag", tag, "--from", "2026-03-04", "--to", "2026-03-04")["certificates"]
    assert (one["number"], one["tag_id"], one["initials"], one["state"]) == (issued["number"], tag, "AR", "stands")
    assert one["sha256"] == issued["sha256"]
    assert kitchen.json("certificates", "--to", "2026-03-03")["count"] == 0
    lines = kitchen.done("certificates", "--site", "KI").splitlines()
    assert lines[0] == "One certificate fits; 1 shown."
    assert lines[2].split()[:2] == [issued["number"], tag]
    kitchen.done("certificates", "--number", issued["number"], "--out", str(copy))
    assert copy.read_bytes() == first.read_bytes()
    assert kitchen("certificates", "--number", "XXXX0001A").code == 1


def test_one_that_rests_on_a_voided_check_is_said_at_the_list_and_at_each_copy(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    tag, file = a_shift(kitchen), tmp_path / "c.pdf"
    number = kitchen.json("certificate", tag, "--out", str(file))["number"]
    kitchen.json("void", kitchen.json("history", tag)["checks"][-1]["number"], "--why", "mistyped")
    assert "rests on a check that counts no more" in kitchen.done("certificates")
    (one,) = kitchen.json("certificates")["certificates"]
    assert (one["state"], one["doubt"]) == ("stands", "counts_no_more")
    beware = "Beware: it rests on a check that counts no more;"
    assert beware in kitchen.done("certificates", "--number", number, "--out", str(tmp_path / "again.pdf"))
    assert beware in kitchen.done("certificate", tag, "--copy", number, "--out", str(tmp_path / "more.pdf"))
    (code,) = [one.text for one in reading.codes_of(file.read_bytes(), 300)]
    for asked in ((str(file),), ("--code", code)):
        said = kitchen("verify", *asked)
        assert (said.code, beware in said.out) == (4, True)
        assert kitchen("--json", "verify", *asked).data["good"] is False


def test_a_file_or_a_code_is_verified(kitchen: Kitchen, tmp_path: Path) -> None:
    tag, file = a_shift(kitchen), tmp_path / "c.pdf"
    number = kitchen.json("certificate", tag, "--out", str(file))["number"]
    said = kitchen("verify", str(file))
    assert (said.code, said.out) == (
        0,
        f"{file} is the page of certificate {number} of {tag}, to the byte as it was issued.\n",
    )
    (code,) = [one.text for one in reading.codes_of(file.read_bytes(), 300)]
    said = kitchen("verify", "--code", code)
    assert (said.code, number in said.out) == (0, True)
    file.write_bytes(file.read_bytes() + b"\n")
    assert kitchen("verify", str(file)).code == 4
    assert kitchen("verify", str(tmp_path / "none.pdf")).code == 3
    refused = kitchen("verify", "--code", "ABC")
    assert (refused.code, refused.err.startswith("That is not what the square code")) == (1, True)


def test_the_next_of_a_long_list_are_asked_for(kitchen: Kitchen, tmp_path: Path) -> None:
    tag = a_shift(kitchen)
    issue = ("certificate", tag, "--another", "--out", str(tmp_path / "c.pdf"), "--replace")
    numbers = [kitchen.json(*issue)["number"] for _ in range(3)]
    lines = kitchen.done("certificates", "--first", "2").splitlines()
    assert lines[-1] == f"For the next ones: --after {numbers[1]}."
    (last,) = kitchen.json("certificates", "--first", "2", "--after", numbers[1])["certificates"]
    assert last["number"] == numbers[0]


def test_the_answer_is_written_as_a_page(kitchen: Kitchen, tmp_path: Path) -> None:
    tag = a_shift(kitchen)
    file = tmp_path / "answer.pdf"
    said = kitchen("--json", "was", tag, "2026-03-03", "12:00", "--out", str(file))
    assert (said.code, json.loads(said.out)["answer"]) == (0, "not_known")
    text = reading.words_of(file.read_bytes())
    assert f"Was thermometer {tag} right on" in text
    assert "No check that counts after it yet." in text


def test_activity_by_week_and_where_the_offsets_lie(kitchen: Kitchen) -> None:
    a_shift(kitchen)
    said = kitchen.json("activity", "--weeks", "2", "--by", "type")
    ((before, this),) = [one["weeks"] for one in said["sites"]]
    assert before["not_known"] == "no_shifts"
    # Monday to Wednesday, twelve thermometers; on Monday they were enrolled after the shift had begun, and on Wednesday
    # it is 05:00: the shift that begins at 06:00 asks already, and nothing is missed in it.
    assert (this["wanted"], this["done"], this["missed"], this["open"]) == (24, 1, 11, 12)
    assert this["since"] is None  # it was set up on a Monday
    offsets = {one["key"]: (one["n"], one["without"], one["median"]) for one in said["offsets"]}
    assert offsets == {"thermistor_probe": (1, 8, None), "bimetal_stem": (0, 3, None)}
    out = kitchen.done("activity", "--weeks", "2")
    assert "11 of 12 so far" in out  # what is open in the shift about to begin is left out
    assert "no shifts" in out
    assert "too few" in out
    assert kitchen("activity", "--by", "colour").code == 1
    assert kitchen("activity", "--weeks", "0").code == 2
