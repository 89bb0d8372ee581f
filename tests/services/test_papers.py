"""Certificates from judged checks only: issued, drawn, kept as drawn. How a page looks is tested elsewhere."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from decimal import Decimal
from hashlib import sha256
from typing import Any

import pypdfium2
import pytest

import registry.documents.certificate as drawing
from registry.documents.facts import CertificateFacts
from registry.journal.signing import head_holds
from registry.quantity import Reading, TemperatureDifference
from registry.records.baths import CheckRecorded
from registry.records.rules import Tolerance, ToleranceSet
from registry.records.thermometers import Scale, ThermometerSet
from registry.services import baths, certificate_facts, incidents, mend, papers, rules, tag_printing, thermometers
from registry.services.baths import Diagnosed
from registry.services.papers import Issued
from registry.services.thermometers import OutsideCertificate
from registry.store import queries
from tests.services.kitchen import DIGITAL_F, TUESDAY, Kitchen


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


def doubt(kitchen: Kitchen, bath: str, judged: str = "suspect") -> None:
    """Judge a bath as the diagnosis does, which alone calls one suspect."""
    none = TemperatureDifference.from_text("0 dC")
    said = Diagnosed(judged, none, TemperatureDifference.from_text("0.5 dC"), (), {}, (), 1)
    assert baths.judge_by_diagnosis(kitchen.session, kitchen.lead, bath, said)


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


def facts_of(kitchen: Kitchen, thermometer: str) -> CertificateFacts:
    """What the page of its last certificate says."""
    with kitchen.session.reading() as connection:
        entry = queries.entry_hashed(connection, thermometer, issued(kitchen, thermometer)[-1].entry_hash)
        return certificate_facts.of_entry(kitchen.session, connection, entry)


def test_the_limit_printed_is_the_one_that_was_used(kitchen: Kitchen) -> None:
    # FDA Food Code 2022 4-203.11: ±1 °C where marked in °C, ±2 °F where in °F only: two rules.
    probe = kitchen.enrol(DIGITAL_F)
    kitchen.checked(probe, "32.1 F")
    issue(kitchen, probe)
    before = facts_of(kitchen, probe).results[0].as_found.limits
    assert (before.scale, before.tolerance.text()) == ("F", "2 dF")
    changed = replace(stated(kitchen, probe), scales={"C": Scale(step="0.1 dC", lowest="-40.0 C", highest="150.0 C")})
    with kitchen.session.recording(kitchen.officer, "officer") as entries:
        entries.replace(changed)
    assert kitchen.row(probe).scale == "C"
    assert facts_of(kitchen, probe).results[0].as_found.limits == before


def stated(kitchen: Kitchen, thermometer: str) -> ThermometerSet:
    with kitchen.session.reading() as connection:
        found: ThermometerSet = queries.facts_of(connection, thermometer)["facts"].payload
    return found


def test_as_left_that_cannot_be_decided_is_printed_so(kitchen: Kitchen) -> None:
    # ILAC-G8:09/2019 4.2.2 with U above the 0.5 °C that is permitted: nothing passes, what is far out fails.
    group = kitchen.last("tolerance_set").payload["group"]
    half = tuple(Tolerance(class_="food", scale=one, tolerance="0.5 dC", source="own") for one in ("C", "dual"))
    with kitchen.session.recording(kitchen.officer, "officer") as entries:
        entries.replace(ToleranceSet(group=group, set=kitchen.session.new_id(), tolerances=half, since="2026-03-03"))
    rules.set_decision(kitchen.session, kitchen.officer, "guard_band", TUESDAY)
    dial = kitchen.dial()
    judged = kitchen.adjust(kitchen.checked(dial, "5 C", "5 C", "5 C"), "nut", "0 C")
    assert judged.outcome == "cannot_decide"
    kept = issue(kitchen, dial)
    (result,) = facts_of(kitchen, dial).results
    assert result.adjustment is not None
    assert result.adjustment.as_left is not None
    assert result.adjustment.as_left.outcome == "cannot_decide"
    with pypdfium2.PdfDocument(page(kitchen, kept)) as opened:
        text = " ".join("".join(one.get_textpage().get_text_range() for one in opened).split())
    assert "Cannot decide" in text
    assert "ot measured" not in text
    assert "not read again" not in text


def test_a_reference_is_past_its_date_by_the_sites_own_day(kitchen: Kitchen) -> None:
    zero, one = TemperatureDifference.from_text("0 dC"), TemperatureDifference.from_text("0.1 dC")
    points = tuple((Reading.from_text(at), zero, one, Decimal(2)) for at in ("0 C", "100 C"))
    reference, probe = kitchen.enrol(), kitchen.enrol()
    kitchen.checked(reference, "0.1 C")
    given = OutsideCertificate("C 1", "Fen lab", date(2025, 4, 2), points, due=TUESDAY)
    thermometers.add_outside_certificate(kitchen.session, kitchen.officer, reference, given)
    kitchen.clock.move(hours=14, minutes=30)  # 20:00 on Tuesday in New York, 01:00 on Wednesday UTC
    for past_due in (False, True):
        bath = kitchen.flask((reference, "70.0 C"))
        kitchen.key(bath, probe, "70.1 C")
        kitchen.judge(bath)
        issue(kitchen, probe)
        (beside,) = facts_of(kitchen, probe).results[-1].as_found.bath.references
        assert beside.past_due is past_due
        kitchen.clock.move(hours=24)


# --- what stood against it -----------------------------------------------------------------------------------


def text_of(kitchen: Kitchen, kept: Issued) -> str:
    with pypdfium2.PdfDocument(page(kitchen, kept)) as opened:
        return " ".join("".join(one.get_textpage().get_text_range() for one in opened).split())


def test_a_fail_at_another_point_is_not_hidden_by_a_pass(kitchen: Kitchen) -> None:
    probe, pot = kitchen.enrol(), kitchen.boil()
    kitchen.key(pot, probe, "95.0 C", "95.0 C", "95.0 C")
    kitchen.judge(pot)
    kitchen.clock.move(days=3)
    kitchen.checked(probe, "0.1 C")
    kept = issue(kitchen, probe)
    said = kitchen.last("certificate_issued").payload
    assert said["outside"] == [{"point": "boiling_point", "outcome": "fail", "day": "2026-03-03"}]
    assert said["status"] == "check_first"
    text = text_of(kitchen, kept)
    assert "it was to be checked first: not to be used before another check." in text
    assert "Boiling point, last read March 3, 2026: Fail, not shown here and not put right since." in text


def test_a_fail_that_the_page_shows_or_that_was_put_right_is_not_told_twice(kitchen: Kitchen) -> None:
    dial, pot = kitchen.dial(), kitchen.boil()
    check = kitchen.key(pot, dial, "95 C", "95 C", "95 C").check
    kitchen.judge(pot)
    issue(kitchen, dial)
    said = kitchen.last("certificate_issued").payload
    assert "outside" not in said
    assert said["status"] == "check_first"
    kitchen.adjust(check, "nut", "100 C")
    kitchen.clock.move(days=3)
    kitchen.checked(dial, "0 C")
    issue(kitchen, dial)
    assert "outside" not in kitchen.last("certificate_issued").payload


def test_a_later_fail_at_the_same_point_is_told_where_an_older_check_is_named(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    check = kitchen.last("check_recorded").payload["check"]
    kitchen.clock.move(days=1)
    kitchen.checked(probe, "5.0 C", "5.0 C", "5.0 C")
    issue(kitchen, probe, checks=(check,))
    assert kitchen.last("certificate_issued").payload["outside"] == [
        {"point": "ice_point", "outcome": "fail", "day": "2026-03-04"}
    ]


def test_one_in_service_says_nothing_of_it_and_limited_use_is_said(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    issue(kitchen, probe)
    assert facts_of(kitchen, probe).standing is None
    thermometers.set_status(kitchen.session, kitchen.officer, probe, "limited_use", only="cold")
    kept = issue(kitchen, probe)
    assert "it was allowed for cold food only." in text_of(kitchen, kept)
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    text = text_of(kitchen, issue(kitchen, probe))
    assert "it was to be checked first" in text
    assert "it was allowed for cold food only." in text


def test_what_stood_against_it_is_drawn_as_recorded_whatever_came_since(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    probe = passed(kitchen)
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    with power_cut(monkeypatch):
        issue(kitchen, probe)
    kitchen.clock.move(hours=1)
    kitchen.checked(probe, "0.1 C")
    assert kitchen.row(probe).service_status == "in_service"
    (drawn,) = papers.store_missing(kitchen.session, kitchen.lead)
    assert "it was to be checked first" in text_of(kitchen, drawn)


def test_a_recheck_that_is_overdue_is_called_so(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    in_time = text_of(kitchen, issue(kitchen, probe))
    assert "Recheck by" in in_time
    kitchen.clock.move(days=400)
    text = text_of(kitchen, issue(kitchen, probe))
    day = date.fromisoformat(kitchen.last("certificate_issued").payload["recheck_by"])
    assert day < date(2027, 4, 7)  # 400 days after 3 March 2026
    assert "Recheck by" not in text
    assert f"Recheck overdue since {day:%B} {day.day}, {day.year}: the owner’s own date" in text


def test_a_bath_made_in_another_way_than_the_method_tells_of_is_named(kitchen: Kitchen) -> None:
    probe, careless = kitchen.enrol(), kitchen.ice("cubes_careless")
    kitchen.key(careless, probe, "0.1 C")
    kitchen.judge(careless)
    number = kitchen.last("bath_made").number
    otherwise = f"Bath {number} was made otherwise: Ice cubes in water, not stirred."
    assert otherwise in text_of(kitchen, issue(kitchen, probe))
    assert "made otherwise" not in text_of(kitchen, issue(kitchen, passed(kitchen)))


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
    with kitchen.refuses(("checks", "bath_condemned")):
        issue(kitchen, probe, checks=(check,))
    with kitchen.refuses(("checks", "bath_condemned")):
        tag_printing.print_status_tag(kitchen.session, kitchen.lead, probe)
    kitchen.judge(bath)
    assert issue(kitchen, probe).sha256 is not None


def test_not_where_it_was_adjusted_in_a_bath_that_was_condemned(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    first = kitchen.checked(dial, "3 C", "3 C", "3 C")
    kitchen.adjust(first, "nut", "0 C")
    with kitchen.session.reading() as connection:
        (left,) = queries.adjustments_of(connection, dial)
    assert left.bath is not None
    kitchen.judge(left.bath, "condemned")
    with kitchen.refuses(("checks", "bath_condemned")):
        issue(kitchen, dial, checks=(first,))


def test_a_second_of_the_same_check_is_refused_where_one_is_wanted(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    first = issue(kitchen, probe, once=True)
    with kitchen.refuses(("certificate", "stands_already")):
        issue(kitchen, probe, once=True)
    amending = issue(kitchen, probe, once=True, amends=first.number, change="owner")
    second = issue(kitchen, probe, once=True, replaces=first.number)
    for one in (amending, second):
        papers.withdraw_certificate(kitchen.session, kitchen.officer, probe, one.number, papers.WHY_WITHDRAWN[0])
    third = issue(kitchen, probe, once=True)
    assert third.number not in (first.number, second.number, amending.number)
    kitchen.clock.move(days=2)
    kitchen.checked(probe, "0.2 C")
    assert issue(kitchen, probe, once=True).number != third.number


def test_not_while_its_bath_is_in_doubt(kitchen: Kitchen) -> None:
    probe, bath = kitchen.enrol(), kitchen.ice()
    check = kitchen.key(bath, probe, "0.1 C").check
    doubt(kitchen, bath)
    for which in ((), (check,)):
        with kitchen.refuses(("checks", "bath_in_doubt")):
            issue(kitchen, probe, checks=which)
    kitchen.judge(bath, "overruled", why="looked_again")
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
    content = tag_printing.print_identity_tag(kitchen.session, kitchen.lead, probe)
    assert content.startswith(b"%PDF")
    said = kitchen.last("tag_printed").payload
    assert (said["tag"], said["stock"]) == ("identity", "label_50x25")


def test_a_status_tag_says_how_it_stands_after_a_judged_check(kitchen: Kitchen) -> None:
    probe, bath = kitchen.enrol(), kitchen.ice()
    with kitchen.refuses(("checks", "none_yet")):
        tag_printing.print_status_tag(kitchen.session, kitchen.lead, probe)
    check = kitchen.key(bath, probe, "3.0 C", "3.0 C", "3.0 C").check
    with kitchen.refuses(("checks", "bath_not_judged")):
        tag_printing.print_status_tag(kitchen.session, kitchen.lead, probe)
    kitchen.judge(bath)
    tag_printing.print_status_tag(kitchen.session, kitchen.lead, probe)
    said = kitchen.last("tag_printed").payload
    assert (said["tag"], said["status"], said["check"]) == ("status", "check_first", check)
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "lost")
    with kitchen.refuses(("thermometer", "no_tag_for_this")):
        tag_printing.print_status_tag(kitchen.session, kitchen.lead, probe)
