"""Whose PIN one may set."""

from pathlib import Path

from registry.services import pins
from registry.store.local import Local
from tests.services.kitchen import Kitchen


def test_one_sets_ones_own_pin_and_an_administrator_anybodys(kitchen: Kitchen, tmp_path: Path) -> None:
    local = Local(tmp_path / "local.json")
    with kitchen.refuses(("actor", "not_allowed")):
        pins.set_pin(local, kitchen.officer, kitchen.lead.person, "4071")
    assert not pins.has_pin(local, kitchen.lead.person)
    pins.set_pin(local, kitchen.lead, kitchen.lead.person, "4071")
    pins.check_pin(local, kitchen.lead.person, "4071")
    pins.set_pin(local, kitchen.admin, kitchen.lead.person, "5082")
    pins.check_pin(local, kitchen.lead.person, "5082")
