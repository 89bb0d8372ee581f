"""What was asked last at this computer, so that --again answers that question about that value and no other."""

import json
from collections.abc import Iterable, Sequence

from registry.commands.desk import Desk
from registry.services import settings


def answered(desk: Desk, about: Sequence[str], *, again: bool) -> frozenset[str]:
    """Codes of the questions that --again answers: those asked last, where they were asked about the very same.

    about: the command and what was typed, in words.
    """
    kept = settings.remembered(settings.local_file(desk.home), "asked") if again else None
    if not kept:
        return frozenset()
    found = json.loads(kept)
    return frozenset(found["codes"]) if found["about"] == list(about) else frozenset()


def asked(desk: Desk, about: Sequence[str], codes: Iterable[str]) -> None:
    """Keep what is asked about something; what was asked before is forgotten."""
    kept = json.dumps({"about": list(about), "codes": sorted(codes)})
    settings.remember(settings.local_file(desk.home), "asked", kept)


def settled(desk: Desk) -> None:
    """The question was answered: it answers nothing once more."""
    settings.remember(settings.local_file(desk.home), "asked", "")
