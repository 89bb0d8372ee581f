"""Start of shift: from no bath to the line that closes the list."""

from decimal import Decimal

from tests.screenshots.scenes import Scene
from tests.screenshots.stage import Stage, settle
from ui.shift.opened import Adjusting
from ui.shift.page import ShiftPage


def page(stage: Stage) -> ShiftPage:
    found = stage.frame.page
    assert isinstance(found, ShiftPage)
    return found


def in_bath(stage: Stage, *off: float) -> None:
    """The bath is ready; the rows are read in their order, each off by so much (°C), and Enter."""
    stage.go("shift")
    stage.press("shift.bath_ready")
    stage.wait(minutes=4)
    for one in off:
        stage.type(f"{shows(stage, one)}\n")


def shows(stage: Stage, off: float) -> str:
    """What the current row shows in ice when it is off by so much, in its own unit and steps."""
    row = page(stage).rows[page(stage).list.current]
    step = row.scale(row.default_unit).step_as_read
    exact = Decimal(str(off)) * (Decimal("1.8") if row.default_unit == "F" else 1)
    steps = (exact / step).to_integral_value()
    return str(steps * step + (32 if row.default_unit == "F" else 0))


def shift_no_bath(stage: Stage) -> None:
    stage.go("shift")


def shift_boiling(stage: Stage) -> None:
    stage.go("shift")
    stage.press("shift.boiling_point")


def shift_comparison(stage: Stage) -> None:
    stage.go("shift")
    stage.press("shift.comparison")


def shift_bath_settling(stage: Stage) -> None:
    stage.go("shift")
    stage.press("shift.bath_ready")


def shift_normal(stage: Stage) -> None:
    in_bath(stage, 0.1, 0.0, -0.1, 0.1, 0.1)
    stage.type(shows(stage, -0.2))


def shift_outside(stage: Stage) -> None:
    in_bath(stage, 0.1)
    stage.type(shows(stage, 1.6))


def shift_repeats(stage: Stage) -> None:
    in_bath(stage, 0.1, 1.6)
    stage.type(shows(stage, 1.7))


def shift_question(stage: Stage) -> None:
    in_bath(stage, 0.1)
    stage.type("32.0\n")


def shift_bad_bath(stage: Stage) -> None:
    in_bath(stage, 0.9, 0.8, 0.9, 0.9)


def shift_swapped(stage: Stage) -> None:
    """Each read as always, but two keyed into each other's rows."""
    stage.go("shift")
    stage.press("shift.bath_ready")
    stage.wait(minutes=4)
    always = {"PR012A": "-0.7", "PR016T": "0.8", "PR033H": "0.1", "PR035P": "0.0"}
    for _ in always:
        stage.type(f"{always[page(stage).rows[page(stage).list.current].tag_id]}\n")


def shift_all_read(stage: Stage) -> None:
    in_bath(stage, *[0.0] * 4, 1.6, 1.6, 1.7, *[0.1] * 7)


def shift_judged(stage: Stage) -> None:
    shift_all_read(stage)
    if page(stage).foot.good.isVisible():
        stage.press("shift.bath_is_good")


def shift_adjusting(stage: Stage) -> None:
    shift_judged(stage)
    part = page(stage).list.findChild(Adjusting)
    assert part is not None
    part.field.setFocus()
    stage.type("0.")


def shift_adjusting_dial(stage: Stage) -> None:
    """One way only, by the nut; the seventh to tenth are dials."""
    in_bath(stage, *[0.0] * 9, 3.0, 3.0, 3.0, 0.0, 0.0)  # the bath is judged by the first three


def shift_why_out(stage: Stage) -> None:
    shift_judged(stage)
    part = page(stage).list.findChild(Adjusting)
    assert part is not None
    part.out_of_use.emit()


def shift_instead(stage: Stage) -> None:
    in_bath(stage, 0.1)
    page(stage).list.rows[page(stage).list.current].instead.click()
    settle()


def shift_no_reading(stage: Stage) -> None:
    shift_instead(stage)
    stage.press("no_reading.battery_flat")
    page(stage).list.rows[page(stage).list.current].instead.click()
    settle()
    stage.press("due_state.not_found")


def shift_how_to_make(stage: Stage) -> None:
    in_bath(stage)
    stage.press("shift.how_short" if stage.frame.small else "shift.how_to_make")


def shift_finish_asks(stage: Stage) -> None:
    in_bath(stage, 0.1, 0.0)
    stage.press("shift.finish")


def shift_closed(stage: Stage) -> None:
    shift_finish_asks(stage)
    stage.press("shift.finish")


def shift_closed_with_a_failure(stage: Stage) -> None:
    shift_judged(stage)
    stage.press("shift.finish")


def shift_overfull(stage: Stage) -> None:
    in_bath(stage, 0.0, 0.1, 0.0)


def shift_long_names(stage: Stage) -> None:
    in_bath(stage, 0.1)
    stage.type("0.3")


def shift_nothing_wanted(stage: Stage) -> None:
    stage.go("shift")


def shift_auditor(stage: Stage) -> None:
    stage.go("shift")


def shift_demo(stage: Stage) -> None:
    in_bath(stage, 0.1, 0.2)


SCENES = (
    Scene(shift_no_bath, main=True),
    Scene(shift_boiling),
    Scene(shift_comparison),
    Scene(shift_bath_settling),
    Scene(shift_normal, main=True),
    Scene(shift_outside),
    Scene(shift_repeats, main=True),
    Scene(shift_question),
    Scene(shift_bad_bath, main=True),
    Scene(shift_swapped, world="known"),
    Scene(shift_all_read),
    Scene(shift_judged),
    Scene(shift_adjusting, main=True),
    Scene(shift_adjusting_dial),
    Scene(shift_why_out),
    Scene(shift_instead, main=True),
    Scene(shift_no_reading),
    Scene(shift_how_to_make),
    Scene(shift_finish_asks),
    Scene(shift_closed),
    Scene(shift_closed_with_a_failure, main=True),
    Scene(shift_overfull, world="crowd"),
    Scene(shift_long_names, world="names"),
    Scene(shift_nothing_wanted, world="fresh"),
    Scene(shift_auditor, role="auditor"),
    Scene(shift_demo, world="demo", unit="F"),
)
