"""The answer to "was it right then?" as a page to hand over: what history says, with the entries it rests on."""

from decimal import Decimal
from fractions import Fraction

from sqlalchemy import Connection

from registry import resources
from registry.documents.facts import Paper
from registry.journal.numbers import entry_number, installation_code
from registry.quantity import TemperatureDifference
from registry.services import certificates, history, pages, people, places
from registry.services.history import Answer, CheckLine, PointAnswer
from registry.services.log_sheet import HASH_SHOWN, Written, readings, written
from registry.services.problems import refuse
from registry.services.rightness import LONGEST_BETWEEN_DAYS
from registry.services.session import Session, day_at
from registry.store import queries
from registry.wording import format

HEADS = (
    "when", "entered", "who", "bath", "showed", "offset", "limit", "outcome", "as_left", "certificate", "entry",
)  # fmt: skip
AT_ONCE_US = 3_600_000_000  # entered within so long of the check is "at once"


def printed(
    session: Session, thermometer_id: str, at: int, *, language: str | None = None, paper: Paper | None = None
) -> bytes:
    """The PDF of `history.was_right` for a thermometer (its id) at an instant (microseconds UTC)."""
    from registry.documents import answer_sheet as document  # late: reportlab

    with session.reading() as connection:
        answer = history.was_right(session, connection, thermometer_id, at)
        group = session.group(connection).payload
        site = places.site_named_by_id(connection, answer.of.row.site or "").payload
        to = written(group, site.zone, language)
        tag, moment = answer.of.tag_id, to.instant(at)
        facts = document.AnswerFacts(
            page=pages.page_facts(session, group, (site.name, site.address), to.language, site.zone, paper),
            title=to.say("answer.title", tag=tag, at=moment),
            thermometer=_thermometer(connection, answer, to, site.name),
            answer=to.say(f"cli.was.{answer.answer}", tag=tag, at=moment),
            scope=to.say("answer.scope", days=LONGEST_BETWEEN_DAYS),
            points=tuple(
                document.PointFacts(
                    said(one, to),
                    between(one, to),
                    document.SideFacts(*side(connection, answer, one.before, "before", to)),
                    document.SideFacts(*side(connection, answer, one.after, "after", to)),
                )
                for one in answer.points
            ),
            no_points=to.say("answer.no_points"),
            heads=HEADS,
            sources=(*_sources(session, connection, to), to.say("answer.account")),
        )
    try:
        return document.answer_sheet(facts)
    except document.CannotPrint as problem:
        raise refuse("page", problem.code, **problem.values) from None


def _thermometer(connection: Connection, answer: Answer, to: Written, site: str) -> str:
    of = answer.of
    station = queries.facts_of(connection, of.row.station).get("station") if of.row.station else None
    place = ", ".join([site, *([station.payload.name] if station else [])])
    made = ", ".join(part for part in (of.maker, of.model, of.serial) if part)
    said = to.say("answer.facts", type=to.say(f"type.{of.type.code}"), place=place)
    return f"{said}. {made}" if made else said


def said(one: PointAnswer, to: Written) -> str:
    point = to.say("answer.hot") if one.hot and one.point == "comparison" else to.say(f"point.{one.point}")
    answer = to.say(f"cli.was.at.{one.why or one.answer}", point=point, days=LONGEST_BETWEEN_DAYS)
    return " ".join([answer, *void(one, to)])


def void(one: PointAnswer, to: Written) -> list[str]:
    """Which checks are void and so count for nothing here."""
    numbers = ", ".join(line.number for line in one.void)
    return [to.say("cli.was.void", count=len(one.void), numbers=numbers)] if numbers else []


def between(one: PointAnswer, to: Written) -> str:
    if not one.between:
        told = one.answer != "yes" and one.before and one.after  # a yes says so itself
        return to.say("answer.nothing_between") if told else ""
    texts = resources.texts(to.language)
    adjusted = to.say("cli.was.adjusted")
    what = [adjusted if each == "adjusted" else texts.get(f"incident.{each}", each) for each in one.between]
    return to.say("answer.between", what=", ".join(what))


def side(
    connection: Connection, answer: Answer, line: CheckLine | None, which: str, to: Written
) -> tuple[dict[str, str], str]:
    """The values of a check by head code, or that there is none."""
    if line is None:
        return {}, to.say(f"answer.none_{which}")
    view = queries.check(connection, line.check)
    assert view is not None
    entry = queries.entry_at(connection, view.chain_no, view.seq)
    bath = queries.bath(connection, view.bath) if view.bath else None
    made = queries.entry_at(connection, bath.chain_no, bath.seq) if bath else None
    outcome = line.outcome or line.given
    late = line.day_only or entry.at - line.at > AT_ONCE_US
    return {
        "when": to.day(day_at(line.at, to.zone)) if line.day_only else to.instant(line.at),
        "entered": to.instant(entry.at) if late else to.say("answer.entered_at_once"),
        "who": _who(connection, line.by),
        "bath": f"{to.say('bath.' + made.payload['made'])} ({made.number})" if made else "",
        "showed": readings(line.readings, to.region),
        "offset": _offset(line, to),
        "limit": to.say(
            "answer.rule", limit=format.limit(line.tolerance, to.region), rule=to.say(f"log.rule.{line.decision}")
        )
        if line.tolerance and line.decision
        else "",
        "outcome": to.say(f"outcome.{outcome}_at.{line.point}") if outcome else to.say("lead.waits"),
        "as_left": _as_left(line, to),
        "certificate": ", ".join(certificates.naming(connection, answer.of.row.thermometer, line.check)),
        "entry": f"{line.number}, {entry.hash[:HASH_SHOWN]}",
    }, ""


def _who(connection: Connection, person: str) -> str:
    found = next((one for one in people.people(connection) if one.person == person), None)
    if found is None or not found.name:
        return found.initials if found else ""
    return f"{found.name} ({found.initials})"


def _offset(line: CheckLine, to: Written) -> str:
    if line.offset is None:
        return ""
    shown = format.offset(line.offset, to.region)
    if line.u is None or not line.k:
        return shown
    wide = TemperatureDifference(Fraction(line.u.value) * Fraction(line.k), line.u.unit)
    k = format.number(round(Decimal(line.k), 2), to.region)
    return to.say("answer.offset_u", offset=shown, expanded=format.expanded(wide, to.region), k=k)


def _as_left(line: CheckLine, to: Written) -> str:
    if line.adjusted is None:
        return to.say("answer.not_recorded" if line.imported else "answer.not_adjusted")
    if not line.as_left:
        return to.say("adjustment.not_measured")
    outcome = to.say(f"outcome.{line.as_left_outcome}") if line.as_left_outcome else to.say("lead.waits")
    return to.say("answer.as_left", readings=readings(line.as_left, to.region), outcome=outcome)


def _sources(session: Session, connection: Connection, to: Written) -> list[str]:
    """How far the record of each installation went when the page was made."""
    made = to.instant(session.clock())
    return [
        to.say(
            "answer.source",
            instant=made,
            head=entry_number(installation_code(bytes.fromhex(chain)), seq),
            hash=head[:HASH_SHOWN],
        )
        for chain, seq, head in queries.heads(connection)
    ]
