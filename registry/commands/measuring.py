"""What is known of a thermometer by all its checks, what one check is made of, what a bath's thermometers say of it."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.baths import bath_app, bath_meant
from registry.commands.desk import Desk, iso, table
from registry.commands.options import Bath, Model, Number, Out, Site
from registry.commands.outlook_data import outlook_data, text
from registry.wording import format

if TYPE_CHECKING:
    from registry.services.bath_watch import BathWatch
    from registry.services.habits import SiteHabit
    from registry.services.plain_charts import PlainChart

app = typer.Typer()


# --- one thermometer -----------------------------------------------------------------------------------------


@app.command("drift", epilog="drift --by-day 2026-12-24 --site KI")
def drift(
    context: typer.Context,
    tag: Annotated[str, typer.Argument(metavar="TAG")] = "",
    by_day: Annotated[str, typer.Option("--by-day", metavar="2026-12-24")] = "",
    site: Site = "",
    type: Annotated[str, typer.Option("--type", metavar="TYPE")] = "",
    model: Model = "",
    limit: Annotated[int, typer.Option("--limit", min=1, metavar="N")] = 20,
    groups: Annotated[str, typer.Option("--groups", metavar="model|maker|type|site")] = "",
    incidents: Annotated[bool, typer.Option("--incidents")] = False,
    out: Out = "",
) -> int:
    from registry.commands import fleet
    from registry.services.problems import refuse

    desk = Desk.of(context)
    ranked = bool(by_day or site or type or model)
    if sum(map(bool, (tag, groups, incidents, ranked))) > 1:
        raise refuse("drift", "one_at_a_time")
    if out and (tag or incidents):
        raise refuse("out", "not_of_this")
    if groups:
        return fleet.groups(desk, groups, out)
    if incidents:
        return fleet.incidents(desk)
    if tag:
        return _of_one(desk, tag)
    return fleet.ranking(desk, by_day=by_day, site=site, type=type, model=model, limit=limit, out=out)


def _of_one(desk: Desk, tag: str) -> int:
    from registry.services import plain_charts, thermometer_page
    from registry.services.words import outlook as words
    from registry.services.words import plain_charts as plain

    of = desk.find(tag)
    with desk.session.reading() as connection:
        page = thermometer_page.page(desk.session, connection, of.row.thermometer, newest=0)
    found = page.outlook
    lines = words.sentences(found, desk.language, desk.region, desk.today(page.zone))
    for at, size, reported in found.steps:
        code = "outlook.step_reported" if reported else "outlook.step_found"
        lines.append(desk.say(code, when=desk.instant(at, page.zone), size=format.offset(size, desk.region, 1)))
    if found.says != "never":
        lines.append(words.rests_on(found, desk.language))
    charts = plain_charts.plain_charts(page.followed, page.unit)
    lines += [" ".join(plain.sentences(one, desk.language, desk.region, page.zone)) for one in charts]
    return desk.answer(
        lines,
        {
            "thermometer": of.row.thermometer,
            "tag_id": of.tag_id,
            **outlook_data(found),
            "charts": list(map(_chart_data, charts)),
        },
    )


def _chart_data(found: "PlainChart") -> dict[str, Any]:
    return {
        "at": f"{found.celsius:.2f} C",
        "checks": found.checks,
        "since": iso(found.since),
        "a_month": found.a_month.text(),
        "a_month_low": found.low.text(),
        "a_month_high": found.high.text(),
        "p_of_order": found.p,
        "average_out_at": iso(found.average_out) if found.average_out else None,
        "sum_out_at": iso(found.sum_out) if found.sum_out else None,
    }


@app.command("budget", epilog="budget KQBH00205")
def budget(context: typer.Context, number: Number) -> int:
    from registry.services import budget as service
    from registry.services import mend
    from registry.services.problems import refuse
    from registry.services.words import budget as words

    desk = Desk.of(context)
    entry = mend.find_entry(desk.session, number)
    if entry.kind != "check_recorded":
        raise refuse("number", "not_a_check", value=number)
    with desk.session.reading() as connection:
        found = service.of_check(desk.session, connection, entry.payload["check"])
    lines = [desk.say("budget.of", number=found.number, tag=found.tag_id, point=desk.say(f"point.{found.point}"))]
    lines += table(words.head(desk.language), words.rows(found, desk.language, desk.region)) if found.lines else []
    lines += words.sentences(found, desk.language, desk.region)
    said = {
        "number": found.number,
        "check": found.check,
        "tag_id": found.tag_id,
        "components": [
            {"code": one.code, "u": one.u.text(), "share": one.share, "shared": one.shared} for one in found.lines
        ],
        "u": text(found.u),
        "k": str(found.k) if found.k is not None else None,
        "expanded": text(found.expanded),
        "outcome": found.outcome,
        "chance_inside": found.inside,
        "chance_out_now": found.out_now,
        "would_decide": found.would_decide or None,
    }
    return desk.answer([*lines, desk.say("caution.local_codes_first")], said)


# --- baths ---------------------------------------------------------------------------------------------------


@bath_app.command("look", epilog="bath look --bath KQBH00011")
def look(context: typer.Context, bath: Bath = "", site: Site = "") -> int:
    from registry.services import bath_watch, baths
    from registry.services.words import watch as words

    desk = Desk.of(context)
    of = bath_meant(desk, bath, site)
    with desk.session.reading() as connection:
        number = baths.made(connection, of).number
        found = bath_watch.watch(desk.session, connection, of)
    unit = desk.unit("")
    lines = [words.title(found, desk.language), *words.sentences(found, desk.language, desk.region, unit)]
    lines += table(
        [desk.say(f"watch.head.{one}") for one in ("tag", "expected", "read", "remains")], _rows(desk, found)
    )
    return desk.answer(lines, {"bath": of, "number": number, **_watch_data(found)})


def _rows(desk: Desk, found: "BathWatch") -> list[list[str]]:
    from registry.compute.check import written

    unit = desk.unit("")

    def shown(celsius: float) -> str:
        return format.offset(written(celsius, "C").to(unit), desk.region, 1)

    return [
        [one.tag_id, shown(one.told.predicted), shown(one.told.reading), shown(one.remaining.offset)]
        for one in found.those
    ]


def _watch_data(found: "BathWatch") -> dict[str, Any]:
    diagnosis = found.diagnosis
    return {
        "verdict": diagnosis.verdict,
        "error": f"{diagnosis.error.mean:.4f} dC",
        "error_sd": f"{diagnosis.error.sd:.4f} dC",
        "chance_bad": diagnosis.probability_bad,
        "wanted": list(diagnosis.wanted),
        "swapped": [list(pair) for pair in found.swaps],
        "thermometers": [
            {
                "tag_id": one.tag_id,
                "check": one.check,
                "expected": f"{one.told.predicted:.4f} dC",
                "expected_sd": f"{one.told.sd:.4f} dC",
                "read": f"{one.told.reading:.4f} dC",
                "remains": f"{one.remaining.offset:.4f} dC",
                "chance_out": one.remaining.probability_out,
                "out_even_so": one.remaining.out,
            }
            for one in found.those
        ],
    }


@app.command("habits", epilog="habits --site KI")
def of_site(context: typer.Context, site: Site = "") -> int:
    from registry.services import habits, mix_ups
    from registry.services.words import watch as words

    desk = Desk.of(context)
    at = desk.site(site)
    zone = at.payload.zone
    with desk.session.reading() as connection:
        found = habits.at_site(desk.session, connection, at.subject)
        pairs = mix_ups.at_site(desk.session, connection, at.subject)
    lines = [line for one in found for line in words.habit_sentences(one, desk.language, desk.region, zone)]
    for pair in pairs:
        day = words.day_of(pair.since, zone, desk.region)
        lines.append(desk.say("watch.tags_swapped", one=pair.tags[0], other=pair.tags[1], day=day))
    said = {
        "site": at.payload.name,
        "habits": [_habit_data(one) for one in found],
        "tags_swapped": [{"tags": list(pair.tags), "since": iso(pair.since)} for pair in pairs],
    }
    return desk.answer(lines or [desk.say("watch.habit.none")], said)


def _habit_data(one: "SiteHabit") -> dict[str, Any]:
    return {
        "point": one.point,
        "baths": one.baths,
        "error": f"{one.habit.mean:.4f} dC",
        "error_sd": f"{one.habit.sd:.4f} dC",
        "notable": one.notable,
        "fits_elevation": None if one.fits is None else [one.fits.low_m, one.fits.elevation_m, one.fits.high_m],
        "pressure_of_other_kind": None if one.mixed_up is None else one.mixed_up.probability,
        "changes": [{"at": iso(each.at), "shift": f"{each.shift:.4f} dC"} for each in one.changes],
    }


@app.command("background", epilog="background")
def background(
    context: typer.Context,
    quiet: Annotated[str, typer.Option("--quiet", metavar="21:00-05:00")] = "",
) -> int:
    from registry.services import jobs, notices
    from registry.services.settings import local_file
    from registry.services.words import notices as words

    desk = Desk.of(context)
    local = local_file(desk.home)
    lines = []
    if quiet:
        notices.set_quiet_hours(local, quiet)
        lines.append(desk.say("notice.quiet_set", hours=quiet))
    done = jobs.run(desk.session)
    jobs.warm(desk.session)
    new = notices.to_tell(desk.session, local)
    said = [words.sentence(one, desk.language, desk.region) for one in new]
    lines += [desk.say("outlook.models", count=done["models_learned"]), *(said or [desk.say("notice.none")])]
    told = [
        {"key": one.key, "code": one.code, "site": one.site, "tag_ids": list(one.tags), "sentence": sentence}
        for one, sentence in zip(new, said, strict=True)
    ]
    return desk.answer(lines, {**done, "notices": told})
