"""What is shown as proof: the sides of an answer, what was recorded only later, the ends of a verified record."""

from registry import charts
from registry.services import incidents, mend, proof_page
from registry.services.proof_page import AnswerShown
from tests.services.kitchen import HOUR_US, ZONE, Kitchen

WORDS = charts.Words(lambda number, unit: f"{number}", lambda step, local, first: step, lambda code, /, **values: code)


def shown(kitchen: Kitchen, thermometer: str, at: int) -> AnswerShown:
    return proof_page.answer(kitchen.session, thermometer, at, "en", "en_US", lambda zone: WORDS)


def test_both_sides_in_words_and_the_plot_between(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    kitchen.checked(one, "0.2 C")
    at = kitchen.clock.move(hours=4)
    kitchen.clock.move(hours=4)
    kitchen.checked(one, "0.3 C")
    found = shown(kitchen, one, at)
    (point,) = found.points
    assert (found.answer.answer, found.zone, found.site) == ("yes", ZONE, "Pier")
    assert point.before.values["showed"] == "0.2\u00a0°C"
    assert point.after.values["showed"] == "0.3\u00a0°C"
    assert point.before.values["who"] == "Leo Quist (LQ)"
    assert point.before.line is not None
    assert point.after.line is not None
    assert point.chart.time.holds(point.before.line.at)
    assert point.chart.time.holds(point.after.line.at)
    assert point.between == ()
    assert found.late == ()


def test_where_there_is_no_check_after_it_says_so(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    kitchen.checked(one, "0.2 C")
    (point,) = shown(kitchen, one, kitchen.clock.move(hours=1)).points
    assert (point.after.line, point.after.values, point.after.absent) == (None, {}, "none that counts yet")


def test_an_incident_told_late_is_among_what_nobody_could_read_then(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    kitchen.checked(one, "0.2 C")
    dropped = kitchen.clock.move(hours=2)
    at = kitchen.clock.move(hours=1)
    kitchen.clock.move(hours=1)
    incidents.report_incident(kitchen.session, kitchen.lead, one, "dropped", performed_at=dropped)
    found = shown(kitchen, one, at)
    entry = kitchen.last("incident_reported")
    (late,) = found.late
    assert (late.kind, late.number, late.done_at, late.entered_at) == (
        "incident_reported", entry.number, dropped, entry.at,
    )  # fmt: skip
    assert [(each.what, each.at, each.number) for each in found.points[0].between] == [
        ("dropped", dropped, entry.number)
    ]
    assert shown(kitchen, one, entry.at + HOUR_US).late == ()


def test_a_bath_judged_only_later_was_not_known_then(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    bath = kitchen.ice()
    kitchen.key(bath, one, "0.2 C")
    at = kitchen.clock.move(hours=1)
    kitchen.clock.move(hours=1)
    kitchen.judge(bath)
    (late,) = shown(kitchen, one, at).late
    assert (late.kind, late.number) == ("bath_judged", kitchen.last("bath_judged").number)


def test_a_check_made_void_since(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    kitchen.checked(one, "0.2 C")
    at = kitchen.clock.move(hours=1)
    kitchen.clock.move(hours=1)
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    found = shown(kitchen, one, at)
    assert [each.kind for each in found.late] == ["voided"]
    assert found.answer.answer == "not_known"


def test_the_end_of_a_verified_record_is_named(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "0.2 C")
    found = proof_page.verify(kitchen.session, deep=True)
    last = kitchen.entries()[-1]
    assert found.report.good
    assert found.ends == ((last.number, last.hash[:16]),)
    assert proof_page.entries(kitchen.session) == found.report.entries == kitchen.count()
    assert last.number.startswith(proof_page.own_code(kitchen.session))
