"""Exit codes that scripts trust, what stands on stderr, JSON for machines, both languages."""

import json
import sqlite3
from pathlib import Path

import pytest

from registry import cli
from registry.services import clock, troubles
from tests.commands.desk import Clock, Kitchen, instant
from tests.store.tampering import unguarded

LISTS = (
    ("site", "list"),
    ("station", "list"),
    ("shift", "list"),
    ("person", "list"),
    ("rules", "show"),
    ("thermometers",),
    ("baths",),
    ("due", "--all"),
    ("verify",),
    ("recompute",),
)


def test_0_is_done(kitchen: Kitchen) -> None:
    said = kitchen("thermometers")
    assert (said.code, said.err) == (0, "")
    assert said.out.startswith("12 of 12 that fit; 12 in all.\n")


def test_1_is_refused_and_nothing_is_recorded(kitchen: Kitchen) -> None:
    before = kitchen.json("verify")["entries"]
    said = kitchen("site", "add", "Quay", "--letters", "K1", "--zone", "Europe/Nowhere", "--elevation", "12 m")
    assert (said.code, said.out) == (1, "")
    assert said.err.splitlines() == [
        "A site takes two letters, such as KI, which begin its tag ids.",
        "Europe/Nowhere is not a time zone: type it as Europe/Madrid or America/New_York.",
        "There is a Quay already: choose another name.",
    ]
    assert kitchen.json("verify")["entries"] == before


