"""The five places and what else fills the window; each is imported when it is first gone to."""

from collections.abc import Iterator

from ui.desk import Desk
from ui.imports import in_turn
from ui.page import Page

PLACES = ("shift", "thermometers", "drift", "proof", "setup")
PARTS = {  # in pieces that hold up no key
    "shift": ("ui.shift.row", "ui.shift.bath", "ui.shift.adjusting", "ui.shift.page"),
    "thermometers": ("ui.thermometers.table_part", "ui.thermometers.one", "ui.thermometers.page"),
    "drift": ("ui.plots.plot", "ui.drift.page"),
    "proof": ("ui.proof.log", "ui.proof.certificates", "ui.proof.page"),
    "setup": ("ui.setup.rules", "ui.setup.copies", "ui.setup.page"),
    "tags": ("ui.tags.which", "ui.tags.how", "ui.tags.page"),
    "happened": ("ui.happened.grid", "ui.happened.report", "ui.happened.page"),
}


def load(name: str) -> Iterator[None]:
    """Import what a place is made of, a piece at a time."""
    return in_turn(PARTS[name])


def make(name: str, desk: Desk) -> Page:
    """The page of a place. Late imports: services bring SQLAlchemy along, which the first paint does without."""
    if name == "shift":
        from ui.shift.page import ShiftPage

        return ShiftPage(desk)
    if name == "thermometers":
        from ui.thermometers.page import ThermometersPage

        return ThermometersPage(desk)
    if name == "drift":
        from ui.drift.page import DriftPage

        return DriftPage(desk)
    if name == "proof":
        from ui.proof.page import ProofPage

        return ProofPage(desk)
    if name == "happened":
        from ui.happened.page import HappenedPage

        return HappenedPage(desk)
    if name == "tags":
        from ui.tags.page import TagsPage

        return TagsPage(desk)
    from ui.setup.page import SetupPage

    return SetupPage(desk)
