"""The page for the manager: what it says is what the ranking, the groups, the weeks and the plan say."""

from registry.services import fleet, incidents, overview
from registry.services.thermometers import thermometer
from tests.services.kitchen import DIAL_C, Kitchen


def parts(kitchen: Kitchen) -> dict[str, overview.OverviewPart]:
    facts = overview.overview_facts(kitchen.session, kitchen.site)
    return {one.name: one for one in facts.parts}


def test_it_ranks_as_the_ranking_does_and_names_who_failed_apart(kitchen: Kitchen) -> None:
    goes, failed = kitchen.enrol(), kitchen.enrol()
    for n in range(5):
        kitchen.checked(goes, f"{0.2 * n:.1f} C")
        kitchen.clock.move(days=7)
    kitchen.checked(failed, "5 C", "5 C", "5 C")
    ranked = fleet.ranking(kitchen.session, site=kitchen.site)
    facts = overview.overview_facts(kitchen.session, kitchen.site)
    assert facts.answer.startswith(f"**{ranked.likely} of {ranked.of}** thermometers may be out by **")
    found = parts(kitchen)
    assert [row[0] for row in found["Who may be out soonest"].rows] == [one.tag_id for one in ranked.rows]
    (row,) = found["One failed and was not mended since"].rows
    with kitchen.session.reading() as connection:
        assert row[0] == thermometer(connection, failed).tag_id


def test_one_that_failed_is_to_be_replaced_where_its_kind_is_not_adjusted(kitchen: Kitchen) -> None:
    of = kitchen.enrol(DIAL_C, type="liquid_in_glass")
    with kitchen.session.reading() as connection:
        assert not thermometer(connection, of).adjustments
        tag = thermometer(connection, of).tag_id
    assert parts(kitchen)["To replace"].sentences == (
        "None in use that cannot be adjusted has failed or may be out today.",
    )
    kitchen.checked(of, "9 C", "9 C", "9 C")
    (said,) = parts(kitchen)["To replace"].sentences
    assert said.startswith(f"{tag}, ")
    assert said.endswith("it failed, and its kind is not adjusted.")


def test_all_that_is_to_be_replaced_is_named_however_many(kitchen: Kitchen) -> None:
    """More than the rows that are shown of the ranking."""
    kind = {"type": "liquid_in_glass", "uses": ("hot",)}
    those = [kitchen.enrol(DIAL_C, **kind) for _ in range(overview.ROWS + 2)]
    for _ in range(3):
        for one in those:
            kitchen.checked(one, "1 C")
        kitchen.clock.move(days=7)
    kitchen.clock.move(days=700)
    ranked = fleet.ranking(kitchen.session)
    assert all((one.outlook.out or 0.0) > fleet.LIKELY for one in ranked.rows)
    assert len(parts(kitchen)["To replace"].sentences) == len(those)
    assert len(parts(kitchen)["Who may be out soonest"].rows) == overview.ROWS


def test_one_that_failed_or_was_dropped_is_in_the_answer(kitchen: Kitchen) -> None:
    """None likely to be out is no good news while one failed; and "check first" stands where a day would."""
    failed, dropped = kitchen.enrol(), kitchen.enrol()
    for _ in range(4):
        kitchen.checked(dropped, "0.0 C")
    kitchen.checked(failed, "5 C", "5 C", "5 C")
    answer = overview.overview_facts(kitchen.session).answer
    assert answer.endswith("**1** failed and stays out until a good check.")
    incidents.report_incident(kitchen.session, kitchen.lead, dropped, "dropped")
    facts = overview.overview_facts(kitchen.session)
    assert facts.answer.endswith(" **1** must be checked first: something happened to it.")
    (row,) = next(one for one in facts.parts if one.name == "Who may be out soonest").rows
    assert row[-1] == "check first"


def test_where_all_failed_it_is_not_said_that_none_was_measured(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "5 C", "5 C", "5 C")
    assert overview.overview_facts(kitchen.session).answer == (
        "No chance is told of any thermometer here. **1** failed and stays out until a good check."
    )


def test_an_empty_kitchen_is_told_so_on_one_page(kitchen: Kitchen) -> None:
    facts = overview.overview_facts(kitchen.session)
    assert facts.answer == "No thermometer in use was measured yet, so nothing is known of where they go."
    assert overview.printed(kitchen.session).startswith(b"%PDF")
