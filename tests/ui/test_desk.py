"""The desk: doing things and telling why not, settings of this computer, and who sits at it."""

from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from registry.services import importing, pins, settings
from registry.services.problems import KnownError, Problem, Refused
from registry.services.session import Session
from registry.store.local import LOCAL_NAME
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers, sit_down
from ui.desk import Desk
from ui.frame import Frame
from ui.signing_in import ask_who_and_where, here, settle_who_and_where
from ui.work import AtOnce

PIN = "2580"


@pytest.fixture
def told(desk: Desk) -> list[tuple[str, str]]:
    """Every notice, with its details."""
    found: list[tuple[str, str]] = []
    desk.noticed.connect(lambda sentence, details: found.append((sentence, details)))
    return found


Told = list[tuple[str, str]]


def refused() -> None:
    raise Refused(Problem("tag_id", "unknown_tag", {"value": "NOSUCH"}))


def disk_full() -> None:
    raise KnownError("disk_full", path="/kitchen/registry.db")


def our_mistake() -> None:
    raise ZeroDivisionError


# --- doing ---------------------------------------------------------------------------------------------------


def test_what_was_done_is_handed_back_and_nothing_is_told(desk: Desk, told: Told) -> None:
    assert desk.tried(lambda: 7) == 7
    assert told == []


def test_a_refusal_is_told_in_its_own_sentence(desk: Desk, told: Told) -> None:
    assert desk.tried(refused) is None
    assert told == [(desk.say_problem(Problem("tag_id", "unknown_tag", {"value": "NOSUCH"})), "")]
    assert "NOSUCH" in told[0][0]


def test_trouble_is_told_with_its_details_behind_a_press(desk: Desk, told: Told) -> None:
    assert desk.tried(disk_full) is None
    (sentence, details) = told[0]
    assert "/kitchen" not in sentence
    assert details == "path: /kitchen/registry.db"


def test_our_mistakes_are_not_passed_off_as_trouble(desk: Desk, told: Told) -> None:
    for way in (desk.tried, desk.did):
        with pytest.raises(ZeroDivisionError):
            way(our_mistake)
    with pytest.raises(ZeroDivisionError):
        desk.notice_of(ZeroDivisionError())
    assert told == []


def test_after_something_was_done_everybody_reads_again(qtbot: QtBot, desk: Desk) -> None:
    order: list[str] = []
    desk.recorded.connect(lambda: order.append("read again"))
    assert desk.did(lambda: order.append("done"), lambda _result: order.append("then"))
    assert order == ["done", "then", "read again"]


def test_after_a_refusal_nobody_reads_again(desk: Desk, told: Told) -> None:
    order: list[str] = []
    desk.recorded.connect(lambda: order.append("read again"))
    assert not desk.did(refused, lambda _result: order.append("then"))
    assert order == []
    assert len(told) == 1


def test_a_job_that_fails_is_told_where_nobody_else_takes_it(desk: Desk, told: Told) -> None:
    desk.in_background(lambda _progress: disk_full(), our_mistake)
    assert told[0][1] == "path: /kitchen/registry.db"


def test_a_file_is_saved_and_it_is_said_where(desk: Desk, told: Told, tmp_path: Path) -> None:
    assert desk.save(tmp_path / "tags.pdf", b"%PDF")
    assert (tmp_path / "tags.pdf").read_bytes() == b"%PDF"
    assert str(tmp_path / "tags.pdf") in told[0][0]


def test_a_file_that_can_not_be_saved_is_told(desk: Desk, told: Told, tmp_path: Path) -> None:
    assert not desk.save(tmp_path / "no folder" / "tags.pdf", b"%PDF")
    assert len(told) == 1
    assert list(tmp_path.rglob("*.pdf")) == []


# --- settings ------------------------------------------------------------------------------------------------


