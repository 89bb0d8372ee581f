"""The page for the manager: what it says is what the ranking, the groups, the weeks and the plan say."""

from dataclasses import replace

from registry.documents import overview as document
from registry.records.thermometers import Price
from registry.services import activity, checks, fleet, incidents, overview, thermometers
from registry.services.outlook import LIKELY
from registry.services.thermometers import thermometer
from tests.documents.reading import characters, pages_of, words_of
from tests.services.kitchen import DIAL_C, Kitchen
from tests.services.test_lists import add_early, known

TO_REPLACE = "What to replace, and why"


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
    assert parts(kitchen)[TO_REPLACE].sentences == ("Nothing on record asks for replacing any.",)
    kitchen.checked(of, "9 C", "9 C", "9 C")
    part = parts(kitchen)[TO_REPLACE]
    ((named, *_, why, cost),) = part.rows
    assert (named, why, cost) == (tag, "It failed, and its kind is not adjusted.", "not known")
    assert part.sentences == ("The price of it is not known.",)
    ((listed, *_, done, now),) = parts(kitchen)["Failed checks"].rows
    assert (listed, done, now) == (tag, "nothing yet", "not resolved")
    assert parts(kitchen)["Failed checks"].note.startswith("Food judged with it since the last good check is not")


def test_words_stay_whole_beside_a_long_reason(kitchen: Kitchen) -> None:
    """A tag id broken over two lines is read as another one."""
    of = kitchen.enrol(DIAL_C, type="liquid_in_glass")
    check = kitchen.checked(of, "9 C", "9 C", "9 C")
    kitchen.clock.move(hours=1)
    thermometers.take_out(kitchen.session, kitchen.lead, of, "outside", check)
    page = document.overview(overview.overview_facts(kitchen.session, kitchen.site))
    assert words_of(page).split().count(kitchen.tag(of)) == 2  # to be replaced, and among the failed checks


def test_all_that_is_to_be_replaced_is_named_however_many(kitchen: Kitchen) -> None:
    """More than the rows that are shown of the ranking."""
    kind = {"type": "liquid_in_glass", "uses": ("hot",)}
    near, those = ([kitchen.enrol(DIAL_C, **kind) for _ in range(overview.ROWS + few)] for few in (2, 1))
    those.append(kitchen.enrol(DIAL_C, price=Price(amount="24.90", currency="USD"), **kind))
    kitchen.always(dict.fromkeys(near, "1 C"), times=6)  # at the limit each time: as likely out as not, then more
    kitchen.clock.move(days=700)
    for one in those:
        kitchen.checked(one, "9 C", "9 C", "9 C")
    ranked = fleet.ranking(kitchen.session)
    assert all((one.outlook.out or 0.0) > LIKELY for one in ranked.rows)
    replace_ = parts(kitchen)[TO_REPLACE]
    assert len(replace_.rows) == len(those)
    assert all(row[3].startswith("It failed, and its kind is not adjusted") for row in replace_.rows)
    assert replace_.sentences == ("Price known for 1 of 9; sum: $24.90.",)
    assert [row[4] for row in replace_.rows].count("not known") == len(those) - 1
    soonest = parts(kitchen)["Who may be out soonest"]
    assert len(soonest.rows) == overview.ROWS
    assert soonest.sentences == ("2 more are ranked below these; 2 of them may be out by then.",)


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


def test_of_one_type_it_speaks_of_that_alone_and_says_so(kitchen: Kitchen) -> None:
    add_early(kitchen)
    probe, dial = kitchen.enrol(), kitchen.dial()
    for _ in range(3):
        kitchen.checked(probe, "5 C", "5 C", "5 C")
        kitchen.checked(dial, "0 C")
        kitchen.clock.move(days=7)
    facts = overview.overview_facts(kitchen.session, kitchen.site, type="bimetal_stem")
    assert facts.as_of.endswith("; only this type: Bimetal stem")
    cells = {cell for part in facts.parts for row in part.rows for cell in row}
    assert kitchen.tag(dial) in cells
    assert kitchen.tag(probe) not in cells
    ((_, asked, done, *_),) = next(one for one in facts.parts if one.name == "Checks of the last 4 weeks").rows
    (site,) = activity.checks_by_week(kitchen.session, weeks=4, type="bimetal_stem").sites
    assert (asked, done) == (str(site.total("asked")), "3")
    words = words_of(overview.printed(kitchen.session, kitchen.site, type="bimetal_stem"))
    assert "only this type: Bimetal stem" in words


def test_where_all_failed_it_is_not_said_that_none_was_measured(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "5 C", "5 C", "5 C")
    assert overview.overview_facts(kitchen.session).answer == (
        "No chance is told of any thermometer here. **1** failed and stays out until a good check."
    )


def test_an_empty_kitchen_is_told_so_on_one_page(kitchen: Kitchen) -> None:
    facts = overview.overview_facts(kitchen.session)
    assert facts.answer == "No thermometer in use was measured yet, so nothing is known of where they go."
    assert overview.printed(kitchen.session).startswith(b"%PDF")


def test_what_was_answered_instead_makes_up_what_was_wanted(kitchen: Kitchen) -> None:
    early = add_early(kitchen)
    done, answered, _missed = known(kitchen, 3)
    kitchen.checked(done, "0.1 C")
    checks.not_checked(kitchen.session, kitchen.lead, answered, kitchen.site, early, "2026-03-03", "not_found")
    kitchen.clock.move(hours=9)
    part = next(one for name, one in parts(kitchen).items() if name.startswith("Checks of the last"))
    assert part.heads[-3:] == ("Done", "Missed", "Else")
    (row,) = part.rows
    assert [int(one) for one in row[-4:]] == [3, 1, 1, 1]
    assert "not found" in part.note


def test_advice_stands_line_by_line_but_never_for_another_page(kitchen: Kitchen) -> None:
    facts = overview.overview_facts(kitchen.session)
    said = tuple(f"Advice number {n} of some length for one type of thermometer here." for n in range(2, 9))
    (part,) = [one for one in facts.parts if one.may_join]
    few = replace(facts, parts=tuple(replace(one, sentences=said) if one is part else one for one in facts.parts))
    starts = [box[0] for boxes in characters(document.overview(few)) for letter, box in boxes if letter == "A"]
    assert max(starts.count(one) for one in starts) >= len(said)  # at the left of as many lines
    many = replace(part, sentences=said * 8)
    pages = [pages_of(document.overview(replace(facts, parts=(replace(many, may_join=one),)))) for one in (False, True)]
    assert pages == [2, 1]


def test_heads_stand_again_where_a_part_goes_on_on_another_page(kitchen: Kitchen) -> None:
    one = kitchen.enrol(DIAL_C, type="liquid_in_glass")
    kitchen.checked(one, "9 C", "9 C", "9 C")
    facts = overview.overview_facts(kitchen.session, kitchen.site)
    (part,) = [each for each in facts.parts if each.name == TO_REPLACE]
    long = replace(part, rows=part.rows * 60)
    page = document.overview(replace(facts, parts=(long,)))
    assert pages_of(page) > 1
    words = words_of(page)
    assert words.count("It cost") == pages_of(page)
    assert words.count(TO_REPLACE) == 1
    assert words.split().count(kitchen.tag(one)) == 60
