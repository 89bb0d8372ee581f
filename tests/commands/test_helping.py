"""`--help`: one line of meaning and a valid example for every command, whole in both languages."""

import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from registry import resources
from registry.commands import exits, helping
from registry.commands.app import commands
from registry.commands.desk import Desk

Names = tuple[str, ...]


def leaves(command: Any, path: Names = ()) -> Iterator[tuple[Names, Any]]:
    below = getattr(command, "commands", {})
    if not below:
        yield path, command
    for name, one in below.items():
        yield from leaves(one, (*path, name))


@pytest.fixture(scope="module", params=resources.languages())
def helped(request: pytest.FixtureRequest) -> tuple[str, Any]:
    return request.param, commands(request.param)


def test_every_command_says_what_it_does_and_shows_an_example(
    helped: tuple[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    language, tree = helped
    texts = resources.texts(language)
    found = list(leaves(tree))
    assert len(found) > 50
    for path, _ in found:
        assert tree.main([*path, "--help"], prog_name=helping.PROGRAM, standalone_mode=False, obj=Desk(Path())) == 0
        said = capsys.readouterr().out
        meaning = texts[f"help.command.{'_'.join(path).replace('-', '_')}"]
        assert " ".join(meaning.split()) in " ".join(said.split())
        assert meaning[-1] in ".?"
        lines = said.rstrip().splitlines()
        assert lines[-2].strip() == texts["help.example"]
        assert lines[-1].strip().startswith(f"{helping.PROGRAM} ")
        assert " ".join(path) in lines[-1]


def test_every_example_is_taken_as_it_stands(helped: tuple[str, Any]) -> None:
    for path, command in leaves(helped[1]):
        words = shlex.split(command.epilog.splitlines()[-1])
        given = words[words.index(path[0]) + len(path) :]
        assert words[words.index(path[0]) :][: len(path)] == list(path)
        assert command.make_context("x", given, resilient_parsing=False, obj=Desk(Path())).params.keys() >= {
            param.name for param in command.params if param.name not in ("help", "replace")
        }


def test_every_option_is_explained_and_no_text_is_left_over(helped: tuple[str, Any]) -> None:
    language, tree = helped
    used = {"help.example", "help.exits", *(f"help.exit.{code}" for code in exits.CODES)}
    texts = resources.texts(language)

    def walk(command: Any, path: Names) -> None:
        code = "_".join(path).replace("-", "_") or "root"
        used.add(f"help.command.{code}")
        for param in command.params:
            own = f"help.{param.name}.{code}"
            used.add(own if own in texts else f"help.option.{param.name}")
        for name, below in getattr(command, "commands", {}).items():
            walk(below, (*path, name))

    walk(tree, ())
    used.discard("help.option.help")
    assert used == {code for code in texts if code.startswith("help.")}
