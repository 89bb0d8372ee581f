"""The page that answers "was it right then?", as a reader that is not ours finds it."""

from dataclasses import replace

import pytest

from registry import resources
from registry.services import answer_sheet, history, incidents, log_sheet, papers
from registry.services.log_sheet import HASH_SHOWN
from registry.wording import say
from tests.documents import reading
from tests.services.kitchen import DAY_US, Kitchen

HARD = "\N{NO-BREAK SPACE}"


def page(kitchen: Kitchen, thermometer: str, at: int, **more: str) -> str:
    pdf = answer_sheet.printed(kitchen.session, thermometer, at, **more)  # type: ignore[arg-type]
    return reading.words_of(pdf).replace(HARD, " ")


def checked_twice(kitchen: Kitchen) -> tuple[str, int]:
    """A thermometer with a good check on two days, and an instant between."""
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    papers.issue_certificate(kitchen.session, kitchen.lead, probe)
    between = kitchen.clock.move(days=1)
    kitchen.clock.move(days=1)
    kitchen.checked(probe, "0.2 C")
    return probe, between


@pytest.mark.parametrize("language", resources.languages())
def test_a_yes_shows_both_checks_and_what_they_rest_on(kitchen: Kitchen, language: str) -> None:
    probe, at = checked_twice(kitchen)
    text = page(kitchen, probe, at, language=language, paper="a4")
    before, after = kitchen.entries("check_recorded")
    for one in (
        before,
        after,
        *kitchen.entries("bath_made"),
        kitchen.last("certificate_issued"),
        kitchen.entries()[-1],
    ):
        assert one.number in text
    assert before.hash[:HASH_SHOWN] in text
    assert kitchen.tag(probe) in text
    assert "Leo Quist (LQ)" in text
    assert say("cli.was.at.yes", language, point=say("point.ice_point", language)) in text
    assert say("caution.local_codes_first", language) in text
    assert "+0.1 °C" in text  # in Spanish as written in the United States


def test_it_says_what_history_says(kitchen: Kitchen) -> None:
    probe, at = checked_twice(kitchen)
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    for moment in (at, at - 3 * DAY_US, kitchen.clock()):
        with kitchen.session.reading() as connection:
            answer = history.was_right(kitchen.session, connection, probe, moment)
        text = page(kitchen, probe, moment)
        beginning = {"yes": "Yes:", "no": "No:", "not_known": "It is not known whether"}[answer.answer]
        assert beginning in text
        for one in answer.points:
            assert say(f"cli.was.at.{one.why or one.answer}", "en", point="Ice point", days=31) in text
            assert ("In between: Dropped." in text) == ("dropped" in one.between)


def test_a_no_shows_the_fail_and_its_adjustment(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    at = kitchen.clock.move(minutes=5)
    kitchen.clock.move(minutes=5)
    kitchen.adjust(check, "nut", "0 C")
    text = page(kitchen, dial, at)
    assert "No: " in text
    assert "3; 3; 3 °C" in text
    assert "Fail at the ice point" in text
    assert "+3.0 °C, U ±" in text


def test_of_one_that_was_never_checked(kitchen: Kitchen) -> None:
    text = page(kitchen, kitchen.enrol(), kitchen.clock())
    assert "It is not known" in text
    assert "No check of this thermometer is on record." in text


def test_a_demo_says_so(kitchen: Kitchen) -> None:
    probe, at = checked_twice(kitchen)
    kitchen.session.__dict__["demo"] = True
    assert "DEMO DATA: not a record of a real check" in page(kitchen, probe, at)


def test_of_an_imported_check_nothing_is_said_of_adjustments(kitchen: Kitchen) -> None:
    """A file that says nothing of them does not say that it was left as it was."""
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.2 C")
    with kitchen.session.reading() as connection:
        line = history.was_right(kitchen.session, connection, probe, kitchen.clock.at).points[0].before
    assert line is not None
    to = log_sheet.Written("en", "en_US", "UTC")
    assert answer_sheet._as_left(line, to) == "not adjusted"
    assert answer_sheet._as_left(replace(line, imported=True), to) == "not recorded"
