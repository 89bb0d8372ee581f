"""All commands, in the order in which `--help` names them."""

from functools import cache
from pathlib import Path
from typing import Annotated, Any

import typer

from registry import resources
from registry.commands import (
    asking,
    baths,
    failing,
    for_a_site,
    importing,
    kitchen,
    listing,
    looking_back,
    measuring,
    own_figures,
    papers,
    people,
    pictures,
    places,
    plan,
    planning,
    readings,
    setup,
    sheets,
    tags,
    taken_back,
    thermometers,
    upkeep,
    windows,
)
from registry.commands.desk import Desk
from registry.commands.helping import localise
from registry.commands.options import Replace
from registry.services.settings import default_home

app = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)


@app.callback()
def options(
    context: typer.Context,
    home: Annotated[str, typer.Option("--home", metavar="FOLDER")] = "",
    initials: Annotated[str, typer.Option("--as", metavar="INITIALS")] = "",
    as_json: Annotated[bool, typer.Option("--json")] = False,
    language: Annotated[str, typer.Option("--language", metavar="en|es")] = "",
) -> None:
    desk = Desk.of(context)
    desk.home, desk.home_asked = Path(home).expanduser() if home else default_home(), bool(home)
    desk.initials, desk.as_json = initials, as_json
    if language:
        if language not in resources.languages():
            from registry.services.problems import refuse

            raise refuse("language", "choose", value=language, choices=", ".join(resources.languages()))
        desk.language_asked = language


GROUPS = (
    (places.site_app, "site"),
    (places.station_app, "station"),
    (places.shift_app, "shift"),
    (people.person_app, "person"),
    (setup.group_app, "group"),
    (setup.rules_app, "rules"),
    (plan.plan_app, "plan"),
    (baths.bath_app, "bath"),
    (tags.tag_app, "tag"),
    (importing.import_app, "import"),
    (own_figures.own_app, "own-figures"),
)

for group, name in GROUPS:
    app.add_typer(group, name=name)
for module in (
    windows,
    setup,
    thermometers,
    pictures,
    listing,
    baths,
    readings,
    kitchen,
    asking,
    measuring,
    failing,
    looking_back,
    planning,
    taken_back,
    papers,
    for_a_site,
    sheets,
    upkeep,
):
    app.add_typer(module.app)


@cache
def commands(language: str) -> Any:
    """Everything above as one tree, its texts in a language; made once, since that takes longer than most commands."""
    tree = typer.main.get_command(app)
    _give_replace(tree, typer.main.get_command(_with_replace).params[0])
    return localise(tree, language)


_with_replace = typer.Typer(add_completion=False)


@_with_replace.command()
def _only_replace(replace: Replace = False) -> None:
    """There is no other way to have Typer make an option that many commands share."""


def _give_replace(command: Any, option: Any) -> None:
    """Give each command that writes a file the option by which it may replace one."""
    if any(param.name == "out" for param in command.params):
        command.params.append(option)
    for below in getattr(command, "commands", {}).values():
        _give_replace(below, option)
