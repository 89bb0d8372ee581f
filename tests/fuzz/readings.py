"""Readings, numbers, days, tag ids and entry numbers as people type them: taken as they were meant, or refused."""

import tempfile
from collections.abc import Callable
from contextlib import suppress
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any, get_args

from registry.journal.numbers import entry_number, normal_tag_id, read_entry_number, tag_id_given, valid_tag_id
from registry.quantity import Length, NotAReading, Pressure, PressureUnit, Reading, Unit, parse_number, parse_reading
from registry.services import checks, import_cells, mend, thermometers, typed
from registry.services.import_cells import BadCell
from registry.services.problems import Refused
from registry.services.session import day_at
from registry.store import queries
from tests.fuzz import driving
from tests.fuzz.typing_errors import number, spoilt, typed_number
from tests.services.kitchen import DAY_US, DIAL_C, DIAL_F, DIGITAL_C, DIGITAL_F, TUESDAY, ZONE, Kitchen, open_kitchen

NOT_KEPT = "\N{MINUS SIGN}"
DECIMALS = {"Pa": 2, "hPa": 2, "mbar": 2, "kPa": 3, "mmHg": 2, "inHg": 3}


def meant(text: str, whole: int, decimals: int) -> str | None:
    """The digits that a text means, read letter by letter as another way than the program's; None where it is none."""
    text = text.strip().replace(NOT_KEPT, "-")
    sign = "-" if text[:1] == "-" else ""
    before, mark, after = _split(text.removeprefix("-"))
    good = all(letter in "0123456789" for letter in before + after)
    if not (good and 1 <= len(before) <= whole and (not mark or 1 <= len(after) <= decimals)):
        return None
    return f"{sign}{before.lstrip('0') or '0'}{'.' if mark else ''}{after}"


def _split(text: str) -> tuple[str, str, str]:
    """At the first point or comma."""
    place = min((text.find(mark) for mark in ".," if mark in text), default=len(text))
    return text[:place], text[place : place + 1], text[place + 1 :]


def value_of(digits: str) -> Fraction:
    """The value of plain digits by whole numbers alone."""
    negative, (before, _, after) = digits.startswith("-"), _split(digits.removeprefix("-"))
    found = Fraction(int(before + after), 10 ** len(after))
    return -found if negative else found


