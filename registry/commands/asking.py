"""What is due; one thermometer's history; was it right then; and mending a mistake."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands import exits
from registry.commands.desk import Desk, iso, table
from registry.commands.options import Number, Out, Site, Tag, Why
from registry.commands.saving import save, words_of
from registry.wording import format

if TYPE_CHECKING:
    from registry.services.duelist import Due
    from registry.services.history import CheckLine, PointAnswer, StoryLine

app = typer.Typer()


@app.command("due", epilog="due --site KI --fail-if-due")
def due(
    context: typer.Context,
    site: Site = "",
    every: Annotated[bool, typer.Option("--all")] = False,
    fail_if_due: Annotated[bool, typer.Option("--fail-if-due")] = False,
    out: Out = "",
) -> int:
    from registry.services import duelist, tables_out
    from registry.services.places import names as names_of_places
    from registry.wording.due import why_due

    desk = Desk.of(context)
    of_site = desk.site(site).subject if site else None
    with desk.session.reading() as connection:
        found = duelist.due_list(desk.session, connection, of_site)
        names = names_of_places(connection)
    wanted = [one for one in found if one.item.state in duelist.OPEN_STATES]
    shown = found if every else wanted
    why = [why_due(*one.item.why, desk.language, desk.region, one.zone) for one in shown]
    rows = _due_rows(desk, shown, why, names)
    head = [desk.say(f"cli.head.{one}") for one in ("tag", "place", "state", "point", "why", "by_when")]
    thermometers = len({one.row.thermometer for one in wanted})
    overdue = len({one.row.thermometer for one in wanted if one.item.state == "overdue"})
    first = desk.say("cli.due", count=thermometers, overdue=overdue) if thermometers else desk.say("cli.nothing_due")
    said = {
        "thermometers": thermometers,
        "overdue": overdue,
        "due": [_due_data(one, reason) for one, reason in zip(shown, why, strict=True)],
    }
    code = exits.ATTENTION if fail_if_due and thermometers else exits.DONE
    if out:
        return save(desk, out, tables_out.due(words_of(desk), shown, names), said, code)
    return desk.answer([first, *table(head, rows)], said, code)


def _due_rows(desk: Desk, found: "list[Due]", why: list[str], names: dict[str, str]) -> list[list[str]]:
    """One row a thermometer and state, the most urgent first, with every reason."""
    together: dict[tuple[str, str], list[tuple[Due, str]]] = {}
    for one, reason in zip(found, why, strict=True):
        together.setdefault((one.row.thermometer, one.item.state), []).append((one, reason))
    return [
        _due_row(desk, [one for one, _ in some], [reason for _, reason in some], names) for some in together.values()
    ]


def _due_row(desk: Desk, some: "list[Due]", why: list[str], names: dict[str, str]) -> list[str]:
    first = min(some, key=lambda one: one.item.due_at)
    before_use = any(one.item.opens_at == one.item.due_at for one in some)
    points = [_point(desk, one) for one in some]
    return [
        first.row.tag_id or "",
        ", ".join(names.get(place, "") for place in (first.row.site, first.row.station) if place),
        desk.say(f"due_state.{first.item.state}"),
        "; ".join(dict.fromkeys(filter(None, points))),
        "; ".join(dict.fromkeys(why)),
        desk.say("cli.before_use") if before_use else desk.instant(first.item.due_at, first.zone),
    ]


def _point(desk: Desk, one: "Due") -> str:
    """At which point it is to be checked; nothing where an outside certificate is wanted."""
    if one.item.code == "reference_expiry":
        return ""
    if one.item.point:
        return desk.say(f"point.{one.item.point}")
    if one.item.why[0] == "failed":
        return desk.say("cli.at_point.where_outside")
    return desk.say("cli.at_point.hot" if one.item.code == "hot_point" else "cli.at_point.any")


def _due_data(one: "Due", why: str) -> dict[str, Any]:
    code, values = one.item.why
    return {
        "thermometer": one.row.thermometer,
        "tag_id": one.row.tag_id,
        "site": one.row.site,
        "station": one.row.station,
        "state": one.item.state,
        "rule": one.item.code,
        "point": one.item.point,
        "opens_at": iso(one.item.opens_at),
        "due_at": iso(one.item.due_at),
        "day": one.item.day.isoformat(),
        "shift": one.item.shift,
        "why": {
            "code": code,
            **{
                name: iso(value) if name.endswith("_at") and isinstance(value, int) else str(value)
                for name, value in values.items()
            },
        },
        "sentence": why,
    }


# --- one thermometer -----------------------------------------------------------------------------------------


@app.command("history", epilog="history KI001X --newest 10")
def history(
    context: typer.Context,
    tag: Tag,
    newest: Annotated[int | None, typer.Option("--newest", min=1, metavar="N")] = None,
    out: Out = "",
    what: Annotated[str, typer.Option("--what", metavar="checks|happened")] = "checks",
) -> int:
    from registry.commands.words import check_data, numbers, readings
    from registry.services import history as story_of
    from registry.services import tables_out, typed

    desk = Desk.of(context)
    of = desk.find(tag)
    if out:
        words, thermometer = words_of(desk), of.row.thermometer
        if typed.choice("what", what, ("checks", "happened")) == "checks":
            found = tables_out.checks_of(desk.session, words, thermometer, newest=newest)
        else:
            found = tables_out.happened_to(desk.session, words, thermometer)
        return save(desk, out, found, {"thermometer": thermometer, "tag_id": of.tag_id})
    zone = desk.site_of(of).payload.zone
    with desk.session.reading() as connection:
        story = story_of.story(desk.session, connection, of.row.thermometer, newest=newest)
    rows = [
        [
            one.number,
            _when(desk, one, zone),
            desk.initials_by_person.get(one.by, ""),
            readings(desk, one.readings),
            *numbers(desk, one),
            _as_left(desk, one),
            desk.say("cli.void") if one.voided else desk.say(f"cli.counts.{'yes' if one.outcome else 'waits'}"),
        ]
        for one in story.checks
    ]
    names = ("number", "when", "who", "readings", "outcome", "offset", "expanded", "limits", "reference", "rule")
    head = [desk.say(f"cli.head.{one}") for one in (*names, "as_left", "counts")]
    rest = [[one.number, desk.instant(one.at, zone), _initials(desk, one.by), _event(desk, one)] for one in story.rest]
    lines = [
        desk.say("cli.history", tag=of.tag_id, count=len(rows)),
        *table(head, rows),
        *([desk.say("caution.local_codes_first")] if rows else []),
    ]
    if rest:
        lines += ["", *table([desk.say(f"cli.head.{one}") for one in ("number", "when", "who", "what")], rest)]
    said = {
        "thermometer": of.row.thermometer,
        "tag_id": of.tag_id,
        "checks": [check_data(desk, one) for one in story.checks],
        "rest": [
            {
                "number": one.number,
                "at": iso(one.at),
                "by": one.by,
                "kind": one.kind,
                "payload": one.payload,
                "voided": one.voided,
            }
            for one in story.rest
        ],
    }
    return desk.answer(lines, said)


def _initials(desk: Desk, person: str) -> str:
    return desk.initials_by_person.get(person, "")


def _when(desk: Desk, line: "CheckLine", zone: str) -> str:
    from registry.services.session import day_at

    return format.day(day_at(line.at, zone), desk.region) if line.day_only else desk.instant(line.at, zone)


def _as_left(desk: Desk, line: "CheckLine") -> str:
    from registry.commands.words import readings

    if line.adjusted is None:
        return ""
    if not line.as_left:
        return desk.say("adjustment.not_measured")
    outcome = desk.say(f"outcome.{line.as_left_outcome}") if line.as_left_outcome else desk.say("lead.waits")
    return f"{readings(desk, line.as_left)}: {outcome}"


def _event(desk: Desk, line: "StoryLine") -> str:
    """A line of the story in words: what the entry says, where it says something by code."""
    from registry.services.words import happened

    said, detail = happened.kind(line.kind, desk.language), happened.detail(line.payload, desk.language)
    text = f"{said}: {detail}" if detail else said
    return f"{text} ({desk.say('cli.void')})" if line.voided else text


@app.command("was", epilog="was KI001X 2026-03-03 14:30")
def was(
    context: typer.Context,
    tag: Tag,
    day: Annotated[str, typer.Argument(metavar="DAY")],
    time: Annotated[str, typer.Argument(metavar="TIME")] = "",
    out: Out = "",
) -> int:
    from registry.commands.words import check_data
    from registry.services import history as story_of
    from registry.services import typed

    desk = Desk.of(context)
    of = desk.find(tag)
    zone = desk.site_of(of).payload.zone
    at = typed.moment(typed.day(day if time else "", desk.today(zone)), time or day, zone, desk.session.clock())
    with desk.session.reading() as connection:
        found = story_of.was_right(desk.session, connection, of.row.thermometer, at)
    said = {
        "thermometer": of.row.thermometer,
        "tag_id": of.tag_id,
        "at": iso(at),
        "answer": found.answer,
        "why": None if found.points else "never_checked",
        "points": [
            {
                "point": one.point,
                "hot": one.hot,
                "answer": one.answer,
                "why": one.why or None,
                "before": check_data(desk, one.before) if one.before else None,
                "after": check_data(desk, one.after) if one.after else None,
                "between": list(one.between),
                "void": [line.number for line in one.void],
            }
            for one in found.points
        ],
    }
    if out:
        from registry.services import answer_sheet

        page = answer_sheet.printed(desk.session, of.row.thermometer, at, language=desk.language)
        said["file"] = str(desk.write(out, page))
        return desk.answer([desk.say("answer.written", tag=of.tag_id, at=desk.instant(at, zone), file=out)], said)
    lines = [desk.say(f"cli.was.{found.answer}", tag=of.tag_id, at=desk.instant(at, zone))]
    if not found.points:
        lines.append(desk.say("answer.no_points"))
    for one in found.points:
        lines += _around(desk, one, zone)
    return desk.answer([*lines, desk.say("caution.local_codes_first")], said)


def _around(desk: Desk, one: "PointAnswer", zone: str) -> list[str]:
    """The answer at one point with its reason, and the checks that it rests on."""
    from registry.services.rightness import LONGEST_BETWEEN_DAYS

    void = [line.number for line in one.void]
    hot = one.hot and one.point == "comparison"
    point = desk.say("cli.was.comparison_hot" if hot else f"point.{one.point}")
    return [
        desk.say(f"cli.was.at.{one.why or one.answer}", point=point, days=LONGEST_BETWEEN_DAYS),
        *([desk.say("cli.was.void", count=len(one.void), numbers=", ".join(void))] if void else []),
        _told_check(desk, "before", one.before, zone),
        *([desk.say("cli.was.between", what=", ".join(_happened(desk, one)))] if one.between else []),
        _told_check(desk, "after", one.after, zone),
    ]


def _happened(desk: Desk, one: "PointAnswer") -> list[str]:
    from registry import resources

    texts = resources.texts(desk.language)
    adjusted = desk.say("cli.was.adjusted")
    return [adjusted if each == "adjusted" else texts.get(f"incident.{each}", each) for each in one.between]


def _told_check(desk: Desk, side: str, line: "CheckLine | None", zone: str) -> str:
    from registry.commands.words import readings

    if line is None:
        return desk.say(f"cli.was.none_{side}")
    outcome = line.outcome or line.given
    return desk.say(
        f"cli.was.{side}",
        number=line.number,
        when=_when(desk, line, zone),
        who=_initials(desk, line.by),
        readings=readings(desk, line.readings),
        figures=_figures(desk, line),
        outcome=desk.say(f"outcome.{outcome}_at.{line.point}") if outcome else desk.say("lead.waits"),
        rule=_rule(desk, line),
        as_left=_as_left(desk, line) or desk.say(f"cli.was.{'adjusted_unsaid' if line.imported else 'not_adjusted'}"),
    )


def _figures(desk: Desk, line: "CheckLine") -> str:
    """Offset and limits; where there are none that is said."""
    offset, limits = line.offset, line.tolerance
    return ", ".join(
        (
            desk.say("cli.was.offset", offset=format.offset(offset, desk.region))
            if offset
            else desk.say("cli.was.no_offset"),
            desk.say("cli.was.limits", limits=format.limit(limits, desk.region))
            if limits
            else desk.say("cli.was.no_limits"),
        )
    )


def _rule(desk: Desk, line: "CheckLine") -> str:
    """By what the outcome was decided; nothing where a check still waits."""
    if line.decision:
        return desk.say("cli.was.by", rule=desk.say(f"cli.decision.{line.decision}"))
    return desk.say("cli.was.stated") if line.outcome or line.given else ""


# --- mending -------------------------------------------------------------------------------------------------


@app.command("void", epilog="void KQBH00011 --why mistyped")
def void(
    context: typer.Context,
    number: Number,
    why: Why,
    words: Annotated[str, typer.Option("--words", metavar="TEXT")] = "",
) -> int:
    from registry.services import mend, typed

    desk = Desk.of(context)
    wanted = typed.choice("why", why, mend.WHY)
    found = mend.void(desk.session, desk.actor, number, wanted, words=words)
    lines = [desk.say("cli.voided", number=found.entry.number)]
    if found.certificates:
        lines.append(desk.say("cli.rests_on_it", numbers=", ".join(found.certificates)))
    if found.stays_check_first:
        lines.append(desk.say("cli.is_check_first"))
    said = {
        "done": "voided",
        "number": found.entry.number,
        "kind": found.entry.kind,
        "certificates": list(found.certificates),
        "stays_check_first": found.stays_check_first,
    }
    return desk.answer(lines, said)
