"""One thermometer's story, and whether it was right at a given moment."""

from registry.services import checks, history, incidents, mend, thermometers
from registry.services.history import Answer, Story
from tests.services.kitchen import HOUR_US, Kitchen


def story(kitchen: Kitchen, thermometer: str, **more: int) -> Story:
    with kitchen.session.reading() as connection:
        return history.story(kitchen.session, connection, thermometer, **more)


def was_right(kitchen: Kitchen, thermometer: str, at: int) -> Answer:
    with kitchen.session.reading() as connection:
        return history.was_right(kitchen.session, connection, thermometer, at)


def answered(kitchen: Kitchen, thermometer: str, at: int) -> str:
    return was_right(kitchen, thermometer, at).answer


def points(kitchen: Kitchen, thermometer: str, at: int) -> dict[str, tuple[str, str, tuple[str, ...]]]:
    """Of each point: the answer, why it is not known, and what lies between."""
    found = was_right(kitchen, thermometer, at).points
    return {f"hot {one.point}" if one.hot else one.point: (one.answer, one.why, one.between) for one in found}


def ice(kitchen: Kitchen, thermometer: str, at: int) -> tuple[str, str, tuple[str, ...]]:
    (found,) = points(kitchen, thermometer, at).values()
    return found


def later(kitchen: Kitchen) -> int:
    """An instant an hour on, with an hour behind it."""
    at = kitchen.clock.move(hours=1)
    kitchen.clock.move(hours=1)
    return at


