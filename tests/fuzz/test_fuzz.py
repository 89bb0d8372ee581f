"""The drivers of this folder for a few seconds from a fixed seed, and for a minute from another."""

from collections.abc import Callable
from pathlib import Path

import pytest

from registry.services import import_journal
from tests.fuzz import csv, driving, entries, readings
from tests.fuzz.driving import Case
from tests.services.kitchen import open_kitchen


def typist(folder: Path) -> Case:
    return readings.Typist(open_kitchen(folder / "kitchen")).case


def importer(folder: Path) -> Case:
    return csv.Importer(folder).case


# With what the first cases must meet, so that a driver which only makes rubbish does not pass.
LEAST = 600
DRIVERS: list[tuple[str, Callable[[Path], Case], set[str]]] = [
    ("readings", typist, {"recorded", "waits for repeats", "refused: too_fine", "no reading: group_separator"}),
    ("entries", lambda folder: entries.case, {"taken as it was", "taken as another", "refused: not_canonical"}),
    ("csv", importer, {"history: recorded", "shift: recorded", "history: quotes", "shift: not_this_encoding"}),
]


@pytest.mark.parametrize("seconds", [1, *(pytest.param(one, marks=pytest.mark.slow) for one in (5, 60))])
@pytest.mark.parametrize(("prepare", "meets"), [one[1:] for one in DRIVERS], ids=[one[0] for one in DRIVERS])
def test_nothing_that_comes_from_outside_breaks_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, prepare: Callable[[Path], Case], meets: set[str], seconds: int
) -> None:
    monkeypatch.setattr(import_journal, "PAUSE_S", 0)
    met = driving.run(prepare(tmp_path), seed=seconds, seconds=seconds, least=LEAST)
    assert meets <= met.keys(), met
