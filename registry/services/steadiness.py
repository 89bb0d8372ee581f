"""Who stands first on a list: the steadiest of the last baths, so that a bath can be judged after few readings."""

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

from registry.services.session import Session
from registry.services.thermometers import Thermometer

if TYPE_CHECKING:
    from registry.compute.bath import InBath

VERSION = "1"  # of what is kept
FIRST = 3  # so many readings judge a bath, whoever they are of
Figures = tuple[float, float, float]  # sd of the prediction, u of a reading, half a step, all °C


def keep(session: Session, site: str, read: Mapping[str, "InBath"]) -> None:
    """Remember of those read in a bath how well each was known before; the steadiest of all stand first."""
    from registry.compute.bath import ToRead, reading_order  # late: the first list does without it

    known = _kept(session, site)
    known |= {thermometer: (said.sd, said.u_new, said.half_width) for thermometer, said in read.items()}
    those = list(known)
    ordered = [those[place] for place in reading_order([ToRead(*known[one]) for one in those])]
    session.cache.keep(_subject(site), VERSION, json.dumps([[one, *known[one]] for one in ordered]))


def first_of(session: Session, site: str, shift: str, those: Sequence[Thermometer]) -> tuple[str, ...]:
    """Ids of those that go first on the list of a shift, the steadiest foremost: as many as judge a bath.

    A list keeps its first ones while it stands, so that no row moves under a hand. Empty where no bath was looked at
    yet. An infrared, one with an incident or a fail, and one adjusted and not checked since tell nothing of a bath.
    """
    stood: dict[tuple[str, str], tuple[str, ...]] = session.kept.setdefault("first on the list", {})
    if (site, shift) not in stood:
        fit = {of.row.thermometer for of in those if _tells(of)}
        stood[site, shift] = tuple(one for one in _kept(session, site) if one in fit)[:FIRST]
    return stood[site, shift]


def _tells(of: Thermometer) -> bool:
    row = of.row
    set_since = row.adjusted_at is not None and row.adjusted_at >= (row.last_check_at or 0)
    return not of.type.surface and not row.check_first and not set_since


def _kept(session: Session, site: str) -> dict[str, Figures]:
    found = session.cache.kept(_subject(site))
    if found is None or found[0] != VERSION:
        return {}
    with suppress(ValueError, TypeError):  # not ours, or cut off: it is learned again
        return {str(one): (float(a), float(b), float(c)) for one, a, b, c in json.loads(found[1])}
    return {}


def _subject(site: str) -> str:
    return f"steadiness of {site}"
