"""First start, and the group's rules."""

from typing import TYPE_CHECKING, Annotated

import typer

from registry.commands.desk import Desk, table
from registry.commands.options import Out
from registry.wording import format

if TYPE_CHECKING:
    from registry.services.pictures import Picture

app = typer.Typer()
rules_app = typer.Typer()
group_app = typer.Typer()

SINCE = typer.Option("--since", metavar="2026-03-03")


@app.command("start", epilog='start --group "Cocinas Lobo" --country ES --name "Ana Ruiz" --initials AR')
def start(
    context: typer.Context,
    group: Annotated[str, typer.Option("--group", metavar="TEXT")],
    country: Annotated[str, typer.Option("--country", metavar="ES|US|GB|…")],
    name: Annotated[str, typer.Option("--name", metavar="TEXT")],
    initials: Annotated[str, typer.Option("--initials", metavar="INITIALS")],
    installation: Annotated[str, typer.Option("--installation", metavar="TEXT")] = "",
    jurisdiction: Annotated[str, typer.Option("--jurisdiction", metavar="CODE")] = "",
    plan: Annotated[str, typer.Option("--plan", metavar="PLAN")] = "each_shift",
    unit: Annotated[str, typer.Option("--unit", metavar="C|F")] = "",
) -> int:
    from registry import resources
    from registry.services import clock, typed
    from registry.services.start import FirstStart, first_start

    desk = Desk.of(context)
    asked = FirstStart(
        group,
        country.strip().upper(),
        name,
        initials,
        installation,
        typed.choice("jurisdiction", jurisdiction, resources.jurisdictions()) if jurisdiction else None,
        "es" if (desk.language_asked or _language_of(country)) == "es" else "en",
        typed.choice("plan", plan, resources.default_plans()),
        typed.unit(unit) if unit else None,
    )
    desk.opened, actor = first_start(desk.home, asked, clock=clock.now_us)
    chain = desk.opened.signer.chain if desk.opened.signer else ""
    said = {"group": desk.group.group, "person": actor.person, "chain": chain, "home": str(desk.home)}
    lines = [desk.say("cli.started", group=desk.group.name, home=desk.home), desk.say("cli.started_next")]
    return desk.answer([*lines, desk.say("caution.local_codes_first")], {"done": "started", **said})


def _language_of(country: str) -> str:
    from registry import resources

    known = resources.countries().get(country.strip().upper())
    return known.region[:2] if known else "en"


@group_app.command("name", epilog='group name "Cocinas Lobo"')
def rename_group(context: typer.Context, group: Annotated[str, typer.Argument(metavar="NAME")]) -> int:
    from registry.services import set_up

    desk = Desk.of(context)
    set_up.rename_group(desk.session, desk.actor, group)
    return desk.done("group_named", {"name": group.strip()}, name=group.strip())


@group_app.command("logo", epilog="group logo logo.png")
def group_logo(
    context: typer.Context,
    file: Annotated[str, typer.Argument(metavar="FILE")] = "",
    remove: Annotated[bool, typer.Option("--remove")] = False,
    out: Out = "",
) -> int:
    from pathlib import Path

    from registry.services import logos, pictures
    from registry.services.problems import refuse

    desk = Desk.of(context)
    if remove:
        logos.remove_logo(desk.session, desk.actor)
        return desk.done("logo_removed", {})
    if file:
        found = logos.set_logo(desk.session, desk.actor, pictures.read_file(Path(file)))
        return desk.done("logo_set", _logo(found), number=found.number, size=max(1, round(found.length / 1000)))
    with desk.session.reading() as connection:
        standing = logos.logo(desk.session, connection)
        if standing is None:
            raise refuse("logo", "none")
        content = pictures.content_of(connection, standing) if out else b""
    if out:
        desk.write(out, content)
        return desk.done("logo_written", _logo(standing) | {"file": out}, number=standing.number, file=out)
    told = {
        "number": standing.number,
        "when": desk.instant(standing.at, "UTC"),
        "initials": desk.initials_by_person.get(standing.by, ""),
        "size": max(1, round(standing.length / 1000)),
    }
    return desk.answer([desk.say("cli.logo_is", **told)], _logo(standing))


def _logo(found: "Picture") -> dict[str, object]:
    return {"number": found.number, "sha256": found.sha256, "length": found.length, "media": found.media}


# --- rules ---------------------------------------------------------------------------------------------------


