"""The five places and what else fills the window; each is imported when it is first gone to."""

from ui.desk import Desk
from ui.page import Page

PLACES = ("shift", "thermometers", "drift", "proof", "setup")


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
    from ui.setup.page import SetupPage

    return SetupPage(desk)
