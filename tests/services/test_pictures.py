"""A photo is kept small and free of all else; what is too large, broken or no picture is refused with nothing kept."""

import io
import struct
import zlib
from hashlib import sha256
from pathlib import Path
from random import Random

import pytest
from PIL import Image

from registry.services import mend, pictures, story_lines, upkeep
from registry.services.pictures import LONGEST_SIDE, MOST_FILE, MOST_KEPT, Picture
from registry.services.problems import KnownError, Refused
from registry.store import bundles, export
from registry.store.database import create, open_database
from tests.services.kitchen import DAY_US, Kitchen

RED, BLUE = (200, 30, 30), (30, 30, 200)
GPS, ORIENTATION, MAKE = 0x8825, 0x0112, 0x010F  # EXIF 2.32, tables 4 and 6


def drawn(width: int = 600, height: int = 400, colour: tuple[int, int, int] = RED) -> Image.Image:
    """One colour, with a blue quarter at the top left, so that one sees how it lies."""
    image = Image.new("RGB", (width, height), colour)
    image.paste(BLUE, (0, 0, width // 2, height // 2))
    return image


def written(image: Image.Image, kind: str = "JPEG", **more: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **more)
    return out.getvalue()


def read(content: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(content))
    image.load()
    return image


def close(pixel: object, colour: tuple[int, int, int]) -> bool:
    """JPEG changes colours a little."""
    assert isinstance(pixel, tuple)
    return all(abs(one - other) < 25 for one, other in zip(pixel, colour, strict=True))


def kept(kitchen: Kitchen, thermometer: str) -> bytes:
    with kitchen.session.reading() as connection:
        found = pictures.picture_of(connection, thermometer)
        assert found is not None
        return pictures.content_of(connection, found)


def add(kitchen: Kitchen, thermometer: str, content: bytes) -> Picture:
    return pictures.add_picture(kitchen.session, kitchen.lead, thermometer, content)


def refused(content: bytes) -> str:
    with pytest.raises(Refused) as caught:
        pictures.prepared(content)
    (problem,) = caught.value.problems
    assert problem.field == "picture"
    return problem.code


def png_of(width: int, height: int, data: bytes) -> bytes:
    """A PNG that says a size and holds what it likes (W3C PNG 1.2, sections 3 and 4)."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(data)) + chunk(b"IEND", b"")


# --- kept ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_with_who_and_when(kitchen: Kitchen, kind: str) -> None:
    probe = kitchen.enrol()
    found = add(kitchen, probe, written(drawn(), kind))
    entry = kitchen.last("document_stored")
    content = kept(kitchen, probe)
    assert (found.number, found.at, found.by) == (entry.number, entry.at, kitchen.lead.person)
    assert entry.payload == {
        "of": probe,
        "document": "picture",
        "sha256": sha256(content).hexdigest(),
        "length": len(content),
        "media": "image/jpeg",
    }
    assert (read(content).format, read(content).size) == ("JPEG", (600, 400))
    assert kitchen.verify().good


def test_the_newest_counts_and_the_same_twice_is_one(kitchen: Kitchen) -> None:
    probe, other = kitchen.enrol(), kitchen.enrol()
    first = add(kitchen, probe, written(drawn()))
    assert add(kitchen, probe, written(drawn())) == first
    assert len(kitchen.entries("document_stored")) == 1
    second = add(kitchen, probe, written(drawn(colour=(10, 120, 10))))
    with kitchen.session.reading() as connection:
        assert pictures.picture_of(connection, probe) == second
        assert pictures.picture_of(connection, other) is None


def test_taken_back_the_one_before_counts_again(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    first = add(kitchen, probe, written(drawn()))
    wrong = add(kitchen, probe, written(drawn(colour=(10, 120, 10))))
    pictures.remove_picture(kitchen.session, kitchen.lead, probe, "wrong_thermometer")
    assert kitchen.last("voided").payload["entries"] == [kitchen.entries("document_stored")[1].hash]
    with kitchen.session.reading() as connection:
        assert pictures.picture_of(connection, probe) == first
        lines = story_lines.lines(connection, probe, None)
    told = [(one.code, one.number, one.voided) for one in lines if one.code == "picture"]
    assert told == [("picture", wrong.number, True), ("picture", first.number, False)]
    (void,) = [one for one in lines if one.code == "voided"]
    assert void.values["voided_number"] == wrong.number
    pictures.remove_picture(kitchen.session, kitchen.lead, probe, "twice")
    with kitchen.refuses(("picture", "none")):
        pictures.remove_picture(kitchen.session, kitchen.lead, probe, "twice")
    assert add(kitchen, probe, written(drawn())).sha256 == first.sha256  # taken back, it may be added anew
    assert kitchen.verify().good


def test_a_lead_takes_back_only_the_own_one_of_the_last_day(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    add(kitchen, probe, written(drawn()))
    kitchen.clock.move(days=1, minutes=1)
    with kitchen.refuses(("actor", "not_allowed")):
        pictures.remove_picture(kitchen.session, kitchen.lead, probe, "twice")
    pictures.remove_picture(kitchen.session, kitchen.officer, probe, "twice")


def test_an_auditor_adds_none_and_none_of_nobody(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    with kitchen.refuses(("actor", "not_allowed")):
        pictures.add_picture(kitchen.session, kitchen.auditor, probe, written(drawn()))
    with kitchen.refuses(("thermometer", "unknown")):
        add(kitchen, kitchen.session.new_id(), written(drawn()))


def test_the_page_of_a_certificate_is_not_voided(kitchen: Kitchen) -> None:
    from registry.services import papers

    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    papers.issue_certificate(kitchen.session, kitchen.officer, probe)
    with kitchen.refuses(("number", "replace_it_instead")):
        mend.void(kitchen.session, kitchen.officer, kitchen.last("document_stored").number, "twice")
    with kitchen.session.reading() as connection:
        assert pictures.picture_of(connection, probe) is None


# --- what is kept of it --------------------------------------------------------------------------------------


def test_place_camera_and_comment_are_gone() -> None:
    exif = Image.Exif()
    exif[MAKE] = "Telephone of Ada"
    exif[GPS] = {1: "N", 2: (53.0, 20.0, 30.0), 3: "W", 4: (6.0, 15.0, 0.0)}
    told = written(drawn(), exif=exif, comment=b"at home", icc_profile=b"profile" * 20)
    assert read(told).getexif().get_ifd(GPS)
    assert b"at home" in told
    content = pictures.prepared(told)
    image = read(content)
    assert dict(image.getexif()) == {}
    assert image.getexif().get_ifd(GPS) == {}
    assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    for word in (b"Exif", b"Telephone", b"at home", b"profile"):
        assert word not in content


def test_it_is_turned_as_the_camera_was_held() -> None:
    """Orientation 6: the camera stored it a quarter turn to the left, row 0 is its right side (EXIF 2.32, 4.6.4)."""
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    image = read(pictures.prepared(written(drawn(600, 400), exif=exif, quality=95)))
    assert image.size == (400, 600)
    assert close(image.getpixel((380, 20)), BLUE)  # what was at the top left is at the top right
    assert close(image.getpixel((20, 20)), RED)


def test_what_is_clear_is_white() -> None:
    image = Image.new("RGBA", (60, 40), (255, 0, 0, 0))
    assert close(read(pictures.prepared(written(image, "PNG"))).getpixel((5, 5)), (255, 255, 255))


@pytest.mark.parametrize(("mode", "colour"), [("L", 90), ("P", 3), ("1", 1), ("LA", (90, 255)), ("I;16", 30000)])
def test_any_kind_of_png_becomes_a_photo(mode: str, colour: object) -> None:
    image = Image.new(mode, (60, 40), colour)  # type: ignore[arg-type]
    assert read(pictures.prepared(written(image, "PNG"))).mode == "RGB"


def test_a_large_photo_is_made_small() -> None:
    noise = Image.frombytes("RGB", (1500, 1000), Random(5).randbytes(4_500_000)).resize((6000, 4000))
    content = pictures.prepared(written(noise, quality=60))
    width, height = read(content).size
    assert max(width, height) <= LONGEST_SIDE
    assert width / height == pytest.approx(1.5, rel=0.01)
    assert len(content) <= MOST_KEPT


@pytest.mark.slow
def test_not_even_noise_is_kept_larger() -> None:
    noise = Image.frombytes("RGB", (1600, 1600), Random(6).randbytes(3 * 1600 * 1600))
    assert len(pictures.prepared(written(noise, "PNG"))) <= MOST_KEPT


# --- refused -------------------------------------------------------------------------------------------------


def test_no_picture_is_refused(tmp_path: Path) -> None:
    text = tmp_path / "photo.jpg"
    text.write_text("This is a letter, called a photo.\n" * 50)
    assert refused(pictures.read_file(text)) == "not_a_picture"
    assert refused(b"") == "not_a_picture"
    assert refused(b"%PDF-1.7\n" + bytes(500)) == "not_a_picture"
    assert refused(written(drawn(), "GIF")) == "not_a_picture"  # a picture, yet none of those taken
    assert refused(written(drawn(), "TIFF")) == "not_a_picture"


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_cut_off_one_is_refused(kitchen: Kitchen, kind: str) -> None:
    probe = kitchen.enrol()
    whole = written(Image.effect_noise((300, 200), 60).convert("RGB"), kind)
    for part in (whole[: len(whole) // 2], whole[:60]):
        assert refused(part) in ("not_readable", "not_a_picture")
    with kitchen.refuses(("picture", "not_readable")):
        add(kitchen, probe, whole[: len(whole) // 2])


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_bytes_changed_anywhere_are_a_picture_or_a_refusal(kind: str) -> None:
    whole = bytearray(written(drawn(90, 60), kind))
    random = Random(11)
    for _ in range(150):
        changed = bytearray(whole)
        for _ in range(random.randint(1, 6)):
            changed[random.randrange(len(changed))] = random.randrange(256)
        try:
            content = pictures.prepared(bytes(changed))
        except Refused:
            continue
        assert max(read(content).size) <= LONGEST_SIDE


def test_a_small_file_that_says_it_is_huge_is_refused_before_it_is_decoded(monkeypatch: pytest.MonkeyPatch) -> None:
    """A decompression bomb: 20 000 x 20 000 pixels, some hundred bytes."""
    monkeypatch.setattr(Image.Image, "load", lambda _: pytest.fail("it was decoded"))
    for width, height in ((20_000, 20_000), (8_001, 8_000), (60_000, 60_000), (2**31 - 1, 2**31 - 1)):
        assert refused(png_of(width, height, bytes(100))) == "too_many_pixels"


def test_a_png_that_unpacks_into_more_than_it_says_is_taken_at_its_word() -> None:
    bomb = png_of(10, 10, bytes(50_000_000))
    assert len(bomb) < 100_000
    assert read(pictures.prepared(bomb)).size == (10, 10)


def test_a_huge_file_is_not_read_to_its_end(tmp_path: Path) -> None:
    huge = tmp_path / "huge.jpg"
    with huge.open("wb") as file:
        file.write(written(drawn()))
        file.truncate(3_000_000_000)  # a hole: it takes no room
    content = pictures.read_file(huge)
    assert len(content) == MOST_FILE + 1
    assert refused(content) == "file_too_large"


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(KnownError):
        pictures.read_file(tmp_path / "none.jpg")
    with pytest.raises(KnownError):
        pictures.read_file(tmp_path)


# --- carried on ----------------------------------------------------------------------------------------------


def test_backup_bundle_export_and_rebuild_carry_it(kitchen: Kitchen, tmp_path: Path) -> None:
    probe = kitchen.enrol()
    found = add(kitchen, probe, written(drawn()))
    content = kept(kitchen, probe)

    made = upkeep.back_up(kitchen.session, kitchen.officer, tmp_path)
    assert made is not None
    assert made.report.good
    copy = open_database(made.path, read_only=True)
    with copy.reading() as connection:
        assert pictures.content_of(connection, found) == content

    taken = create(tmp_path / "taken.db")
    assert bundles.take(taken, copy).documents == 1
    copy.close()
    with taken.reading() as connection:
        there = pictures.picture_of(connection, probe)
        assert there is not None
        assert (there.sha256, pictures.content_of(connection, there)) == (found.sha256, content)
    taken.close()

    lines = io.StringIO()
    export.write_journal(kitchen.session.database, lines)
    assert found.sha256 in lines.getvalue()  # the bytes themselves are in no text

    assert upkeep.rebuild_projections(kitchen.session, kitchen.officer) == []
    assert kept(kitchen, probe) == content
    assert kitchen.verify().good


def test_bytes_changed_in_the_record_are_found(kitchen: Kitchen) -> None:
    from tests.store.tampering import unguarded

    probe = kitchen.enrol()
    add(kitchen, probe, written(drawn()))
    with unguarded(kitchen.home / "registry.db") as connection:
        connection.execute("UPDATE documents SET bytes = x'00'")
    assert {one.code for one in kitchen.verify().findings} == {"document_changed", "document_length"}


def test_an_older_one_stays_known_after_years(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    found = add(kitchen, probe, written(drawn()))
    kitchen.clock.at += 900 * DAY_US
    with kitchen.session.reading() as connection:
        assert pictures.picture_of(connection, probe) == found