@rules_app.command("show", epilog="rules show --site KI")
def show(context: typer.Context, site: Annotated[str, typer.Option("--site", metavar="SITE")] = "") -> int:
    from registry.services.rules import rules_in_force

    desk = Desk.of(context)
    of_site = desk.site(site).subject if site else None
    with desk.session.reading() as connection:
        found = rules_in_force(connection, of_site)
    group = found.group
    tolerances = [
        [
            desk.say(f"tolerance_class.{one.class_}"),
            desk.say(f"scale.{one.scale}"),
            _limit(one.tolerance, desk.region),
            _source(one.source, one.place),
        ]
        for one in found.tolerances.tolerances
    ]
    lines = [
        desk.say(
            "cli.rules",
            group=group.name,
            jurisdiction=desk.say(f"jurisdiction.{group.jurisdiction}"),
            decision=desk.say(f"cli.decision.{found.rule.decision}"),
            repeats=found.rule.repeats,
            plan=desk.say(f"plan.{found.plan.plan}"),
        ),
        "",
        *table([desk.say(f"cli.head.{one}") for one in ("kind", "marked", "limits", "source")], tolerances),
        "",
        *table([desk.say(f"cli.head.{one}") for one in ("limit", "temperature", "source")], _limits(desk, found)),
        desk.say("caution.local_codes_first"),
    ]
    said = {
        "group": group.as_payload(),
        "tolerances": found.tolerances.as_payload(),
        "rule": found.rule.as_payload(),
        "plan": found.plan.as_payload(),
        "limits": found.limits.as_payload(),
    }
    return desk.answer(lines, said)


def _source(source: str, place: str | None) -> str:
    return f"{source}, {place}" if place else source


def _limit(text: str, region: str) -> str:
    from registry.quantity import TemperatureDifference

    return format.limit(TemperatureDifference.from_text(text), region)


def _limits(desk: Desk, found: object) -> list[list[str]]:
    from registry.quantity import Reading
    from registry.services.rules import RulesInForce

    assert isinstance(found, RulesInForce)
    rows = []
    for one in found.limits.limits:
        shown = [
            format.temperature(Reading.from_text(text), desk.region) for text in (one.celsius, one.fahrenheit) if text
        ]
        side = desk.say(f"cli.side.{one.side}", temperature=", ".join(shown))
        rows.append([one.limit.replace("_", " "), side, _source(one.source, one.place)])
    return rows


@rules_app.command("decision", epilog="rules decision four_outcomes")
def decision(
    context: typer.Context,
    rule: Annotated[str, typer.Argument(metavar="simple|guard_band|four_outcomes")],
    since: Annotated[str, SINCE] = "",
) -> int:
    from registry.services import rules, typed

    desk = Desk.of(context)
    wanted = typed.choice("decision", rule, rules.DECISIONS)
    day = typed.day(since, desk.today("UTC"), "since")
    rules.set_decision(desk.session, desk.actor, wanted, day)
    return desk.done(
        "decision_set", {"decision": wanted, "since": day.isoformat()}, rule=desk.say(f"cli.decision.{wanted}")
    )


@rules_app.command("plan", epilog="rules plan risk_based")
def plan(
    context: typer.Context,
    plan: Annotated[str, typer.Argument(metavar="each_shift|risk_based")],
    since: Annotated[str, SINCE] = "",
) -> int:
    from registry import resources
    from registry.services import rules, typed

    desk = Desk.of(context)
    wanted = typed.choice("plan", plan, resources.default_plans())
    day = typed.day(since, desk.today("UTC"), "since")
    rules.set_plan(desk.session, desk.actor, wanted, day)
    return desk.done("plan_set", {"plan": wanted, "since": day.isoformat()}, plan=desk.say(f"plan.{wanted}"))


@rules_app.command("tolerance", epilog="rules tolerance C 5")
def tolerance(
    context: typer.Context,
    scale: Annotated[str, typer.Argument(metavar="C|F|dual")],
    value: Annotated[str, typer.Argument(metavar="VALUE")],
    since: Annotated[str, SINCE] = "",
) -> int:
    from registry.services import rules, typed

    desk = Desk.of(context)
    wanted = typed.choice("scale", scale, rules.SCALES)
    permitted = typed.difference(value, "F" if wanted == "F" else "C", "tolerance")
    day = typed.day(since, desk.today("UTC"), "since")
    rules.set_owner_tolerance(desk.session, desk.actor, wanted, permitted, day)
    said = {"scale": wanted, "tolerance": permitted.text(), "since": day.isoformat()}
    lines = [
        desk.say("cli.tolerance_set", limit=format.limit(permitted, desk.region)),
        desk.say("caution.local_codes_first"),
    ]
    return desk.answer(lines, {"done": "tolerance_set", **said})
