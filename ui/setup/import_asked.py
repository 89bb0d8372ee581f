"""What a file leaves open, asked once for the whole file: columns, tags, words of its own, odd readings."""

from collections.abc import Iterable, Mapping
from typing import Any

from registry.services import import_old_check
from registry.services.import_rows import QUESTION_OF
from registry.services.importing import Options
from registry.services.problems import Problem
from registry.wording import say
from ui.forms import CHOICE, TEXT, YES, Field
from ui.setup.inline import Values

HISTORY, SHIFT, THERMOMETERS, PEOPLE = "history", "shift", "thermometers", "people"
# What is asked of a whole file of each kind, beside the file itself.
ASKED_OF = {
    HISTORY: ("unit", "point", "site", "initials", "day_order", "judge"),
    SHIFT: ("unit", "point", "site", "initials", "day_order"),
    THERMOMETERS: ("unit", "site", "day_order"),
    PEOPLE: ("site",),
}
ENCODINGS = ("utf-8", "cp1252", "utf-16-le", "utf-16-be")
ORDERS = ("ymd", "dmy", "mdy")
POINTS = import_old_check.POINTS
LEAVE_OUT = "leave_out"
MOST = 20  # of one kind asked at once: the rest shows up at the next look


def questions(problems: Iterable[Problem], language: str) -> list[Field]:
    """A field for each thing that may be settled by an answer; `name` says what it is about."""
    found: dict[str, Field] = {}
    for one in problems:
        field = _question(one, language)
        alike = [name for name in found if field and name.partition(":")[0] == field.name.partition(":")[0]]
        if field is not None and len(alike) < MOST:
            found.setdefault(field.name, field)
    return list(found.values())


def _question(one: Problem, language: str) -> Field | None:
    value = str(one.values.get("value", ""))
    if one.code in ("sheet_which", "sheet_unknown"):
        names: Any = one.values["sheets"]
        sheets = tuple((name, name) for name in names)
        return Field("sheet:", say("setup.sheet", language), CHOICE, names[0], sheets)
    if one.code == "unknown_tag":
        return Field(f"tag:{value}", say("setup.tag_is", language, tag=value), TEXT)
    if one.field == "outcome" and one.code == "not_one_of":
        words = tuple((code, say(f"outcome.{code}", language)) for code in import_old_check.OUTCOMES)
        choices = (("", say("setup.column_choose", language)), *words)  # no outcome is offered before another
        return Field(f"outcome:{value}", say("setup.outcome_is", language, word=value), CHOICE, "", choices)
    if one.code == "not_this_encoding":
        codes = tuple((code, code) for code in ENCODINGS)
        return Field("encoding:", say("setup.encoding", language), CHOICE, "cp1252", codes)
    asked = QUESTION_OF.get(one.code)
    if asked is not None:
        return Field(f"asked:{asked}", say(f"setup.asked.{asked}", language), YES)
    return None


def options(said: Values, answers: Mapping[str, str]) -> Options:
    """What was said of the file and what was answered since."""
    about: dict[str, dict[str, str]] = {
        "column": {},
        "tag": {},
        "outcome": {},
        "asked": {},
        "encoding": {},
        "sheet": {},
    }
    for name, answer in answers.items():
        kind, _, theirs = name.partition(":")
        if answer:
            about[kind][theirs] = answer
    left_out = frozenset(theirs for theirs, ours in about["column"].items() if ours == LEAVE_OUT)
    unit: Any = said.get("unit") or None
    return Options(
        encoding=about["encoding"].get("") or None,
        sheet=about["sheet"].get("", ""),
        unit=unit,
        point=said.get("point", ""),
        site=said.get("site", ""),
        initials=said.get("initials", ""),
        day_order=said.get("day_order", "ymd"),
        columns={theirs: ours for theirs, ours in about["column"].items() if ours != LEAVE_OUT},
        tags=about["tag"],
        outcomes=about["outcome"],
        leave_out=left_out,
        asked=frozenset(about["asked"]),
        judge=bool(said.get("judge", "yes")),
    )
