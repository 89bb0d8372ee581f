"""The local file: settings, PINs with their tries, when entries were received."""

import pytest

from registry.services import pins
from registry.services.problems import Refused
from registry.services.session import Actor
from registry.store.errors import KnownError
from registry.store.local import Local

PERSON = "0195f3a0c00070008000000000000001"
CHAIN = "ab" * 32


@pytest.fixture
def local(tmp_path):
    return Local(tmp_path / "local.db")


def test_settings_are_kept(local):
    assert local.setting("label") is None
    local.set_setting("label", "50x25")
    local.set_setting("label", "38x21")
    assert Local(local.path).setting("label") == "38x21"


def test_a_right_pin_passes_and_a_wrong_one_is_refused(local):
    pins.set_pin(local, Actor(PERSON, frozenset()), PERSON, "4071")
    pins.check_pin(local, PERSON, "4071")
    with pytest.raises(Refused, match="wrong"):
        pins.check_pin(local, PERSON, "4072")


def test_a_pin_is_never_kept_as_it_is(local):
    pins.set_pin(local, Actor(PERSON, frozenset()), PERSON, "4071")
    assert b"4071" not in local.path.read_bytes()


def test_tries_are_counted_before_the_try_and_end(local):
    pins.set_pin(local, Actor(PERSON, frozenset()), PERSON, "4071")
    for _ in range(pins.MOST_TRIES):
        local.count_try(PERSON)
    with pytest.raises(Refused, match="too_many_tries"):
        pins.check_pin(local, PERSON, "4071")
    pins.set_pin(local, Actor(PERSON, frozenset()), PERSON, "5082")  # a new one begins anew
    pins.check_pin(local, PERSON, "5082")
    assert local.pin(PERSON).tries == 0


@pytest.mark.parametrize("pin", ["", "123", "12345678901234", "12a4", "1111", "١٢٣٤"])
def test_bad_pins_are_refused(local, pin):
    with pytest.raises(Refused):
        pins.set_pin(local, Actor(PERSON, frozenset()), PERSON, pin)
    assert not pins.has_pin(local, PERSON)


def test_nobody_without_a_pin_is_asked(local):
    pins.check_pin(local, PERSON, "anything")


def test_an_entry_was_received_with_the_first_run_that_reaches_it(local):
    local.note_received(CHAIN, 10, 1_000)
    local.note_received(CHAIN, 30, 2_000)
    assert local.received_at(CHAIN, 4) == 1_000
    assert local.received_at(CHAIN, 11) == 2_000
    assert local.received_at(CHAIN, 31) is None


def test_a_damaged_file_is_a_known_trouble(tmp_path):
    path = tmp_path / "local.db"
    path.write_bytes(b"not a database" * 100)
    with pytest.raises(KnownError):
        Local(path)
