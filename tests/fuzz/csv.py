"""Bytes of CSV files from anywhere: a plan that holds each reading as the file has it, or sentences why not."""

import csv
import io
import tempfile
from collections.abc import Mapping
from pathlib import Path
from random import Random
from typing import Any

from registry.records.baths import CheckRecorded, ReadingTaken
from registry.services import import_journal, importing, places
from registry.services.importing import HistoryPlan, Options, ShiftPlan
from registry.services.problems import Refused
from registry.store import queries
from tests.fuzz import driving
from tests.fuzz.readings import meant
from tests.fuzz.typing_errors import ODD, spoilt, typed_number
from tests.services.kitchen import DIAL_F, TUESDAY, Kitchen, another, open_kitchen

RENEWED_AFTER = 150  # files recorded: looking for checks that are there already must not take ever longer
HISTORY = ("tag", "date", "time", "point", "reading", "unit", "reference", "outcome", "site", "initials", "note")
SHIFT = (
    "bath",
    "point",
    "how made",
    "date",
    "time",
    "tag",
    "reading",
    "unit",
    "role",
    "how adjusted",
    "why not",
    "initials",
)
ENCODINGS = (*("utf-8",) * 20, "utf-8-sig", "utf-16", "cp1252", "utf-16-be", "utf-7", "shift_jis")
CELLS = ("", "=1+1", "'=1", '"', '""', "\r\n", "a\nb", ",", ";", "\t", "x" * 300, "x" * 70_000, "N/A", "-", *ODD)
Table = list[list[str]]


class Importer:
    """A kitchen into which files are imported; made anew from its first state now and then."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.copies, self.recorded = folder, 0, 0
        self.first = open_kitchen(folder / "first")
        self.first.enrol()
        self.first.dial()
        self.first.enrol(DIAL_F, type="bimetal_stem")
        places.add_shift(
            self.first.session, self.first.officer, self.first.site, "Early", "05:00", "14:00", tuple(range(7)), TUESDAY
        )
        self.first.clock.move(hours=2)
        with self.first.session.reading() as connection:
            self.tags = [row.tag_id or "" for row in queries.thermometers(connection)]
        self.first.session.close()
        self.kitchen = self.renew()

    def renew(self) -> Kitchen:
        self.copies, self.recorded = self.copies + 1, 0
        return another(self.first, self.folder / str(self.copies))

    # --- making -----------------------------------------------------------------------------------------------

    def history(self, random: Random) -> Table:
        rows = []
        for _ in range(random.choice((1, 2, 3, 8, 40))):
            day = f"2025-{random.randrange(1, 13):02}-{random.randrange(1, 29):02}"
            point, reference = random.choice(
                (("ice", ""), ("ice point", "0.0"), ("boil", "99.6"), ("comparison", "60.1"))
            )
            readings = "/".join(
                f"{float(reference or 0) + random.randrange(-30, 30) / 10:.1f}" for _ in range(random.choice((1, 3)))
            )
            when = random.choice(("", f"{random.randrange(24):02}:{random.randrange(60):02}"))
            row = (
                random.choice(self.tags[:1]),
                day,
                when,
                point,
                readings,
                "C",
                reference,
                random.choice(("", "pass", "fail")),
            )
            rows.append(
                [
                    *row,
                    random.choice(("", "Pier")),
                    random.choice(("", "LQ", "OI", "ZZ")),
                    random.choice(("", "as ever")),
                ]
            )
        return [list(HISTORY), *rows]

    def shift(self, random: Random) -> Table:
        rows = []
        for minute in range(random.choice((1, 2, 3, 6))):
            unit = random.choice(("C", "C", "F"))
            tag = self.tags[2] if unit == "F" else random.choice(self.tags[:2])
            shown = random.choice(("0", "1", "4")) if unit == "C" else random.choice(("32", "34", "40"))
            shown = "/".join([shown] * random.choice((1, 3)))
            bath = random.choice((("1", "ice", "crushed_packed"), ("2", "boil", "rolling boil")))
            rest = random.choice(
                (("", "", ""), ("", "", ""), ("as left", "nut", ""), ("no reading", "", "damaged"), ("", "", "lent"))
            )
            row = [*bath, "2026-03-03", f"06:{minute:02}", tag, "" if rest[2] else shown, unit, *rest, "LQ"]
            rows.append(row)
        return [list(SHIFT), *rows]

    # --- trying -----------------------------------------------------------------------------------------------

    def case(self, random: Random) -> str:
        if self.recorded > RENEWED_AFTER:
            self.kitchen.session.close()
            self.kitchen = self.renew()
        what = random.choice(("history", "shift"))
        table = self.history(random) if what == "history" else self.shift(random)
        content = spoil_bytes(random, as_bytes(random, spoil_cells(random, table)))
        check = importing.check_history if what == "history" else importing.check_shift
        kitchen, before = self.kitchen, self.kitchen.count()
        try:
            with kitchen.session.reading() as connection:
                plan = check(kitchen.session, connection, content, asked(random))
        except Refused as refused:
            driving.word(refused)
            plan, codes = None, {one.code for one in refused.problems}
        assert kitchen.count() == before
        if plan is None:
            return f"{what}: {min(codes)}" if len(codes) == 1 else f"{what}: several problems"
        cells = read_otherwise(plan)
        assert plan.rows == len(cells)
        if isinstance(plan, ShiftPlan):
            self.is_as_typed(plan, cells)
        return f"{what}: {self.record(random, plan, cells)}"

    def is_as_typed(self, plan: ShiftPlan, cells: Mapping[int, dict[str, str]]) -> None:
        """Each reading that the trial recorded stands in the row that it names."""
        place = plan.layout.places["readings"]
        title = plan.layout.table.header[place]
        for one in plan.said:
            if isinstance(one.payload, ReadingTaken) and one.payload.shown is not None:
                assert one.row is not None
                assert one.payload.shown.split()[0] in digits_of(cells[one.row][title])

    def record(self, random: Random, plan: HistoryPlan | ShiftPlan, cells: Mapping[int, dict[str, str]]) -> str:
        if random.random() < 0.5:
            return "good"
        kitchen, before = self.kitchen, self.kitchen.count()
        if isinstance(plan, HistoryPlan):
            done = importing.record_history(kitchen.session, kitchen.officer, plan)
        else:
            done = importing.record_shift(kitchen.session, kitchen.lead, plan)
        self.recorded += 1
        with kitchen.session.reading() as connection:
            new = [queries.entry_at(connection, 1, seq) for seq in range(before, queries.count_entries(connection))]
        assert {one.payload["import"] for one in new} == {done.import_}
        checks = [one.payload for one in new if one.kind == CheckRecorded.KIND]
        assert len(checks) == done.checks
        title = plan.layout.table.header[plan.layout.places["readings"]]
        if isinstance(plan, HistoryPlan):
            assert {check["row"]: [one.split()[0] for one in check["as_found"]] for check in checks} == {
                row: digits_of(said[title]) for row, said in cells.items()
            }
        if random.random() < 0.05:
            assert kitchen.verify().findings == []
        return "recorded"


def digits_of(cell: str) -> list[str | None]:
    """What the readings of a cell mean, without the unit that may stand behind each."""
    return [meant(part.strip().rstrip("CFcf°").strip(), 4, 3) for part in cell.split("/")]


def read_otherwise(plan: HistoryPlan | ShiftPlan) -> dict[int, dict[str, str]]:
    """The same file read whole by Python's own reader: cells by row and title, rows that hold something."""
    table = plan.layout.table
    text = table.content.decode(table.encoding)
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=table.separator, strict=True))
    return {
        number: dict(zip(table.header, (cell.strip() for cell in cells), strict=False))
        for number, cells in enumerate(rows, 1)
        if number > 1 and any(cell.strip() for cell in cells)
    }


