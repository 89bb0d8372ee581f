"""What the page of tags is told when it is gone to."""

from dataclasses import dataclass

from registry.services.table import Wanted

WANTED, ALL = "wanted", "all"  # those that say something new; whoever may bear one


@dataclass(frozen=True, slots=True)
class About:
    """Whom the page is about: a list of them, what the table was narrowed to, or nothing for the site."""

    thermometers: tuple[str, ...] = ()
    narrowed: Wanted | None = None
    kind: str = "status"
    which: str = WANTED
