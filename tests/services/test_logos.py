"""The owner's logo: small, made anew, the newest counts, taken back; what is no picture is refused."""

import random
from io import BytesIO

import pytest
from PIL import Image

from registry.services import logos, pictures
from tests.services.kitchen import Kitchen


def picture(width: int, height: int, kind: str = "PNG", colour: str = "navy") -> bytes:
    out = BytesIO()
    Image.new("RGB", (width, height), colour).save(out, kind)
    return out.getvalue()


def standing(kitchen: Kitchen) -> str | None:
    with kitchen.session.reading() as connection:
        return logos.standing_hash(connection)


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
def test_it_is_made_small_and_kept(kitchen: Kitchen, kind: str) -> None:
    found = logos.set_logo(kitchen.session, kitchen.officer, picture(2000, 1000, kind))
    said = kitchen.last("document_stored").payload
    assert (said["document"], said["media"], said["of"]) == ("logo", "image/png", kitchen.last("group_set").subject)
    assert standing(kitchen) == found.sha256 == said["sha256"]
    with kitchen.session.reading() as connection:
        content = pictures.content_of(connection, found)
    with Image.open(BytesIO(content)) as kept:
        assert (kept.format, kept.size) == ("PNG", (236, 118))
    assert kitchen.verify().good


@pytest.mark.slow
def test_noise_is_bounded_too() -> None:
    noise = Image.frombytes("RGB", (1000, 250), random.Random(1).randbytes(750_000))
    out = BytesIO()
    noise.save(out, "PNG")
    assert len(logos.prepared(out.getvalue())) <= logos.MOST_KEPT


def test_the_same_twice_is_kept_once_and_a_second_one_counts(kitchen: Kitchen) -> None:
    for colour in ("navy", "navy", "red"):
        logos.set_logo(kitchen.session, kitchen.officer, picture(100, 40, colour=colour))
    first, second = kitchen.entries("document_stored")
    assert standing(kitchen) == second.payload["sha256"] != first.payload["sha256"]


def test_taken_back_there_is_none_not_the_one_before(kitchen: Kitchen) -> None:
    for colour in ("navy", "red"):
        logos.set_logo(kitchen.session, kitchen.officer, picture(100, 40, colour=colour))
    logos.remove_logo(kitchen.session, kitchen.officer)
    assert standing(kitchen) is None
    with kitchen.refuses(("logo", "none")):
        logos.remove_logo(kitchen.session, kitchen.officer)


def test_what_is_no_picture_and_who_may_not_are_refused(kitchen: Kitchen) -> None:
    with kitchen.refuses(("picture", "not_a_picture")):
        logos.set_logo(kitchen.session, kitchen.officer, b"GIF89a nothing of ours")
    with kitchen.refuses(("picture", "not_readable")):
        logos.set_logo(kitchen.session, kitchen.officer, picture(100, 40)[:60])
    with kitchen.refuses(("actor", "not_allowed")):
        logos.set_logo(kitchen.session, kitchen.lead, picture(100, 40))
    assert kitchen.entries("document_stored") == []
