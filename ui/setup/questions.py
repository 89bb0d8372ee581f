"""The questions about a site and a shift, the same at the first start and later."""

import re
from collections.abc import Callable, Sequence
from datetime import date

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from registry import resources
from registry.quantity import Length, NotAReading
from registry.records.places import ShiftSet, SiteSet
from registry.services.places import WEEKDAYS, NewSite
from registry.services.problems import Problem, Refused, refuse
from ui import theme
from ui.forms import CHOICE, DAY, FEW, LONG, Field
from ui.parts import Words
from ui.theme import Look
from ui.tick import Tick

Say = Callable[..., str]
SOURCES = tuple(one.partition(".")[2] for one in resources.sentences("en", "pressure_source"))


def site_fields(say: Say, zones: Sequence[tuple[str, str]], zone: str, site: SiteSet | None = None) -> list[Field]:
    """Name, letters, zone, elevation with its unit, pressure source; filled in with what stands."""
    height = Length.from_text(site.elevation) if site else None
    sources = tuple((one, say(f"pressure_source.{one}")) for one in SOURCES)
    return [
        Field("name", say("setup.site_name"), value=site.name if site else ""),
        Field("letters", say("setup.letters"), value=site.letters if site else "", hint=say("setup.letters_hint")),
        Field("zone", say("setup.zone"), CHOICE, site.zone if site else zone, tuple(zones)),
        Field(
            "elevation",
            say("setup.elevation"),
            value=f"{height.value:f}" if height else "",
            hint=say("setup.elevation_hint"),
        ),
        Field("elevation_unit", say("setup.elevation_unit"), FEW, height.unit if height else "m", _units(say)),
        Field(
            "pressure_source",
            say("setup.pressure_source"),
            CHOICE,
            site.pressure_source if site else "elevation",
            sources,
            hint=say("setup.pressure_source_hint"),
        ),
    ]


def address_field(say: Say, address: str = "") -> Field:
    """Where mail reaches the site; on several lines as on a letter, empty where nobody wants it on paper."""
    return Field("address", say("setup.address"), LONG, address, hint=say("setup.address_hint"))


def read_address(typed: str) -> str:
    """The lines as one, with a comma between them: so it stands on paper, after the name of the site."""
    lines = [line.strip().rstrip(",") for line in typed.splitlines()]
    return ", ".join(line for line in lines if line)


def _units(say: Say) -> tuple[tuple[str, str], ...]:
    return (("m", say("setup.metres")), ("ft", say("setup.feet")))


def read_site(values: dict[str, str]) -> NewSite:
    """What was filled in, as a site; refused where the elevation is no number. The first start asks no address."""
    return NewSite(
        values["name"],
        values["letters"].strip(),
        values["zone"],
        read_elevation(values["elevation"], values["elevation_unit"]),
        values["pressure_source"],
        read_address(values.get("address", "")),
    )


def read_elevation(typed: str, unit: str) -> Length:
    """`650`, in the unit that is chosen; a unit typed behind it goes before that."""
    match = re.fullmatch(r"(.*?)\s*(m|ft)?", typed.strip())
    assert match is not None
    if not match[1]:
        raise refuse("elevation", "empty")
    try:
        return Length.typed(match[1], "ft" if (match[2] or unit) == "ft" else "m")
    except (NotAReading, ValueError):
        raise refuse("elevation", "not_a_length", value=typed) from None


def shift_fields(say: Say, shift: ShiftSet | None = None, from_day: date | None = None) -> list[Field]:
    """Name, from, to; with a first day where one is asked for."""
    fields = [
        Field("shift", say("setup.shift_name"), value=shift.name if shift else ""),
        Field("start", say("setup.shift_start"), value=shift.start if shift else "", hint=say("setup.time_hint")),
        Field("end", say("setup.shift_end"), value=shift.end if shift else "", hint=say("setup.end_hint")),
    ]
    if from_day is not None:
        fields.append(Field("from_day", say("setup.from_day"), DAY, from_day.isoformat()))
    return fields


def read_time(typed: str) -> str:
    """`6:00`, `6.00` and `0600` are 06:00; what is no time of day stays as typed, and is refused as such."""
    match = re.fullmatch(r"(\d{1,2})[:.h]?(\d{2})", typed.strip())
    return f"{int(match[1]):02d}:{match[2]}" if match else typed.strip()


def is_time(typed: str) -> bool:
    return re.fullmatch("([01][0-9]|2[0-3]):[0-5][0-9]", typed) is not None


class Days(QWidget):
    """The days of the week on which a shift is worked."""

    changed = Signal()

    def __init__(self, look: Look, say: Say, chosen: Sequence[int] = tuple(range(7))) -> None:
        super().__init__()
        label, self._problem = Words(look, say("setup.weekdays"), 14, colour="muted"), Words(look, "", 14, bold=True)
        self._problem.set_colour("caution")
        self._problem.hide()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 8)
        grid.setSpacing(4)
        grid.addWidget(label, 0, 0, 1, 4)
        self.boxes = []
        for n, code in enumerate(WEEKDAYS):
            box = Tick(look, say(f"cli.weekday.{code}"))
            box.setAccessibleName(f"{say('setup.weekdays')}: {box.text()}")
            box.setMinimumHeight(theme.DESK)
            box.setChecked(n in chosen)
            box.toggled.connect(self._was_changed)
            self.boxes.append(box)
            grid.addWidget(box, 1 + n // 4, n % 4)
        grid.addWidget(self._problem, 3, 0, 1, 4)

    def _was_changed(self) -> None:
        self._problem.hide()
        self.changed.emit()

    def chosen(self) -> tuple[int, ...]:
        return tuple(n for n, box in enumerate(self.boxes) if box.isChecked())

    def choose(self, days: Sequence[int]) -> None:
        for n, box in enumerate(self.boxes):
            box.setChecked(n in days)

    def show_problems(self, problems: Sequence[Problem], say: Callable[[Problem], str]) -> None:
        mine = [say(one) for one in problems if one.field == "weekdays"]
        self._problem.say(" ".join(mine))
        self._problem.setVisible(bool(mine))


def missing(values: dict[str, str], *names: str) -> list[Problem]:
    """Those of the fields that are still empty."""
    return [Problem(name, "empty") for name in names if not values[name].strip()]


def problems_of(action: Callable[[], object]) -> list[Problem]:
    """What stands against reading what was filled in."""
    try:
        action()
    except Refused as refused:
        return list(refused.problems)
    return []
