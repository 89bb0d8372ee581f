"""The demo group of kitchens: in a folder of its own among this user's data, never beside real records."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from registry.services import settings

if TYPE_CHECKING:
    from registry.services.session import Session

COMMAND = "./run demo"
FOLDERS = ("thermometer-registry-demo", "thermometer-registry-demo-small")


def home() -> Path | None:
    """Where the demo lies, if it was built."""
    data = settings.default_home().parent
    return next((data / one for one in FOLDERS if (data / one / "registry.db").is_file()), None)


def opened(folder: Path) -> Session:
    from registry.services import unfinished
    from registry.services.session import open_session

    session = open_session(folder)
    unfinished.finish_work(session)
    return session
