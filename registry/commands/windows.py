"""The window and the demo: programs of their own, which go on in this one's place. No command brings Qt along."""

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from registry.commands.desk import Desk

app = typer.Typer()
PLACES = ("shift", "thermometers", "drift", "proof", "setup")  # as `ui.places` has them; no command brings Qt along

Home = Annotated[str, typer.Option("--home", metavar="FOLDER")]


@app.command("window", epilog="window --picture window.png")
def window(
    context: typer.Context,
    home: Home = "",
    picture: Annotated[str, typer.Option("--picture", metavar="FILE")] = "",
    place: Annotated[str, typer.Option("--place", metavar="shift|thermometers|drift|proof|setup")] = "",
) -> None:
    from registry.services import typed
    from registry.services.problems import refuse

    desk = Desk.of(context)
    more = ["--picture", picture] if picture else []
    if place:
        if not picture:
            raise refuse("place", "needs_picture")
        more += ["--place", typed.choice("place", place, PLACES)]
    _go_on_as("ui.app", desk, home or str(desk.home), *more)


@app.command("demo", epilog="demo --terminal")
def demo(
    context: typer.Context,
    home: Home = "",
    small: Annotated[bool, typer.Option("--small")] = False,
    terminal: Annotated[bool, typer.Option("--terminal")] = False,
    fresh: Annotated[bool, typer.Option("--fresh")] = False,
) -> None:
    desk = Desk.of(context)
    chosen = {"--small": small, "--terminal": terminal, "--fresh": fresh}
    own = home or (str(desk.home) if desk.home_asked else "")  # never built among real records unasked
    _go_on_as("sample_db.demo", desk, own, *(name for name, wanted in chosen.items() if wanted))


def _go_on_as(module: str, desk: Desk, home: str, *more: str) -> None:
    """Take over what stood before the command; who works is said in the window itself."""
    from registry.services.problems import refuse

    if desk.initials or desk.as_json:
        raise refuse("option", "not_for_the_window", value="--as" if desk.initials else "--json")
    words = ["--home", str(Path(home).expanduser())] if home else []
    words += ["--language", desk.language_asked] if desk.language_asked else []
    sys.stdout.flush()
    os.execv(sys.executable, [sys.executable, "-m", module, *words, *more])
