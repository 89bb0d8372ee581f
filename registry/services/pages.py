"""What all printed pages have in common: whose they are, how they are written, and why one cannot be drawn."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date

from registry.documents.facts import (
    CannotPrint,
    PageFacts,
    Paper,
)
from registry.records.rules import GroupSet
from registry.services.problems import refuse
from registry.services.session import Session


def region_for(group: GroupSet, language: str) -> str:
    """The group's region; for a page in another language that language as written in the group's country."""
    if group.region.startswith(f"{language}_"):
        return group.region
    from babel.localedata import exists  # late: most pages are in the group's language

    wanted = f"{language}_{group.country}"
    return wanted if exists(wanted) else group.region


def page_facts(
    session: Session, group: GroupSet, site: Sequence[str | None], language: str, zone: str, paper: Paper | None
) -> PageFacts:
    """Whose page it is and how it is written, for what is drawn anew each time. site: its name, then its address."""
    return PageFacts(
        language=language,
        region=region_for(group, language),
        zone=zone,
        paper=paper or ("letter" if group.paper == "letter" else "a4"),
        owner=group.name,
        site=", ".join(part for part in site if part),
        demo=session.demo,
    )


@contextmanager
def refusing() -> Iterator[None]:
    """A page that cannot be drawn is refused with what stands in its way: a character, a name too long."""
    try:
        yield
    except CannotPrint as problem:
        raise refuse("page", problem.code, **problem.values) from None


def iso(day: date | None) -> str | None:
    return day.isoformat() if day else None
