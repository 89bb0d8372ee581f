"""What the columns of a file are: looked at before anything else is, matched by the person, and remembered.

Remembered for each kind of import and each row of titles, on this computer.
"""

import json
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from hashlib import sha256
from itertools import islice

from registry.services import import_old_check, import_people, import_sheet, import_thermometers, settings
from registry.services.csvfile import Table, normal, open_table
from registry.services.import_rows import LEFT_OUT, Options, column_names, matched
from registry.services.problems import KnownError, refuse
from registry.services.session import Session

COLUMNS: Mapping[str, tuple[str, ...]] = {
    "history": import_old_check.COLUMNS,
    "shift": import_sheet.COLUMNS,
    "thermometers": import_thermometers.COLUMNS,
    "people": import_people.COLUMNS,
}
SAMPLE = 20  # rows looked through for something to show of a column


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a file. is_: what it is taken for, LEFT_OUT, or nothing where that is to be asked."""

    title: str
    sample: str
    is_: str


@dataclass(frozen=True, slots=True)
class Looked:
    """A file with what its columns are; `options` know of them what is remembered."""

    table: Table
    columns: tuple[Column, ...]
    options: Options


def look_at(session: Session, kind: str, content: bytes, options: Options) -> Looked:
    """Open a file to be imported; Refused where it is no table. What was said of its columns goes before what is kept.

    Titles that are known by their words are matched so; the person may say otherwise.
    """
    options = replace(options, columns=_ours(kind, options.columns))
    names = column_names(COLUMNS[kind], options)
    table = open_table(content, names, options.encoding, options.sheet, asking=True)
    options = _with_kept(options, _kept(session, kind, table.header), COLUMNS[kind])
    options = _without_informative(kind, table.header, options)
    is_ = matched(table.header, column_names(COLUMNS[kind], options), options)
    rows = [cells for _, cells in islice(table.rows(), SAMPLE)]
    samples = [next((row[n] for row in rows if n < len(row) and row[n]), "") for n in range(len(table.header))]
    found = zip(table.header, samples, is_, strict=True)
    return Looked(table, tuple(Column(*one) for one in found if one[0]), options)


def _ours(kind: str, columns: Mapping[str, str]) -> dict[str, str]:
    """Codes of columns by theirs; ours may be named by its code or as a title names it."""
    names = column_names(COLUMNS[kind], Options())
    for ours in columns.values():
        if normal(ours) not in names:
            raise refuse("file", "ours_unknown", value=ours, choices=", ".join(COLUMNS[kind]))
    return {theirs: names[normal(ours)] for theirs, ours in columns.items()}


def _without_informative(kind: str, header: tuple[str, ...], options: Options) -> Options:
    """Leaves out what our own tables of checks hold beside what an import takes, unless it was said what it is."""
    if kind != "history":
        return options
    known = column_names(COLUMNS[kind], options)
    informative = column_names(import_old_check.INFORMATIVE, Options()).keys() - known.keys()
    return replace(options, leave_out=options.leave_out | {one for one in header if normal(one) in informative})


def _with_kept(options: Options, kept: Mapping[str, str], codes: tuple[str, ...]) -> Options:
    said = {normal(one) for one in (*options.columns, *options.leave_out)}
    new = {title: code for title, code in kept.items() if title not in said}
    columns = {title: code for title, code in new.items() if code in codes}
    left_out = {title for title, code in new.items() if code == LEFT_OUT}
    return replace(options, columns={**columns, **options.columns}, leave_out=options.leave_out | left_out)


# --- remembered ----------------------------------------------------------------------------------------------


def _key(kind: str, header: tuple[str, ...]) -> str:
    titles = "\n".join(normal(one) for one in header)
    return f"columns.{kind}.{sha256(titles.encode()).hexdigest()[:32]}"


def _kept(session: Session, kind: str, header: tuple[str, ...]) -> dict[str, str]:
    if session.home is None:
        return {}
    with suppress(KnownError):
        kept = settings.local_file(session.home).setting(_key(kind, header))
        return {str(title): str(code) for title, code in json.loads(kept).items()} if kept else {}
    return {}


def remember(session: Session, kind: str, looked: Looked) -> None:
    """Keep what the columns of such a file are; where a full disk does not take it, work goes on."""
    if session.home is None:
        return
    is_ = {normal(one.title): one.is_ for one in looked.columns if one.is_}
    with suppress(KnownError):
        settings.local_file(session.home).set_setting(_key(kind, looked.table.header), json.dumps(is_))
