"""Certificates at the command line: amended, withdrawn, copied, verified; the logo."""

from pathlib import Path

import pytest

from tests.commands.desk import Kitchen
from tests.services.test_logos import picture
from tests.services.test_page_verify import saved_anew


def issued(kitchen: Kitchen, folder: Path, *words: str) -> tuple[str, Path]:
    """The number and the page of a certificate of the first digital."""
    file = folder / f"{len(list(folder.iterdir()))}.pdf"
    said = kitchen.json("certificate", kitchen.tags[3], "--out", str(file), *words)
    return said["number"], file


def checked(kitchen: Kitchen) -> str:
    tag = kitchen.tags[3]
    bath = kitchen.json("bath", "ice")["number"]
    kitchen.json("read", tag, "0.1", "--bath", bath)
    kitchen.json("bath", "judge", "accepted", "--bath", bath)
    return tag


def test_amended_replaced_withdrawn_and_handed_out(kitchen: Kitchen, tmp_path: Path) -> None:
    tag = checked(kitchen)
    first, page = issued(kitchen, tmp_path)
    amending, _ = issued(kitchen, tmp_path, "--amends", first, "--change", "owner")
    assert amending != first
    wrong = kitchen("certificate", tag, "--amends", first, "--change", "all")
    assert (wrong.code, wrong.out) == (1, "")
    assert wrong.err.startswith("Say what the amendment puts right: owner, place")
    second, _ = issued(kitchen, tmp_path, "--replaces", first)
    copy, same = tmp_path / "copy.pdf", tmp_path / "same.pdf"
    said = kitchen.done("certificate", tag, "--copy", first, "--out", str(copy))
    assert "marked because it no longer stands" in said
    assert f"replaced by {second}" in said
    kitchen.done("certificate", tag, "--copy", first, "--as-issued", "--out", str(same))
    assert same.read_bytes() == page.read_bytes() != copy.read_bytes()
    kitchen.done("certificates", "--number", first, "--out", str(same), "--replace")
    assert same.read_bytes() == copy.read_bytes()
    kitchen.done("certificates", "--number", first, "--as-issued", "--out", str(same), "--replace")
    assert same.read_bytes() == page.read_bytes()
    done = kitchen.done("certificate", tag, "--withdraw", second, "--why", "wrong_check")
    assert done.startswith(f"Certificate {second} of {tag} is withdrawn by entry ")
    again = kitchen("certificate", tag, "--withdraw", second, "--why", "wrong_check")
    assert again.code == 1
    assert "is withdrawn already" in again.err
    listed = kitchen.json("certificates", "--number", first)["certificates"][0]
    assert (listed["state"], listed["by_number"], listed["amended_by"]) == ("replaced", second, amending)
    both = kitchen("certificate", tag, "--withdraw", second, "--copy", second)
    assert "Say one thing of a certificate at a time" in both.err


def test_a_file_is_verified(kitchen: Kitchen, tmp_path: Path) -> None:
    tag = checked(kitchen)
    number, page = issued(kitchen, tmp_path)
    said = kitchen("verify", str(page))
    assert (said.code, said.err) == (0, "")
    assert said.out == f"{page} is the page of certificate {number} of {tag}, to the byte as it was issued.\n"
    page.write_bytes(saved_anew(page.read_bytes()))
    said = kitchen("verify", str(page))
    assert said.code == 4
    first, issue, found = said.out.splitlines()
    assert "what is printed on it was not checked" in first
    assert number in issue
    assert found.startswith(f"{tag}, Ice point, as found")
    data = kitchen("--json", "verify", str(page)).data
    assert (data["good"], data["answer"], data["number"], data["state"]) == (False, "record_here", number, "stands")
    amending, _ = issued(kitchen, tmp_path, "--amends", number, "--change", "owner")
    kitchen.done("certificate", tag, "--copy", number, "--as-issued", "--out", str(page), "--replace")
    said = kitchen("verify", str(page))
    beware = f"Beware: it is amended by {amending}; read both."
    assert (said.code, said.out.splitlines()[-1]) == (4, beware)
    assert f"amended by {amending}: read both" in kitchen.done("certificates", "--number", number)
    kitchen.done("certificate", tag, "--copy", number, "--out", str(page), "--replace")
    said = kitchen("verify", str(page))
    assert said.out.startswith(f"{page} is a copy of certificate {number} of {tag} as it is handed out here")
    assert (said.code, said.out.splitlines()[-1]) == (4, beware)
    page.write_bytes(b"nothing")
    said = kitchen("verify", str(page))
    assert (said.code, said.out) == (4, f"{page} is no PDF file, or a broken one. Nothing on it was checked.\n")
    missing = kitchen("verify", str(tmp_path / "none.pdf"))
    assert missing.code == 3


def test_an_empty_word_is_not_taken_for_the_whole_record(kitchen: Kitchen) -> None:
    code = kitchen("verify", "--code", "")
    assert (code.code, code.out) == (1, "")
    file = kitchen("verify", "")
    assert (file.code, file.out, file.err) == (1, "", "Name the file that is to be verified.\n")


def test_a_second_certificate_of_a_check_is_asked_about(kitchen: Kitchen, tmp_path: Path) -> None:
    tag = checked(kitchen)
    number, page = issued(kitchen, tmp_path)
    before = page.read_bytes()
    second = kitchen("certificate", tag, "--out", str(page), "--replace")
    assert (second.code, second.out) == (1, "")
    assert second.err.startswith(f"{number} is of the same check and stands: say --copy, --replaces or --amends")
    assert page.read_bytes() == before
    assert kitchen.json("certificates")["count"] == 1
    another, _ = issued(kitchen, tmp_path, "--another")
    assert another != number


@pytest.mark.slow
def test_why_there_is_none_in_a_condemned_bath(kitchen: Kitchen, tmp_path: Path) -> None:
    tag = kitchen.tags[3]
    kitchen.json("bath", "ice")
    kitchen.json("read", tag, "0.1")
    kitchen.json("bath", "judge", "condemned")
    for words in (("certificate", tag), ("tag", "status", tag)):
        said = kitchen(*words, "--out", str(tmp_path / "page.pdf"))
        assert (said.code, said.out) == (1, "")
        assert "Its bath was condemned: check it again in another bath." in said.err


def test_the_logo_is_set_told_written_and_taken_back(kitchen: Kitchen, tmp_path: Path) -> None:
    file, out = tmp_path / "logo.png", tmp_path / "out.png"
    file.write_bytes(picture(300, 90))
    none = kitchen("group", "logo")
    assert (none.code, none.err) == (1, "No logo is set.\n")
    assert kitchen.done("group", "logo", str(file)).startswith("Certificates bear this logo from now on: entry ")
    assert "by AR as entry" in kitchen.done("group", "logo")
    kitchen.done("group", "logo", "--out", str(out))
    assert out.read_bytes().startswith(b"\x89PNG")
    assert kitchen.done("group", "logo", "--remove") == "Certificates bear no logo from now on.\n"
    assert kitchen("group", "logo", "--remove").code == 1
