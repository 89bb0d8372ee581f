"""An issued certificate in the exchange format of laboratories, written anew from the record each time."""

from importlib.metadata import version

from registry.services import certificate_facts, pages, plain_certificate
from registry.services.papers import Issued
from registry.services.session import Session
from registry.store import queries


def xml(session: Session, kept: Issued) -> bytes:
    """The certificate as DCC 3.3.0 in its own language; refused where country or address of the site is not known."""
    from registry.documents.dcc import dcc  # late: reportlab
    from registry.documents.dcc_parts import Exchange

    with session.reading() as connection:
        entry = queries.entry_hashed(connection, kept.thermometer, kept.entry_hash)
        site = certificate_facts.site_of(connection, entry).payload
        country = session.group(connection).payload.country
    facts, same_as_issued = plain_certificate.as_it_stands(session, kept)
    more = Exchange(
        country=country,
        site=site.name,
        address=site.address or "",
        release=release(),
        same_as_issued=same_as_issued,
    )
    with pages.refusing():
        return dcc(facts, more)


def release() -> str:
    """The version of this program as the format wants it: a v and three numbers."""
    return f"v{version('thermometer-registry')}"