class Typist:
    """Types into every field of a kitchen that stays as it is, and takes readings in it."""

    def __init__(self, kitchen: Kitchen) -> None:
        self.kitchen = kitchen
        self.thermometers = [
            *(kitchen.enrol(*scales) for scales in ((DIGITAL_C,), (DIGITAL_F,), (DIGITAL_C, DIGITAL_F))),
            *(kitchen.dial(scale) for scale in (DIAL_C, DIAL_F)),
        ]
        self.baths = [kitchen.ice(), kitchen.boil()]
        self.tags = [kitchen.tag(one) for one in self.thermometers]
        self.number = kitchen.entries()[-1].number

    def case(self, random: Random) -> str:
        """Twenty texts in the small fields, then a reading recorded."""
        for _ in range(20):
            random.choice(SMALL)(self, random)
        return self.reading(random)

    # --- readings ---------------------------------------------------------------------------------------------

    def reading(self, random: Random) -> str:
        unit, text = random.choice(get_args(Unit)), random.choice((typed_number, likely))(random)
        try:
            shown = parse_reading(text, unit)
        except NotAReading as refused:
            shown, code = None, refused.code
        digits = meant(text, 4, 3)
        assert (shown is None) == (digits is None), text
        if shown is None:
            assert code in ("empty", "group_separator", "too_many_digits", "not_a_number")
            return f"no reading: {code}"
        assert (shown.text(), Fraction(shown.value)) == (f"{digits} {unit}", value_of(digits)), text
        return self._take(random, shown)

    def _take(self, random: Random, shown: Reading) -> str:
        kitchen = self.kitchen
        asked = frozenset(code for code in ("off_scale", "too_fine", "other_unit") if random.random() < 0.5)
        more: dict[str, Any] = {"asked": asked}
        if random.random() < 0.1:
            more["performed_at"] = kitchen.clock() + random.choice((-1, 1)) * random.randrange(2 * DAY_US)
        given = kitchen.given(random.choice(self.baths), random.choice(self.thermometers), shown.text(), **more)
        before = kitchen.count()
        try:
            row = checks.take_reading(kitchen.session, kitchen.lead, given, last=random.random() < 0.5)
        except Refused as refused:
            driving.word(refused)
            codes = sorted(one.code for one in refused.problems)
            row = None
        if row is None:
            assert kitchen.count() == before
            assert not asked & set(codes)
            return f"refused: {' '.join(codes)}"
        with kitchen.session.reading() as connection:
            taken = queries.entry_at(connection, 1, before).payload
            assert queries.count_entries(connection) == before + 1 + row.recorded
        assert (taken["shown"], taken["reading"]) == (shown.text(), given.reading)
        assert row.readings == (shown,)
        assert given.performed_at is None or given.performed_at <= kitchen.clock.at
        return "recorded" if row.recorded else "waits for repeats"

    # --- small fields -----------------------------------------------------------------------------------------

    def numbers(self, random: Random) -> None:
        text, decimals = typed_number(random), random.choice((1, 2, 3))
        with suppress(NotAReading):
            found = parse_number(text, decimals)
            assert f"{found:f}" == meant(text, 6, decimals), text

    def pressure(self, random: Random) -> None:
        text, unit = typed_number(random), random.choice(get_args(PressureUnit))
        with suppress(NotAReading):
            found = Pressure.typed(text, unit)
            assert found.text() == f"{meant(text, 6, DECIMALS[unit])} {unit}", text
            assert Pressure.from_text(found.text()) == found
        with driving.may_be_refused():
            told = typed.pressure(f"{text}{random.choice(('', ' '))}{spoilt(random, unit)}")
            assert Pressure.from_text(told.text()) == told

    def length(self, random: Random) -> None:
        text = typed_number(random)
        with suppress(NotAReading):
            assert Length.typed(text, "m").text() == f"{meant(text, 6, 2)} m", text
        with driving.may_be_refused():
            told = typed.elevation(f"{text}{random.choice(('', ' '))}{spoilt(random, random.choice(('m', 'ft')))}")
            assert Length.from_text(told.text()) == told

    def with_unit(self, random: Random) -> None:
        text, unit = typed_number(random), random.choice(("", "C", "°F", " c", "° f", "K", "°"))
        with driving.may_be_refused():
            found = typed.reading(text + unit, "C")
            assert found.unit == ("F" if "f" in unit.casefold() or text.strip()[-1:].casefold() == "f" else "C")
            assert Reading.from_text(found.text()) == found
        with suppress(BadCell):
            for one in import_cells.readings_of(text + unit, random.choice((None, "C", "F"))):
                assert Reading.from_text(one.text()) == one

    def day(self, random: Random) -> None:
        text = spoilt(
            random, f"{random.choice((2026, 1999, 26, 0, 9999))}-{random.randrange(14):02}-{random.randrange(33):02}"
        )
        with driving.may_be_refused():
            found = typed.day(text, TUESDAY)
            assert text.strip() in (found.isoformat(), "")
        order = random.choice(("ymd", "dmy", "mdy"))
        with suppress(BadCell):
            at, _, on = import_cells.instant_of(text, self.time_text(random), ZONE, order)
            assert day_at(at, "UTC") - on in (timedelta(-1), timedelta(0), timedelta(1))

    @staticmethod
    def time_text(random: Random) -> str:
        behind = random.choice(("", " pm", ":30", "Z", "+05:00", "-99:99"))
        text = f"{random.randrange(26)}:{random.randrange(62):02}{behind}"
        return random.choice(("", text, spoilt(random, text)))

    def moment(self, random: Random) -> None:
        now = self.kitchen.clock.at
        with driving.may_be_refused():
            assert 0 <= typed.moment(TUESDAY, self.time_text(random), ZONE, now) <= now
        with driving.may_be_refused():
            text = spoilt(random, f"{random.choice(('2026-03-03 ', '', '0001-01-01 '))}{self.time_text(random)}")
            found = typed.moment_or_now(text, TUESDAY, ZONE, now)
            assert found is None or found <= now

    def tag_id(self, random: Random) -> None:
        text = spoilt(random, random.choice((*self.tags, tag_id_given("PR", random.randrange(2000)), number(random))))
        normal = normal_tag_id(text)
        if valid_tag_id(normal):
            assert normal.isascii()
            assert normal.isalnum()
            assert normal == "".join(text.split()).upper()
        with driving.may_be_refused(), self.kitchen.session.reading() as connection:
            assert thermometers.find(connection, text).tag_id == normal

    def entry_number(self, random: Random) -> None:
        text = spoilt(random, random.choice((self.number, entry_number("KQBH", random.randrange(10**6)))))
        place = read_entry_number(text)
        assert place is None or entry_number(*place) == "".join(text.split()).upper()
        with driving.may_be_refused():
            assert mend.find_entry(self.kitchen.session, text).number == "".join(text.split()).upper()

    def setting_up(self, random: Random) -> None:
        """Scales, points of outside certificates, weekdays, codes and choices."""
        parts = [random.choice(("C", "F", "c", "")), *(typed_number(random) for _ in range(3))]
        with driving.may_be_refused():
            typed.scale(spoilt(random, ":".join(parts)))
        with driving.may_be_refused():
            *quantities, k = typed.certificate_point(":".join(typed_number(random) for _ in range(4)), "C")
            assert isinstance(k, Decimal)
            assert all(one.text() for one in quantities)
        with driving.may_be_refused():
            assert set(typed.weekdays(spoilt(random, random.choice(("mon-fri", "sat,sun", "fri-mon"))))) <= set(
                range(7)
            )
        with driving.may_be_refused():
            assert typed.code("kind", spoilt(random, "ice point")).isascii()
        with driving.may_be_refused():
            assert typed.choice("what", spoilt(random, "dropped"), ("dropped", "bent")) in ("dropped", "bent")


def likely(random: Random) -> str:
    """A reading that a bath may well give."""
    return f"{random.choice((0, 0, 1, 32, 33, 99, 100, 212, -1))}{random.choice(('', '.0', ',4', '.5', '.25'))}"


SMALL: list[Callable[[Typist, Random], None]] = [
    Typist.numbers,
    Typist.pressure,
    Typist.length,
    Typist.with_unit,
    Typist.day,
    Typist.moment,
    Typist.tag_id,
    Typist.entry_number,
    Typist.setting_up,
]


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        driving.by_hand(Typist(open_kitchen(Path(folder) / "kitchen")).case, __doc__)
