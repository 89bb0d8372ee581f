"""The monthly log in words: the same cells on screen, at the terminal and on paper; and its printed pages."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from registry import resources
from registry.documents.facts import Paper
from registry.quantity import Reading
from registry.records.outcomes import OUTSIDE
from registry.records.rules import GroupSet
from registry.services import pages
from registry.services.monthly_log import Action, Log, LogLine, Review, Source
from registry.services.problems import refuse
from registry.services.session import Session
from registry.wording import format, say

COLUMNS = (
    "day", "time", "tag", "method", "expected", "actual", "off_by", "limit", "outcome", "as_left", "action", "who",
    "number",
)  # fmt: skip
HASH_SHOWN = 16  # hexadecimal digits of the head's hash: enough to find the entry by
LISTS_NAMED = 12  # so many lists that nobody closed are named, the rest are counted


@dataclass(frozen=True, slots=True)
class Written:
    """How a log is written: language, region, time zone."""

    language: str
    region: str
    zone: str

    def say(self, code: str, /, **values: object) -> str:
        # A time may end in its own full stop, "9:20 p.m.", before that of the sentence.
        return re.sub(r"(?<=[.…])\.(?=\s|$)", "", say(code, self.language, **values))

    def instant(self, at: int) -> str:
        return format.instant(at, self.zone, self.region)

    def day(self, day: date) -> str:
        return format.short_day(day, self.region)


def written(group: GroupSet, zone: str, language: str | None = None) -> Written:
    """As the group writes; for a page in another language that language as written in the group's country."""
    chosen = language or group.language
    return Written(chosen, pages.region_for(group, chosen), zone)


def month_name(log: Log, language: str) -> str:
    """The month in words of a language: "March 2026", "marzo de 2026"."""
    from babel.dates import format_skeleton  # late: 24 ms

    return str(format_skeleton("yMMMM", log.first_day, locale=language))


# --- one line ------------------------------------------------------------------------------------------------


def cells(line: LogLine, to: Written, *, name_rule: bool = False) -> tuple[str, ...]:
    """A line's texts, one for each of COLUMNS. name_rule: the outcome names its rule, where a log has several."""
    check = line.check
    said = {
        "day": to.day(line.day),
        "time": format.clock(line.at, to.zone, to.region) if line.at and not (check and check.day_only) else "",
        "tag": line.tag_id,
        "method": _method(line, to),
        "expected": format.temperature(check.reference, to.region) if check and check.reference else "",
        "actual": readings(check.readings, to.region) if check else "",
        "off_by": format.offset(check.offset, to.region) if check and check.offset else "",
        "limit": format.limit(check.tolerance, to.region) if check and check.tolerance else "",
        "outcome": outcome(line, to, name_rule),
        "as_left": _as_left(line, to),
        "action": "; ".join(_actions(line, to)),
        "who": line.initials,
        "number": line.number,
    }
    return tuple(said[column] for column in COLUMNS)


def readings(shown: tuple[Reading, ...], region: str) -> str:
    """All of a check as typed, the unit said once where it is one."""
    if len({one.unit for one in shown}) != 1:
        return "; ".join(format.temperature(one, region) for one in shown)
    numbers = [format.number(one.value, region) for one in shown[:-1]]
    return "; ".join([*numbers, format.temperature(shown[-1], region)])


def _method(line: LogLine, to: Written) -> str:
    """How it was checked; of what was not, the shift."""
    if line.check is None:
        return line.shift
    if not line.made:
        return to.say(f"point.{line.check.point}")
    return to.say(f"log.made.{line.made}")


def outcome(line: LogLine, to: Written, name_rule: bool = False) -> str:
    """The outcome in its rule's own name, or why there is none."""
    check = line.check
    if check is None:
        return _kind(line, to)
    if line.state == "voided":
        return to.say("log.state.voided", why=to.say(f"log.void.{line.why or 'other_reason'}"))
    if line.state == "imported":
        stated = check.outcome or check.given
        return (
            to.say("log.state.imported", outcome=to.say(f"outcome.{stated}"))
            if stated
            else to.say("log.state.imported_bare")
        )
    if line.state != "counts":
        return to.say(f"log.state.{line.state}")
    word = to.say(f"outcome.{check.outcome}")
    if name_rule and check.decision:
        word = to.say("log.state.counts_of", outcome=word, rule=to.say(f"log.rule.{check.decision}"))
    if line.overruled:
        return to.say(f"log.state.{'doubt_' if line.in_doubt else ''}overruled", outcome=word, why=_overruled(line, to))
    return to.say("log.state.judged_again", outcome=word) if line.judged_again else word


def _overruled(line: LogLine, to: Written) -> str:
    """The reason that a person gave; as it was typed where it is none of those offered."""
    code = f"overrule.{line.overruled}"
    words = to.say(code) if code in resources.texts(to.language) else line.overruled.replace("_", " ")
    return words[:1].lower() + words[1:]


def _kind(line: LogLine, to: Written) -> str:
    word = to.say(f"log.kind.{line.kind}")
    return to.say("log.kind.voided", kind=word) if line.state == "voided" else word


def _as_left(line: LogLine, to: Written) -> str:
    check = line.check
    if check is None or check.adjusted is None:
        return ""
    if not check.as_left:
        return to.say("adjustment.not_measured")
    word = to.say(f"outcome.{check.as_left_outcome}") if check.as_left_outcome else to.say("lead.waits")
    return f"{readings(check.as_left, to.region)}, {word}"


