"""The quickly made registry is a real one: whole, folded as a rebuild folds, judged as today's code judges."""

from registry.services import upkeep
from registry.store import comparing
from tests.benchmarks import fill


def test_what_is_filled_is_whole_and_folded_right(tmp_path):
    session, actor, site, found = fill.kitchen(tmp_path / "home", 20)
    fill.fill(session, actor, site, found, 60, fold=True)
    report = upkeep.verify(session, deep=True)
    assert report.good, report.findings
    assert comparing.compare(session.database) == []
    assert list(upkeep.work_out_again(session)) == []
    session.close()
