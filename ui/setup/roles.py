"""What somebody may do, and at which sites: the same ticks when a person is added and when that is changed."""

from collections.abc import Collection, Sequence

from registry.records.places import SiteSet
from registry.services.lookup import Fact
from registry.services.session import ROLES
from ui.desk import Desk
from ui.forms import YES, Field
from ui.setup.inline import Values

Sites = Sequence[Fact[SiteSet]]


def fields(desk: Desk, sites: Sites, held: Collection[str] = (), works_at: Collection[str] = ()) -> list[Field]:
    """A tick for each role that one may give here, and for each site where there are several; none is every site."""
    say = desk.say
    roles = [one for one in ROLES if one != "administrator" or desk.may("administrator")]
    found = [
        Field(f"role_{one}", say(f"role.{one}"), YES, "yes" if one in held else "", hint=say(f"setup.may.{one}"))
        for one in roles
    ]
    for site in sites if len(sites) > 1 else ():
        ticked = "yes" if site.subject in works_at else ""
        found.append(Field(f"site_{site.subject}", say("setup.works_at", name=site.payload.name), YES, ticked))
    return found


def read(values: Values, sites: Sites, works_at: tuple[str, ...] = ()) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Roles, and sites; where there is one site none is asked for, and what was said of it stays."""
    roles = tuple(one for one in ROLES if values.get(f"role_{one}"))
    if len(sites) <= 1:
        return roles, works_at
    return roles, tuple(one.subject for one in sites if values.get(f"site_{one.subject}"))
