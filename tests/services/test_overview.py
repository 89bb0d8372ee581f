"""The page for the manager: what it says is what the ranking, the groups, the weeks and the plan say."""

from registry.services import fleet, overview
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
        "None that could not be adjusted has failed or may be out today.",
    )
    kitchen.checked(of, "9 C", "9 C", "9 C")
    (said,) = parts(kitchen)["To replace"].sentences
    assert said.startswith(f"{tag}, ")
    assert said.endswith("it failed, and its kind is not adjusted.")


def test_an_empty_kitchen_is_told_so_on_one_page(kitchen: Kitchen) -> None:
    facts = overview.overview_facts(kitchen.session)
    assert facts.answer == "No thermometer was measured yet, so nothing is known of where they go."
    assert overview.printed(kitchen.session).startswith(b"%PDF")
