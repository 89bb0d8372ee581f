"""A thermometer's photo: taken from a file's bytes, made small and free of all else, and kept in the record.

What comes from outside is never trusted: size and pixels are looked at before anything is decoded, and what is kept
is drawn anew, so that no place, no name of a telephone and nothing hidden in the file comes along.
"""

from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection

from registry.records.papers import DocumentStored
from registry.services import mend
from registry.services.mend import Affected
from registry.services.problems import Refused, known_from_oserror, refuse
from registry.services.session import Actor, Session
from registry.store import queries

if TYPE_CHECKING:  # Pillow comes along when a picture is added
    from PIL import Image

DOCUMENT, MEDIA = "picture", "image/jpeg"
FORMATS = ("JPEG", "PNG", "WEBP")
MOST_FILE = 25_000_000  # bytes
MOST_PIXELS = 64_000_000  # what telephones take today; decoded, 3 to 4 bytes each
LONGEST_SIDE = 1600
# What is kept goes into every backup and bundle for ever: 10 000 photos are then at most 3 GB (judgement).
MOST_KEPT = 300_000
QUALITIES = (85, 75, 65, 55)
WHY_REMOVED = ("wrong_thermometer", "twice", "other_reason")


@dataclass(frozen=True, slots=True)
class Picture:
    """The photo or logo that counts, who kept it and when. thermometer: whose photo it is, of a logo the group.

    number: of the entry, as people quote it.
    """

    thermometer: str
    number: str
    at: int
    by: str
    sha256: str
    length: int
    media: str


def read_file(path: Path, most: int = MOST_FILE) -> bytes:
    """The bytes of a file, one more than `most` at most; KnownError where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(most + 1)
    except OSError as error:
        known = known_from_oserror(error, path)
        if known is None:
            raise
        raise known from error


def add_picture(session: Session, actor: Actor, thermometer: str, content: bytes) -> Picture:
    """Keep a photo made from the bytes of a JPEG, PNG or WebP file; the newest counts.

    The same photo twice is kept once. What is too large, broken or no picture is refused.
    """
    if not actor.may("lead", "officer"):
        raise refuse("actor", "not_allowed", roles="lead, officer")
    kept = prepared(content)  # outside the transaction: it takes as long as it takes
    with session.recording(actor, "lead", "officer") as entries:
        if queries.thermometer(entries.connection, thermometer) is None:
            raise refuse("thermometer", "unknown", value=thermometer)
        sha256 = entries.keep_document(kept)
        now = picture_of(entries.connection, thermometer)
        if now is None or now.sha256 != sha256:
            stored = DocumentStored(of=thermometer, document=DOCUMENT, sha256=sha256, length=len(kept), media=MEDIA)
            entries.add(stored)
    with session.reading() as connection:
        found = picture_of(connection, thermometer)
        assert found is not None
        return found


def picture_of(connection: Connection, thermometer: str) -> Picture | None:
    """The newest photo that nobody took back."""
    return newest(connection, thermometer, DOCUMENT)


def newest(connection: Connection, of: str, document: str) -> Picture | None:
    """The newest picture of a thermometer, or logo of the group, that nobody took back."""
    events = queries.events_of(connection, of, ("document_stored",))
    standing = [one for one in events if one.detail == document and not one.voided]
    if not standing:
        return None
    entry = queries.entry_at(connection, standing[-1].chain_no, standing[-1].seq)
    said = entry.payload
    by = said.get("done_by", entry.by)
    return Picture(of, entry.number, entry.done_at, by, said["sha256"], said["length"], said["media"])


def content_of(connection: Connection, picture: Picture) -> bytes:
    """The bytes as they are kept."""
    content = queries.document(connection, picture.sha256)
    if content is None:
        raise refuse("picture", "not_stored", value=picture.number)
    return content


def remove_picture(session: Session, actor: Actor, thermometer: str, why: str) -> Affected:
    """Take the photo back by a correcting entry; the one before it counts again. As `mend.void` allows."""
    with session.reading() as connection:
        found = picture_of(connection, thermometer)
    if found is None:
        raise refuse("picture", "none")
    return mend.void(session, actor, found.number, why)


# --- what is kept --------------------------------------------------------------------------------------------


def prepared(content: bytes) -> bytes:
    """A JPEG of at most LONGEST_SIDE pixels a side and MOST_KEPT bytes, upright, without anything but the picture."""
    picture = upright(content)
    for side in (LONGEST_SIDE, LONGEST_SIDE * 3 // 4, LONGEST_SIDE // 2):
        picture.thumbnail((side, side))
        for quality in QUALITIES:
            out = BytesIO()
            picture.save(out, "JPEG", quality=quality, optimize=True)
            if out.tell() <= MOST_KEPT:
                return out.getvalue()
    return out.getvalue()  # not reached: 800 pixels a side of pure noise are 264 kB at the last quality


def upright(content: bytes) -> "Image.Image":
    """The picture of a JPEG, PNG or WebP file, small, upright, on white; refused where it is too large or none."""
    if len(content) > MOST_FILE:
        raise refuse("picture", "file_too_large", most=MOST_FILE // 1_000_000)
    return _guarded(lambda: _upright(_opened(content)))


def _guarded(read: "Callable[[], Image.Image]") -> "Image.Image":
    """Whatever a decoder makes of bytes from outside, it is a refusal."""
    from PIL import Image

    try:
        return read()
    except Refused:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_many_pixels() from None
    except Exception as error:  # decoders raise whatever they like: OSError, SyntaxError, struct.error, MemoryError
        raise refuse("picture", "not_readable") from error


def _opened(content: bytes) -> "Image.Image":
    """The picture, looked at but not decoded yet."""
    from PIL import Image, UnidentifiedImageError

    try:
        picture = Image.open(BytesIO(content), formats=FORMATS)
    except UnidentifiedImageError:
        raise refuse("picture", "not_a_picture") from None
    if picture.width * picture.height > MOST_PIXELS:
        raise _too_many_pixels()
    return picture


def _too_many_pixels() -> Refused:
    return refuse("picture", "too_many_pixels", most=MOST_PIXELS // 1_000_000)


def _upright(picture: "Image.Image") -> "Image.Image":
    """Decoded, small, turned as the camera was held, on white; a new picture, to which nothing else clings."""
    from PIL import Image, ImageOps

    picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a JPEG is decoded no larger than needed
    picture.load()
    turned = ImageOps.exif_transpose(picture).convert("RGBA")
    turned.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    flat = Image.new("RGB", turned.size, "white")
    flat.paste(turned, mask=turned.getchannel("A"))
    return flat
