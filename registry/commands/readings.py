"""At the bath: what a thermometer shows, adjusting it, and what is said instead of a reading."""

from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from registry.commands import exits
from registry.commands.desk import Desk
from registry.commands.options import (
    NEGATIVE,
    QUESTIONS,
    Again,
    AndBeside,
    Bath,
    Beside,
    Day,
    Shift,
    Site,
    Tag,
    Unit,
    Value,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from registry.services.bath_watch import BathWatch
    from registry.services.checks import Row
    from registry.services.lookup import EntryView
    from registry.services.problems import Refused
    from registry.services.thermometers import Thermometer

app = typer.Typer()
T = TypeVar("T")


@app.command("read", epilog="read KI001X -0.5 --bath KQBH00011", context_settings=NEGATIVE)
def read(
    context: typer.Context,
    tag: Tag,
    value: Value,
    unit: Unit = "",
    bath: Bath = "",
    beside: Beside = None,
    also: AndBeside = None,
    again: Again = False,
    last: Annotated[bool, typer.Option("--last")] = False,
) -> int:
    from registry.commands import questions
    from registry.commands.baths import bath_meant, read_beside
    from registry.services import bath_watch, baths, lookup, places, typed
    from registry.services.checks import ReadingGiven
    from registry.services.problems import refuse

    desk = Desk.of(context)
    of = desk.find(tag)
    shown = typed.reading(value, desk.unit(unit, of))
    in_bath = bath_meant(desk, bath, desk.site_of(of).payload.letters)
    about = ("read", in_bath, of.row.thermometer, shown.text())
    answers = questions.answered(desk, about, again=again)
    with desk.session.reading() as connection:
        entry = baths.made(connection, in_bath)
        site = places.site_named_by_id(connection, entry.payload["site"])
        shift = places.shift_now(desk.session, connection, site)
        going_on = lookup.open_check(connection, in_bath, of.row.thermometer)
        checked = not going_on and lookup.checked_in(connection, in_bath, of.row.thermometer)
    if checked and "checked_already" not in answers:
        questions.asked(desk, about, ("checked_already",))
        raise refuse("reading", "checked_already", value=of.tag_id)
    given = ReadingGiven(
        in_bath,
        of.row.thermometer,
        shown,
        going_on or desk.session.new_id(),
        desk.session.new_id(),
        read_beside(desk, (beside, also), unit),
        reason=_why_due(desk, of, entry),
        shift=shift.shift.id if shift else None,
        day=shift.day.isoformat() if shift else None,
    )
    actor = desk.actor
    watched: list[BathWatch] = []

    def take(asked: frozenset[str]) -> "Row":
        from dataclasses import replace

        row, found = bath_watch.take(desk.session, actor, replace(given, asked=asked), last=last)
        watched.append(found)
        return row

    row = _answering(desk, take, about, answers)
    if answers:
        questions.settled(desk)
    return _told(desk, of, entry, row, watched[-1])


def _answering(desk: Desk, take: "Callable[[frozenset[str]], T]", about: tuple[str, ...], answers: frozenset[str]) -> T:
    """Ask once; what was typed again answers the questions that were asked about this very value."""
    from registry.commands import questions
    from registry.services.problems import Refused, refuse

    try:
        return take(frozenset())
    except Refused as refused:
        codes = frozenset(one.code for one in refused.problems)
        if codes and codes <= answers:
            return take(codes)
        if codes <= {*QUESTIONS, "far_apart"}:
            questions.asked(desk, about, codes | answers)
        asked = _echoed(desk, refused)
        if codes == {"far_apart"}:
            values = asked.problems[0].values
            raise refuse("reading", "far_apart", value=values["value"], other=values["other"]) from None
        raise asked from None


def _echoed(desk: Desk, refused: "Refused") -> "Refused":
    """The same to people with the readings as they write them; machines get them as the journal does."""
    from registry.services import typed

    return refused if desk.as_json else typed.echoed(refused, desk.region)


def _why_due(desk: Desk, of: "Thermometer", bath: "EntryView") -> str | None:
    """Because of which rule it was due: what the journal says beside the check."""
    from registry.services import duelist

    with desk.session.reading() as connection:
        found = duelist.due_list(desk.session, connection, bath.payload["site"])
    mine = [one.item for one in found if one.row.thermometer == of.row.thermometer]
    open_items = [one for one in mine if one.state in duelist.OPEN_STATES]
    return open_items[0].code if open_items else None


def _of_the_bath(desk: Desk, found: "BathWatch") -> list[str]:
    """What is to be said of the bath: nothing of a good one."""
    from registry.services.words import watch

    if found.diagnosis.verdict != "bad":
        return []
    said = watch.sentences(found, desk.language, desk.region, desk.unit(""))
    return [watch.title(found, desk.language), *said, desk.say("watch.wait")]


def _told(desk: Desk, of: "Thermometer", bath: "EntryView", row: "Row", found: "BathWatch") -> int:
    from registry.commands.words import readings, row_sentence
    from registry.compute.check import written
    from registry.services import checks
    from registry.services.lookup import OUTSIDE

    with desk.session.reading() as connection:
        setting = checks.setting_for(connection, of.row.thermometer, bath, row.readings[0].unit)
        then = checks.word_once_accepted(connection, row)
    judged, point = row.judged, bath.payload["point"]
    outside, word = judged.outcome in OUTSIDE, desk.say(f"lead.{row.lead_word}")
    held = found.diagnosis.verdict == "bad" and row.lead_word == "waits"  # nobody passes or fails by this bath
    numbers = row_sentence(desk, row, point, setting.decision, setting.tolerance)
    lines = [
        desk.say("cli.row", tag=of.tag_id, word=word, readings=readings(desk, row.readings)),
        desk.say("cli.in_a_good_bath", said=numbers) if held else numbers,
    ]
    if row.recorded and row.unsteady:
        lines.append(desk.say("cli.unsteady"))
    if row.wants_more:
        lines.append(desk.say("cli.wants_more" if outside else "cli.wants_pairs", count=row.wants_more))
    elif not held:
        lines += _what_next(desk, of, bath, outside, then)
    lines += _of_the_bath(desk, found)
    said = {
        "done": "check_recorded" if row.recorded else "reading_taken",
        "check": row.check,
        "thermometer": row.thermometer,
        "tag_id": of.tag_id,
        "bath": bath.subject,
        "point": point,
        "readings": [one.text() for one in row.readings],
        "reference": judged.reference.text(),
        "offset": written(judged.offset.value, judged.offset.unit).text(),
        "u": judged.u.text(),
        "k": f"{judged.k:f}",
        "tolerance": setting.tolerance.text(),
        "decision": setting.decision,
        "outcome": None if held else judged.outcome,
        "outcome_in_accepted_bath": judged.outcome,
        "word": row.lead_word,
        "word_in_accepted_bath": then,
        "unsteady": row.unsteady,
        "wants_more": row.wants_more,
        "recorded": row.recorded,
    }
    lines.append(desk.say("caution.local_codes_first"))
    return desk.answer(lines, said, exits.ATTENTION if outside or held else exits.DONE)


def _what_next(desk: Desk, of: "Thermometer", bath: "EntryView", outside: bool, then: str) -> list[str]:
    from registry.services import baths

    with desk.session.reading() as connection:
        waiting = [one.bath for one in baths.open_baths(desk.session, connection, bath.payload["site"])]
    word = desk.say(f"lead.{then}")
    lines = [desk.say("cli.counts_once_judged", number=bath.number, word=word)] if bath.subject in waiting else []
    if outside:
        lines.append(desk.say("cli.adjust_next" if of.adjustments else "cli.take_out_next", tag=of.tag_id))
    return lines


@app.command("adjust", epilog="adjust KI001X --how reset --as-left 0.0", context_settings=NEGATIVE)
def adjust(
    context: typer.Context,
    tag: Tag,
    how: Annotated[str, typer.Option("--how", metavar="nut|reset|trim")],
    as_left: Annotated[str, typer.Option("--as-left", metavar="VALUE")] = "",
    not_measured: Annotated[bool, typer.Option("--not-measured")] = False,
    trim: Annotated[str, typer.Option("--trim", metavar="VALUE")] = "",
    unit: Unit = "",
    again: Again = False,
) -> int:
    from dataclasses import replace

    from registry.commands import questions
    from registry.services import checks, lookup, typed
    from registry.services.checks import AdjustmentGiven
    from registry.services.problems import refuse

    desk = Desk.of(context)
    of = desk.find(tag)
    if bool(as_left) == not_measured:
        raise refuse("as_left", "or_not_measured")
    with desk.session.reading() as connection:
        check = lookup.last_check(connection, of.row.thermometer)
    if check is None:
        raise refuse("check", "none_to_adjust", value=of.tag_id)
    of_unit = desk.unit(unit, of)
    given = AdjustmentGiven(
        check.check,
        typed.choice("how", how, ("nut", "reset", "trim", "other")),
        desk.session.new_id(),
        desk.session.new_id(),
        typed.reading(as_left, of_unit, "as_left") if as_left else None,
        typed.difference(trim, of_unit, "trim") if trim else None,
    )
    about = ("adjust", check.check, how, given.as_left.text() if given.as_left else "", trim)
    answers = questions.answered(desk, about, again=again)
    actor = desk.actor
    judged = _answering(
        desk, lambda asked: checks.adjust(desk.session, actor, replace(given, asked=asked)), about, answers
    )
    if answers:
        questions.settled(desk)
    return _adjusted(desk, of, check.point, given, judged)


def _adjusted(desk: Desk, of: "Thermometer", point: str, given: Any, judged: Any) -> int:
    from registry.compute.check import written
    from registry.services.lookup import OUTSIDE
    from registry.wording import format

    said: dict[str, Any] = {
        "done": "adjusted",
        "thermometer": of.row.thermometer,
        "tag_id": of.tag_id,
        "adjustment": given.adjustment,
        "check": given.check,
        "how": given.how,
    }
    how = desk.say(f"adjustment.{given.how}") if given.how != "other" else desk.say("cli.adjusted_otherwise")
    if judged is None:
        return desk.answer([desk.say("cli.adjusted_not_measured", tag=of.tag_id, how=how)], said, exits.ATTENTION)
    said |= {
        "as_left": given.as_left.text(),
        "reference": judged.reference.text(),
        "offset": written(judged.offset.value, judged.offset.unit).text(),
        "u": judged.u.text(),
        "k": f"{judged.k:f}",
        "outcome": judged.outcome,
    }
    line = desk.say(
        "cli.adjusted",
        tag=of.tag_id,
        how=how,
        as_left=format.temperature(given.as_left, desk.region),
        outcome=desk.say(f"outcome.{judged.outcome}_at.{point}"),
        offset=format.offset(judged.offset, desk.region),
        expanded=format.expanded(judged.expanded, desk.region),
        reference=format.temperature(judged.reference, desk.region),
    )
    outside = judged.outcome in OUTSIDE
    lines = [line, *([desk.say("cli.take_out_next", tag=of.tag_id)] if outside else [])]
    return desk.answer(lines, said, exits.ATTENTION if outside else exits.DONE)


# --- instead of a reading ------------------------------------------------------------------------------------


@app.command("no-reading", epilog="no-reading KI001X battery_flat")
def no_reading(
    context: typer.Context, tag: Tag, why: Annotated[str, typer.Argument(metavar="WHY")], bath: Bath = ""
) -> int:
    from registry.commands.baths import bath_meant
    from registry.services import checks, typed

    desk = Desk.of(context)
    of = desk.find(tag)
    wanted = typed.choice("why", why, checks.NO_READING)
    in_bath = bath_meant(desk, bath, desk.site_of(of).payload.letters)
    checks.no_reading(desk.session, desk.actor, in_bath, of.row.thermometer, wanted)
    said = {"thermometer": of.row.thermometer, "tag_id": of.tag_id, "why": wanted}
    return desk.done("no_reading", said, tag=of.tag_id, why=desk.say(f"no_reading.{wanted}"))


def _absent(context: typer.Context, tag: str, why: str, site: str, shift: str, day: str) -> int:
    from registry.services import checks, lookup, places, typed
    from registry.services.problems import refuse

    desk = Desk.of(context)
    of = desk.find(tag)
    at = desk.site(site) if site else desk.site_of(of)
    with desk.session.reading() as connection:
        if shift:
            on = lookup.shift_on(connection, at, shift, typed.day(day, desk.today(at.payload.zone)))
        else:
            now = places.shift_now(desk.session, connection, at)
            if now is None:
                raise refuse("shift", "none_is_on")
            on = now
    said_day = on.day.isoformat()
    checks.not_checked(desk.session, desk.actor, of.row.thermometer, at.subject, on.shift.id, said_day, why)
    said = {"thermometer": of.row.thermometer, "tag_id": of.tag_id, "shift": on.shift.id, "day": said_day}
    return desk.done(why, said, tag=of.tag_id, shift=on.shift.name)


@app.command("not-used", epilog="not-used KI001X")
def not_used(context: typer.Context, tag: Tag, site: Site = "", shift: Shift = "", day: Day = "") -> int:
    return _absent(context, tag, "not_used", site, shift, day)


@app.command("not-found", epilog="not-found KI001X")
def not_found(context: typer.Context, tag: Tag, site: Site = "", shift: Shift = "", day: Day = "") -> int:
    return _absent(context, tag, "not_found", site, shift, day)


@app.command("station-closed", epilog="station-closed KI001X --shift Lunch --day 2026-03-03")
def station_closed(context: typer.Context, tag: Tag, site: Site = "", shift: Shift = "", day: Day = "") -> int:
    return _absent(context, tag, "station_closed", site, shift, day)


@app.command("lent", epilog="lent KI001X")
def lent(context: typer.Context, tag: Tag, site: Site = "", shift: Shift = "", day: Day = "") -> int:
    return _absent(context, tag, "lent", site, shift, day)
