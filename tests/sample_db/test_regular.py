"""The demo's invented shift is noticed, and no honest one is named."""

from pathlib import Path

import pytest

from registry.services import regularity
from registry.services.session import open_session
from registry.services.words import regularity as words
from sample_db import scenario, truth
from sample_db.build import build


def named(home: Path, days: int) -> tuple[set[str], set[str]]:
    """Checks of the visits named, and of those that were truly invented, as the baths they lie in."""
    session = open_session(home, clock=lambda: scenario.load().ends_at, read_only=True)
    found = regularity.by_site(session, days=days)
    session.close()
    told = truth.load(home)
    invented = {bath for bath, said in told["baths"].items() if "invented" in said.get("planted", ())}
    return {visit.bath for one in found for visit in one.notable}, invented


def test_the_invented_shift_of_the_small_demo_is_named_and_no_other(small_home: Path) -> None:
    found, invented = named(small_home, 40)
    assert len(invented) == 1
    assert found == invented


@pytest.mark.slow
def test_both_invented_shifts_of_two_years_are_named_and_no_other(tmp_path: Path) -> None:
    home = tmp_path / "full"
    build(home)
    found, invented = named(home, 740)
    assert len(invented) == 2
    assert found == invented


def test_the_line_names_nobody_and_accuses_nobody(small_home: Path) -> None:
    session = open_session(small_home, clock=lambda: scenario.load().ends_at, read_only=True)
    (site,) = regularity.by_site(session)
    session.close()
    assert words.sentences(site, "en", "en_US") == [
        "Wrenstrand Galley, November\N{NO-BREAK SPACE}20, 2026, Morning: 10 of 10 readings repeat last time's (3 would "
        "be usual), 9 of 10 were keyed sooner than the thermometer settles, 9 of 9 fall on the minute of another. That "
        "is more regular than readings usually are; there may be a good reason, so ask."
    ]
    assert "pregunte" in words.sentences(site, "es", "es_ES")[0]
