"""A shift of twelve in one bath under a real X server, by real keys, and by clicks on the number pad.

The test's id says whether keys are events of the X server or Qt's own: see `real_window`.
"""

from collections.abc import Callable

import pytest

from registry.services import shift_list
from registry.services.shift_row import ListRow
from registry.wording import format, say
from tests.services.kitchen import Kitchen
from tests.ui.real_window import SEES_MS, WAY, Person, leave, somebody

READINGS = {"DIGI": ("0.1", "-0.2", "0.0", "0.3"), "DIGF": ("32.1", "31.8"), "DIAL": ("0", "1", "-1", "0")}
READINGS["DIAF"] = ("32", "34")
READY, END, REMADE = "Bath is ready, probes are in", "Finish", say("shift.bath_is_remade", "en")
TAGS = tuple(f"{kind}{n}" for kind, readings in READINGS.items() for n in range(len(readings)))


def recorded(kitchen: Kitchen) -> dict[str, ListRow]:
    """The list as the journal has it, once the window is closed."""
    kitchen.clock.move(hours=1)
    view = shift_list.start_of_shift(kitchen.reopen(), kitchen.site)
    return {one.tag_id: one for one in view.rows}


def reading_for(tag: str) -> str:
    return READINGS[tag[:4]][int(tag[4])]


def read_all(person: Person, shown: Callable[[str], str]) -> list[str]:
    """All twelve by keys, in the order in which the focus comes to them; their tags."""
    tags: list[str] = []
    for _ in range(12):
        tags.append(person.wait_for(*(one for one in TAGS if one not in tags)))
        person.press(shown(tags[-1]) + "\n")
    return tags


def said_as_recorded(said: dict[str, list[str]], rows: dict[str, ListRow]) -> None:
    """Each row shows the reading, the offset and the word that the journal holds, and what was keyed in."""
    assert set(said) == set(rows)
    for tag, (text, off, answering) in said.items():
        check = rows[tag].check
        assert check is not None
        shown = check.row.readings[-1]
        assert f"{shown.value}" == reading_for(tag)
        assert text == f"{shown.value}".replace("-", "−")
        assert off == format.offset(check.row.judged.offset.to(shown.unit), "en_US")
        assert answering.startswith(say(f"lead.{check.row.lead_word}", "en"))
        assert check.bath_judged == "accepted"


@pytest.mark.slow
@pytest.mark.parametrize("way", [WAY])
def test_twelve_by_keys(kitchen: Kitchen, display: str, way: str) -> None:
    """From the empty list to the judged bath: no mouse, and at most two keys a row beyond the digits."""
    with somebody(kitchen, display, 1280, 800) as person:
        person.wait_for(READY)
        person.press("\n")
        tags = read_all(person, reading_for)
        person.wait_for(END)  # the bath was judged by what was read in it
        person.ask("rows")
        said = person.heard("rows")
        leave(person)
    rows = recorded(kitchen)
    assert sorted(tags) == sorted(rows)
    said_as_recorded(said, rows)
    digits = sum(len(reading_for(tag)) for tag in rows)
    assert len(person.keys) - digits <= 2 * 12
    assert person.clicks == 0
    assert kitchen.verify().good


@pytest.mark.slow
@pytest.mark.parametrize("way", [WAY])
def test_twelve_on_the_number_pad(kitchen: Kitchen, display: str, way: str) -> None:
    """The same by a finger, at 1024 x 600."""
    with somebody(kitchen, display, 1024, 600) as person:
        person.wait_for(READY)
        person.click(READY)
        tags: list[str] = []
        for _ in range(12):
            tags.append(person.wait_for(*(one for one in TAGS if one not in tags)))
            for key in reading_for(tags[-1]).replace("-", "−"):
                person.click(key)
            person.click("Record")
        person.wait_for(END)  # the bath was judged by what was read in it
        person.ask("rows")
        said = person.heard("rows")
        leave(person)
    rows = recorded(kitchen)
    assert sorted(tags) == sorted(rows)
    assert person.keys == []
    for tag, (text, _, answering) in said.items():
        check = rows[tag].check
        assert check is not None
        assert text == reading_for(tag).replace("-", "−")
        assert f"{check.row.readings[-1].value}" == reading_for(tag)
        assert answering.startswith(say(f"lead.{check.row.lead_word}", "en"))
        assert check.bath_judged == "accepted"
    assert kitchen.verify().good


WARM = {"DIGI": "0.9", "DIGF": "33.6", "DIAL": "1", "DIAF": "34"}  # what each shows in ice 0.9 °C too warm


@pytest.mark.slow
@pytest.mark.parametrize("way", [WAY])
def test_a_bad_bath_by_keys(kitchen: Kitchen, display: str, way: str) -> None:
    """Nobody passes or fails by it; two keys more and it is made anew, then all are read again."""
    with somebody(kitchen, display, 1280, 800) as person:
        person.wait_for(READY)
        person.press("\n")
        read_all(person, lambda tag: WARM[tag[:4]])
        person.wait_for(REMADE)  # the band asks
        person.ask("rows")
        said = person.heard("rows")
        assert {answering.partition(".")[0] for _, _, answering in said.values()} == {"Waits"}
        before = len(person.keys)
        person.press("\n", wait=SEES_MS)
        person.wait_for(READY)
        person.press("\n", wait=SEES_MS)
        assert len(person.keys) - before <= 3
        read_all(person, reading_for)
        person.wait_for(END)
        person.ask("rows")
        said = person.heard("rows")
        leave(person)
    said_as_recorded(said, recorded(kitchen))
    outcomes = [kitchen.check(one.payload["check"]).outcome for one in kitchen.entries("check_recorded")]
    assert outcomes == [None] * 12 + ["pass"] * 12
    assert kitchen.verify().good
