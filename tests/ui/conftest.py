"""Windows on a real registry: a kitchen of twelve, a desk whose jobs run at once, and answers to what is asked."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QApplication, QDialog, QFileDialog, QInputDialog, QMessageBox

from registry.services import places, settings
from registry.services.drafts import WindowDrafts
from registry.services.problems import Refused
from tests.services.kitchen import DIAL_C, DIAL_F, DIGITAL_F, Kitchen, another, open_kitchen
from tests.ui.real_window import display as display
from ui.app import application
from ui.desk import Desk
from ui.forms import Field
from ui.frame import Frame, dress
from ui.signing_in import here
from ui.work import AtOnce


def _never(*_: object, **__: object) -> None:
    raise AssertionError("a window asks through desk.ask, and never waits in a loop of its own")


@pytest.fixture(scope="session", autouse=True)
def no_modal_loops() -> Iterator[None]:
    """Neither `exec` nor the static calls: guarding one does not cover the others."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(QDialog, "exec", _never)
        for name in ("information", "question", "warning", "critical", "about"):
            patch.setattr(QMessageBox, name, _never)
        for name in ("getOpenFileName", "getOpenFileNames", "getSaveFileName", "getExistingDirectory"):
            patch.setattr(QFileDialog, name, _never)
        for name in ("getText", "getInt", "getDouble", "getItem", "getMultiLineText"):
            patch.setattr(QInputDialog, name, _never)
        yield


@pytest.fixture(scope="session")
def qapp() -> QApplication:
    return application()


@dataclass
class Answers:
    """Gives the answers that a test has laid ready, in order; what was asked is kept in `asked`, with its details."""

    ready: list[Any] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    details: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    suggested: list[str] = field(default_factory=list)

    def _next(self, sentence: str) -> Any:
        self.asked.append(sentence)
        assert self.ready, f"nobody laid an answer ready for: {sentence}"
        return self.ready.pop(0)

    def sure(self, sentence: str, yes: str, then: Callable[[], object], *, details: str = "") -> None:
        self.details.append(details)
        if self._next(sentence):
            then()

    def choose(self, sentence: str, choices: Sequence[tuple[str, str]], then: Callable[[str], object]) -> None:
        answer = self._next(sentence)
        if answer is not None:
            assert answer in dict(choices), f"{answer} is none of {choices}"
            then(answer)

    def fill(
        self,
        title: str,
        fields: Sequence[Field],
        yes: str,
        then: Callable[[dict[str, str]], object],
        *,
        words: str = "",
    ) -> None:
        answer = self._next(title)
        if answer is None:
            return
        assert set(answer) <= {one.name for one in fields}
        try:
            then({one.name: one.value for one in fields} | answer)
        except Refused as refused:
            self.problems += [f"{one.field}: {one.code}" for one in refused.problems]

    def where_to_save(self, title: str, suggested: str, then: Callable[[Path], object]) -> None:
        self.suggested.append(suggested)
        if (answer := self._next(title)) is not None:
            then(answer)

    def which_file(self, title: str, kinds: str, then: Callable[[Path], object]) -> None:
        if (answer := self._next(title)) is not None:
            then(answer)

    def which_folder(self, title: str, then: Callable[[Path], object]) -> None:
        if (answer := self._next(title)) is not None:
            then(answer)


@pytest.fixture(scope="session")
def first_dozen(tmp_path_factory: pytest.TempPathFactory) -> Kitchen:
    """A kitchen with stations, a shift that is on, and twelve thermometers; made once, copied for each test."""
    opened = open_kitchen(tmp_path_factory.mktemp("dozen") / "kitchen")
    stations = [places.add_station(opened.session, opened.admin, opened.site, name) for name in ("Grill", "Prep")]
    day = opened.session.today(places_site(opened).payload)
    every = tuple(range(7))
    places.add_shift(opened.session, opened.admin, opened.site, "Whole day", "00:00", "23:59", every, day)
    for n in range(4):
        opened.enrol(station=stations[n % 2], tag_id=f"DIGI{n}")
    for n in range(2):
        opened.enrol(DIGITAL_F, station=stations[n % 2], tag_id=f"DIGF{n}")
    for n in range(4):
        opened.dial(DIAL_C, station=stations[n % 2], tag_id=f"DIAL{n}", adjusts="nut")
    for n in range(2):
        opened.dial(DIAL_F, station=stations[n % 2], tag_id=f"DIAF{n}", adjusts="nut")
    opened.session.close()
    return opened


def places_site(kitchen: Kitchen) -> Any:
    with kitchen.session.reading() as connection:
        return places.site_named_by_id(connection, kitchen.site)


@pytest.fixture
def kitchen(tmp_path: Path, first_dozen: Kitchen) -> Iterator[Kitchen]:
    opened = another(first_dozen, tmp_path / "kitchen")
    yield opened
    opened.session.close()


def sit_down(desk: Desk, kitchen: Kitchen, role: str = "lead") -> None:
    """Somebody of a role is at work at the desk."""
    actor = {"lead": kitchen.lead, "officer": kitchen.officer, "auditor": kitchen.auditor, "admin": kitchen.admin}[role]
    desk.actor = actor
    desk.person = next(one for one in here(desk) if one.person == actor.person)


@pytest.fixture
def desk(qapp: QApplication, kitchen: Kitchen) -> Iterator[Desk]:
    """The lead's desk in that kitchen, light, English, 100 %."""
    made = Desk(kitchen.home, AtOnce())
    settings.choose(made.local, "theme", "light")
    made.session = kitchen.session
    with kitchen.session.reading() as connection:
        made.group = kitchen.session.group(connection).payload
    made.site = places_site(kitchen)
    made.drafts = WindowDrafts.open(kitchen.home)
    made.ask = Answers()
    sit_down(made, kitchen)
    made.is_open = True
    dress(made)
    yield made
    made.drafts.close()


@pytest.fixture
def answers(desk: Desk) -> Answers:
    assert isinstance(desk.ask, Answers)
    return desk.ask


# Whose tests go to another place at once: for them the page of a shift would be made, read and painted for nobody.
ELSEWHERE = {
    "test_back": "drift",
    "test_certificates_acts": "proof",
    "test_drift": "drift",
    "test_happened": "happened",
    "test_happened_beside": "happened",
    "test_happened_sheet": "happened",
    "test_outlook": "thermometers",
    "test_proof": "proof",
    "test_proof_batch": "proof",
    "test_proof_parts": "proof",
    "test_saving": "thermometers",
    "test_setup": "setup",
    "test_setup_days": "setup",
    "test_setup_own_figures": "setup",
    "test_tags": "tags",
    "test_thermometers": "thermometers",
    "test_thermometers_doing": "thermometers",
    "test_thermometers_enrol": "thermometers",
    "test_thermometers_picture": "thermometers",
}


@pytest.fixture
def frame(desk: Desk, request: pytest.FixtureRequest) -> Iterator[Frame]:
    """The window at that desk, 1280 x 800, shown; on Start of shift, unless the tests of the file go elsewhere."""
    made = Frame(desk)
    made.resize(1280, 800)
    made.show()
    if request.path.stem in ELSEWHERE:
        made.place = ELSEWHERE[request.path.stem]
    else:
        made.go(made.place)
    yield made
    made.hide()
    made.deleteLater()


@pytest.fixture(autouse=True)
def nothing_left(qapp: QApplication) -> Iterator[None]:
    """Each test leaves no window behind."""
    yield
    for widget in QApplication.topLevelWidgets():
        widget.hide()
        widget.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
