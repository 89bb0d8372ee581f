"""Why something is due, said for each reason that the schedule can give."""

from datetime import date

import pytest

from registry import resources
from registry.wording.due import why_due

NOON = 1_772_539_200_000_000  # 3 March 2026, 12:00 UTC
REASONS = {
    "each_shift": {"shift": "Early", "start": 360, "end": 840, "reason": ""},
    "every_days": {"days": 7, "good_at": NOON},
    "every_days_never": {"days": 1, "enrolled_at": NOON},
    "hot_point": {"days": 90, "good_at": NOON},
    "hot_point_never": {"days": 90, "enrolled_at": NOON},
    "incident": {"incident": "dropped", "incident_at": NOON},
    "failed": {"failed_at": NOON},
    "check_first": {},
    "adjusted": {"adjusted_at": NOON},
    "adjusted_hot": {"adjusted_at": NOON},
    "adjusted_point": {"point": "boiling_point", "adjusted_at": NOON},
    "new": {"enrolled_at": NOON},
    "reference_expiry": {"day": date(2026, 3, 10)},
}


@pytest.mark.parametrize("language", resources.languages())
def test_every_reason_is_said(language: str) -> None:
    said = {code: why_due(code, values, language, "en_GB", "Europe/Madrid") for code, values in REASONS.items()}
    assert len(set(said.values())) == len(REASONS)
    assert all(text and "{" not in text for text in said.values())


def test_instants_are_local_and_counts_choose_the_form() -> None:
    # 12:00 UTC is 13:00 in Madrid in winter.
    assert (
        why_due("incident", REASONS["incident"], "en", "en_GB", "Europe/Madrid") == "Dropped, 3\u00a0March 2026, 13:00"
    )
    assert why_due("every_days_never", REASONS["every_days_never"], "es", "es_ES", "Europe/Madrid").startswith(
        "Cada día"
    )