def test_1_for_a_text_that_the_journal_does_not_take(kitchen: Kitchen) -> None:
    said = kitchen("station", "add", "x" * 2001)
    assert (said.code, said.err.startswith("A text here is too long")) == (1, True)
    # Two characters that look like one are kept as that one.
    assert kitchen("station", "add", "Cafe\u0301").code == 0
    assert kitchen.json("station", "list")["stations"][0]["name"] == "Caf\u00e9"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["nonsense"], "There is no command nonsense."),
        (["bath", "nonsense"], "There is no command nonsense."),
        (["bath"], "Name one of the commands."),
        (["due", "--nonsense"], "There is no option --nonsense here."),
        (["thermometer"], "TAG is missing."),
        (["thermometer", "A1", "B2"], "B2 is not expected here."),
        (["read", "A1", "0.1", "--bath"], "--bath needs a value behind it."),
        (["read", "A1", "\udcff"], "What was typed holds characters that are no text"),
    ],
)
def test_2_is_wrong_usage(words: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--language", "en", *words]) == 2
    seen = capsys.readouterr()
    assert seen.out == ""
    assert seen.err.startswith(told)
    assert cli.main(["--language", "es", *words]) == 2
    assert capsys.readouterr().err != seen.err


def test_3_where_there_is_no_registry(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--home", str(tmp_path / "none"), "due"]) == 3
    assert capsys.readouterr().err.startswith("There is no registry here yet")
    assert not (tmp_path / "none").exists()
    assert cli.main(["due"]) == 3  # in the data folder of this user, which the test made its own
    assert str(tmp_path / "data" / "thermometer-registry") in capsys.readouterr().err


def test_3_where_the_key_is_missing_one_may_look_but_not_record(kitchen: Kitchen) -> None:
    (kitchen.home / "registry.key").unlink()
    assert kitchen("thermometers").code == 0
    said = kitchen("station", "add", "Bar")
    assert (said.code, said.err.startswith("The key of this registry is not here")) == (3, True)


def test_3_for_a_newer_file_and_for_places_that_do_not_fit(kitchen: Kitchen) -> None:
    with sqlite3.connect(kitchen.home / "registry.db", isolation_level=None) as other:
        other.execute("PRAGMA user_version=99")
        assert kitchen("due").err.startswith("A newer version of this program made this file")
        other.execute("PRAGMA user_version=1")
        assert kitchen("due").code == 0
    other.close()
    nowhere = kitchen("export", str(kitchen.home / "no such folder" / "checks.csv"))
    assert (nowhere.code, nowhere.err.startswith("There is no such file or folder")) == (3, True)
    again = kitchen("start", "--group", "X", "--country", "IE", "--name", "A B", "--initials", "AB")
    assert (again.code, again.err.startswith("There is something here already")) == (3, True)


def test_3_while_another_program_writes(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    from registry.store import database

    monkeypatch.setattr(database, "_PRAGMAS", ("PRAGMA busy_timeout=1",))  # nobody waits three seconds here
    other = sqlite3.connect(kitchen.home / "registry.db", isolation_level=None)
    try:
        other.execute("BEGIN IMMEDIATE")
        said = kitchen("station", "add", "Bar")
    finally:
        other.close()
    assert (said.code, said.err.startswith("Another program is writing")) == (3, True)
    assert kitchen("station", "add", "Bar").code == 0


def test_4_where_the_record_was_changed(kitchen: Kitchen) -> None:
    assert kitchen("verify", "--deep").code == 0
    with sqlite3.connect(kitchen.home / "registry.db") as other:
        guards = other.execute("SELECT name FROM sqlite_master WHERE type='trigger' AND tbl_name='entries'")
        for (name,) in guards.fetchall():
            other.execute(f'DROP TRIGGER "{name}"')
        other.execute("UPDATE entries SET text = replace(text, 'Grill', 'Grilm')")
    other.close()
    said = kitchen("--json", "verify")
    assert (said.code, said.data["good"]) == (4, False)
    assert "text_changed" in {one["code"] for one in said.data["findings"]}
    people = kitchen("verify")
    assert "Its text was changed" in people.out


def cut_off(kitchen: Kitchen, keep: int) -> None:
    """Take away all that was recorded after an entry, behind the program's back."""
    with unguarded(kitchen.home / "registry.db") as other:
        other.execute("DELETE FROM entries WHERE seq > ?", (keep,))


def test_4_where_the_end_was_cut_off(kitchen: Kitchen) -> None:
    before = kitchen.json("verify")["heads"][0]["seq"]
    kitchen.json("station", "add", "Bar")
    kitchen.json("station", "add", "Store")
    cut_off(kitchen, before)
    for how in ((), ("--deep",)):
        said = kitchen("--json", "verify", *how)
        (finding,) = [one for one in said.data["findings"] if one["code"] != "not_compared"]
        assert (said.code, finding["code"], finding["values"]["count"]) == (4, "end_missing", 2)
    people = kitchen("verify").out
    assert f"its key signed up to number {finding['number']}; restore a backup" in people
    assert "This registry is older than what its key has signed" in people
    assert "Nothing was changed" not in people


def test_3_where_a_list_names_an_entry_that_is_gone(kitchen: Kitchen) -> None:
    before = kitchen.json("verify")["heads"][0]["seq"]
    kitchen.json("bath", "ice")
    kitchen.json("read", kitchen.tags[3], "0.1")
    kitchen.done("bath", "judge", "accepted")
    cut_off(kitchen, before)
    said = kitchen("thermometer", kitchen.tags[3])
    assert (said.code, said.err.startswith("The record and its lists don't agree")) == (3, True)


def test_a_missing_marker_is_said_and_no_failure(kitchen: Kitchen) -> None:
    (kitchen.home / "registry.key.marker").unlink()
    said = kitchen("verify")
    assert said.code == 0
    assert "It is not known how far this registry had got" in said.out


def test_5_where_something_wants_attention(kitchen: Kitchen) -> None:
    assert kitchen("due").code == 0
    assert kitchen("due", "--fail-if-due").code == 5
    kitchen.json("bath", "ice")
    assert kitchen("read", kitchen.tags[3], "1.8").code == 5
    assert kitchen("read", kitchen.tags[4], "0.8").code == 0


def test_70_is_our_mistake_and_the_log_names_nobody(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    from registry.services import places

    def broken(*_: object) -> None:
        raise ZeroDivisionError("Ada Reed, station Grill")

    monkeypatch.setattr(places, "add_station", broken)
    said = kitchen("station", "add", "Secret Bar")
    log = (kitchen.home / troubles.LOG_NAME).read_text()
    assert said.code == 70
    assert "mistake of the program" in said.err
    assert str(kitchen.home / troubles.LOG_NAME) in said.err
    assert "ZeroDivisionError" in log
    assert "registry/commands/places.py" in log
    for word in ("Ada", "Reed", "Grill", "Secret", "Traceback", str(Path.home()) + "/"):
        assert word not in log + said.err.replace(str(kitchen.home), "")


@pytest.mark.parametrize("words", LISTS, ids=" ".join)
def test_every_list_speaks_json_and_both_languages(kitchen: Kitchen, words: tuple[str, ...]) -> None:
    assert isinstance(kitchen.json(*words), dict)
    english, spanish = kitchen.done("--language", "en", *words), kitchen.done("--language", "es", *words)
    assert english != spanish
    assert kitchen.json("--language", "es", *words) == kitchen.json(*words) or words[0] == "due"


def test_problems_and_troubles_are_json_too(kitchen: Kitchen) -> None:
    refused = json.loads(kitchen("--json", "thermometer", "ZZ9").err)
    assert refused["problems"] == [
        {
            "field": "tag_id",
            "code": "unknown_tag",
            "values": {"value": "ZZ9"},
            "sentence": "No thermometer bears ZZ9: look at its tag.",
        }
    ]
    (kitchen.home / "registry.key").unlink()
    trouble = json.loads(kitchen("--json", "station", "add", "Bar").err)
    assert trouble["trouble"] == "key_missing"


def test_the_language_is_the_group_s_unless_asked(kitchen: Kitchen) -> None:
    assert "termómetros" not in kitchen.done("due")
    assert kitchen.done("--language", "es", "due").startswith("Tocan 12 termómetros, 12 de ellos con retraso.")
    wrong = kitchen("--language", "eo", "due")
    assert (wrong.code, wrong.err) == (1, "eo is none of these: en, es.\n")
    assert kitchen("--language", "es", "thermometer", "ZZ9").err == "Ningún termómetro lleva ZZ9: mire su etiqueta.\n"


def test_a_spanish_group_is_answered_in_spanish(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    spanish = Kitchen(tmp_path / "cocina", Clock(instant("2026-03-03 06:10")))
    monkeypatch.setattr(clock, "now_us", spanish.clock)
    spanish.done("start", "--group", "Cocinas Lobo", "--country", "ES", "--name", "Ana Ruiz", "--initials", "AR")
    spanish.done("site", "add", "Muelle", "--letters", "MU", "--zone", "Europe/Madrid", "--elevation", "650 m")
    tag = spanish.json("enrol", "thermistor_probe", "--scale", "C:0,1:-40:150")["tag_id"]
    assert "debe marcar de −1,0 a 1,0\u00a0°C" in spanish.done("bath", "ice")
    said = spanish.done("read", tag, "0,4").splitlines()
    assert said[0] == f"{tag}: En espera (0,4\u00a0°C)"
    assert said[1].startswith("Apto en el punto de hielo: desviación +0,4\u00a0°C")
    assert said[-1] == "Las normas locales tienen preferencia."


def test_a_demo_says_so_first(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    from registry.services.session import Session

    monkeypatch.setattr(Session, "demo", True)
    assert kitchen("due").out.startswith("DEMO: ")
    assert kitchen.json("due")["demo"] is True


def test_a_page_and_a_copy_are_written(kitchen: Kitchen, tmp_path: Path) -> None:
    tag, page, folder = kitchen.tags[3], tmp_path / "page.pdf", tmp_path / "copies"
    early = kitchen("certificate", tag, "--out", str(page))
    assert (early.code, early.err) == (1, "It has not been checked yet: check it first.\n")
    kitchen.json("bath", "ice")
    kitchen.json("read", tag, "0.1")
    kitchen.done("bath", "judge", "accepted")
    issued = kitchen.json("certificate", tag, "--out", str(page))
    assert page.read_bytes().startswith(b"%PDF")
    again = kitchen.json("certificate", tag, "--copy", issued["number"], "--out", str(tmp_path / "again.pdf"))
    assert again["sha256"] == issued["sha256"]
    assert (tmp_path / "again.pdf").read_bytes() == page.read_bytes()

    folder.mkdir()
    backup = Path(kitchen.json("backup", str(folder))["file"])
    restored = Kitchen(tmp_path / "restored", kitchen.clock)
    assert "with a key of its own" in restored.done("restore", str(backup))
    assert restored.json("thermometer", tag)["last_outcome"] == "pass"
    assert kitchen.json("export", str(tmp_path / "checks.csv"), "--checks")["count"] == 1
    assert kitchen("export", str(tmp_path / "checks.csv"), "--checks").code == 3
    assert kitchen("rebuild").code == 0


def test_a_moved_folder_goes_on_once_somebody_says_so(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    from registry.store import keyfile

    monkeypatch.setattr(keyfile, "machine_id", lambda: "0" * 64)
    said = kitchen("station", "add", "Bar")
    assert (said.code, said.err.startswith("This registry was moved or copied from another computer")) == (3, True)
    assert kitchen("--as", "LG", "carry-on", "--because", "moved").code == 1
    kitchen.done("carry-on", "--because", "moved", "--name", "New office")
    kitchen.done("station", "add", "Bar")
    assert kitchen("carry-on", "--because", "moved").err.startswith("This registry goes on as it is")


def test_old_checks_are_looked_at_and_then_imported(kitchen: Kitchen, tmp_path: Path) -> None:
    tag, file = kitchen.tags[3], tmp_path / "old.csv"
    file.write_text(f"tag,date,time,point,reading,unit\n{tag},2026-02-01,06:10,ice_point,0.2,C\n")
    asked = ("import", "history", str(file), "--site", "KI", "--initials", "AR")
    assert kitchen.json(*asked, "--try")["good"] is True
    assert kitchen.json("history", tag)["checks"] == []
    assert kitchen.json(*asked)["rows"] == 1
    assert kitchen.json("history", tag)["checks"][0]["readings"] == ["0.2 C"]
    assert kitchen(*asked).err.startswith("This file was imported already")
    file.write_text(f"tag,date,time,point,reading,unit\n{tag},2026-02-31,06:10,ice_point,O.2,C\n")
    wrong = kitchen(*asked)
    assert (wrong.code, len(wrong.err.splitlines())) == (1, 2)
    assert wrong.err.startswith("Row 2, ")
