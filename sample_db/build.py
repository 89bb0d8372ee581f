"""Builds the demo group in a folder, the same to the last bit from the same seed."""

import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from importlib.resources import files
from pathlib import Path

from registry.services.start import PROGRAM
from registry.store import queries
from sample_db import scenario as scenarios
from sample_db.opening import open_world
from sample_db.simulate import simulate
from sample_db.telling import tell_truth

BUILT = "built.json"


@dataclass(frozen=True, slots=True)
class Built:
    """What a build came to; `head` is the hash of the last entry."""

    home: Path
    entries: int
    checks: int
    head: str


def build(home: Path, *, small: bool = False, progress: Callable[[float, date], None] | None = None) -> Built:
    """Build the demo in `home`, in place of what lies there; it appears whole or not at all."""
    making = home.with_name(f"{home.name}.making")
    shutil.rmtree(making, ignore_errors=True)
    world = open_world(making, scenarios.load(small=small))
    try:
        simulate(world, progress or (lambda done, day: None))
        tell_truth(world)
        with world.session.reading() as connection:
            ((_, last_seq, head),) = queries.heads(connection)
    finally:
        world.session.close()
    world.truth.write(making)
    checked = sum(len(one.checked_at) for one in (*world.gone, *world.kept.values()))
    built = Built(home, last_seq + 1, checked, head)
    told = {"stamp": stamp(small), "entries": built.entries, "checks": checked, "head": head}
    (making / BUILT).write_text(json.dumps(told), encoding="utf-8")
    shutil.rmtree(home, ignore_errors=True)
    making.rename(home)
    return built


def stamp(small: bool) -> str:
    """Changes with the program, the scenario and the simulator."""
    sources = sorted(one.name for one in files("sample_db").iterdir() if one.name.endswith((".py", ".toml")))
    digest = sha256(f"{PROGRAM} {small}".encode())
    for name in sources:
        digest.update(files("sample_db").joinpath(name).read_bytes())
    return digest.hexdigest()[:16]


def is_current(home: Path, *, small: bool = False) -> bool:
    """Whether the demo in `home` was built whole by this very version."""
    try:
        told = json.loads((home / BUILT).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(told, dict) and told.get("stamp") == stamp(small)
