"""Finding issued certificates: by site, number, tag id and day, page by page, and whether each still stands."""

import re
from datetime import date
from decimal import Decimal

import pytest

from registry.journal import receipt
from registry.quantity import Length
from registry.services import certificates, mend, papers, places, thermometers
from registry.services.certificates import Found
from registry.services.papers import Issued
from registry.services.places import NewSite
from tests.services.kitchen import ZONE, Kitchen
from tests.services.test_papers import doubt
from tests.store.tampering import unguarded


def issue(kitchen: Kitchen, thermometer: str, **more: str) -> Issued:
    kitchen.checked(thermometer, "0.1 C")
    return papers.issue_certificate(kitchen.session, kitchen.lead, thermometer, **more)  # type: ignore[arg-type]


def numbers(found: Found) -> list[str]:
    return [one.number for one in found.certificates]


def find(kitchen: Kitchen, **asked: object) -> Found:
    return certificates.find(kitchen.session, **asked)  # type: ignore[arg-type]


def test_what_is_kept_of_an_issue_is_found(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    issued = issue(kitchen, probe)
    (one,) = find(kitchen).certificates
    assert one.kept == issued
    assert (one.tag_id, one.site, one.initials, one.name) == (kitchen.tag(probe), kitchen.site, "LQ", "Leo Quist")
    assert (one.state, one.stored, one.checks, one.by_number) == ("stands", True, 1, "")


def test_one_that_was_replaced_and_one_that_was_withdrawn(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    first = issue(kitchen, probe)
    second = issue(kitchen, probe, replaces=first.number)
    papers.withdraw_certificate(kitchen.session, kitchen.officer, probe, second.number, "wrong_check")
    newest, oldest = find(kitchen).certificates
    assert (oldest.number, oldest.state, oldest.by_number) == (first.number, "replaced", second.number)
    withdrawn = kitchen.last("certificate_withdrawn").number
    assert (newest.number, newest.state, newest.by_number, newest.why) == (
        second.number,
        "withdrawn",
        withdrawn,
        "wrong_check",
    )
    assert {one.state for one in find(kitchen, number=second.number).certificates} == {"withdrawn"}


def test_one_whose_page_a_crash_left_undrawn(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    probe = kitchen.enrol()
    with monkeypatch.context() as patch:

        def cut_off(*_: object) -> Issued:
            raise KeyboardInterrupt

        patch.setattr(papers, "_store_page", cut_off)
        with pytest.raises(KeyboardInterrupt):
            issue(kitchen, probe)
    (one,) = find(kitchen).certificates
    assert not one.stored
    with kitchen.refuses(("certificate", "not_stored")):
        certificates.page(kitchen.session, one.number)
    papers.store_missing(kitchen.session, kitchen.lead)
    assert find(kitchen).certificates[0].stored


def test_it_is_narrowed_by_site_tag_and_number(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    other = places.add_site(kitchen.session, kitchen.admin, NewSite("Quay", "QY", ZONE, Length(Decimal(5), "m")))
    here, moved = kitchen.enrol(), kitchen.enrol()
    first, second = issue(kitchen, here), issue(kitchen, moved)
    thermometers.move(kitchen.session, kitchen.officer, moved, other)
    assert numbers(find(kitchen)) == [second.number, first.number]
    assert numbers(find(kitchen, site=kitchen.site)) == [first.number]
    assert numbers(find(kitchen, site=other)) == [second.number]
    assert numbers(find(kitchen, tag=kitchen.tag(here).lower())) == [first.number]
    assert numbers(find(kitchen, number=second.number.lower())) == [second.number]
    assert numbers(find(kitchen, site=other, tag=kitchen.tag(here))) == []
    assert numbers(find(kitchen, number=kitchen.last("check_recorded").number)) == []


def test_days_are_those_of_the_kitchens_clock(any_kitchen: Kitchen) -> None:
    """20:00 on 3 March in New York is 01:00 on 4 March, UTC."""
    kitchen = any_kitchen
    probe = kitchen.enrol()
    kitchen.clock.move(hours=14, minutes=30)
    evening = issue(kitchen, probe)
    kitchen.clock.move(hours=6)
    night = issue(kitchen, probe)
    third, fourth = date(2026, 3, 3), date(2026, 3, 4)
    assert numbers(find(kitchen, from_day=third, to_day=third)) == [evening.number]
    assert numbers(find(kitchen, from_day=fourth)) == [night.number]
    assert numbers(find(kitchen, to_day=fourth)) == [night.number, evening.number]
    assert numbers(find(kitchen, to_day=date(2026, 3, 2))) == []


def test_page_by_page_each_comes_once(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    issued = [issue(kitchen, kitchen.enrol()).number for _ in range(5)]
    seen: list[str] = []
    after = None
    for expected in (2, 2, 1):
        found = find(kitchen, limit=2, after=after)
        assert (len(found.certificates), found.count) == (expected, 5)
        seen += numbers(found)
        after = found.after
    assert after is None
    assert seen == issued[::-1]


def test_a_page_that_comes_between_two_looks_is_not_seen_twice(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    older = [issue(kitchen, probe).number for _ in range(3)]
    first = find(kitchen, limit=1)
    newer = issue(kitchen, probe).number
    rest = find(kitchen, limit=9, after=first.after)
    assert numbers(first) + numbers(rest) == older[::-1]
    assert newer not in numbers(rest)


def test_the_page_is_the_one_that_was_issued(kitchen: Kitchen) -> None:
    issued = issue(kitchen, kitchen.enrol())
    with kitchen.session.reading() as connection:
        kept = papers.page_of(connection, issued)
    assert certificates.page(kitchen.session, issued.number) == kept
    with kitchen.refuses(("certificate", "unknown_certificate")):
        certificates.page(kitchen.session, kitchen.last("check_recorded").number)


def test_which_certificates_name_a_check(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    issued = issue(kitchen, probe)
    check = kitchen.last("check_recorded").payload["check"]
    later = kitchen.checked(probe, "0.2 C")
    with kitchen.session.reading() as connection:
        assert certificates.naming(connection, probe, check) == [issued.number]
        assert certificates.naming(connection, probe, later) == []


# --- what has become of its checks since ---------------------------------------------------------------------


def standing(kitchen: Kitchen) -> str:
    return find(kitchen).certificates[0].standing


def test_one_whose_check_was_voided_since_rests_on_what_counts_no_more(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    issue(kitchen, kitchen.enrol())
    assert standing(kitchen) == "stands"
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    (one,) = find(kitchen).certificates
    assert (one.state, one.standing) == ("stands", "counts_no_more")


def test_one_whose_bath_was_judged_otherwise_since(kitchen: Kitchen) -> None:
    probe, bath = kitchen.enrol(), kitchen.ice()
    kitchen.key(bath, probe, "0.1 C")
    kitchen.judge(bath)
    first = papers.issue_certificate(kitchen.session, kitchen.lead, probe)
    kitchen.judge(bath, "condemned")
    assert standing(kitchen) == "counts_no_more"
    kitchen.judge(bath)
    assert standing(kitchen) == "stands"
    papers.withdraw_certificate(kitchen.session, kitchen.officer, probe, first.number, "wrong_check")
    kitchen.judge(bath, "condemned")
    assert standing(kitchen) == "withdrawn"


def test_one_whose_bath_came_into_doubt_since(kitchen: Kitchen) -> None:
    probe, bath = kitchen.enrol(), kitchen.ice()
    kitchen.key(bath, probe, "0.1 C")
    doubt(kitchen, bath, "accepted")
    papers.issue_certificate(kitchen.session, kitchen.lead, probe)
    doubt(kitchen, bath)
    assert standing(kitchen) == "bath_in_doubt"


def test_one_whose_adjustment_was_voided_since(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    kitchen.adjust(kitchen.checked(dial, "3 C", "3 C", "3 C"), "nut", "0 C")
    papers.issue_certificate(kitchen.session, kitchen.lead, dial)
    assert standing(kitchen) == "stands"
    mend.void(kitchen.session, kitchen.officer, kitchen.last("adjusted").number, "not_done")
    assert standing(kitchen) == "counts_no_more"


# --- verifying one -------------------------------------------------------------------------------------------


def test_a_file_is_the_page_that_was_issued_or_none(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    issued = issue(kitchen, kitchen.enrol())
    page = certificates.page(kitchen.session, issued.number)
    found = certificates.of_file(kitchen.session, page)
    assert found is not None
    assert found.number == issued.number
    assert certificates.of_file(kitchen.session, page + b" ") is None


def code_of(kitchen: Kitchen, seq: int) -> str:
    one = kitchen.entries()[seq]
    return receipt.receipt_text(bytes.fromhex(one.chain), one.seq, bytes.fromhex(one.hash), one.signature or b"")


def test_the_square_code_is_held_against_the_record(kitchen: Kitchen) -> None:
    issued = issue(kitchen, kitchen.enrol())
    text = code_of(kitchen, kitchen.last("certificate_issued").seq)
    read = certificates.of_code(kitchen.session, text + "\n")
    assert (read.number, read.here) == (issued.number, True)
    assert read.certificate is not None
    assert read.certificate.number == issued.number
    with kitchen.refuses(("receipt", "not_a_receipt")):
        certificates.of_code(kitchen.session, text[:-3])
    spoilt = receipt.read_receipt(text)
    foreign = receipt.receipt_text(bytes(32), spoilt.seq, spoilt.hash, spoilt.signature)
    assert certificates.of_code(kitchen.session, foreign) == certificates.CodeRead("", False, None)


def test_a_code_of_an_entry_that_was_cut_off_says_so(kitchen: Kitchen) -> None:
    issued = issue(kitchen, kitchen.enrol())
    last = kitchen.last("certificate_issued")
    text = code_of(kitchen, last.seq)
    with unguarded(kitchen.home / "registry.db") as behind:
        behind.execute("DELETE FROM entries WHERE seq >= ?", (last.seq,))
    assert certificates.of_code(kitchen.session, text) == certificates.CodeRead(issued.number, False, None)


# --- refused -------------------------------------------------------------------------------------------------


def test_what_cannot_be_looked_for_is_refused(kitchen: Kitchen) -> None:
    number = issue(kitchen, kitchen.enrol()).number
    mistyped = number[:-1] + ("A" if number[-1] != "A" else "B")
    assert re.fullmatch("[A-Z]{4}[0-9]{4,}.", mistyped)
    with kitchen.refuses(("number", "not_a_number")):
        find(kitchen, number=mistyped)
    with kitchen.refuses(("to_day", "before_from_day")):
        find(kitchen, from_day=date(2026, 3, 4), to_day=date(2026, 3, 3))
    with kitchen.refuses(("number", "unknown_number")):
        find(kitchen, after=mistyped)
