"""Papers of a site by command: certificates of all that lack one, the list for the wall, when one is off, HTML."""

from pathlib import Path

from tests.commands.desk import Kitchen
from tests.documents.reading import pages_of, words_of


def in_ice(kitchen: Kitchen, *tags: str) -> None:
    kitchen.json("bath", "ice")
    for tag in tags:
        assert kitchen("read", tag, "0.1").code in (0, 5)
    assert kitchen("bath", "judge", "accepted").code == 0


def test_certificates_of_all_that_lack_one(kitchen: Kitchen, tmp_path: Path) -> None:
    in_ice(kitchen, *kitchen.tags[3:6])
    out = tmp_path / "all.pdf"
    said = kitchen.json("certificates-for", "--site", "KI", "--language", "es", "--out", str(out))
    assert [one["tag_id"] for one in said["issued"]] == sorted(kitchen.tags[3:6])
    assert {one["why"] for one in said["cannot"]} == {"none_yet"}
    assert said["files"] == [str(out)]
    assert pages_of(out.read_bytes()) == 3
    assert "Constancia" in words_of(out.read_bytes())
    again = kitchen("certificates-for", "--out", str(tmp_path / "folder"), "--every")
    assert again.code == 5  # some can get none, which wants attention
    assert "Quay: 0 certificates issued." in again.out
    assert "3 thermometers had the certificate of their latest check already." in again.out
    assert f"{kitchen.tags[0]} gets none: it has not been checked yet." in again.out
    assert len(list((tmp_path / "folder").iterdir())) == 3


def test_narrowed_to_a_station_and_a_type(kitchen: Kitchen, tmp_path: Path) -> None:
    in_ice(kitchen, kitchen.tags[3])
    said = kitchen.json("certificates-for", "--station", "Grill", "--out", str(tmp_path))
    assert said["issued"] == []
    assert len(said["cannot"]) == 3
    said = kitchen.json("certificates-for", "--type", "thermistor-probe", "--out", str(tmp_path))
    assert [one["tag_id"] for one in said["issued"]] == [kitchen.tags[3]]
    assert kitchen("certificates-for", "--type", "spoon").code == 1


def test_the_list_for_the_wall_and_when_one_is_off(kitchen: Kitchen, tmp_path: Path) -> None:
    in_ice(kitchen, kitchen.tags[3])
    wall, off = tmp_path / "wall.pdf", tmp_path / "off.pdf"
    assert kitchen.done("wall-list", "--out", str(wall)).startswith("List for the wall of Quay")
    assert all(tag in words_of(wall.read_bytes()) for tag in kitchen.tags)
    said = kitchen.json("when-off", "--site", "KI", "--language", "es", "--paper", "letter", "--out", str(off))
    assert said["file"] == str(off)
    assert "Si un termómetro está desviado" in words_of(off.read_bytes())
    kitchen.done("site", "add", "Mole", "--letters", "MO", "--zone", "Europe/London", "--elevation", "3 m")
    empty = kitchen("wall-list", "--site", "MO")
    assert (empty.code, "enrol them first" in empty.err) == (1, True)


def test_the_page_for_the_manager(kitchen: Kitchen, tmp_path: Path) -> None:
    in_ice(kitchen, kitchen.tags[3])
    file = tmp_path / "overview.pdf"
    assert kitchen.done("overview", "--out", str(file)).startswith("The page for the manager is written to ")
    assert kitchen.tags[3] in words_of(file.read_bytes())
    kitchen.done("overview", "--site", "KI", "--language", "es", "--paper", "letter", "--out", str(file), "--replace")
    assert "Cómo están nuestros termómetros" in words_of(file.read_bytes())
    kitchen.done("--language", "es", "overview", "--out", str(file), "--replace")
    assert "Cómo están nuestros termómetros" in words_of(file.read_bytes())
    kitchen.done("--language", "es", "overview", "--language", "en", "--out", str(file), "--replace")
    assert "How our thermometers stand" in words_of(file.read_bytes())
    past = kitchen("overview", "--by-day", "2020-01-01")
    assert (past.code, "2020" in past.err) == (1, True)


def test_an_issued_certificate_as_html(kitchen: Kitchen, tmp_path: Path) -> None:
    tag = kitchen.tags[3]
    in_ice(kitchen, tag)
    none = kitchen("certificate", tag, "--html")
    assert (none.code, "issue one first" in none.err) == (1, True)
    number = kitchen.json("certificate", tag, "--out", str(tmp_path / "page.pdf"))["number"]
    out = tmp_path / "page.html"
    assert number in kitchen.done("certificate", tag, "--html", "--out", str(out))
    text = out.read_text("utf-8")
    assert f"End of certificate {number}" in text
    assert "says the same as the page that was issued" in text
    kitchen.done("retag", tag, "KI999")
    kitchen.done("certificate", "KI999", "--html", "--copy", number, "--out", str(out), "--replace")
    assert "written from the record as it stands now" in out.read_text("utf-8")
    assert kitchen("certificate", "KI999", "--html", "--replaces", number).code == 1


def test_an_issued_certificate_in_the_exchange_format(kitchen: Kitchen, tmp_path: Path) -> None:
    tag, out = kitchen.tags[3], tmp_path / "x.xml"
    in_ice(kitchen, tag)
    number = kitchen.json("certificate", tag, "--out", str(tmp_path / "page.pdf"))["number"]
    without = kitchen("certificate", tag, "--dcc", "--out", str(out))
    assert (without.code, out.exists()) == (1, False)
    assert without.err.startswith("This format wants the address of Quay, which is not filled in: ")
    kitchen.done("site", "change", "KI", "--address", "1 Wharf Street, Cork")
    said = kitchen.done("certificate", tag, "--dcc", "--out", str(out))
    assert said.startswith(f"Certificate {number} of {tag} as XML in the format DCC 3.3.0: {out}.")
    text = out.read_text("utf-8")
    assert f">{number}</dcc:uniqueIdentifier>" in text
    assert "1 Wharf Street, Cork" in text
    again = tmp_path / "again.xml"
    kitchen.done("certificate", tag, "--dcc", "--copy", number, "--out", str(again))
    assert again.read_bytes() == out.read_bytes()
    both = kitchen("certificate", tag, "--dcc", "--html")
    assert (both.code, both.err) == (1, "Say --html or --dcc, not both.\n")
    assert kitchen("certificate", tag, "--dcc", "--withdraw", number).code == 1
    assert kitchen("certificate", kitchen.tags[4], "--dcc", "--copy", number).code == 1
