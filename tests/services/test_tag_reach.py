"""Readings to reach on a status tag: one a use, as the page shows them, and kept with what was printed."""

from dataclasses import replace
from decimal import Decimal

import pytest

from registry.documents.designs import SIZES
from registry.quantity import Reading
from registry.services import rules, tag_printing, tag_reach, thermometer_page, thermometers
from registry.services.reach import Reach
from tests.services.kitchen import Kitchen, scale
from tests.services.test_reach import boiled


def printed(kitchen: Kitchen, of: str) -> list[Reach]:
    with kitchen.session.reading() as connection:
        return tag_reach.to_print(kitchen.session, connection, thermometers.thermometer(connection, of))


def two_points(kitchen: Kitchen) -> str:
    of = kitchen.enrol()
    boiled(kitchen, of, "99.6 C")
    kitchen.checked(of, "0.1 C")
    return of


def test_one_a_use_of_the_strictest_limit(kitchen: Kitchen) -> None:
    of = two_points(kitchen)
    cook, hot = printed(kitchen, of)
    with kitchen.session.reading() as connection:
        page = {one.limit: one for one in thermometer_page.page(kitchen.session, connection, of).reach}
    assert cook == page["cook_poultry"]  # 74 °C: FDA Food Code 2022, 3-401.11
    assert cook.at == Reading.from_text("74 C")
    assert (hot.step, hot.at) == ("hot_holding", Reading(Decimal(57), "C"))  # 57 °C: FDA Food Code 2022, 3-501.16


def test_where_the_strictest_is_beyond_its_scale_no_lesser_one_is_printed(kitchen: Kitchen) -> None:
    """68 °C for ground meat alone would be taken for poultry, which wants 74."""
    of = kitchen.enrol(scale("0.1 dC", "-40.0 C", "70.0 C"))
    reference = kitchen.enrol()
    kitchen.checked(of, "0.0 C")
    kitchen.checked(reference, "0.0 C")
    with kitchen.session.reading() as connection:
        found = thermometer_page.reaches(kitchen.session, connection, thermometers.thermometer(connection, of))
    shown = {one.limit: replace(one, shown=one.at, missing="") for one in found if one.at.value <= 70}
    asked = [shown.get(one.limit, one) for one in found]
    assert [one.step for one in tag_reach.strictest(asked)] == ["hot_holding"]


def test_what_was_printed_is_kept(kitchen: Kitchen) -> None:
    of = two_points(kitchen)
    page = tag_printing.print_status_tag(kitchen.session, kitchen.lead, of)
    assert page.startswith(b"%PDF")
    said = kitchen.last("tag_printed").payload
    cook, hot = printed(kitchen, of)
    assert cook.shown is not None
    assert said["reach"][0]["shown"] == cook.shown.text()
    assert [one["limit"] for one in said["reach"]] == [cook.limit, hot.limit]
    with kitchen.session.reading() as connection:
        assert said["limits"] == rules.rules_in_force(connection, kitchen.site).limits.set


def test_without_a_hot_point_the_tag_says_how_it_came_out_instead(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    kitchen.checked(of, "0.1 C")
    assert [one.step for one in printed(kitchen, of)] == []
    tag_printing.print_status_tag(kitchen.session, kitchen.lead, of)
    assert "reach" not in kitchen.last("tag_printed").payload


def test_none_on_one_that_is_not_to_be_used(kitchen: Kitchen) -> None:
    of = two_points(kitchen)
    kitchen.checked(of, "1.9 C", "1.9 C", "1.9 C")
    assert printed(kitchen, of) == []
    tag_printing.print_status_tag(kitchen.session, kitchen.lead, of)
    assert "reach" not in kitchen.last("tag_printed").payload


@pytest.mark.parametrize("size", sorted(SIZES))
def test_each_size_is_printed_with_them(kitchen: Kitchen, size: str) -> None:
    of = two_points(kitchen)
    assert tag_printing.print_status_tag(kitchen.session, kitchen.lead, of, size).startswith(b"%PDF")
    assert tag_printing.print_identity_tag(kitchen.session, kitchen.lead, of, size).startswith(b"%PDF")
    assert len(kitchen.entries("tag_printed")) == 2
