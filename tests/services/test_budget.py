"""What the uncertainty of a check is made of, and what would decide one that is in doubt."""

from math import hypot, sqrt

import pytest
from scipy import stats

from registry.services import bath_watch, budget
from registry.services.budget import Budget
from registry.services.words.budget import sentences
from tests.services.kitchen import DIAL_F, DIGITAL_F, Kitchen


def of_check(kitchen: Kitchen, check: str) -> Budget:
    with kitchen.session.reading() as connection:
        return budget.of_check(kitchen.session, connection, check)


def test_the_parts_make_the_whole(kitchen: Kitchen) -> None:
    found = of_check(kitchen, kitchen.checked(kitchen.enrol(), "0.3 C"))
    by_code = {line.code: line for line in found.lines}
    assert float(by_code["bath"].u.value) == pytest.approx(0.1 / sqrt(3), abs=1e-4)  # crushed and packed: ± 0.1 °C
    assert float(by_code["resolution"].u.value) == pytest.approx(hypot(*(0.1 / sqrt(12),)), abs=2e-4)
    assert found.u is not None
    # JCGM 100:2008 (10): independent parts in quadrature.
    assert float(found.u.value) == pytest.approx(hypot(*(float(line.u.value) for line in found.lines)), abs=2e-4)
    assert sum(line.share for line in found.lines) == pytest.approx(1.0)
    assert found.lines[0].share == max(line.share for line in found.lines)
    assert {line.code for line in found.lines if line.shared} == {"bath", "stem"}


def test_repeats_divide_the_repeatability(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    single = of_check(kitchen, kitchen.checked(one, "0.4 C"))
    mean = of_check(kitchen, kitchen.checked(one, "1.4 C", "1.5 C", "1.3 C"))
    part = [next(float(line.u.value) for line in each.lines if line.code == "repeatability") for each in (single, mean)]
    assert part[0] / part[1] == pytest.approx(sqrt(3), rel=1e-2)


def test_in_the_unit_of_the_rule(kitchen: Kitchen) -> None:
    found = of_check(kitchen, kitchen.checked(kitchen.enrol(DIGITAL_F), "32.4 F"))
    assert found.u is not None
    assert found.tolerance is not None
    assert {found.u.unit, found.tolerance.unit, *(line.u.unit for line in found.lines)} == {"F"}
    ice = next(line for line in found.lines if line.code == "bath")
    assert float(ice.u.value) == pytest.approx(1.8 * 0.1 / sqrt(3), abs=2e-4)


def test_the_chance_of_being_inside_by_this_check(kitchen: Kitchen) -> None:
    found = of_check(kitchen, kitchen.checked(kitchen.enrol(), "0.9 C"))
    assert found.u is not None
    assert found.inside is not None
    wanted = stats.norm(0.9, float(found.u.value))
    assert found.inside == pytest.approx(wanted.cdf(1.0) - wanted.cdf(-1.0), abs=1e-3)  # JCGM 106:2012, 7.4
    assert found.out_now is not None
    assert found.out_now == pytest.approx(1 - found.inside, abs=0.1)  # one check is all that is known


def test_what_would_decide_is_said_only_where_it_is_in_doubt(kitchen: Kitchen) -> None:
    assert of_check(kitchen, kitchen.checked(kitchen.enrol(), "0.2 C")).would_decide == ""
    assert of_check(kitchen, kitchen.checked(kitchen.enrol(), "0.9 C")).would_decide == "repeats"
    dial = of_check(kitchen, kitchen.checked(kitchen.dial(DIAL_F), "34 F"))
    assert dial.would_decide in ("repeats", "finer_display")
    assert budget.MENDS[dial.lines[0].code] == dial.would_decide


def test_an_unknown_check_is_refused(kitchen: Kitchen) -> None:
    with kitchen.refuses(("check", "unknown_check")):
        of_check(kitchen, kitchen.session.new_id())


def test_in_doubt_the_bath_decided_and_not_the_rule(kitchen: Kitchen) -> None:
    """Ice 1.5 °C cold: one reads +0.9, inside by itself, and is out all the same."""
    those = [kitchen.enrol() for _ in range(4)]
    kitchen.always(dict.fromkeys(those, "0.0 C"), 5)
    bath = kitchen.ice()
    waits = [kitchen.key(bath, one, "-1.5 C", "-1.5 C", "-1.5 C").check for one in those[1:]]
    out = kitchen.key(bath, those[0], "0.9 C").check
    bath_watch.judge(kitchen.session, kitchen.lead, bath)
    assert kitchen.check(out).outcome == "fail"
    found = of_check(kitchen, out)
    assert found.doubt is not None
    assert found.doubt.out
    assert float(found.doubt.error.value) == pytest.approx(-1.5, abs=0.15)
    assert (found.inside, found.out_now, found.would_decide) == (None, None, "")
    told = sentences(found, "en", "en_US")
    assert not any("simple acceptance" in one for one in told)
    assert any("out of tolerance even so" in one for one in told)
    assert any("this one waits" in one for one in sentences(of_check(kitchen, waits[0]), "en", "en_US"))
    bath_watch.condemn(kitchen.session, kitchen.lead, bath)  # it stays failed, and why is said as before
    assert kitchen.check(out).outcome == "fail"
    assert any("out of tolerance even so" in one for one in sentences(of_check(kitchen, out), "en", "en_US"))
