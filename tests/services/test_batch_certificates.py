"""Certificates of a whole site: who gets one, who cannot and why, cancelled in the middle, pressed once more."""

from io import BytesIO
from pathlib import Path

import pikepdf
import pytest

from registry.records.baths import CheckRecorded
from registry.services import batch_certificates, mend, papers, thermometers
from registry.services.batch_certificates import Cannot
from registry.services.problems import KnownError
from registry.services.table import Wanted
from tests.documents.reading import pages_of, words_of
from tests.services.kitchen import Kitchen


@pytest.fixture
def here(kitchen: Kitchen) -> Wanted:
    return Wanted(site=kitchen.site)


def three(kitchen: Kitchen) -> list[str]:
    """Checked and judged, in the order of their tag ids."""
    found = [kitchen.enrol(tag_id=f"AAA{n}") for n in range(3)]
    for one in found:
        kitchen.checked(one, "0.2 C")
    return found


def test_one_of_each_that_lacks_it_and_no_second(kitchen: Kitchen, here: Wanted, tmp_path: Path) -> None:
    those = three(kitchen)
    papers.issue_certificate(kitchen.session, kitchen.lead, those[1])
    made = batch_certificates.issue_missing(kitchen.session, kitchen.lead, here, tmp_path / "all.pdf")
    assert [one.tag_id for one in made.issued] == ["AAA0", "AAA2"]
    assert [one.tag_id for one in made.had] == ["AAA1"]
    assert made.cannot == ()
    assert made.left == 0
    assert len(kitchen.entries("certificate_issued")) == 3
    page = (tmp_path / "all.pdf").read_bytes()
    assert pages_of(page) == 2
    assert all(one.issued.number in words_of(page) for one in made.issued)
    again = batch_certificates.issue_missing(kitchen.session, kitchen.lead, here, tmp_path / "all.pdf")
    assert (again.issued, again.files) == ((), ())
    assert len(kitchen.entries("certificate_issued")) == 3
    assert kitchen.verify().good


def test_a_new_check_and_an_adjustment_want_a_new_one(kitchen: Kitchen, here: Wanted, tmp_path: Path) -> None:
    one = kitchen.dial(adjusts="nut")
    bath = kitchen.ice()
    row = kitchen.key(bath, one, "3 C", "3 C", "3 C")
    kitchen.judge(bath)
    first = batch_certificates.issue_missing(kitchen.session, kitchen.lead, here, tmp_path)
    assert len(first.issued) == 1
    kitchen.adjust(row.check, "nut", "0 C")
    assert len(batch_certificates.issue_missing(kitchen.session, kitchen.lead, here, tmp_path).issued) == 1
    kitchen.clock.move(days=2)
    kitchen.checked(one, "0 C")
    assert len(batch_certificates.issue_missing(kitchen.session, kitchen.lead, here, tmp_path).issued) == 1
    assert batch_certificates.missing(kitchen.session, here).wanting == ()


def test_who_cannot_is_named_with_why(kitchen: Kitchen, here: Wanted, tmp_path: Path) -> None:
    never = kitchen.enrol(tag_id="AAA0")
    waits = kitchen.enrol(tag_id="AAA1")
    kitchen.key(kitchen.ice(), waits, "0.1 C")
    condemned = kitchen.enrol(tag_id="AAA2")
    bath = kitchen.ice()
    kitchen.key(bath, condemned, "0.1 C")
    kitchen.judge(bath, "condemned")
    gone = kitchen.enrol(tag_id="AAA3")
    thermometers.set_status(kitchen.session, kitchen.officer, gone, "retired")
    withdrawn = kitchen.enrol(tag_id="AAA4")
    kitchen.checked(withdrawn, "0.1 C")
    kept = papers.issue_certificate(kitchen.session, kitchen.officer, withdrawn)
    papers.withdraw_certificate(kitchen.session, kitchen.officer, withdrawn, kept.number, papers.WHY_WITHDRAWN[0])
    made = batch_certificates.issue_missing(kitchen.session, kitchen.lead, here, tmp_path / "all.pdf")
    assert made.cannot == (
        Cannot(never, "AAA0", "none_yet"),
        Cannot(waits, "AAA1", "bath_not_judged"),
        Cannot(condemned, "AAA2", "bath_condemned"),
        Cannot(withdrawn, "AAA4", "withdrawn", kept.number),
    )
    assert (made.issued, made.files) == ((), ())


