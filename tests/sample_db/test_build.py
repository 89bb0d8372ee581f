"""The built demo: the same from the same seed, whole, and true to its truth."""

import json
import os
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from registry.quantity import Reading
from registry.services import duelist, upkeep
from registry.services.session import Session, open_session
from registry.store import queries
from sample_db import build as building
from sample_db import scenario, truth
from sample_db.build import Built, build, is_current
from sample_db.opening import demo_key

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def opened(small_home: Path) -> Iterator[Session]:
    session = open_session(small_home, clock=lambda: scenario.load().ends_at, read_only=True)
    yield session
    session.close()


def entries(session: Session) -> list[queries.EntryView]:
    with session.reading() as connection:
        ((_, last, _),) = queries.heads(connection)
        return [queries.entry_at(connection, 1, seq) for seq in range(last + 1)]


@pytest.mark.slow
def test_the_same_seed_gives_the_same_journal_whatever_the_order_of_hashes(small: Built, tmp_path: Path) -> None:
    builds = "import sys, pathlib; from sample_db.build import build; "
    prints = "print(build(pathlib.Path(sys.argv[1]), small=True).head)"
    seed = "2" if os.environ.get("PYTHONHASHSEED") == "1" else "1"
    again = subprocess.run(
        [sys.executable, "-c", builds + prints, tmp_path / "again"],
        cwd=ROOT,
        env={**os.environ, "PYTHONHASHSEED": seed},
        capture_output=True,
        text=True,
        check=True,
    )
    assert again.stdout.strip() == small.head
    told = (tmp_path / "again" / "truth.json", small.home / "truth.json")
    assert told[0].read_bytes() == told[1].read_bytes()


def test_it_verifies_deep_and_says_demo(opened: Session) -> None:
    report = upkeep.verify(opened, deep=True)
    assert report.good, report.findings
    assert report.demo == [entries(opened)[0].chain]
    assert opened.demo


def test_its_key_is_the_public_one(opened: Session) -> None:
    public = demo_key(scenario.load()).public_key().public_bytes_raw().hex()
    assert entries(opened)[0].chain == public


def test_its_clock_never_went_back(opened: Session) -> None:
    found = entries(opened)
    assert [one.number for one in found if "clock_behind_us" in one.payload] == []
    assert max(one.at for one in found) < scenario.load().ends_at


def strange_readings(session: Session, told: dict[str, Any]) -> list[str]:
    """Readings that truth does not explain: true temperature + true offset, within noise and the display's step."""
    strange = []
    for one in entries(session):
        if one.kind != "reading_taken" or "shown" not in one.payload:
            continue
        bath, of = told["baths"][one.payload["bath"]], told["thermometers"][one.subject]
        if "invented" in bath.get("planted", ()):
            continue
        true_c = bath["true_c"] + truth.true_offset(told, one.subject, one.at, bath["true_c"])
        step_c = float(of["step"]) / (1.8 if of["unit"] == "F" else 1)
        apart = abs(float(Reading.from_text(one.payload["shown"]).celsius()) - true_c)
        if apart > step_c / 2 + 5 * of["noise"]:
            strange.append(f"{one.number}: {one.payload['shown']}, truly {true_c:.3f} °C")
    return strange


def test_readings_are_what_truth_makes_them(opened: Session, small_home: Path) -> None:
    told = truth.load(small_home)
    assert strange_readings(opened, told) == []


def test_a_changed_truth_is_noticed(opened: Session, small_home: Path) -> None:
    told = truth.load(small_home)
    for bath in told["baths"].values():
        bath["true_c"] += 3
    assert len(strange_readings(opened, told)) > 80


def planted_and_told(planted: tuple[scenario.Event, ...], told: dict[str, Any]) -> list[str]:
    counted = Counter(one["kind"] for one in told["events"])
    wanted = Counter(one.kind for one in planted)
    return [kind for kind, count in wanted.items() if counted[kind] < count]


def test_every_planted_event_is_in_the_truth(small_home: Path) -> None:
    assert planted_and_told(scenario.load(small=True).events, truth.load(small_home)) == []


