"""What becomes of an issued certificate: amended, replaced, withdrawn; what is handed out of it then."""

from dataclasses import replace
from datetime import timedelta
from io import BytesIO

import pikepdf
import pytest

import registry.services.certificate_facts as certificate_facts
from registry.records.papers import CertificateIssued
from registry.services import certificates, incidents, logos, mend, papers, plain_certificate, reviews, set_up
from registry.services.papers import Issued
from registry.store import queries
from registry.wording import format as written
from registry.wording import say
from tests.documents.reading import fonts_of, pages_of, words_of
from tests.services.kitchen import TUESDAY, Kitchen
from tests.services.test_logos import picture
from tests.services.test_papers import doubt, facts_of, issue, page, passed, power_cut


def copy(kitchen: Kitchen, kept: Issued) -> bytes:
    return certificates.copy(kitchen.session, kept.number)


def day_of(kitchen: Kitchen, language: str) -> str:
    region = "en_US" if language == "en" else "es_US"
    return written.day(TUESDAY, region).replace(written.HARD_SPACE, " ")


# --- handed out ----------------------------------------------------------------------------------------------


def test_what_stands_is_handed_out_to_the_byte(kitchen: Kitchen) -> None:
    kept = issue(kitchen, passed(kitchen))
    assert copy(kitchen, kept) == page(kitchen, kept)


@pytest.mark.fast_cases(1)
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_replaced_one_is_handed_out_crossed_and_its_own_bytes_stay(
    kitchen: Kitchen, language: str, paper: str
) -> None:
    probe = passed(kitchen)
    kept = issue(kitchen, probe, language=language, paper=paper)
    before = page(kitchen, kept)
    newer = issue(kitchen, probe, replaces=kept.number)
    crossed = copy(kitchen, kept)
    text = words_of(crossed)
    strip = say("certificate.superseded_strip", language, number=newer.number, day=day_of(kitchen, language))
    assert strip in text
    assert text.count(say("certificate.superseded", language)) == 2 * pages_of(crossed)
    assert page(kitchen, kept) == certificates.page(kitchen.session, kept.number) == before
    assert crossed == copy(kitchen, kept)  # the same to the byte each time
    assert all(embedded for _, embedded in fonts_of(crossed))
    with pikepdf.open(BytesIO(before)) as one, pikepdf.open(BytesIO(crossed)) as other:
        records = [each.attachments["record.json"].get_file().read_bytes() for each in (one, other)]
    assert records[0] == records[1]
    assert say("certificate.replaces", "en", number=kept.number, day=day_of(kitchen, "en")) in words_of(
        page(kitchen, newer)
    )


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_withdrawn_one_is_handed_out_crossed(kitchen: Kitchen, language: str) -> None:
    probe = passed(kitchen)
    kept = issue(kitchen, probe, language=language)
    entry = papers.withdraw_certificate(kitchen.session, kitchen.officer, probe, kept.number, "wrong_thermometer")
    text = words_of(copy(kitchen, kept))
    values = {"number": entry.number, "day": day_of(kitchen, language)}
    assert say("certificate.withdrawn_strip", language, **values) in text
    assert say("certificate.withdrawn", language) in text
    assert say("certificate.superseded", language) not in text


@pytest.mark.parametrize("language", ["en", "es"])
def test_one_whose_check_was_voided_is_handed_out_crossed(kitchen: Kitchen, language: str) -> None:
    kept = issue(kitchen, passed(kitchen), language=language)
    before = page(kitchen, kept)
    check = kitchen.last("check_recorded").number
    mend.void(kitchen.session, kitchen.officer, check, "mistyped")
    crossed = copy(kitchen, kept)
    text = words_of(crossed)
    assert say("certificate.counts_no_more_strip", language) in text
    assert text.count(say("certificate.counts_no_more", language)) == pages_of(crossed)
    assert say("certificate.counts_no_more_strip", language) in plain_certificate.html(kitchen.session, kept).decode()
    assert page(kitchen, kept) == before
    newer = issue(kitchen, passed(kitchen))
    assert copy(kitchen, newer) == page(kitchen, newer)


def test_one_whose_bath_came_into_doubt_says_so_in_its_strip(kitchen: Kitchen) -> None:
    probe, bath = kitchen.enrol(), kitchen.ice()
    kitchen.key(bath, probe, "0.1 C")
    doubt(kitchen, bath, "accepted")
    kept = papers.issue_certificate(kitchen.session, kitchen.lead, probe)
    doubt(kitchen, bath)
    text = words_of(copy(kitchen, kept))
    assert say("certificate.bath_in_doubt_strip", "en") in text
    assert say("certificate.counts_no_more", "en") not in text