def _actions(line: LogLine, to: Written) -> Iterator[str]:
    if line.kind == "missed":
        yield to.say("log.action.list_closed" if line.number else "log.action.list_open")
    elif line.kind == "left_open":
        yield to.say("log.action.list_closed")
    elif line.kind == "no_reading":
        yield to.say(f"no_reading.{line.why}")
    elif line.kind == "incident":
        yield to.say(f"incident.{line.why}")
    elif line.kind == "use_allowed":
        yield to.say(f"log.basis.{line.why}")
    yield from (_action(one, to) for one in line.actions)
    if line.entered_at is not None:
        yield to.say("log.action.entered", instant=to.instant(line.entered_at))


def _action(one: Action, to: Written) -> str:
    texts = resources.texts(to.language)
    if one.what == "after_incident":
        return to.say("log.action.after_incident", what=to.say(f"incident.{one.detail}"))
    if one.what == "adjusted":
        how = f"log.how.{one.detail}"
        return to.say("log.action.adjusted", how=to.say(how)) if how in texts else to.say("log.action.adjusted_other")
    word = to.say(f"log.action.limited_{one.only}" if one.only else f"log.action.{one.what}")
    known = [code for code in (f"log.why.{one.detail}", f"incident.{one.detail}") if code in texts]
    return to.say("log.action.with_why", action=word, why=to.say(known[0])) if known else word


# --- around the lines ----------------------------------------------------------------------------------------


def rules_used(log: Log) -> list[str]:
    """The decision rules of the month's checks, codes."""
    return sorted({line.check.decision for line in log.lines if line.check and line.check.decision})


def summary(log: Log, to: Written) -> list[str]:
    """What it came to, and what of it is not known."""
    checks = [line for line in log.lines if line.kind == "check"]
    standing = [line for line in checks if line.state != "voided"]
    outside = [line for line in standing if line.check and line.check.outcome in OUTSIDE]
    said = [
        to.say(
            "log.summary",
            checks=len(standing),
            outside=len(outside),
            adjusted=sum(line.check is not None and line.check.adjusted is not None for line in checks),
            waits=sum(line.state in ("waits", "condemned", "undecided") for line in standing),
            missed=log.count("missed"),
            left_open=log.count("left_open"),
            not_used=log.count("not_used"),
            not_found=log.count("not_found"),
            no_reading=log.count("no_reading"),
        )
        if log.lines
        else to.say("log.empty")
    ]
    if log.until == log.made_at:
        said.append(to.say("log.until", instant=to.instant(log.until)))
    if log.no_shifts:
        said.append(to.say("log.no_shifts"))
    if log.not_closed:
        named = [f"{to.day(day)} {shift}" for shift, day in log.not_closed[:LISTS_NAMED]]
        more = ["…"] if len(log.not_closed) > LISTS_NAMED else []
        said.append(to.say("log.not_closed", count=len(log.not_closed), lists=", ".join([*named, *more])))
    return said


def reviews(log: Log, to: Written) -> list[str]:
    return [_review(one, to) for one in log.reviews] or [to.say("log.no_review")]


def _review(one: Review, to: Written) -> str:
    values = {
        "who": f"{one.name} ({one.initials})" if one.name else one.initials,
        "instant": to.instant(one.at),
        "first": to.day(one.from_day),
        "last": to.day(one.to_day),
        "number": one.number,
    }
    return to.say("log.review_later", count=one.later, **values) if one.later else to.say("log.review", **values)


def sources(log: Log, to: Written) -> list[str]:
    return [_source(one, log, to) for one in log.sources]


def _source(one: Source, log: Log, to: Written) -> str:
    values = {"instant": to.instant(log.made_at), "head": one.head, "hash": one.head_hash[:HASH_SHOWN]}
    if not one.count:
        return to.say("log.source_empty", **values)
    return to.say("log.source", count=one.count, first=one.first, last=one.last, **values)


# --- on paper ------------------------------------------------------------------------------------------------


def printed(session: Session, log: Log, *, language: str | None = None, paper: Paper | None = None) -> bytes:
    """The log as PDF pages; the same log gives the same bytes."""
    from registry.documents import monthly_log as document  # late: reportlab

    with session.reading() as connection:
        group = session.group(connection).payload
    to = written(group, log.zone, language)
    used = rules_used(log)
    notes = [*summary(log, to), to.say("log.missed_means")]
    notes += [to.say(f"certificate.limits.{one}") for one in used if one != "guard_band"]
    facts = document.LogFacts(
        page=pages.page_facts(session, group, (log.name, log.address), to.language, log.zone, paper),
        month=month_name(log, to.language),
        rows=tuple(
            document.Row(cells(line, to, name_rule=len(used) > 1), _weight(line), line.day) for line in log.lines
        ),
        notes=tuple(notes),
        reviews=tuple(reviews(log, to)),
        reviewed=bool(log.reviews),
        sources=(*sources(log, to), to.say("log.account")),
    )
    try:
        return document.monthly_log(facts)
    except document.CannotPrint as problem:
        raise refuse("page", problem.code, **problem.values) from None


def _weight(line: LogLine) -> str:
    """Bold what an inspector looks for, grey what does not count."""
    if line.state == "voided":
        return "grey"
    outside = line.check is not None and line.check.outcome in OUTSIDE and line.state in ("counts", "imported")
    return "bold" if outside or line.kind in ("missed", "left_open", "not_found") else ""
