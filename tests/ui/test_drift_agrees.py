"""The window, the command line, a spreadsheet and the page for the manager count the same."""

import csv
import io
import json
from collections.abc import Mapping
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtWidgets import QLabel

from registry.cli import main
from registry.records.thermometers import Price
from registry.services import failures, fleet, incidents, overview, replacing, thermometers
from registry.services.words import failures as failure_words
from registry.services.words import fleet as fleet_words
from registry.services.words import replacing as replacing_words
from registry.wording import format
from tests.services.kitchen import DIAL_C, Kitchen
from ui.desk import Desk
from ui.drift.failures import FailuresPart
from ui.drift.replacing import ReplacingPart
from ui.parts import Button


def eventful(kitchen: Kitchen) -> None:
    """Some ranked, one to be checked first, one failed and open, one failed and away, one mended, one never checked
    beside those that nobody checks in the kitchen of these tests."""
    fine, dropped, dial = kitchen.enrol(), kitchen.enrol(), kitchen.dial(DIAL_C)
    price = Price(amount="19.90", currency="EUR")
    glass, broken = (kitchen.enrol(DIAL_C, type="liquid_in_glass", price=price) for _ in range(2))
    kitchen.enrol()
    kitchen.always({fine: "0.1 C", dropped: "0.2 C", dial: "0 C", glass: "0 C", broken: "0 C"}, 3)
    incidents.report_incident(kitchen.session, kitchen.lead, dropped, "dropped")
    kitchen.adjust(kitchen.checked(dial, "3 C", "3 C", "3 C"), "nut", "0 C")
    kitchen.checked(glass, "3 C", "3 C", "3 C")
    check = kitchen.checked(broken, "4 C", "4 C", "4 C")
    thermometers.take_out(kitchen.session, kitchen.lead, broken, "outside", check)


def told(kitchen: Kitchen, *words: str) -> str:
    out = io.StringIO()
    with redirect_stdout(out):
        assert main(["--home", str(kitchen.home), "--language", "en", *words]) == 0
    return out.getvalue()


def table(kitchen: Kitchen, file: Path, *words: str) -> list[Mapping[str, str]]:
    told(kitchen, *words, "--out", str(file))
    return list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8-sig"))))


@pytest.fixture
def by_command(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    """Commands are given the kitchen's clock, and another session of it."""
    monkeypatch.setattr("registry.services.clock.now_us", lambda: kitchen.clock.at)
    eventful(kitchen)
    return kitchen


def words_in(part: Any) -> str:
    return " ".join(one.text() for one in part.findChildren(QLabel) if not one.isHidden())


def test_failed_checks_are_the_same_everywhere(by_command: Kitchen, desk: Desk, tmp_path: Path) -> None:
    kitchen = by_command
    found = failures.failures(kitchen.session, weeks=4)
    assert (len(found.rows), found.open) == (3, 1)
    headline = failure_words.headline(found, "en")
    tags = [one.tag_id for one in found.rows]
    said = json.loads(told(kitchen, "--json", "failures", "--weeks", "4"))
    assert ([one["tag_id"] for one in said["failures"]], said["open"]) == (tags, 1)
    assert told(kitchen, "failures", "--weeks", "4").startswith(headline)
    assert [one["Tag"] for one in table(kitchen, tmp_path / "f.csv", "failures", "--weeks", "4")] == tags
    facts = overview.overview_facts(kitchen.session, language="en")
    part = next(one for one in facts.parts if one.name == "Failed checks")
    assert (len(part.rows), part.sentences) == (3, (headline,))
    shown = FailuresPart(desk)
    shown.show_failures(found)
    assert shown.told.text() == headline
    assert {one.text() for one in shown.findChildren(Button)} >= set(tags)
    shown.deleteLater()


def test_what_to_replace_is_the_same_everywhere(by_command: Kitchen, desk: Desk, tmp_path: Path) -> None:
    kitchen = by_command
    found = replacing.to_replace(kitchen.session, fleet.ranking(kitchen.session, limit=None, histories=False))
    assert len(found.rows) == found.known == 2
    tags, (together,) = [one.tag_id for one in found.rows], found.sums
    sums = replacing_words.sums(found, "en", format.region_in("en", desk.region))
    said = json.loads(told(kitchen, "--json", "to-replace"))
    assert [one["tag_id"] for one in said["to_replace"]] == tags
    assert (said["price_known"], said["sums"]) == (2, [{"amount": together.amount, "currency": "EUR"}])
    assert sums in told(kitchen, "to-replace")
    rows = table(kitchen, tmp_path / "r.csv", "to-replace")
    assert [next(iter(one.values())) for one in rows] == tags
    facts = overview.overview_facts(kitchen.session, language="en")
    part = next(one for one in facts.parts if one.name == "What to replace, and why")
    assert ([row[0] for row in part.rows], part.sentences) == (tags, (sums,))
    shown = ReplacingPart(desk)
    shown.show_replacing(found)
    assert shown.sums.text() == sums
    assert sums in words_in(shown)
    shown.deleteLater()


def test_the_ranking_counts_all_in_use_everywhere(by_command: Kitchen, tmp_path: Path) -> None:
    kitchen = by_command
    found = fleet.ranking(kitchen.session, limit=1)
    assert (found.of, len(found.failed), found.unsettled, found.never, found.no_rule) == (3, 1, 1, 13, 0)
    said = json.loads(told(kitchen, "--json", "drift"))
    assert {name: said[name] for name in ("count", "likely_out", "check_first", "never_measured")} == {
        "count": 3, "likely_out": found.likely, "check_first": 1, "never_measured": 13,
    }  # fmt: skip
    assert len(said["failed"]) == 1
    plain = told(kitchen, "drift")
    for sentence in (
        "1 must be checked first: something happened to it.",
        "1 in use failed and was not mended: no chance is told of it.",
        "13 in use were not measured yet, so nothing is known of them.",
    ):
        assert sentence in plain
    rows = table(kitchen, tmp_path / "d.csv", "drift")
    assert len(rows) == found.of + len(found.failed)
    assert "13 in use were not measured yet" in told(kitchen, "drift", "--out", str(tmp_path / "e.csv"))
    answer = overview.overview_facts(kitchen.session, language="en").answer
    when = format.day(found.day, format.region_in("en", "en_US"))
    assert answer.replace("*", "") == fleet_words.headline(found, when, "en", "en_US").replace("*", "")