def test_an_amended_one_says_so_in_its_strip_and_stands(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    kept = issue(kitchen, probe)
    set_up.rename_group(kitchen.session, kitchen.admin, "Another name")
    newer = issue(kitchen, probe, amends=kept.number, change="owner")
    said = kitchen.last("certificate_issued")
    assert (said.payload["amends"], said.payload["change"]) == (kept.certificate, "owner")
    assert said.after == ()
    assert said.payload["checks"] == kitchen.entries("certificate_issued")[0].payload["checks"]
    sentence = f"Amends {kept.number} of {day_of(kitchen, 'en')}: the owner’s name. Read both."
    assert sentence in words_of(page(kitchen, newer))
    text = words_of(copy(kitchen, kept))
    assert f"AMENDED by {newer.number} on {day_of(kitchen, 'en')}: read both" in text
    assert "SUPERSEDED" not in text
    assert {one.state for one in certificates.find(kitchen.session).certificates} == {"stands"}
    told = {one.number: (one.standing, one.told_by) for one in certificates.find(kitchen.session).certificates}
    assert told == {kept.number: ("amended", newer.number), newer.number: ("stands", "")}


def test_an_amendment_is_of_the_same_checks_whatever_was_checked_since(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    kept = issue(kitchen, probe)
    kitchen.clock.move(days=3)
    kitchen.checked(probe, "0.3 C")
    issue(kitchen, probe, amends=kept.number, change="people")
    first, second = kitchen.entries("certificate_issued")
    assert first.payload["checks"] == second.payload["checks"]


def test_what_ended_is_not_ended_again(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    first = issue(kitchen, probe)
    second = issue(kitchen, probe, replaces=first.number)
    with kitchen.refuses(("certificate", "is_superseded")):
        issue(kitchen, probe, replaces=first.number)
    with kitchen.refuses(("certificate", "is_superseded")):
        issue(kitchen, probe, amends=first.number, change="owner")
    papers.withdraw_certificate(kitchen.session, kitchen.officer, probe, second.number, "not_handed_out")
    with kitchen.refuses(("certificate", "is_withdrawn")):
        papers.withdraw_certificate(kitchen.session, kitchen.officer, probe, second.number, "not_handed_out")
    with kitchen.refuses(("why", "unknown")):
        papers.withdraw_certificate(kitchen.session, kitchen.officer, probe, second.number, "because")
    third = issue(kitchen, probe)
    with kitchen.refuses(("change", "choose")):
        issue(kitchen, probe, amends=third.number, change="all")


def test_a_page_that_a_crash_left_is_drawn_as_issued_though_it_was_replaced_since(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    probe = passed(kitchen)
    with power_cut(monkeypatch):
        issue(kitchen, probe)
    (left,) = certificates.find(kitchen.session).certificates
    issue(kitchen, probe, replaces=left.number)
    papers.store_missing(kitchen.session, kitchen.lead)
    kept = certificates.numbered(kitchen.session, left.number).kept
    assert "SUPERSEDED" not in words_of(page(kitchen, kept))
    assert "SUPERSEDED" in words_of(copy(kitchen, kept))


# --- what the page says --------------------------------------------------------------------------------------


def test_who_looked_it_through_stands_on_it(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    issue(kitchen, probe)
    assert "reviewed_by" not in kitchen.last("certificate_issued").payload
    reviews.review(kitchen.session, kitchen.officer, kitchen.site, TUESDAY - timedelta(days=7), TUESDAY)
    kept = issue(kitchen, probe)
    assert kitchen.last("certificate_issued").payload["reviewed_by"] == kitchen.officer.person
    people = facts_of(kitchen, probe).people
    assert people.reviewed_by is not None
    assert f"Reviewed by {people.reviewed_by.name} ({people.reviewed_by.initials})" in words_of(page(kitchen, kept))


def test_a_review_counts_for_what_was_there_then_and_by_somebody_else(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    reviews.review(kitchen.session, kitchen.officer, kitchen.site, TUESDAY, TUESDAY)
    kitchen.checked(probe, "0.2 C")  # after it
    issue(kitchen, probe)
    assert "reviewed_by" not in kitchen.last("certificate_issued").payload
    other = kitchen.enrol()
    bath = kitchen.ice()
    kitchen.key(bath, other, "0.1 C")
    kitchen.judge(bath)
    reviews.review(kitchen.session, kitchen.officer, kitchen.site, TUESDAY - timedelta(days=3), TUESDAY - timedelta(1))
    issue(kitchen, other)
    assert "reviewed_by" not in kitchen.last("certificate_issued").payload  # of other days


def test_the_logo_is_frozen_by_its_hash(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    plain = issue(kitchen, probe)
    logos.set_logo(kitchen.session, kitchen.officer, picture(300, 80))
    first = kitchen.last("document_stored").payload["sha256"]
    kept = issue(kitchen, probe)
    said = kitchen.last("certificate_issued").payload
    assert said["logo"] == first
    assert CertificateIssued.from_payload(said).logo == first
    before = page(kitchen, kept)
    logos.set_logo(kitchen.session, kitchen.officer, picture(100, 80))
    assert page(kitchen, kept) == before
    with kitchen.session.reading() as connection:
        entry = queries.entry_hashed(connection, probe, kept.entry_hash)
        facts = certificate_facts.of_entry(kitchen.session, connection, entry)
    from registry.documents.certificate import certificate

    assert certificate(facts) == before  # drawn again it is the same to the byte
    assert b"/Subtype /Image" in before
    assert b"/Subtype /Image" not in page(kitchen, plain)


def test_earlier_checks_are_plotted_and_named(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    for shown in ("0.1 C", "0.2 C", "0.3 C"):
        kitchen.checked(probe, shown)
        kitchen.clock.move(days=2)
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "battery_changed")
    kitchen.clock.move(days=2)
    kitchen.checked(probe, "0.4 C")
    kept = issue(kitchen, probe)
    history = facts_of(kitchen, probe).history
    assert history is not None
    assert [one.offset.text() for one in history.past] == ["0.1000 dC", "0.2000 dC", "0.3000 dC"]
    assert [code for _, code in history.happened] == ["battery_changed"]
    text = words_of(page(kitchen, kept))
    for said in ("Offsets so far", "Along the scale", "Over time, as found", "battery changed"):
        assert said in text, said


def test_too_few_earlier_checks_are_no_history(kitchen: Kitchen) -> None:
    probe = passed(kitchen)
    kitchen.clock.move(days=2)
    kitchen.checked(probe, "0.2 C")
    issue(kitchen, probe)
    assert facts_of(kitchen, probe).history is None


def test_a_certificate_without_a_check_is_refused(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    with kitchen.refuses(("checks", "none_yet")):
        issue(kitchen, probe)


def test_why_it_was_due_is_worded(kitchen: Kitchen) -> None:
    passed(kitchen)
    check = kitchen.last("check_recorded")
    for reason in sorted(certificate_facts.WHY_DUE):
        due = replace(check, payload=check.payload | {"reason": reason})
        for language in ("en", "es"):
            assert certificate_facts._why_now(due, language) == say(f"certificate.why.{reason}", language)
    assert certificate_facts._why_now(check, "en") == ""


@pytest.mark.parametrize("language", ["en", "es"])
def test_what_was_read_before_another_check_had_it_adjusted_is_not_called_as_left(
    kitchen: Kitchen, language: str
) -> None:
    dial = kitchen.dial()
    kitchen.checked(dial, "0 C")
    kitchen.clock.move(minutes=20)
    bath = kitchen.boil()
    row = kitchen.key(bath, dial, "103 C", "103 C", "103 C")
    kitchen.judge(bath)
    kitchen.clock.move(minutes=5)
    kitchen.adjust(row.check, "nut", "100 C")
    kept = issue_of(kitchen, dial, language)
    for text in (words_of(page(kitchen, kept)), plain_certificate.html(kitchen.session, kept).decode()):
        assert say("certificate.band.found.ice_point", language) in text
        assert say("certificate.band.unchanged.ice_point", language) not in text
        said = say("certificate.results.turned_since", language, point=say("point.ice_point", language), at="|")
        assert said.partition("|")[2] in text.replace(written.HARD_SPACE, " ")
    kitchen.clock.move(minutes=5)
    kitchen.checked(dial, "-3 C", "-3 C", "-3 C")
    after = words_of(page(kitchen, issue_of(kitchen, dial, language)))
    assert say("certificate.band.unchanged.ice_point", language) in after  # read since: now it is known


def issue_of(kitchen: Kitchen, thermometer: str, language: str) -> Issued:
    return papers.issue_certificate(kitchen.session, kitchen.lead, thermometer, language=language)
