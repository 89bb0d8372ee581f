"""The group's rules, and a site's own before them."""

from datetime import UTC, date, datetime

import pytest

from registry.quantity import TemperatureDifference
from registry.records.rules import RuleSet, Tolerance, ToleranceSet
from registry.services import rules
from registry.services.rules import RulesInForce
from tests.services.kitchen import TUESDAY, Kitchen


def in_force(kitchen: Kitchen, site: str | None = None) -> RulesInForce:
    with kitchen.session.reading() as connection:
        return rules.rules_in_force(connection, site)


def own_rules(kitchen: Kitchen) -> None:
    """The site goes by four outcomes and by ±0.5 °C."""
    group, half = in_force(kitchen).group.group, "0.5 dC"
    with kitchen.session.recording(kitchen.officer, "officer") as entries:
        entries.replace(
            RuleSet(
                group=group,
                set=kitchen.session.new_id(),
                decision="four_outcomes",
                repeats=2,
                near_limit="0.8",
                unsteady="3",
                since="2026-03-03",
                for_site=kitchen.site,
            )
        )
        own = Tolerance(class_="food", scale="C", tolerance=half, source="house rule", place="1")
        entries.replace(
            ToleranceSet(
                group=group,
                set=kitchen.session.new_id(),
                tolerances=(own,),
                since="2026-03-03",
                for_site=kitchen.site,
            )
        )


def test_a_sites_own_rules_go_before_the_groups(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    own_rules(kitchen)
    assert (in_force(kitchen).decision, in_force(kitchen, kitchen.site).decision) == ("simple", "four_outcomes")
    kitchen.key(kitchen.ice(), kitchen.enrol(), "0.6 C", "0.6 C", "0.6 C")
    said = kitchen.last("check_recorded").payload
    # ILAC-G8:09/2019 4.2.3: outside by less than U is a conditional fail.
    assert (said["tolerance"], said["decision"], said["outcome"]) == ("0.5 dC", "four_outcomes", "conditional_fail")
    rules.set_decision(kitchen.session, kitchen.officer, "guard_band", TUESDAY)
    assert (in_force(kitchen).decision, in_force(kitchen, kitchen.site).decision) == ("guard_band", "four_outcomes")


def test_the_owners_tolerance_stands_beside_the_codes(kitchen: Kitchen) -> None:
    for scale, tolerance in (("C", "5 dC"), ("dual", "4 dC"), ("F", "9 dF"), ("C", "6 dC")):
        own = TemperatureDifference.from_text(tolerance)
        rules.set_owner_tolerance(kitchen.session, kitchen.officer, scale, own, TUESDAY)
    found = in_force(kitchen)
    told = {scale: found.tolerance("owner", scale) for scale in ("C", "dual", "F")}
    assert {scale: one.tolerance for scale, one in told.items() if one} == {"C": "6 dC", "dual": "4 dC", "F": "9 dF"}
    food = found.tolerance("food", "C")
    assert food is not None
    assert food.tolerance == "1 dC"


@pytest.mark.parametrize(
    ("scale", "tolerance", "wanted"),
    [
        ("K", "1 dC", ("scale", "unknown")),
        ("F", "1 dC", ("tolerance", "not_valid")),
        ("dual", "1 dF", ("tolerance", "not_valid")),
        ("C", "0 dC", ("tolerance", "not_valid")),
        ("C", "50.1 dC", ("tolerance", "not_valid")),
    ],
)
def test_what_can_be_no_tolerance(kitchen: Kitchen, scale: str, tolerance: str, wanted: tuple[str, str]) -> None:
    own = TemperatureDifference.from_text(tolerance)
    with kitchen.refuses(wanted):
        rules.set_owner_tolerance(kitchen.session, kitchen.officer, scale, own, TUESDAY)


def test_the_first_rules_are_in_force_since_the_countrys_day() -> None:
    # IANA tz database: at 03:00 UTC it is still the evening before everywhere in the US, and the next day in Japan.
    at = int(datetime(2026, 3, 3, 3, tzinfo=UTC).timestamp()) * 10**6
    assert rules._day_in("en_US", at) == date(2026, 3, 2)
    assert rules._day_in("ja_JP", at + 13 * 3600 * 10**6) == date(2026, 3, 4)
    assert rules._day_in("en_150", at + 8 * 3600 * 10**6) == date(2026, 3, 2)  # 11:00 UTC: still the 2nd at UTC-12
