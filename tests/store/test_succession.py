"""A new chain names the one that it carries on, and who vouches for that."""

from pathlib import Path
from typing import Any

import pytest

from registry.journal import signing
from registry.store import checking, reading, succession, transaction
from registry.store.succession import OldHead
from registry.store.transaction import Signer
from tests.store.databases import append
from tests.store.kitchen import Kitchen, opened
from tests.store.story import PERSON, Chain, key


def succeeded(kitchen: Kitchen, old_key: Any, because: str = "moved") -> Signer:
    with kitchen.database.reading() as connection:
        old = succession.old_head(connection, 1)
    about = {"name": "Harbour", "program": "1", "by": PERSON, "clock": kitchen.clock}
    return succession.succeed(kitchen.database, old, old_key, key(8), because, **about)


def kinds(kitchen: Kitchen, signer: Signer) -> list[str]:
    with kitchen.database.reading() as connection:
        return [raw[1].decode() for raw in reading.entries(connection, signer.chain_no)]


def first(kitchen: Kitchen, signer: Signer) -> dict[str, Any]:
    with kitchen.database.reading() as connection:
        (chain,) = (one for one in reading.chains(connection) if one.chain_no == signer.chain_no)
        payload = reading.first_payload(connection, chain)
    assert payload is not None
    return payload


def test_with_the_old_keys_word_it_has_the_old_scope(database_url: str) -> None:
    kitchen = opened(database_url)
    with kitchen.database.reading() as connection:
        head = transaction.head(connection, 1)
    signer = succeeded(kitchen, key(0))
    assert kinds(kitchen, signer) == ["chain_opened", "installation_accepted"]
    payload = first(kitchen, signer)
    assert payload["opened_because"] == "moved"
    assert payload["predecessor"] == {"chain": kitchen.chain, "seq": head.seq, "hash": head.hash}
    old_chain, new_chain, word = (
        bytes.fromhex(one) for one in (kitchen.chain, signer.chain, payload["old_key_signature"])
    )
    assert signing.succession_holds(old_chain, new_chain, head.seq, bytes.fromhex(head.hash), word)
    assert checking.verify(kitchen.database, deep=True).good
    kitchen.database.close()


def test_without_it_nobody_has_accepted_it(database_url: str) -> None:
    kitchen = opened(database_url, demo=True)
    signer = succeeded(kitchen, None, "lost_key")
    assert kinds(kitchen, signer) == ["chain_opened"]
    assert "old_key_signature" not in first(kitchen, signer)
    assert first(kitchen, signer)["demo"] is True
    assert checking.verify(kitchen.database).good
    kitchen.database.close()


def test_another_key_gives_no_word_and_reasons_are_known(tmp_path: Path) -> None:
    kitchen = opened(f"sqlite:///{tmp_path / 'registry.db'}")
    with pytest.raises(ValueError, match="predecessor's own key"):
        succeeded(kitchen, key(5))
    with pytest.raises(ValueError, match="reasons"):
        succeeded(kitchen, key(0), "first_start")
    with pytest.raises(ValueError, match="key of its own"):
        succession.succeed(
            kitchen.database,
            OldHead(kitchen.chain, 1, "0" * 64),
            key(0),
            key(0),
            "moved",
            name="Harbour",
            program="1",
            by=PERSON,
            clock=kitchen.clock,
        )
    assert checking.verify(kitchen.database).good
    assert len(checking.verify(kitchen.database).heads) == 1
    kitchen.database.close()


@pytest.mark.parametrize(
    ("changed", "codes"),
    [
        ({"old_key_signature": "00" * 64}, {"succession_bad"}),
        ({"hash": "11" * 32}, {"succession_bad", "predecessor_differs"}),
        ({"seq": 0}, {"succession_bad", "predecessor_differs"}),
    ],
)
def test_a_false_claim_to_carry_on_is_named(tmp_path: Path, changed: dict[str, Any], codes: set[str]) -> None:
    kitchen = opened(f"sqlite:///{tmp_path / 'registry.db'}")
    signer = succeeded(kitchen, key(0))
    payload = first(kitchen, signer)
    word = changed.get("old_key_signature", payload["old_key_signature"])
    told = {name: value for name, value in changed.items() if name in ("hash", "seq")}
    claim = Chain(4)
    false = payload | {"old_key_signature": word, "predecessor": payload["predecessor"] | told}
    claim.write("chain_opened", false, at=5)
    append(kitchen.database, claim, claim.entries)
    found = [one for one in checking.verify(kitchen.database).findings if one.chain == claim.chain]
    assert {one.code for one in found} == codes
    kitchen.database.close()
