"""The owner's logo on certificates: a small bitmap made anew from a file's bytes and kept in the record.

A certificate names the logo by its hash, so that the page stays as it was issued whatever stands there later.
"""

from io import BytesIO
from typing import TYPE_CHECKING

from sqlalchemy import Connection

from registry.records.papers import DocumentStored
from registry.records.rules import GroupSet
from registry.services import mend, pictures
from registry.services.pictures import Picture
from registry.services.problems import refuse
from registry.services.session import Actor, Session
from registry.store import queries

if TYPE_CHECKING:  # Pillow comes along when a logo is set
    from PIL import Image

DOCUMENT, MEDIA = "logo", "image/png"
# 40 x 10 mm at 300 dpi; each certificate holds it once more, so what is kept is small (both a judgement).
WIDEST, HIGHEST = 472, 118
MOST_KEPT = 24_000


def set_logo(session: Session, actor: Actor, content: bytes) -> Picture:
    """Keep a logo made from the bytes of a JPEG, PNG or WebP file; the newest counts.

    The same one twice is kept once. What is too large, broken or no picture is refused.
    """
    if not actor.may("officer"):
        raise refuse("actor", "not_allowed", roles="officer")
    kept = prepared(content)  # outside the transaction: it takes as long as it takes
    with session.recording(actor, "officer") as entries:
        group = session.group(entries.connection).subject
        sha256 = entries.keep_document(kept)
        if standing_hash(entries.connection) != sha256:
            entries.add(DocumentStored(of=group, document=DOCUMENT, sha256=sha256, length=len(kept), media=MEDIA))
    with session.reading() as connection:
        found = logo(session, connection)
        assert found is not None
        return found


def logo(session: Session, connection: Connection) -> Picture | None:
    """The newest logo that nobody took back."""
    return pictures.newest(connection, session.group(connection).subject, DOCUMENT)


def standing_hash(connection: Connection) -> str | None:
    """The hash of the logo that a certificate issued now bears."""
    group = queries.facts_named(connection, "group", GroupSet)
    found = pictures.newest(connection, group[0].subject, DOCUMENT) if group else None
    return found.sha256 if found else None


def remove_logo(session: Session, actor: Actor, why: str = "other_reason") -> None:
    """Take the logo back by a correcting entry: certificates from now on bear the name alone."""
    with session.reading() as connection:
        found = logo(session, connection)
    if found is None:
        raise refuse("logo", "none")
    while found is not None:  # one before it would count again, and nobody asked for that one
        mend.void(session, actor, found.number, why)
        with session.reading() as connection:
            found = logo(session, connection)


def prepared(content: bytes) -> bytes:
    """A PNG of at most WIDEST x HIGHEST pixels and MOST_KEPT bytes, on white, without anything but the picture."""
    picture = pictures.upright(content)
    for share in (1, 2, 3):
        picture.thumbnail((WIDEST // share, HIGHEST // share))
        for colours in (256, 32, 8):
            if len(drawn := _png(picture, colours)) <= MOST_KEPT:
                return drawn
    return drawn  # not reached: 157 x 39 pixels in 8 colours are at most 3 kB


def _png(picture: "Image.Image", colours: int) -> bytes:
    out = BytesIO()
    picture.quantize(colours).save(out, "PNG", optimize=True)
    return out.getvalue()