def test_a_setting_is_chosen_kept_and_drawn(desk: Desk, qtbot: QtBot) -> None:
    assert (desk.language, desk.look.dark, desk.look.zoom) == ("en", False, 1.0)
    for name, value in (("language", "es"), ("theme", "dark"), ("text_size", "150")):
        with qtbot.waitSignal(desk.rebuild):
            desk.choose(name, value)
    assert (desk.language, desk.look.dark, desk.look.zoom) == ("es", True, 1.5)
    again = Desk(desk.home, AtOnce())
    assert (again.setting("language"), again.look) == ("es", desk.look)


def test_whoever_draws_at_a_choice_sees_the_new_one(desk: Desk) -> None:
    seen: list[str] = []
    desk.rebuild.connect(lambda: seen.append(desk.say("frame.put_away")))
    before = desk.say("frame.put_away")
    desk.choose("language", "es")
    assert seen == [desk.say("frame.put_away")] != [before]


def test_what_can_not_be_chosen_is_refused_and_nothing_changes(desk: Desk) -> None:
    with pytest.raises(Refused):
        desk.choose("theme", "purple")
    assert desk.setting("theme") == "light"


def test_a_setting_that_makes_no_sense_counts_as_not_chosen(desk: Desk) -> None:
    desk.local.set_setting("text_size", "9000")
    assert Desk(desk.home, AtOnce()).look.zoom == 1.0


def test_the_unit_is_the_groups_unless_chosen_here(desk: Desk) -> None:
    assert desk.unit == "F"
    desk.choose("unit", "C")
    assert desk.unit == "C"
    desk.choose("unit", "group")
    assert desk.unit == "F"


def test_a_damaged_local_file_hinders_and_is_left_as_it_was(qapp: QApplication, tmp_path: Path) -> None:
    """It holds PINs: going on without them would let anybody sit down as anybody."""
    (tmp_path / LOCAL_NAME).write_bytes(b"no database at all, but some text " * 50)
    desk = Desk(tmp_path, AtOnce())
    assert desk.trouble is not None
    assert desk.look.zoom == 1.0  # it can be told in a window all the same
    assert (tmp_path / LOCAL_NAME).read_bytes() == b"no database at all, but some text " * 50
    (tmp_path / LOCAL_NAME).unlink()
    desk.find_local()
    assert desk.trouble is None
    assert desk.local.path == tmp_path / LOCAL_NAME
    desk.close()