# --- spoiling ------------------------------------------------------------------------------------------------


def spoil_cells(random: Random, table: Table) -> Table:
    for _ in range(random.choice((0, 0, 0, 1, 1, 2, 5))):
        row = random.choice(table)
        place = random.randrange(len(row)) if row else 0
        match random.randrange(8):
            case 0:
                row.insert(place, random.choice(CELLS))
            case 1:
                del row[place : place + 1]
            case 2:
                table.insert(random.randrange(len(table) + 1), list(random.choice(table)))
            case 3 | 4 if row:
                row[place] = random.choice((typed_number(random), random.choice(CELLS)))
            case 5 if row:
                row[place] = random.choice(random.choice(table) or [""])
            case _ if row:
                row[place] = spoilt(random, row[place])
    return table


def as_bytes(random: Random, table: Table) -> bytes:
    quoting = random.choice((csv.QUOTE_MINIMAL, csv.QUOTE_MINIMAL, csv.QUOTE_ALL))
    out = io.StringIO(newline="")
    separator, ends = random.choice((",", ",", ",", ",", ";", ";", "\t", "|")), random.choice(("\n", "\r\n", "\r"))
    csv.writer(out, delimiter=separator, quoting=quoting, lineterminator=ends).writerows(table)
    text = out.getvalue()
    if random.random() < 0.1:
        text = text.replace("\n", random.choice(("", "\n\n", "\u2028", "\x85", "\x0b")))
    return text.encode(random.choice(ENCODINGS), random.choice(("replace", "ignore", "xmlcharrefreplace")))


def spoil_bytes(random: Random, content: bytes) -> bytes:
    for _ in range(random.choice((0, 0, 0, 1, 1, 3, 30))):
        place = random.randint(0, len(content))
        slip = random.choice(
            (b"\0", b'"', b"\r", b"\n", b",", b"\xff\xfe", b"\xef\xbb\xbf", b"\x80", random.randbytes(3), b"")
        )
        content = content[:place] + slip + content[place + random.choice((0, 0, 1, 200)) :]
    return content


def asked(random: Random) -> Options:
    more: dict[str, Any] = {}
    if random.random() < 0.1:
        more["encoding"] = random.choice(("utf-8", "utf-16", "cp1252", "klingon"))
    if random.random() < 0.3:
        codes = ("off_scale", "too_fine", "other_unit", "twice", "recorded_already", "pressure_kind")
        more["asked"] = frozenset(code for code in codes if random.random() < 0.6)
    if random.random() < 0.2:
        more["leave_out"] = frozenset((random.choice(HISTORY), "", "x"))
    order = random.choice((*("ymd",) * 12, "dmy", "mdy"))
    return Options(unit=random.choice((None, "C", "F")), site=random.choice(("", "Pier")), day_order=order, **more)


def prepare(folder: Path) -> Importer:
    import_journal.PAUSE_S = 0  # nobody else is at work
    return Importer(folder)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        driving.by_hand(prepare(Path(place)).case, __doc__)
