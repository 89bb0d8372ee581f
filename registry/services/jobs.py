"""What is done in the background: from the window's timer, and by one command for the system's scheduler."""

from collections.abc import Callable

from registry.services import tracking
from registry.services.session import Session


def run(session: Session, progress: Callable[[int], bool] = lambda _: True) -> dict[str, int]:
    """Do everything that is due; how much was done, by code. Nothing is recorded in the journal."""
    with session.reading() as connection:
        return {"models_learned": tracking.learn(session, connection, progress)}
