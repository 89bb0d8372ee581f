"""Builds the demo group of kitchens where it is not there yet, and opens the window on it."""

import argparse
import os
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from registry import cli, resources
from registry.services import people, places, settings
from registry.services.session import open_session
from registry.store import queries
from registry.wording import format
from sample_db import scenario as scenarios
from sample_db.build import build, is_current

FOLDER = "thermometer-registry-demo"
OPENS, LEAD = "WS", "MQ"  # the kitchen whose early shift begins, and who leads it
INITIALS = scenarios.load().group["officer"][1]


def default_home(small: bool) -> Path:
    """A folder of its own among this user's data, never beside real records."""
    data = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    return data / (f"{FOLDER}-small" if small else FOLDER)


def main(argv: Sequence[str] | None = None) -> int:
    asked = _arguments().parse_args(argv)
    home: Path = asked.home or default_home(asked.small)
    if home.exists() and any(home.iterdir()) and not (home / "built.json").is_file():
        print(f"{home} holds something that is no demo; name another folder with --home.", file=sys.stderr)
        return 1
    if asked.fresh or not is_current(home, small=asked.small):
        made(home, small=asked.small)
    print(f"DEMO: {scenarios.load().group['name']}, everything in it is invented, its day and time too: {it_is(home)}.")
    print(f"It lies in {home}")
    more = ["--language", asked.language] if asked.language else []
    return show(home, more) if asked.terminal else open_window(home, more)


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="./run demo", description=__doc__)
    parser.add_argument("--home", type=Path, help="the folder to build it in")
    parser.add_argument("--small", action="store_true", help="one kitchen and its last weeks, in seconds")
    parser.add_argument("--terminal", action="store_true", help="show some of it at the terminal, and no window")
    parser.add_argument("--fresh", action="store_true", help="build it anew")
    parser.add_argument("--language", choices=resources.languages(), help="of what is shown")
    return parser


def made(home: Path, *, small: bool) -> None:
    """Build with one line of progress."""
    step = 1 if sys.stderr.isatty() else 25  # a log wants few lines
    said = -step

    def progress(done: float, day: date) -> None:
        nonlocal said
        if int(done * 100) >= said + step:
            said = int(done * 100)
            print(f"\rBuilding the demo group, once: {said:3d} %, {day.isoformat()} ", end="", file=sys.stderr)

    home.parent.mkdir(parents=True, exist_ok=True)
    built = build(home, small=small, progress=progress)
    print(f"\rDemo group built: {built.checks} checks in {built.entries} entries.      ", file=sys.stderr)


def it_is(home: Path) -> str:
    """The time at which the demo stands, in the kitchen that opens."""
    session = open_session(home, read_only=True)
    try:
        with session.reading() as connection:
            zone, region = places.site_named(connection, OPENS).payload.zone, session.group(connection).payload.region
        return format.instant(session.clock(), zone, format.region_in("en", region))
    finally:
        session.close()


def open_window(home: Path, more: Sequence[str] = ()) -> int:
    """The window, as the kitchen opens; drawn to a picture where there is no screen."""
    from ui import app

    _sit_down(home)
    if app.has_screen():
        return app.main(["--home", str(home), *more])
    picture = home / "window.png"
    if code := app.main(["--home", str(home), "--picture", str(picture), *more]):
        return code
    print("There is no screen here: that is how the window opens.")
    print("To look around at the terminal: ./run demo --terminal")
    return 0


def _sit_down(home: Path) -> None:
    """A lead of the kitchen that opens is at work, unless somebody sat here before."""
    local = settings.local_file(home)
    if settings.remembered(local, "person") is not None:
        return
    session = open_session(home, read_only=True)
    try:
        with session.reading() as connection:
            lead = people.find_person(connection, LEAD)
            site = places.site_named(connection, OPENS)
    finally:
        session.close()
    settings.remember(local, "person", lead.person)
    settings.remember(local, "site", site.subject)


def show(home: Path, more: Sequence[str] = ()) -> int:
    """Its due list, one thermometer's history, the proof, a certificate; the worst exit code of them."""
    tag = worth_showing(home)
    page = home / f"certificate-{tag}.pdf"
    commands = (["due"], ["history", tag, "--newest", "12"], ["verify"], ["certificate", tag, "--out", str(page)])
    codes = []
    for command in commands:
        print(f"\n$ thermometer-registry {' '.join(command)}")
        codes.append(cli.main(["--home", str(home), "--as", INITIALS, *more, *command]))
    return max(codes)


def worth_showing(home: Path) -> str:
    """The tag of the thermometer in service that was adjusted last and has passed since."""
    session = open_session(home, read_only=True)
    try:
        with session.reading() as connection:
            rows = queries.thermometers(connection, statuses=("in_service",))
    finally:
        session.close()
    good = [row for row in rows if row.last_outcome == "pass" and not row.check_first]
    return max(good, key=lambda row: (row.adjusted_at or 0, row.tag_id or "")).tag_id or ""


if __name__ == "__main__":
    sys.exit(main())
