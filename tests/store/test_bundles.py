"""Journals that travel: taken once, taken again, from two sides, with a key that was used in two places."""

import shutil
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from sqlalchemy import select

from registry.records.kinds import KINDS
from registry.store import bundles, checking, comparing, rebuild, tables, transaction
from registry.store.database import open_database
from tests.store.databases import append, create, deliver_mixed, folded
from tests.store.kitchen import PERSON, Kitchen, T, furnished, opened
from tests.store.story import Story, id_of
from tests.store.tampering import unguarded


def url(folder: Path, name: str) -> str:
    return f"sqlite:///{folder / name}.db"


def report_incident(kitchen: Kitchen, number: int, what: str = "bent") -> None:
    kitchen.record(("incident_reported", {"thermometer": T, "incident": id_of("i", number), "what": what}))


def copied(kitchen: Kitchen, name: str) -> Kitchen:
    """The folder copied, key and all, as nobody should."""
    kitchen.database.close()
    shutil.copyfile(kitchen.path, target := kitchen.path.with_name(name))
    kitchen.database = open_database(kitchen.path)
    return replace(kitchen, database=open_database(target))


class StopAt:
    """Stops at so many calls: the first two are of verifying the source."""

    def __init__(self, calls: int) -> None:
        self.left = calls

    def __call__(self, _: int) -> bool:
        self.left -= 1
        return self.left > 0


def everything(kitchen: Kitchen) -> dict[str, list[object]]:
    with kitchen.database.reading() as connection:
        return {
            table.name: sorted(connection.execute(select(*table.c)).all(), key=repr)
            for table in (tables.documents, tables.detached)
        }


def test_taking_brings_all_and_taking_again_nothing(database_url: str, tmp_path: Path) -> None:
    here, there = opened(database_url), furnished(url(tmp_path, "there"), 1)
    taken = bundles.take(here.database, there.database)
    assert taken.finished
    assert (taken.entries, taken.documents, taken.alarms) == (taken.report.entries, 1, [])
    assert [head.chain for head in taken.heads] == [there.chain]
    assert everything(here) == everything(there)
    assert checking.verify(here.database, deep=True).good
    again = bundles.take(here.database, there.database)
    assert (again.finished, again.entries, again.documents) == (True, 0, 0)
    report_incident(there, 90)
    assert bundles.take(here.database, there.database).entries == 1
    here.database.close()
    there.database.close()


def test_two_that_exchange_end_up_with_the_same(tmp_path: Path) -> None:
    story = Story(Random(11), 120)
    one, two = create(url(tmp_path, "one")), create(url(tmp_path, "two"))
    deliver_mixed(one, story, Random(1))
    assert bundles.take(two, one).finished
    assert folded(one) == folded(two)
    one.close()
    two.close()


def test_a_damaged_bundle_changes_nothing(tmp_path: Path) -> None:
    here, there = opened(url(tmp_path, "here")), furnished(url(tmp_path, "there"), 1)
    with unguarded(there.path) as connection:
        connection.execute("UPDATE entries SET text = replace(text, '0.4', '0.3') WHERE kind = 'check_recorded'")
    before = folded(here.database)
    taken = bundles.take(here.database, there.database)
    assert not taken.finished
    assert {one.code for one in taken.report.findings} == {"text_changed"}
    assert folded(here.database) == before
    assert everything(here) == {"documents": [], "detached": []}
    here.database.close()
    there.database.close()


def test_a_real_group_refuses_demo_chains(tmp_path: Path) -> None:
    here, demo = opened(url(tmp_path, "here")), furnished(url(tmp_path, "demo"), 1, demo=True)
    taken = bundles.take(here.database, demo.database)
    assert taken.refused == [demo.chain]
    assert taken.entries == 0
    empty = create(url(tmp_path, "empty"))
    assert bundles.take(empty, demo.database).entries > 0
    for one in (here.database, demo.database, empty):
        one.close()


