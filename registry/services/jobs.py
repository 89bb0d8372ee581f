"""What is done in the background: from the window's timer, and by one command for the system's scheduler."""

from collections.abc import Callable

from registry.services import standings, tracking
from registry.services.session import Session


def run(session: Session, progress: Callable[[int], bool] = lambda _: True) -> dict[str, int]:
    """Do everything that is due; how much was done, by code. Nothing is recorded in the journal."""
    with session.reading() as connection:
        return {"models_learned": tracking.learn(session, connection, progress)}


def warm(session: Session) -> int:
    """Work out how every thermometer stands, so that the ranking opens at once; how many are known then.

    By the system's scheduler alone: of a large fleet that is new here it takes minutes.
    """
    with session.reading() as connection:
        found, _ = standings.standings(session, connection)
    return len(found.by_thermometer)
