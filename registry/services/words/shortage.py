"""One sentence where a station is left with too few after something was done to a thermometer."""

from collections.abc import Iterable

from registry.services import places, working_set
from registry.services.session import Session
from registry.services.words import notices


def sentences(session: Session, thermometers: Iterable[str], language: str) -> list[str]:
    """One for each station and type that these belong to and cannot serve now, where fewer remain than it needs."""
    with session.reading() as connection:
        found = working_set.left_by(connection, thermometers)
        names = {one.subject: one.payload.name for one in places.sites(connection)} if found else {}
    return [notices.too_few(one, names[one.site], language) for one in found]
