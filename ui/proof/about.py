"""What the place can be asked to show."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class LogOf:
    """The monthly log of a site (its id) for the month in which a day lies."""

    site: str
    day: date
