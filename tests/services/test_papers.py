"""Certificates from judged checks only: issued, drawn, kept as drawn. How a page looks is tested elsewhere."""

from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from typing import Any

import pypdfium2
import pytest

import registry.documents.certificate as drawing
from registry.journal.signing import head_holds
from registry.records.baths import CheckRecorded
from registry.services import incidents, mend, papers
from registry.services.papers import Issued
from tests.services.kitchen import Kitchen


def issue(kitchen: Kitchen, thermometer: str, **more: Any) -> Issued:
    return papers.issue_certificate(kitchen.session, kitchen.lead, thermometer, **more)


def page(kitchen: Kitchen, kept: Issued) -> bytes:
    with kitchen.session.reading() as connection:
        return papers.page_of(connection, kept)


def issued(kitchen: Kitchen, thermometer: str) -> list[Issued]:
    with kitchen.session.reading() as connection:
        return papers.issued(connection, thermometer)


def passed(kitchen: Kitchen) -> str:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    return probe


@contextmanager
def power_cut(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The program ends while the page is drawn, after the issue is recorded."""

    def ends(_: object) -> bytes:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(drawing, "certificate", ends)
        with pytest.raises(KeyboardInterrupt):
            yield


def test_a_certificate_is_two_entries_and_its_page(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    probe = passed(kitchen)
    before = kitchen.count()
    kept = issue(kitchen, probe)
    entry, stored = kitchen.entries()[before:]
    assert (entry.kind, stored.kind) == ("certificate_issued", "document_stored")
    # The issue has a signature of its own: what the page shows can be proved by the page alone.
    assert entry.signature is not None
    assert head_holds(bytes.fromhex(entry.chain), entry.seq, bytes.fromhex(entry.hash), entry.signature)
    content = page(kitchen, kept)
    assert {key: stored.payload[key] for key in ("of", "entry", "document", "sha256", "length", "media")} == {
        "of": probe,
        "entry": entry.hash,
        "document": "certificate",
        "sha256": sha256(content).hexdigest(),
        "length": len(content),
        "media": "application/pdf",
    }
    assert (kept.number, kept.entry_hash, kept.sha256, kept.replaced) == (
        entry.number,
        entry.hash,
        stored.payload["sha256"],
        False,
    )
    report = kitchen.verify()
    assert report.good
    assert report.documents == 1


def test_it_rests_on_the_check_its_adjustment_its_bath_and_the_judgement(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    kitchen.adjust(check, "nut", "0 C")
    issue(kitchen, dial)
    said = kitchen.last("certificate_issued").payload
    assert said["checks"] == [check]
    rest = [kitchen.last(kind).hash for kind in ("check_recorded", "adjusted", "bath_made", "bath_judged")]
    assert said["rests_on"] == rest


def test_the_page_names_the_thermometer_and_its_own_number(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    kept = issue(kitchen, probe)
    with pypdfium2.PdfDocument(page(kitchen, kept)) as opened:
        text = "".join(one.get_textpage().get_text_range() for one in opened)
    assert kitchen.tag(probe) in text.replace(" ", "")
    assert kept.number in text.replace(" ", "")
    assert "DEMO" not in text


def test_printed_again_it_is_the_same_to_the_byte(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    kept = issue(kitchen, probe)
    first = page(kitchen, kept)
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    kitchen.clock.move(days=30)
    (again,) = issued(kitchen, probe)
    assert page(kitchen, again) == first


def test_the_latest_check_at_each_point_of_a_day(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    kitchen.clock.move(days=2)
    pot = kitchen.boil()
    boiled = kitchen.key(pot, probe, "99.6 C").check
    kitchen.judge(pot)
    kitchen.checked(probe, "0.3 C")
    iced = kitchen.checked(probe, "0.2 C")
    issue(kitchen, probe)
    assert kitchen.last("certificate_issued").payload["checks"] == [boiled, iced]


# --- refused -------------------------------------------------------------------------------------------------


def test_not_while_its_bath_is_not_judged(kitchen: Kitchen) -> None:
    probe, bath = kitchen.enrol(), kitchen.ice()
    with kitchen.refuses(("checks", "none_yet")):
        issue(kitchen, probe)
    check = kitchen.key(bath, probe, "0.1 C").check
    for which in ((), (check,)):
        with kitchen.refuses(("checks", "bath_not_judged")):
            issue(kitchen, probe, checks=which)
    kitchen.judge(bath, "condemned")
    with kitchen.refuses(("checks", "bath_not_judged")):
        issue(kitchen, probe, checks=(check,))
    kitchen.judge(bath)
    assert issue(kitchen, probe).sha256 is not None


def test_not_of_a_void_check_an_imported_one_or_anothers(kitchen: Kitchen) -> None:
    probe, other = passed(kitchen), kitchen.enrol()
    check = kitchen.last("check_recorded").payload["check"]
    with kitchen.refuses(("checks", "unknown_check")):
        issue(kitchen, other, checks=(check,))
    with kitchen.refuses(("checks", "unknown_check")):
        issue(kitchen, probe, checks=(check, "0" * 32))
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    with kitchen.refuses(("checks", "is_void")):
        issue(kitchen, probe, checks=(check,))
    imported = kitchen.session.new_id()
    with kitchen.session.recording(kitchen.officer, "officer") as entries:
        entries.add(
            CheckRecorded(thermometer=other, check=imported, point="ice_point", as_found=("0.1 C",), stated="pass")
        )
    with kitchen.refuses(("checks", "imported")):
        issue(kitchen, other, checks=(imported,))


# --- a crash, twice pressed, once more -----------------------------------------------------------------------


def test_a_page_that_a_crash_left_out_is_drawn_at_the_next_start(
    any_kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    kitchen = any_kitchen
    probe = passed(kitchen)
    with power_cut(monkeypatch):
        issue(kitchen, probe)
    (left,) = issued(kitchen, probe)
    assert left.sha256 is None
    with kitchen.refuses(("certificate", "not_stored")):
        page(kitchen, left)
    (drawn,) = papers.store_missing(kitchen.session, kitchen.lead)
    assert (drawn.number, drawn.entry_hash) == (left.number, left.entry_hash)
    assert sha256(page(kitchen, drawn)).hexdigest() == drawn.sha256
    assert papers.store_missing(kitchen.session, kitchen.lead) == []
    assert len(kitchen.entries("certificate_issued")) == 1
    assert kitchen.verify().good


def test_a_second_press_issues_once(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    probe, certificate = passed(kitchen), kitchen.session.new_id()
    first, second = (issue(kitchen, probe, certificate=certificate) for _ in range(2))
    assert first == second
    assert len(kitchen.entries("certificate_issued")) == 1
    certificate = kitchen.session.new_id()
    with power_cut(monkeypatch):
        issue(kitchen, probe, certificate=certificate)
    assert issue(kitchen, probe, certificate=certificate).sha256 is not None
    assert len(kitchen.entries("certificate_issued")) == 2
    assert len(kitchen.entries("document_stored")) == 2


def test_a_reissue_takes_the_place_of_the_old_one(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    probe = passed(kitchen)
    old = issue(kitchen, probe)
    new = issue(kitchen, probe, replaces=old.number, language="es")
    entry = kitchen.last("certificate_issued")
    assert (entry.after, entry.payload["replaces"], entry.payload["language"]) == (
        (old.entry_hash,),
        old.certificate,
        "es",
    )
    assert [(one.number, one.replaced) for one in issued(kitchen, probe)] == [(old.number, True), (new.number, False)]
    assert page(kitchen, old) != page(kitchen, new)
    with kitchen.refuses(("certificate", "unknown_certificate")):
        issue(kitchen, probe, replaces="X")


def test_withdrawn_it_no_longer_stands(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    kept = issue(kitchen, probe)
    papers.withdraw_certificate(kitchen.session, kitchen.officer, probe, kept.number, "wrong_thermometer")
    assert kitchen.last("certificate_withdrawn").after == (kept.entry_hash,)
    assert [one.replaced for one in issued(kitchen, probe)] == [True]


def test_voiding_names_the_certificates_that_rested_on_it(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    kept = issue(kitchen, probe)
    kitchen.checked(probe, "0.2 C")
    first, second = kitchen.entries("check_recorded")
    assert mend.void(kitchen.session, kitchen.officer, second.number, "mistyped").certificates == ()
    assert mend.void(kitchen.session, kitchen.officer, first.number, "mistyped").certificates == (kept.number,)


# --- tags ----------------------------------------------------------------------------------------------------


def test_an_identity_tag_is_noted(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    content = papers.print_identity_tag(kitchen.session, kitchen.lead, probe)
    assert content.startswith(b"%PDF")
    said = kitchen.last("tag_printed").payload
    assert (said["tag"], said["stock"]) == ("identity", "label_50x25")


def test_a_status_tag_says_how_it_stands_after_a_judged_check(kitchen: Kitchen) -> None:
    probe, bath = kitchen.enrol(), kitchen.ice()
    with kitchen.refuses(("checks", "none_yet")):
        papers.print_status_tag(kitchen.session, kitchen.lead, probe)
    check = kitchen.key(bath, probe, "3.0 C", "3.0 C", "3.0 C").check
    with kitchen.refuses(("checks", "bath_not_judged")):
        papers.print_status_tag(kitchen.session, kitchen.lead, probe)
    kitchen.judge(bath)
    papers.print_status_tag(kitchen.session, kitchen.lead, probe)
    said = kitchen.last("tag_printed").payload
    assert (said["tag"], said["status"], said["check"]) == ("status", "check_first", check)
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "lost")
    with kitchen.refuses(("thermometer", "no_tag_for_this")):
        papers.print_status_tag(kitchen.session, kitchen.lead, probe)
