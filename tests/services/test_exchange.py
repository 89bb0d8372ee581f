"""An issued certificate in the exchange format, from the record."""

import os
import re
import tomllib
from pathlib import Path
from xml.etree import ElementTree

import pytest

from registry.quantity import Length
from registry.services import exchange, papers, places
from registry.services.papers import Issued
from registry.services.places import NewSite
from tests.documents.test_dcc import only, texts
from tests.services.kitchen import Kitchen, open_kitchen

ROOT = Path(__file__).resolve().parents[2]


def with_address(kitchen: Kitchen, address: str = "3 Pier Road, Ostvik") -> None:
    with kitchen.session.reading() as connection:
        now = places.site_named_by_id(connection, kitchen.site).payload
    new = NewSite(now.name, now.letters, now.zone, Length.from_text(now.elevation), now.pressure_source, address)
    places.change_site(kitchen.session, kitchen.admin, kitchen.site, new)


def issue(kitchen: Kitchen, thermometer: str, **more: str) -> Issued:
    return papers.issue_certificate(kitchen.session, kitchen.lead, thermometer, **more)  # type: ignore[arg-type]


def test_as_found_and_as_left_from_the_record(kitchen: Kitchen) -> None:
    with_address(kitchen)
    dial = kitchen.dial()
    bath = kitchen.ice()
    row = kitchen.key(bath, dial, "2.5 C", "2.5 C", "2.5 C")
    kitchen.judge(bath)
    kitchen.adjust(row.check, "nut", "0.0 C")
    kept = issue(kitchen, dial, language="es")
    made = exchange.xml(kitchen.session, kept)
    assert made == exchange.xml(kitchen.session, kept)
    root = ElementTree.fromstring(made)
    offset = "//dcc:quantity[@refType='basic_measurementError']/si:real/si:value"
    assert only(root, f".//dcc:influenceCondition{offset}") == "2.5"
    assert only(root, f".//dcc:result{offset}") == "0"
    assert only(root, ".//dcc:uniqueIdentifier") == kept.number
    assert f"sha256:{kept.entry_hash}" in texts(root, ".//dcc:coreData//dcc:value")
    assert only(root, ".//dcc:customer//dcc:further/dcc:content") == "3 Pier Road, Ostvik"
    assert "los resultados de la página que se emitió" in made.decode()
    if folder := os.environ.get("DCC_XSD_DIR"):
        import xmlschema

        xmlschema.validate(made.decode().partition("\n")[2], Path(folder) / "v3.3.0" / "dcc.xsd")


def test_without_an_address_it_is_refused_and_once_it_is_filled_in_it_says_what_changed(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.2 C")
    kept = issue(kitchen, probe)
    with kitchen.refuses(("page", "no_address")):
        exchange.xml(kitchen.session, kept)
    with_address(kitchen)
    assert "written from the record as it stands now" in exchange.xml(kitchen.session, kept).decode()


def test_of_a_group_without_a_country_it_is_refused(tmp_path: Path) -> None:
    other = open_kitchen(tmp_path / "other", country="ZZ")
    with_address(other)
    probe = other.enrol()
    other.checked(probe, "0.2 C")
    kept = issue(other, probe)
    with other.refuses(("page", "no_country")):
        exchange.xml(other.session, kept)
    other.session.close()


def test_one_that_was_replaced_says_by_which(kitchen: Kitchen) -> None:
    with_address(kitchen)
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.2 C")
    first = issue(kitchen, probe)
    second = issue(kitchen, probe, replaces=first.number)
    root = ElementTree.fromstring(exchange.xml(kitchen.session, first))
    assert only(root, ".//dcc:item/dcc:name/dcc:content").startswith("SUPERSEDED: ")
    assert any(second.number in one for one in texts(root, ".//dcc:declaration/dcc:content"))
    root = ElementTree.fromstring(exchange.xml(kitchen.session, second))
    assert only(root, ".//dcc:replacedUniqueIdentifier") == first.number


def test_the_release_is_the_version_with_a_v() -> None:
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["version"]
    assert exchange.release() == f"v{declared}"
    assert re.fullmatch(r"v\d+\.\d+\.\d+", exchange.release())


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_sentence_says_where_the_address_is_filled_in(language: str) -> None:
    from registry.wording.refusals import problem

    said = problem("page", "no_address", {"site": "Quay"}, language)
    assert "Quay" in said
    assert "site change --address" in said
