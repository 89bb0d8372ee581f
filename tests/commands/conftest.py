"""One kitchen is set up in a run; each test gets its own copy of the folder."""

import shutil
from pathlib import Path

import pytest

from registry.services import clock
from tests.commands.desk import ZONE, Clock, Kitchen, instant


@pytest.fixture(autouse=True)
def _no_language_or_name_of_this_computer(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for name in ("LC_ALL", "LC_MESSAGES", "LANG", "THERMOMETER_REGISTRY_AS"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture(scope="session")
def set_up(tmp_path_factory: pytest.TempPathFactory) -> Kitchen:
    """Two people, one site with a shift, three dials in °F and nine digitals in °C."""
    kitchen = Kitchen(tmp_path_factory.mktemp("kitchen") / "home", Clock(instant("2026-03-02 08:00")))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(clock, "now_us", kitchen.clock)
        start = ("start", "--group", "Wharf Kitchens", "--country", "IE", "--name", "Ada Reed", "--initials", "AR")
        kitchen.done(*start)
        kitchen.done("site", "add", "Quay", "--letters", "KI", "--zone", ZONE, "--elevation", "12 m")
        kitchen.done("station", "add", "Grill")
        kitchen.done("shift", "add", "Early", "06:00", "14:00")
        for _ in range(3):
            said = kitchen.json("enrol", "bimetal_stem", "--scale", "F:2:0:220", "--station", "Grill")
            kitchen.tags.append(said["tag_id"])
        for n in range(9):
            said = kitchen.json(
                "enrol", "thermistor_probe", "--scale", "C:0.1:-40:150", "--maker", "Brisa", "--serial", f"7{n:03d}",
                "--adjusts", "reset",
            )  # fmt: skip
            kitchen.tags.append(said["tag_id"])
        # The last, since from then on each command says who gives it.
        kitchen.done("person", "add", "Luis Gil", "--initials", "LG", "--role", "lead")
    return kitchen


@pytest.fixture
def kitchen(set_up: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    """The next morning, at the start of the early shift; Ada Reed gives the commands."""
    home = tmp_path / "home"
    shutil.copytree(set_up.home, home)
    own = Kitchen(home, Clock(instant("2026-03-03 06:10")), list(set_up.tags))
    monkeypatch.setattr(clock, "now_us", own.clock)
    monkeypatch.setenv("THERMOMETER_REGISTRY_AS", "AR")
    return own