def test_where_nothing_may_be_written_settings_hold_for_this_window(
    qapp: QApplication, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on a read-only disk: what was chosen there is still seen, and what is chosen now goes into a copy."""
    settings.choose(settings.local_file(tmp_path), "language", "es")
    before = (tmp_path / LOCAL_NAME).read_bytes()
    monkeypatch.setattr("ui.desk.os.access", lambda path, _mode: Path(path).parent != tmp_path)
    desk = Desk(tmp_path, AtOnce())
    assert (desk.trouble, desk.language) == (None, "es")
    desk.choose("theme", "dark")
    settings.remember(desk.local, "site", "somewhere")
    assert desk.look.dark
    assert (tmp_path / LOCAL_NAME).read_bytes() == before
    copy = desk.local.path
    desk.close()
    assert not copy.exists()


# --- who ------------------------------------------------------------------------------------------------------


@pytest.fixture
def guarded(desk: Desk, kitchen: Kitchen) -> str:
    """The officer, who has a PIN."""
    pins.set_pin(desk.local, kitchen.officer, kitchen.officer.person, PIN)
    return kitchen.officer.person


def ask(desk: Desk, answers: Answers, person: str, pin: str) -> list[str]:
    """Who works here? What was refused."""
    answers.problems.clear()
    answers.ready = [{"person": person, "pin": pin}]
    ask_who_and_where(desk)
    return list(answers.problems)


def test_with_the_right_pin_one_sits_down(desk: Desk, answers: Answers, guarded: str) -> None:
    assert ask(desk, answers, guarded, PIN) == []
    assert (desk.person.person, desk.actor.may("officer")) == (guarded, True)


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize("pin", ["", "2581", "25800", "0000"])
def test_with_another_pin_nobody_changes_places(desk: Desk, answers: Answers, guarded: str, pin: str) -> None:
    before = desk.person
    assert ask(desk, answers, guarded, pin) == ["pin: wrong"]
    assert (desk.person, desk.actor.person) == (before, before.person)


@pytest.mark.slow
def test_after_ten_wrong_ones_the_right_one_no_longer_helps(
    desk: Desk, answers: Answers, guarded: str, kitchen: Kitchen
) -> None:
    """Until an administrator sets a new one."""
    for _ in range(pins.MOST_TRIES - 1):
        desk.local.count_try(guarded)
    assert ask(desk, answers, guarded, "1111") == ["pin: wrong"]
    assert ask(desk, answers, guarded, PIN) == ["pin: too_many_tries"]
    assert desk.person.person != guarded
    pins.set_pin(desk.local, kitchen.admin, guarded, "1470")
    assert ask(desk, answers, guarded, "1470") == []
    assert desk.person.person == guarded


def test_whom_a_pin_guards_is_asked_at_opening(desk: Desk, guarded: str, answers: Answers) -> None:
    ask(desk, answers, guarded, PIN)
    settle_who_and_where(desk)  # as at the next start
    assert (desk.person.person, desk.may("lead", "officer")) == ("", False)


def test_whoever_worked_here_last_goes_on_without_a_pin(desk: Desk, kitchen: Kitchen, answers: Answers) -> None:
    ask(desk, answers, kitchen.officer.person, "")
    desk.person = here(desk)[0]
    settle_who_and_where(desk)
    assert desk.person.person == kitchen.officer.person
    assert desk.site.subject == kitchen.site


def test_nobody_looks_only(desk: Desk, answers: Answers) -> None:
    assert ask(desk, answers, "", "") == []
    assert not desk.may("lead", "officer", "auditor")


@pytest.mark.parametrize(
    ("role", "leads", "officers"),
    [("lead", True, False), ("officer", False, True), ("auditor", False, False), ("admin", True, True)],
)
def test_who_may_what(desk: Desk, kitchen: Kitchen, role: str, leads: bool, officers: bool) -> None:
    sit_down(desk, kitchen, role)
    assert (desk.may("lead"), desk.may("officer")) == (leads, officers)


def test_who_may_not_is_told_and_nothing_is_recorded(desk: Desk, kitchen: Kitchen, told: Told, frame: Frame) -> None:
    from registry.services import baths

    sit_down(desk, kitchen, "auditor")
    before = kitchen.count()
    new = baths.NewBath(desk.site.subject, "ice_point", "crushed_packed")
    assert not desk.did(lambda: baths.make_bath(desk.session, desk.actor, new))
    assert kitchen.count() == before
    assert frame.notice.isVisible()
    assert frame.notice.sentence.text() == told[0][0]


def test_where_it_may_only_be_looked_at_nobody_may(desk: Desk, kitchen: Kitchen) -> None:
    session: Session = kitchen.reopen(read_only=True)
    desk.session = session
    sit_down(desk, kitchen, "admin")
    assert not desk.may("lead", "officer")


def test_initials_from_an_import_are_nobody_to_sign_in_as(desk: Desk, kitchen: Kitchen) -> None:
    tag = kitchen.tag(kitchen.enrol())
    text = f"tag,date,point,reading,unit,initials\n{tag},2025-11-03,ice,0.2,C,ZZ\n".encode()
    known = [one.initials for one in here(desk)]
    with kitchen.session.reading() as connection:
        plan = importing.check_history(kitchen.session, connection, text)
    importing.record_history(kitchen.session, kitchen.officer, plan)
    assert plan.new_people == ("ZZ",)
    assert [one.initials for one in here(desk)] == known