def test_the_bad_bath_is_high_in_nearly_all_that_were_in_it(opened: Session, small_home: Path) -> None:
    (event,) = (one for one in truth.load(small_home)["events"] if one["kind"] == "bad_bath")
    (bath,) = event["baths"]
    with opened.reading() as connection:
        checks = queries.checks_in(connection, bath)
        found = [queries.entry_at(connection, one.chain_no, one.seq).payload for one in checks]
    first = [payload["as_found"][0] for payload in found]
    read = [float(Reading.from_text(text).celsius()) for text in first]
    assert len(read) >= 9
    assert sum(read) / len(read) > 0.5


def test_invented_readings_repeat_the_last_ones_in_one_minute(opened: Session, small_home: Path) -> None:
    (event,) = (one for one in truth.load(small_home)["events"] if one["kind"] == "invented")
    with opened.reading() as connection:
        checks = [queries.check(connection, one) for one in event["checks"]]
        assert None not in checks
        at = [one.at for one in checks if one]
        assert max(at) - min(at) < 60_000_000
        for one in checks:
            assert one is not None
            (earlier, now) = queries.checks_of(connection, one.thermometer, until=one.at + 1)[-2:]
            before, after = (queries.entry_at(connection, view.chain_no, view.seq).payload for view in (earlier, now))
            if before["point"] == "ice_point":
                assert before["as_found"][-1] == after["as_found"][0]


def test_swapped_labels_trade_their_offsets(small_home: Path) -> None:
    told = truth.load(small_home)
    (swap,) = (one for one in told["events"] if one["kind"] == "label_swap")
    a, b = swap["thermometers"]
    before, within = swap["from_at"] - 1, swap["from_at"] + 1
    assert truth.true_offset(told, a, before) - truth.true_offset(told, b, before) > 0.8
    assert truth.true_offset(told, a, within) - truth.true_offset(told, b, within) < -0.8


def test_food_was_judged_between_an_unreported_drop_and_the_next_check(small_home: Path) -> None:
    told = truth.load(small_home)
    (drop,) = (one for one in told["events"] if one["kind"] == "unreported_drop")
    shown = [float(Reading.from_text(one["shown"]).celsius()) - one["true_c"] for one in drop["food"]]
    assert len(shown) >= 3
    assert min(shown) > drop["step"] - 0.8  # each reads high by about the step


def test_two_probes_share_a_meter(opened: Session) -> None:
    joined = [one.payload["indicator"] for one in entries(opened) if one.kind == "parts_joined"]
    assert len(joined) == 2
    assert len(set(joined)) == 1


def test_something_is_due_at_its_end(opened: Session) -> None:
    with opened.reading() as connection:
        due = {one.item.code for one in duelist.due_list(opened, connection)}
    assert "after_incident" in due


def test_a_build_that_breaks_leaves_the_earlier_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    home = tmp_path / "demo"
    home.mkdir()
    (home / "built.json").write_text("{}")

    def breaks(world: object, progress: object) -> None:
        raise RuntimeError("the power went")

    monkeypatch.setattr(building, "simulate", breaks)
    with pytest.raises(RuntimeError, match="the power went"):
        build(home, small=True)
    assert [one.name for one in home.iterdir()] == ["built.json"]
    assert not is_current(home, small=True)


def test_it_is_current_only_as_what_it_was_built(small_home: Path, tmp_path: Path) -> None:
    assert is_current(small_home, small=True)
    assert not is_current(small_home)
    assert not is_current(tmp_path / "nowhere", small=True)


def test_the_program_never_reads_the_truth() -> None:
    sources = [path for top in ("registry", "ui") for path in (ROOT / top).rglob("*.py")]
    assert len(sources) > 50
    assert [path for path in sources if truth.FILE_NAME in path.read_text(encoding="utf-8")] == []


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_the_whole_demo(tmp_path: Path) -> None:
    """Two years: it verifies, truth explains every reading, everything is planted and shows."""
    days: list[date] = []
    built = build(tmp_path / "whole", progress=lambda done, day: days.append(day))
    assert days == sorted(days)
    session = open_session(built.home, clock=lambda: scenario.load().ends_at, read_only=True)
    try:
        report = upkeep.verify(session, deep=True)
        assert report.good, report.findings
        assert list(upkeep.work_out_again(session)) == []
        told = truth.load(built.home)
        assert strange_readings(session, told) == []
    finally:
        session.close()
    assert planted_and_told(scenario.load().events, told) == []
    assert 7_000 < built.checks < 12_000
    assert json.loads((built.home / "built.json").read_text())["checks"] == built.checks
