"""What a crash left undone is finished before anybody works."""

from dataclasses import replace

import pytest

from registry.services.unfinished import finish_work
from registry.store import comparing, rebuild
from tests.services.kitchen import Kitchen


@pytest.fixture
def half_rebuilt(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    monkeypatch.setattr(rebuild, "STEP", 4)
    assert not rebuild.rebuild(kitchen.session.database, lambda _: False)
    assert rebuild.unfinished(kitchen.session.database)
    return kitchen


def test_a_rebuild_half_way_is_finished(half_rebuilt: Kitchen) -> None:
    database = half_rebuilt.session.database
    finish_work(half_rebuilt.session)
    assert not rebuild.unfinished(database)
    assert comparing.compare(database) == []


def test_where_it_may_only_be_looked_at_nothing_is_written(half_rebuilt: Kitchen) -> None:
    finish_work(replace(half_rebuilt.session, signer=None))
    assert rebuild.unfinished(half_rebuilt.session.database)
