"""Reports that were taken back are told to the officer: what, by whom, when and why."""

from dataclasses import replace

from registry.quantity import Reading
from registry.services import incidents, mend, people, places, story_lines, taken_back, vouching
from registry.services.taken_back import TakenBack
from registry.services.vouching import Beside
from tests.services.kitchen import TUESDAY, Kitchen


def dropped(kitchen: Kitchen, thermometer: str) -> str:
    incidents.report_incident(kitchen.session, kitchen.lead, thermometer, "dropped")
    return kitchen.last("incident_reported").number


def test_a_lead_who_takes_the_own_report_back_is_told_of(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    probe, other = kitchen.enrol(), kitchen.enrol()
    dropped(kitchen, other)  # that stands
    number = dropped(kitchen, probe)
    report = kitchen.last("incident_reported")
    assert taken_back.reports_taken_back(kitchen.session) == []
    kitchen.clock.move(minutes=30)
    mend.void(kitchen.session, kitchen.lead, number, "not_done")
    assert kitchen.row(probe).service_status == "in_service"  # and nobody would know
    void, me = kitchen.last("voided"), kitchen.lead.person
    tag = kitchen.tag(probe)
    wanted = TakenBack(
        probe, tag, kitchen.site, number, "dropped", report.at, me, void.at, me, "not_done", "thermistor_probe",
    )  # fmt: skip
    assert taken_back.reports_taken_back(kitchen.session) == [wanted]
    assert wanted.by_oneself


def test_anothers_is_told_as_anothers_and_the_newest_comes_first(kitchen: Kitchen) -> None:
    first, second = kitchen.enrol(), kitchen.enrol()
    numbers = [dropped(kitchen, one) for one in (first, second)]
    for number in reversed(numbers):
        kitchen.clock.move(hours=1)
        mend.void(kitchen.session, kitchen.officer, number, "wrong_thermometer")
    found = taken_back.reports_taken_back(kitchen.session)
    assert [one.number for one in found] == numbers
    assert [one.by_oneself for one in found] == [False, False]
    kitchen.clock.move(days=60)
    assert len(taken_back.reports_taken_back(kitchen.session)) == 2
    kitchen.clock.move(days=30)
    assert taken_back.reports_taken_back(kitchen.session) == []


def test_other_things_that_were_voided_are_no_reports(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    assert taken_back.reports_taken_back(kitchen.session) == []


def test_the_story_says_what_was_taken_back(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    number = dropped(kitchen, probe)
    mend.void(kitchen.session, kitchen.lead, number, "not_done")
    with kitchen.session.reading() as connection:
        newest = story_lines.lines(connection, probe, 1)  # the report itself is no longer among them
    (line,) = newest
    said = {name: line.values[name] for name in ("voided_kind", "voided_number", "voided_what", "why")}
    assert (line.code, said) == (
        "voided",
        {"voided_kind": "incident_reported", "voided_number": number, "voided_what": "dropped", "why": "not_done"},
    )


# --- what else may be taken back -----------------------------------------------------------------------------


def test_side_by_side_and_allowed_use_are_voided_by_the_same_rule(kitchen: Kitchen) -> None:
    every = tuple(range(7))
    places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "Early", "05:00", "14:00", every, TUESDAY)
    first, second = kitchen.enrol(), kitchen.enrol()
    for one in (first, second):
        kitchen.checked(one, "0.1 C")
    shown = Reading.from_text("20.0 C")
    other = replace(kitchen.lead, person=people.add_person(kitchen.session, kitchen.admin, "Mia Roth", "MR", ("lead",)))
    for act, kind in (
        (lambda: vouching.allow_use(kitchen.session, kitchen.lead, Beside(first, shown, second, shown)), "use_allowed"),
        (
            lambda: vouching.side_by_side(kitchen.session, kitchen.lead, first, shown, shown, "inspector"),
            "side_by_side",
        ),
    ):
        act()
        number = kitchen.last(kind).number
        with kitchen.refuses(("actor", "not_allowed")):
            mend.void(kitchen.session, other, number, "mistyped")
        mend.void(kitchen.session, kitchen.lead, number, "mistyped")
        with kitchen.session.reading() as connection:
            lines = story_lines.lines(connection, first, None)
        assert [one.voided for one in lines if one.code == kind] == [True]
        act()
        late = kitchen.last(kind).number
        kitchen.clock.move(days=1, minutes=1)
        with kitchen.refuses(("actor", "not_allowed")):
            mend.void(kitchen.session, kitchen.lead, late, "mistyped")
        mend.void(kitchen.session, kitchen.officer, late, "mistyped")
    assert kitchen.verify().good
