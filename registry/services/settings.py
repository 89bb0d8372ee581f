"""Settings of this computer: declared once, with what may be chosen, and kept in the local file."""

import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from registry.services.problems import KnownError, refuse
from registry.store.local import LOCAL_NAME, Local

BY_SYSTEM = "system"


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting; its name and each of its choices have a sentence (`setting.NAME`, `setting.NAME_CHOICE`)."""

    name: str
    choices: tuple[str, ...]
    default: str


SETTINGS: Mapping[str, Setting] = {
    one.name: one
    for one in (
        Setting("language", ("group", "en", "es"), "group"),
        Setting("theme", (BY_SYSTEM, "light", "dark"), BY_SYSTEM),
        Setting("text_size", ("100", "125", "150", "200"), "100"),
        Setting("unit", ("group", "C", "F"), "group"),
        Setting("number_pad", ("small_window", "always", "never"), "small_window"),
        Setting("paper", ("group", "a4", "letter"), "group"),
        Setting("label", ("50x25", "38.1x21.2", "63.5x37"), "50x25"),
    )
}
# What the window remembers without asking: who worked here last, where, and the last place.
REMEMBERED = ("person", "site", "columns")


def default_home() -> Path:
    """The folder for this user's data."""
    data = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(data) / "thermometer-registry"


def language_of_system() -> str:
    """What help and the first sentences are said in before a registry is open."""
    from registry import resources  # late: colours are looked up before the first paint, sentences are not

    named = os.environ.get("LC_ALL") or os.environ.get("LC_MESSAGES") or os.environ.get("LANG") or ""
    return named[:2] if named[:2] in resources.languages() else "en"


def local_file(home: Path) -> Local:
    """The local file beside a registry; made where it is missing."""
    home.mkdir(parents=True, exist_ok=True)
    return Local(home / LOCAL_NAME)


def setting(local: Local, name: str) -> str:
    """What is chosen, else the default; a value that is none of the choices counts as not chosen."""
    declared, kept = SETTINGS[name], local.setting(name)
    return kept if kept in declared.choices else declared.default


def choose(local: Local, name: str, value: str) -> None:
    """Choose a value of a setting."""
    if value not in SETTINGS[name].choices:
        raise refuse(name, "choose", value=value, choices=", ".join(SETTINGS[name].choices))
    local.set_setting(name, value)


def remembered(local: Local, name: str) -> str | None:
    return local.setting(f"last.{_known(name)}")


def remember(local: Local, name: str, value: str) -> None:
    """A convenience: where a full disk does not take it, work goes on."""
    with suppress(KnownError):
        local.set_setting(f"last.{_known(name)}", value)


def _known(name: str) -> str:
    if name not in REMEMBERED:
        raise KeyError(name)
    return name