def test_a_key_used_in_two_places_is_an_alarm_and_both_are_kept(tmp_path: Path) -> None:
    first = furnished(url(tmp_path, "first"))
    second = copied(first, "second.db")
    report_incident(first, 201, "dropped")
    report_incident(first, 202, "bent")
    report_incident(second, 203, "bumped")

    taken = bundles.take(first.database, second.database)
    (alarm,) = taken.alarms
    assert (alarm.chain, alarm.branch, taken.entries) == (first.chain, 1, 1)
    report = checking.verify(first.database, deep=True)
    assert [(one.code, one.seq) for one in report.findings] == [("branched", alarm.seq)]
    whats = {row[4] for row in folded(first.database)["events"]}
    assert {"incident_reported"} <= {row[3] for row in folded(first.database)["events"]}, whats

    again = bundles.take(first.database, second.database)
    assert (again.entries, again.alarms) == (0, [])
    report_incident(second, 204)
    grown = bundles.take(first.database, second.database)
    assert (grown.entries, grown.alarms) == (1, [])

    # The other way round the trunk is another, what is folded is the same.
    assert bundles.take(second.database, first.database).entries == 2
    assert folded(first.database) == folded(second.database)
    third = create(url(tmp_path, "third"))
    assert len(bundles.take(third, first.database).alarms) == 1
    assert folded(third) == folded(first.database)
    assert rebuild.rebuild(third)
    assert folded(third) == folded(first.database)
    for one in (first.database, second.database, third):
        one.close()


def test_a_branch_grows_branches_of_its_own(tmp_path: Path) -> None:
    first = furnished(url(tmp_path, "first"))
    second = copied(first, "second.db")
    report_incident(first, 201)
    report_incident(second, 202)
    third = copied(second, "third.db")
    report_incident(second, 203)
    report_incident(third, 204)
    for one in (second, third):
        bundles.take(first.database, one.database)
    report = checking.verify(first.database)
    assert [one.code for one in report.findings] == ["branched", "branched"]
    assert len(report.heads) == 3
    other = create(url(tmp_path, "other"))
    for one in (third, second, first):
        bundles.take(other, one.database)
    assert folded(other) == folded(first.database)
    assert comparing.compare(other) == []
    for database in (first.database, second.database, third.database, other):
        database.close()


@pytest.mark.parametrize("number", [0, 1])
def test_a_chain_that_differs_from_its_entry_0_on_is_kept_too(tmp_path: Path, number: int) -> None:
    first, second = opened(url(tmp_path, "first")), opened(url(tmp_path, "second"), name="Another kitchen")
    report_incident((first, second)[number], 5)
    taken = bundles.take(first.database, second.database)
    assert [(one.seq, one.branch) for one in taken.alarms] == [(0, 1)]
    assert [one.code for one in checking.verify(first.database).findings] == ["branched"]
    assert bundles.take(first.database, second.database).entries == 0
    first.database.close()
    second.database.close()


def test_an_erased_name_is_not_brought_back(tmp_path: Path) -> None:
    here, there = opened(url(tmp_path, "here")), furnished(url(tmp_path, "there"), 1)
    bundles.take(here.database, there.database)
    (held,) = everything(here)["detached"]
    with transaction.appending(here.database, here.signer, here.clock, PERSON) as entries:
        entries.erase_detached([held[0]])
        entries.add(KINDS["person_erased"].from_payload({"person": PERSON, "hashes": [held[0]]}))
    assert bundles.take(here.database, there.database).finished
    assert everything(here)["detached"] == []
    assert bundles.take(there.database, here.database).finished
    assert everything(there)["detached"] == []
    here.database.close()
    there.database.close()


def test_stopped_and_taken_again_it_is_whole_and_signed_at_each_stop(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bundles, "STEP", 1)
    here, there = opened(url(tmp_path, "here")), furnished(url(tmp_path, "there"), 1)
    stops = 0
    while not bundles.take(here.database, there.database, progress=StopAt(3)).finished:
        assert checking.verify(here.database).good
        stops += 1
        assert stops < 100
    assert stops > 5
    assert checking.verify(here.database, deep=True).good
    here.database.close()
    there.database.close()


def test_an_entry_that_breaks_the_canonical_form_is_not_taken(tmp_path: Path) -> None:
    """It is signed and linked, so that only reading it shows; what came before it is kept."""
    story = Story(Random(2), 10, chains=1, odd=False)
    there, here = create(url(tmp_path, "there")), create(url(tmp_path, "here"))
    chain = story.chains[0]
    append(there, chain, chain.entries)
    last = chain.entries[-1]
    text = last.text.replace(b'"at":', b'"at": ')
    chain.entries[-1] = replace(last, text=text, hash=bundles.journal_entry.text_hash(text))
    spoilt = chain.entries[-1]
    assert there.path is not None
    with unguarded(there.path) as connection:
        values = (text.decode(), spoilt.hash, chain.sign(spoilt), spoilt.seq)
        connection.execute("UPDATE entries SET text = ?, hash = ?, signature = ? WHERE seq = ?", values)
    taken = bundles.take(here, there)
    assert not taken.finished
    assert [(one.code, one.seq) for one in taken.report.findings] == [("text_refused", spoilt.seq)]
    there.close()
    here.close()
