"""An issued certificate as plain HTML, written anew from the record each time."""

from dataclasses import replace

from registry.documents.facts import CertificateFacts
from registry.services import certificate_facts, pages, papers
from registry.services.papers import Issued
from registry.services.problems import refuse
from registry.services.session import Session
from registry.store import queries


def html(session: Session, kept: Issued) -> bytes:
    """The certificate in its own language; it says whether it still says what the page that was issued says."""
    from registry.documents.certificate_html import certificate_html  # late: reportlab

    facts, same_as_issued = as_it_stands(session, kept)
    with pages.refusing():
        return certificate_html(facts, same_as_issued=same_as_issued)


def as_it_stands(session: Session, kept: Issued) -> tuple[CertificateFacts, bool]:
    """The facts of a certificate now, and whether they still make the page that was issued.

    The page is drawn once more to tell: a thermometer moved or stated anew since, or a newer layout, make it another.
    """
    from registry.documents.certificate import certificate  # late: reportlab

    with session.reading() as connection:
        entry = queries.entry_hashed(connection, kept.thermometer, kept.entry_hash)
        facts = certificate_facts.of_entry(session, connection, entry)
        page = papers.page_of(connection, kept) if kept.sha256 else None
    as_issued = replace(facts, page=replace(facts.page, superseded=None))
    with pages.refusing():
        return facts, page is not None and certificate(as_issued) == page


def latest(session: Session, thermometer: str) -> Issued:
    """The last certificate of a thermometer that was neither replaced nor withdrawn."""
    with session.reading() as connection:
        standing = [one for one in papers.issued(connection, thermometer) if not one.replaced]
    if not standing:
        raise refuse("certificate", "none_stands")
    return standing[-1]
