"""A first start asks few questions and leaves a registry that is ready, signed and administered."""

import stat
from pathlib import Path
from random import Random

import pytest

from registry.journal import signing
from registry.journal.numbers import entry_number, installation_code
from registry.services import rules, start
from registry.services.problems import Refused
from registry.services.start import FirstStart
from registry.store import keyfile
from registry.store.errors import KnownError
from tests.services.kitchen import EARLY, KEY, MACHINE, Clock, Kitchen, open_kitchen

FIRST_KINDS = (
    ["chain_opened", "installation_accepted", "group_set", "person_set", "person_named"]
    + ["method_set"] * 3
    + ["tolerance_set", "rule_set", "limit_set", "plan_set", "figures_set"]
)


def begin(home: Path, **asked: str) -> Kitchen:
    opened = open_kitchen(home, **asked)
    opened.session.close()
    return opened


def test_it_leaves_one_signed_transaction(any_kitchen: Kitchen) -> None:
    entries = any_kitchen.entries()
    first = entries[: len(FIRST_KINDS)]
    assert [one.kind for one in first] == FIRST_KINDS
    assert {one.by for one in first} == {"system"}
    assert [one.signature is not None for one in first] == [False] * (len(first) - 1) + [True]
    assert any_kitchen.verify().good


def test_the_first_chain_accepts_itself_for_the_whole_group(kitchen: Kitchen) -> None:
    opened, accepted, group = kitchen.entries()[:3]
    chain = signing.public_bytes(KEY).hex()
    assert opened.payload["opened_because"] == "first_start"
    assert "demo" not in opened.payload
    assert accepted.payload == {"accepted": chain, "group": group.payload["group"], "whole_group": True}
    assert opened.number == entry_number(installation_code(signing.public_bytes(KEY)), 0)


# FDA Food Code 4-203.11 and 4-203.12: the two units are separate figures.
@pytest.mark.parametrize(
    ("tolerance_class", "scale", "tolerance"),
    [
        ("food", "C", "1 dC"),
        ("food", "dual", "1 dC"),
        ("food", "F", "2 dF"),
        ("ambient_water", "C", "1.5 dC"),
        ("ambient_water", "dual", "1.5 dC"),
        ("ambient_water", "F", "3 dF"),
    ],
)
def test_tolerances_of_the_food_code(kitchen: Kitchen, tolerance_class: str, scale: str, tolerance: str) -> None:
    with kitchen.session.reading() as connection:
        in_force = rules.rules_in_force(connection, kitchen.site)
    found = in_force.tolerance(tolerance_class, scale)
    assert found is not None
    assert found.tolerance == tolerance
    assert found.place.startswith("4-203.1")
    assert (in_force.decision, in_force.rule.repeats) == ("simple", 2)


def test_the_country_brings_the_rest(tmp_path: Path) -> None:
    (group,) = open_kitchen(tmp_path / "us").entries("group_set")
    assert (group.payload["unit"], group.payload["paper"], group.payload["region"]) == ("F", "letter", "en_US")
    (group,) = open_kitchen(tmp_path / "au", country="AU").entries("group_set")
    assert (group.payload["unit"], group.payload["paper"], group.payload["jurisdiction"]) == ("C", "a4", "au")


def test_answers_go_before_the_country(tmp_path: Path) -> None:
    opened = open_kitchen(tmp_path / "ny", jurisdiction="us_ny", language="es", unit="C", plan="risk_based")
    (group,) = opened.entries("group_set")
    assert {key: group.payload[key] for key in ("jurisdiction", "language", "unit")} == {
        "jurisdiction": "us_ny",
        "language": "es",
        "unit": "C",
    }
    with opened.session.reading() as connection:
        in_force = rules.rules_in_force(connection)
    tolerance = in_force.tolerance("food", "dual")
    assert tolerance is not None
    assert tolerance.tolerance == "1.1 dC"  # New York State, 10 NYCRR 14-4.91
    assert in_force.plan.plan == "risk_based"


def test_what_is_missing_or_unknown_is_named_and_nothing_is_made(tmp_path: Path) -> None:
    asked = FirstStart(" ", "XX", "Ada", " ", jurisdiction="mars", language="tlh", plan="never")  # type: ignore[arg-type]
    with pytest.raises(Refused) as refused:
        start.first_start(tmp_path / "kitchen", asked)
    assert {(one.field, one.code) for one in refused.value.problems} == {
        ("group_name", "empty"),
        ("administrator", "empty"),
        ("country", "unknown"),
        ("jurisdiction", "unknown"),
        ("language", "unknown"),
        ("plan", "unknown"),
    }
    assert not (tmp_path / "kitchen").exists()


def test_a_second_one_in_the_same_folder_leaves_the_first_alone(tmp_path: Path) -> None:
    first = begin(tmp_path)
    with pytest.raises(KnownError, match="exists_already"):
        begin(tmp_path)
    assert first.reopen().why_read_only is None
    assert first.verify().good


def test_a_key_without_its_database_is_never_overwritten(tmp_path: Path) -> None:
    begin(tmp_path)
    for name in ("registry.db", "registry.key.marker"):
        (tmp_path / name).unlink()
    key = (tmp_path / "registry.key").read_bytes()
    with pytest.raises(KnownError, match="key_exists"):
        begin(tmp_path)
    assert (tmp_path / "registry.key").read_bytes() == key
    assert not (tmp_path / "registry.db").exists()  # so that the folder is as it was found


def test_the_key_is_the_owners_alone_and_marked(tmp_path: Path) -> None:
    opened = begin(tmp_path)
    assert stat.S_IMODE((tmp_path / "registry.key").stat().st_mode) == 0o600
    marker = keyfile.Marker.load(tmp_path / "registry.key.marker")
    assert marker is not None
    opened.reopen()
    last = opened.entries()[-1]
    assert (marker.machine, marker.seq, marker.hash.hex()) == (MACHINE, last.seq, last.hash)


def test_a_demo_says_so_in_entry_0(tmp_path: Path) -> None:
    session, _ = start.first_start(
        tmp_path / "demo",
        FirstStart("Demo group", "US", "Ada", "AM"),
        clock=Clock(EARLY),
        random=Random(1).randbytes,
        demo=True,
    )
    assert session.demo
    session.close()
    real = open_kitchen(tmp_path / "real")
    assert not real.session.demo
    real.session.close()


def test_the_administrator_is_named_beside_the_journal(kitchen: Kitchen) -> None:
    assert kitchen.admin.may("lead", "officer")
    texts = "".join(one.text for one in kitchen.entries())
    assert "Moreno" not in texts