def test_a_check_made_void_leaves_the_one_before(kitchen: Kitchen, here: Wanted, tmp_path: Path) -> None:
    one = kitchen.enrol(tag_id="AAA0")
    kitchen.checked(one, "0.1 C")
    batch_certificates.issue_missing(kitchen.session, kitchen.lead, here, tmp_path)
    kitchen.clock.move(days=2)
    kitchen.checked(one, "0.3 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    found = batch_certificates.missing(kitchen.session, here)
    assert [has.tag_id for has in found.has] == ["AAA0"]


def test_cancelled_it_keeps_what_is_done_and_says_how_many_are_left(
    kitchen: Kitchen, here: Wanted, tmp_path: Path
) -> None:
    three(kitchen)
    told: list[int] = []

    def stop_after_one(done: int) -> bool:
        told.append(done)
        return done < 1

    made = batch_certificates.issue_missing(
        kitchen.session, kitchen.lead, here, tmp_path / "folder", progress=stop_after_one
    )
    assert told == [0, 1]
    assert (len(made.issued), made.left) == (1, 2)
    assert [one.name for one in (tmp_path / "folder").iterdir()] == [f"AAA0-{made.issued[0].issued.number}.pdf"]
    rest = batch_certificates.issue_missing(kitchen.session, kitchen.lead, here, tmp_path / "all.pdf", every=True)
    assert [one.tag_id for one in rest.issued] == ["AAA1", "AAA2"]
    assert pages_of((tmp_path / "all.pdf").read_bytes()) == 3  # with those that had one before
    assert len(kitchen.entries("certificate_issued")) == 3


def test_a_record_is_never_written_over_and_nothing_is_issued_for_it(
    kitchen: Kitchen, here: Wanted, tmp_path: Path
) -> None:
    three(kitchen)
    record = tmp_path / "registry.db"
    record.write_bytes(b"a record")
    (tmp_path / "pages.pdf").symlink_to(record)
    with kitchen.refuses(("out", "holds_record")):
        batch_certificates.issue_missing(kitchen.session, kitchen.lead, here, tmp_path / "pages.pdf")
    assert record.read_bytes() == b"a record"
    assert kitchen.entries("certificate_issued") == []


@pytest.mark.parametrize("out", ["file/below", "file", "folder.pdf"])
def test_a_place_that_cannot_be_had_ends_it_before_anything_is_issued(
    kitchen: Kitchen, here: Wanted, tmp_path: Path, out: str
) -> None:
    three(kitchen)
    (tmp_path / "file").write_text("no folder")
    (tmp_path / "folder.pdf").mkdir()
    with pytest.raises(KnownError):
        batch_certificates.issue_missing(kitchen.session, kitchen.lead, here, tmp_path / out)
    assert kitchen.entries("certificate_issued") == []


def test_whoever_only_looks_issues_nothing(kitchen: Kitchen, here: Wanted, tmp_path: Path) -> None:
    three(kitchen)
    with kitchen.refuses(("actor", "not_allowed")):
        batch_certificates.issue_missing(kitchen.session, kitchen.auditor, here, tmp_path / "all.pdf")


def test_language_paper_and_what_the_list_is_narrowed_to(kitchen: Kitchen, tmp_path: Path) -> None:
    three(kitchen)
    other = kitchen.dial(tag_id="BBB0")
    kitchen.checked(other, "0 C")
    wanted = Wanted(site=kitchen.site, type="bimetal_stem")
    batch_certificates.issue_missing(
        kitchen.session, kitchen.lead, wanted, tmp_path / "all.pdf", language="es", paper="a4"
    )
    page = (tmp_path / "all.pdf").read_bytes()
    assert "Constancia de comprobación interna" in words_of(page)
    assert "BBB0" in words_of(page)
    with pikepdf.open(BytesIO(page)) as document:
        assert str(document.Root.Lang) == "es"
        assert len(document.pages) == 1


def test_what_came_from_outside_only(kitchen: Kitchen, here: Wanted) -> None:
    one = kitchen.enrol(tag_id="AAA0")
    with kitchen.session.recording(kitchen.officer, "officer") as entries:
        entries.add(
            CheckRecorded(
                thermometer=one,
                check=kitchen.session.new_id(),
                point="ice_point",
                as_found=("0.1 C",),
                stated="pass",
            )
        )
    assert batch_certificates.missing(kitchen.session, here).cannot == (Cannot(one, "AAA0", "imported"),)
