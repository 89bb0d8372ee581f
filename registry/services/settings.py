"""Settings of this computer: declared once, with what may be chosen, and kept in the local file."""

import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path

from registry.services.problems import KnownError, refuse
from registry.store.local import LOCAL_NAME, Local

BY_SYSTEM = "system"
# Labels: usual sizes of rolls, one of one's own, and sheets by their generic sizes.
ROLLS, OWN_ROLL = ("50x25", "38.1x21.2", "63.5x37"), "roll"
SHEETS = (
    "a4_38.1x21.2",
    "a4_48.5x25.4",
    "a4_52.5x29.7",
    "a4_63.5x38.1",
    "a4_70x37",
    "a4_99.1x38.1",
    "letter_44.4x12.7",
    "letter_50.8x25.4",
    "letter_66.7x25.4",
    "letter_101.6x25.4",
    "letter_101.6x50.8",
)


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
        Setting("label", (*ROLLS, OWN_ROLL, *SHEETS), "50x25"),
        Setting("dots", ("203", "300", "600"), "300"),
        Setting("code", ("qr", "datamatrix", "code128"), "qr"),
    )
}


@dataclass(frozen=True, slots=True)
class Figure:
    """One number, in millimetres, with the least and the most that it may be; `setting.NAME` has its sentence."""

    name: str
    least: Decimal
    most: Decimal
    default: Decimal


FIGURES: Mapping[str, Figure] = {
    one.name: one
    for one in (
        Figure("roll_width", Decimal(20), Decimal(110), Decimal(50)),
        Figure("roll_height", Decimal(9), Decimal(160), Decimal(25)),
        Figure("trim_right", Decimal(-5), Decimal(5), Decimal(0)),
        Figure("trim_down", Decimal(-5), Decimal(5), Decimal(0)),
    )
}
# What is remembered without asking: who worked in the window last, where, and the last place; of commands the bath
# named last, and the question that was asked last.
REMEMBERED = ("person", "site", "columns", "bath", "asked")


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


def figure(local: Local, name: str) -> Decimal:
    """The number that is kept, else the default; what is none, or out of its bounds, counts as not kept."""
    declared, kept = FIGURES[name], local.setting(name)
    try:
        value = Decimal(kept) if kept else declared.default
    except InvalidOperation:
        return declared.default
    within = value.is_finite() and declared.least <= value <= declared.most
    return value if within else declared.default


def keep_figure(local: Local, name: str, value: Decimal) -> None:
    """Keep a number of millimetres."""
    declared = FIGURES[name]
    if not declared.least <= value <= declared.most:
        raise refuse(name, "out_of_bounds", value=str(value), least=str(declared.least), most=str(declared.most))
    local.set_setting(name, str(value))


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
