"""Draws every place and state: `python -m tests.screenshots OUT [--only NAME] [--demo FOLDER]`, and contact sheets."""

import os
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("QT_SCALE_FACTOR", "2")  # crisp pictures; said before Qt comes along

from tests.screenshots import contact, worlds
from tests.screenshots.scenes import Scene
from tests.screenshots.scenes.every import SCENES
from tests.screenshots.stage import Variant, played
from tests.screenshots.worlds import World

PLAIN = Variant()
MORE = (
    Variant(language="es"),
    Variant(dark=True),
    Variant(zoom=200),
    Variant((1024, 600)),
    Variant((1920, 1080)),
    Variant((1024, 600), "es", dark=True, zoom=200),  # the tightest of all
)


def wanted(only: str) -> Iterator[tuple[Scene, Variant]]:
    """Every scene as it is plainly seen, then the main ones in every other way."""
    chosen = [scene for scene in SCENES if only in scene.name]
    yield from ((scene, PLAIN) for scene in chosen)
    yield from ((scene, variant) for variant in MORE for scene in chosen if scene.main)


def draw(asked: Namespace) -> list[str]:
    """Draw them all; returns what could not be drawn, and why."""
    made: dict[str, World] = {}
    failed: list[str] = []
    pictures: list[tuple[str, Path]] = []
    asked.out.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory() as name:
        folder = Path(name)
        if asked.demo is not None:
            made["demo"] = worlds.of_demo(asked.demo)
        for scene, variant in wanted(asked.only):
            if scene.world not in made:
                made[scene.world] = worlds.make(scene.world, folder)
            caption = f"{scene.name} {variant.name()}"
            target = asked.out / f"{caption.replace(' ', '.')}.png"
            try:
                with played(made[scene.world], folder, variant, scene.role, scene.unit) as stage:
                    scene.play(stage)
                    stage.picture().save(str(target))
            except Exception as error:  # one state that cannot be drawn does not hide the others
                failed.append(f"{caption}: {type(error).__name__}: {error}")
                continue
            pictures.append((caption, target))
    contact.draw(pictures, asked.out)
    return failed


def main(argv: Sequence[str] | None = None) -> int:
    parser = ArgumentParser(prog="python -m tests.screenshots", description=__doc__)
    parser.add_argument("out", type=Path, help="the folder that pictures go to")
    parser.add_argument("--only", default="", help="only scenes with this in their name")
    parser.add_argument("--demo", type=Path, help="a demo that was built already, for the whole group of kitchens")
    failed = draw(parser.parse_args(argv))
    for one in failed:
        print(f"not drawn: {one}", file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