def test_the_story_tells_checks_and_all_else_in_time_order(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    dial, bath = kitchen.dial(), kitchen.ice()
    check = kitchen.checked(dial, "3 C", "3 C", "2.5 C")
    kitchen.adjust(check, "nut", "0.5 C")
    incidents.report_incident(kitchen.session, kitchen.lead, dial, "dropped")
    checks.no_reading(kitchen.session, kitchen.lead, bath, dial, "damaged")
    thermometers.take_out(kitchen.session, kitchen.officer, dial, "damaged")
    told = story(kitchen, dial)
    (line,) = told.checks
    assert [one.text() for one in line.readings] == ["3 C", "3 C", "2.5 C"]
    assert [one.text() for one in line.as_left] == ["0.5 C"]
    assert line.offset is not None
    assert line.as_left_offset is not None
    assert (line.offset.text(), line.outcome, line.by) == ("2.8333 dC", "fail", kitchen.lead.person)
    assert (line.as_left_offset.text(), line.as_left_outcome, line.adjusted) == ("0.5 dC", "pass", "nut")
    assert [one.kind for one in told.rest] == [
        "thermometer_set",
        "tag_id_set",
        "place_set",
        "incident_reported",
        "reading_taken",
        "taken_out",
    ]
    assert told.of.row.service_status == "out_of_use"


def test_only_the_newest_and_what_is_void_shows(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    ids = [kitchen.checked(probe, "0.1 C") for _ in range(3)]
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    assert [(one.check, one.voided) for one in story(kitchen, probe).checks] == [
        (ids[0], False),
        (ids[1], False),
        (ids[2], True),
    ]
    assert [one.check for one in story(kitchen, probe, newest=2).checks] == ids[1:]


def test_it_is_told_who_read_where_another_keyed_it(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.key(kitchen.ice(), probe, "0.1 C", done_by=kitchen.officer.person)
    assert story(kitchen, probe).checks[0].by == kitchen.officer.person


# --- was it right --------------------------------------------------------------------------------------------


def test_yes_between_two_good_checks(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    before = kitchen.checked(probe, "0.1 C")
    at = later(kitchen)
    after = kitchen.checked(probe, "0.2 C")
    answer = was_right(kitchen, probe, at)
    (point,) = answer.points
    assert (answer.answer, point.answer, point.why) == ("yes", "yes", "")
    assert point.before is not None
    assert point.after is not None
    assert (point.point, point.before.check, point.after.check, point.between) == ("ice_point", before, after, ())


def test_not_known_before_the_first_and_after_the_last(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    early = later(kitchen)
    assert answered(kitchen, probe, early) == "not_known"
    kitchen.checked(probe, "0.1 C")
    assert answered(kitchen, probe, early) == "not_known"
    assert answered(kitchen, probe, later(kitchen)) == "not_known"


def test_not_known_where_it_was_good_and_found_outside_next(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    at = later(kitchen)
    kitchen.checked(probe, "3.0 C", "3.0 C", "3.0 C")
    assert ice(kitchen, probe, at) == ("not_known", "outside_after", ())


def test_no_where_it_was_outside_and_not_put_right(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "3.0 C", "3.0 C", "3.0 C")
    at = later(kitchen)
    assert answered(kitchen, probe, at) == "no"
    kitchen.checked(probe, "0.1 C")
    assert answered(kitchen, probe, at) == "no"


def test_put_right_it_was_right_from_then_on(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    meanwhile = kitchen.clock.move(minutes=30)
    kitchen.clock.move(minutes=30)  # a bath is read for two hours at most
    kitchen.adjust(check, "nut", "0 C")
    afterwards = later(kitchen)
    kitchen.checked(dial, "0.5 C")
    assert answered(kitchen, dial, meanwhile) == "no"
    assert answered(kitchen, dial, afterwards) == "yes"


def test_as_left_outside_is_not_put_right(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    kitchen.adjust(check, "nut", "1.5 C")
    at = later(kitchen)
    kitchen.checked(dial, "0.5 C")
    assert answered(kitchen, dial, at) == "no"


def test_not_known_where_something_happened_in_between(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    at = later(kitchen)
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    kitchen.checked(probe, "0.1 C")
    assert ice(kitchen, probe, at) == ("not_known", "between", ("dropped",))
    mend.void(kitchen.session, kitchen.officer, kitchen.last("incident_reported").number, "wrong_thermometer")
    assert answered(kitchen, probe, at) == "yes"


def test_what_happened_before_or_after_the_two_checks_does_not_matter(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    kitchen.checked(probe, "0.1 C")
    at = later(kitchen)
    kitchen.checked(probe, "0.1 C")
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "bent")
    assert answered(kitchen, probe, at) == "yes"


def test_not_known_where_the_bath_was_never_judged(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    at = later(kitchen)
    bath = kitchen.ice()
    kitchen.key(bath, probe, "0.1 C")
    assert answered(kitchen, probe, at) == "not_known"
    assert answered(kitchen, probe, kitchen.clock() + HOUR_US) == "not_known"
    kitchen.judge(bath)
    assert answered(kitchen, probe, at) == "yes"


def test_a_voided_check_is_no_evidence(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    at = later(kitchen)
    kitchen.checked(probe, "3.0 C", "3.0 C", "3.0 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "wrong_thermometer")
    kitchen.checked(probe, "0.1 C")
    assert answered(kitchen, probe, at) == "yes"


def boiled(kitchen: Kitchen, thermometer: str, *shown: str) -> str:
    pot = kitchen.boil()
    check = kitchen.key(pot, thermometer, *shown).check
    kitchen.judge(pot)
    return check


def test_no_point_is_right_while_another_stands_outside(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    boiled(kitchen, probe, "95.0 C", "95.0 C", "95.0 C")
    at = later(kitchen)
    kitchen.checked(probe, "0.1 C")
    assert answered(kitchen, probe, at) == "no"
    assert points(kitchen, probe, at) == {
        "ice_point": ("not_known", "outside_elsewhere", ()),
        "hot boiling_point": ("no", "", ()),
    }
    boiled(kitchen, probe, "99.6 C")
    again = later(kitchen)
    kitchen.checked(probe, "0.1 C")
    boiled(kitchen, probe, "99.6 C")
    assert [one[0] for one in points(kitchen, probe, again).values()] == ["yes", "yes"]


def test_each_point_has_its_own_answer(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    boiled(kitchen, probe, "99.6 C")
    at = later(kitchen)
    kitchen.checked(probe, "0.1 C")
    assert points(kitchen, probe, at) == {
        "ice_point": ("yes", "", ()),
        "hot boiling_point": ("not_known", "no_check_after", ()),
    }
    assert answered(kitchen, probe, at) == "yes"


def test_an_adjustment_at_one_point_is_not_measured_at_another(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    boiled(kitchen, dial, "100 C")
    kitchen.adjust(kitchen.checked(dial, "-3 C", "-3 C", "-3 C"), "nut", "0 C")
    at = later(kitchen)
    boiled(kitchen, dial, "100 C")
    kitchen.checked(dial, "0 C")
    assert points(kitchen, dial, at) == {
        "ice_point": ("yes", "", ()),
        "hot boiling_point": ("not_known", "between", ("adjusted",)),
    }


def test_an_adjustment_nobody_measured_leaves_it_unknown(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    kitchen.adjust(kitchen.checked(dial, "3 C", "3 C", "3 C"), "nut", None)
    at = later(kitchen)
    kitchen.checked(dial, "0 C")
    assert ice(kitchen, dial, at) == ("not_known", "between", ("adjusted",))


def test_a_month_between_two_good_checks_and_no_longer(kitchen: Kitchen) -> None:
    # 31 days, from judgement, no source.
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    first = later(kitchen)
    kitchen.clock.move(days=30, hours=21)
    kitchen.checked(probe, "0.1 C")
    second = later(kitchen)
    kitchen.clock.move(days=31)
    kitchen.checked(probe, "0.1 C")
    assert ice(kitchen, probe, first) == ("yes", "", ())
    assert ice(kitchen, probe, second) == ("not_known", "too_long_between", ())


def test_out_of_use_it_is_not_said_to_be_right(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    before = later(kitchen)
    thermometers.take_out(kitchen.session, kitchen.officer, probe, "damaged")
    at = later(kitchen)
    kitchen.checked(probe, "0.1 C")
    assert ice(kitchen, probe, before)[0] == "yes"
    assert ice(kitchen, probe, at) == ("not_known", "not_in_use", ())


def test_read_outside_in_a_bath_nobody_judged_or_in_a_voided_check_it_is_not_said_to_be_right(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    kitchen.key(kitchen.ice(), probe, "3.0 C", "3.0 C", "3.0 C")
    at = later(kitchen)
    kitchen.checked(probe, "0.1 C")
    assert ice(kitchen, probe, at)[:2] == ("not_known", "doubted_outside")
    kitchen.checked(probe, "3.0 C", "3.0 C", "3.0 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    voided = later(kitchen)
    kitchen.checked(probe, "0.1 C")
    assert ice(kitchen, probe, voided)[:2] == ("not_known", "doubted_outside")


def test_a_condemned_bath_is_no_evidence_either_way(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    at = later(kitchen)
    bath = kitchen.ice()
    kitchen.key(bath, probe, "3.0 C", "3.0 C", "3.0 C")
    kitchen.judge(bath, "condemned")
    assert ice(kitchen, probe, at)[:2] == ("not_known", "no_check_after")
    kitchen.checked(probe, "0.1 C")
    assert answered(kitchen, probe, at) == "yes"
