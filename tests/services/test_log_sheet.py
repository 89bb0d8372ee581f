"""The monthly log in words and on paper, as a reader that is not ours finds it."""

import re
from dataclasses import replace
from datetime import date

import pypdfium2 as pdfium
import pytest

from registry import resources
from registry.quantity import TemperatureDifference
from registry.services import baths, checks, incidents, log_sheet, mend, monthly_log, reviews, thermometers
from registry.services.baths import Diagnosed
from registry.services.log_lines import TAKEN_FROM_USE
from registry.services.log_sheet import COLUMNS, Written
from registry.services.monthly_log import Action, Log, LogLine
from registry.wording import say
from tests.documents import reading
from tests.services.kitchen import Kitchen
from tests.services.test_lists import add_early, close, known

EN, ES = Written("en", "en_US", "America/New_York"), Written("es", "es_ES", "Europe/Madrid")
HARD = "\N{NO-BREAK SPACE}"


def log(kitchen: Kitchen, month: int = 3) -> Log:
    return monthly_log.month(kitchen.session, kitchen.site, 2026, month)


def cells(line: LogLine, to: Written = EN, **more: bool) -> dict[str, str]:
    return dict(zip(COLUMNS, log_sheet.cells(line, to, **more), strict=True))


def a_months_work(kitchen: Kitchen) -> Log:
    """A little of everything."""
    early = add_early(kitchen)
    found = known(kitchen, 4)
    dial = kitchen.dial()
    kitchen.adjust(kitchen.checked(dial, "3 C", "3 C", "3 C"), "nut", "0 C")
    incidents.report_incident(kitchen.session, kitchen.lead, found[0], "dropped")
    kitchen.checked(found[0], "0.1 C")
    checks.not_checked(kitchen.session, kitchen.lead, found[1], kitchen.site, early, "2026-03-03", "not_found")
    checks.no_reading(kitchen.session, kitchen.lead, kitchen.ice(), found[2], "battery_flat")
    kitchen.checked(found[3], "0.2 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "wrong_thermometer")
    close(kitchen)
    return log(kitchen)


# --- words ---------------------------------------------------------------------------------------------------


def test_a_check_in_words_of_both_languages(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    kitchen.adjust(kitchen.checked(dial, "2.5 C", "3 C", "3 C"), "nut", "0 C")
    (line,) = log(kitchen).lines
    number = kitchen.last("check_recorded").number
    assert cells(line) == {
        "day": "03/03/2026",
        "time": f"5:30{HARD}AM",
        "tag": kitchen.tag(dial),
        "method": "Ice, crushed",
        "expected": f"0.0{HARD}°C",
        "actual": f"2.5; 3; 3{HARD}°C",
        "off_by": f"+2.83{HARD}°C",
        "limit": f"±1{HARD}°C",
        "outcome": "Fail",
        "as_left": f"0{HARD}°C, Pass",
        "action": "adjusted: nut",
        "who": "LQ",
        "number": number,
    }
    spanish = cells(line, ES)
    assert spanish["actual"] == f"2,5; 3; 3{HARD}°C"
    assert (spanish["day"], spanish["time"], spanish["outcome"]) == ("03-03-2026", "11:30", "No apto")
    assert (spanish["method"], spanish["action"]) == ("Hielo picado", "ajustado: tuerca")


def test_the_rule_is_named_where_a_log_has_several(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "0.1 C")
    (line,) = log(kitchen).lines
    assert cells(line, name_rule=True)["outcome"] == "Pass (simple acceptance)"
    assert cells(replace(line, judged_again=True))["outcome"] == "Pass; bath judged again"


def test_what_does_not_count_never_reads_as_a_pass(kitchen: Kitchen) -> None:
    kitchen.key(kitchen.ice(), kitchen.enrol(), "0.1 C")
    (line,) = log(kitchen).lines
    said = {
        state: cells(replace(line, state=state, why="twice"))["outcome"] for state in ("waits", "condemned", "voided")
    }
    assert said == {
        "waits": "Waits: bath not judged",
        "condemned": "Does not count: bad bath",
        "voided": "Void: recorded twice",
    }


def test_what_nobody_checked_says_by_whose_list(kitchen: Kitchen) -> None:
    add_early(kitchen)
    known(kitchen, 1)
    close(kitchen)
    kitchen.clock.move(hours=9)  # 14:30, half an hour after the shift
    (line,) = [line for line in log(kitchen).lines if line.kind == "missed"]
    said = cells(line)
    assert (said["method"], said["outcome"], said["action"], said["who"]) == (
        "Early",
        "Missed",
        "list closed without it",
        "LQ",
    )
    assert cells(replace(line, number=""))["action"] == "list not closed"


def test_to_what_its_use_was_limited_is_told(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "3.0 C", "3.0 C", "3.0 C")
    thermometers.set_status(kitchen.session, kitchen.officer, probe, "limited_use", why="outside", only="cold")
    (line,) = log(kitchen).lines
    assert cells(line)["action"] == "limited to cold food: outside"
    assert cells(line, ES)["action"] == "limitado a alimentos fríos: fuera de límites"


def test_a_doubtful_bath_that_a_person_overruled_is_told_with_the_reason(kitchen: Kitchen) -> None:
    bath = kitchen.ice()
    kitchen.key(bath, kitchen.enrol(), "0.1 C")
    half, fifth = (TemperatureDifference.from_text(one) for one in ("0.5 dC", "0.2 dC"))
    assert baths.judge_by_diagnosis(
        kitchen.session, kitchen.lead, bath, Diagnosed("suspect", half, fifth, (), {}, (), 1)
    )
    kitchen.judge(bath, "overruled", why="known_to_read_so")
    (line,) = log(kitchen).lines
    assert cells(line)["outcome"] == (
        "Pass; its bath was in doubt and a person overruled that: they are known to read so"
    )


def test_a_reason_that_is_none_of_those_offered_is_told_as_typed(kitchen: Kitchen) -> None:
    bath = kitchen.ice()
    kitchen.key(bath, kitchen.enrol(), "0.1 C")
    kitchen.judge(bath, "condemned")
    kitchen.judge(bath, "overruled", why="quite_sure")
    (line,) = log(kitchen).lines
    assert cells(line)["outcome"] == "Pass; the judgement of its bath was overruled: quite sure"


def test_an_adjustment_counts_though_its_check_is_void_and_is_not_measured(kitchen: Kitchen) -> None:
    check = kitchen.checked(kitchen.dial(), "3 C", "3 C", "3 C")
    kitchen.adjust(check, "nut", "0 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    found = log(kitchen)
    (line,) = found.lines
    said = cells(line)
    assert (said["outcome"], said["as_left"], said["action"]) == (
        "Void: mistyped",
        say("adjustment.not_measured", "en"),
        "adjusted: nut",
    )
    assert log_sheet.summary(found, EN)[0].startswith("0 checks, 0 outside their limits, 1 adjusted")


@pytest.mark.parametrize("language", resources.languages())
def test_every_code_that_a_line_can_hold_has_its_words(language: str) -> None:
    to = Written(language, "en_US", "UTC")
    day = date(2026, 3, 3)
    for why in mend.WHY:
        assert to.say(f"log.void.{why}")
    for made in (code.partition(".")[2] for code in resources.texts("en") if code.startswith("bath.")):
        assert to.say(f"log.made.{made}")
    for kind in ("missed", "left_open", "not_used", "not_found", "station_closed", "lent"):
        assert cells(LogLine(kind, day, None, "", "AA1"), to)["outcome"]
    for status in TAKEN_FROM_USE:
        for why in thermometers.STATUS_WHY:
            line = LogLine("incident", day, 0, "", "AA1", why="lost", actions=(Action(status, why),))
            assert ": " in cells(line, to)["action"]
    for why in (code.partition(".")[2] for code in resources.texts("en") if code.startswith("overrule.")):
        assert log_sheet._overruled(LogLine("check", day, 0, "", "AA1", overruled=why), to)
    for basis in ("last_good_check", "two_agree"):
        assert cells(LogLine("use_allowed", day, 0, "", "AA1", why=basis), to)["action"]


def test_the_figures_below_the_lines(kitchen: Kitchen) -> None:
    found = a_months_work(kitchen)
    said = log_sheet.summary(found, EN)
    # Two checks of each of the four the day before, then the dial and the dropped one; the voided one is left out.
    assert said[0] == (
        "10 checks, 1 outside their limits, 1 adjusted, 0 that do not count or wait. "
        "0 missed, 1 left open on a closed list, 0 not used, 1 not found, 1 without a reading."
    ).replace("0 missed", f"{found.count('missed')} missed")
    assert found.count("missed") == sum(line.kind == "missed" for line in found.lines)
    assert any("not over" in one for one in said)


# --- on paper ------------------------------------------------------------------------------------------------


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("language", resources.languages())
def test_every_line_is_on_the_pages(kitchen: Kitchen, language: str, paper: str) -> None:
    found = a_months_work(kitchen)
    pdf = log_sheet.printed(kitchen.session, found, language=language, paper=paper)  # type: ignore[arg-type]
    text = reading.words_of(pdf)
    for line in found.lines:
        assert line.tag_id in text
        assert line.number in text
    assert say("log.title", language) in text
    assert say("caution.local_codes_first", language) in text
    assert say("log.no_review", language) in text
    assert found.sources[0].head in text
    assert found.sources[0].head_hash[: log_sheet.HASH_SHOWN] in text
    with pdfium.PdfDocument(pdf) as document:
        sides = {tuple(round(side / 72 * 25.4, 1) for side in page.get_size()) for page in document}
    assert sides == {(297.0, 210.0) if paper == "a4" else (279.4, 215.9)}


def test_a_long_month_runs_over_pages_that_are_numbered(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "0.1 C")
    found = log(kitchen)
    many = replace(found, lines=found.lines * 120)
    pdf = log_sheet.printed(kitchen.session, many)
    with pdfium.PdfDocument(pdf) as document:
        texts = [page.get_textpage().get_text_range() for page in document]
    assert len(texts) > 3
    for number, text in enumerate(texts, 1):
        assert f"Page {number} of {len(texts)}" in text
        assert "Harbour Kitchens, Pier" in text
        assert "Monthly log of thermometer checks, March 2026" in " ".join(text.split())
    assert sum(text.count(found.lines[0].number) for text in texts) == 121  # and as the one that it was made from


def test_nothing_is_drawn_outside_the_page(kitchen: Kitchen) -> None:
    pdf = log_sheet.printed(kitchen.session, a_months_work(kitchen))
    with pdfium.PdfDocument(pdf) as document:
        for page in document:
            wide, high = page.get_size()
            text = page.get_textpage()
            for n in range(text.count_chars()):
                left, bottom, right, top = text.get_charbox(n)
                assert 0 <= left <= right <= wide
                assert 0 <= bottom <= top <= high


def test_the_same_log_gives_the_same_bytes(kitchen: Kitchen) -> None:
    found = a_months_work(kitchen)
    assert log_sheet.printed(kitchen.session, found) == log_sheet.printed(kitchen.session, found)


def test_who_reviewed_it_is_on_the_page_in_place_of_the_line_to_sign(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "0.1 C")
    assert "Reviewed by (signature)" in reading.words_of(log_sheet.printed(kitchen.session, log(kitchen)))
    reviews.review(kitchen.session, kitchen.officer, kitchen.site, date(2026, 3, 1), date(2026, 3, 31))
    text = reading.words_of(log_sheet.printed(kitchen.session, log(kitchen)))
    assert "Reviewed by Olga Ibarra (OI), March 3, 2026" in text.replace(HARD, " ")
    assert "(signature)" not in text


def test_a_name_with_stars_sets_nothing_bold_and_one_that_cannot_be_printed_is_refused(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "0.1 C")
    found = log(kitchen)
    assert "Pier* *7" in reading.words_of(log_sheet.printed(kitchen.session, replace(found, name="Pier**7")))
    with kitchen.refuses(("page", "missing_characters")):
        log_sheet.printed(kitchen.session, replace(found, name="Pier \N{PILE OF POO}"))


def test_a_demo_says_so(kitchen: Kitchen) -> None:
    kitchen.session.__dict__["demo"] = True
    text = reading.words_of(log_sheet.printed(kitchen.session, log(kitchen)))
    assert "DEMO DATA: not a record of a real check" in text
    assert re.search(r"\bDEMO\b", text)
