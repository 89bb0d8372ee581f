"""`--help` and wrong usage in the reader's language: the texts stand by command and option in `help.toml`."""

import re
from textwrap import wrap
from typing import Any

import typer

from registry import resources
from registry.commands.exits import CODES
from registry.wording import say

PROGRAM = "thermometer-registry"


def localise(command: Any, language: str, path: tuple[str, ...] = ()) -> Any:
    """Give a command, its options and all below it their texts; the example stands in its epilog."""
    texts = resources.texts(language)
    code = "_".join(path).replace("-", "_") or "root"
    command.help = command.short_help = say(f"help.command.{code}", language)
    for param in command.params:
        if param.name == "help":
            continue
        own = f"help.{param.name}.{code}"
        param.help = say(own if own in texts else f"help.option.{param.name}", language)
        param.show_default = False
    if not path:
        command.epilog = "\n".join(["\b", say("help.exits", language), *_exit_codes(language)])
        command.commands = {"start": command.commands["start"], **command.commands}  # groups would go before it
    elif command.epilog:
        example = say("help.example", language)
        command.epilog = f"\b\n{example}\n  {PROGRAM} {command.epilog}"
    for name, below in getattr(command, "commands", {}).items():
        localise(below, language, (*path, name))
    return command


def _exit_codes(language: str) -> list[str]:
    lines = []
    for code in CODES:
        said = wrap(say(f"help.exit.{code}", language), 70)
        lines += [f"  {code:<4}{said[0]}", *(f"      {more}" for more in said[1:])]
    return lines


def usage_sentence(error: typer.TyperException, language: str) -> str:
    """What was wrong with how a command was called, told without the library's English."""
    context = getattr(error, "ctx", None)
    command = context.command_path if context else PROGRAM
    if type(error).__name__ == "MissingParameter":
        param: Any = getattr(error, "param", None)
        name = param.metavar or param.name.upper() if param.param_type_name == "argument" else param.opts[0]
        return say("cli.usage.missing", language, name=name, command=command)
    if name := getattr(error, "option_name", None):
        asks = type(error).__name__ == "BadOptionUsage"
        return say(f"cli.usage.{'value' if asks else 'option'}", language, name=name, command=command)
    if hasattr(getattr(context, "command", None), "commands"):
        unknown = re.search(r"'(.*?)'", str(error))
        if unknown:
            return say("cli.usage.no_command", language, name=unknown[1], command=command)
        return say("cli.usage.command", language, command=command)
    unexpected = re.search(r"\(([^()]*)\)$", str(error))
    if unexpected:
        return say("cli.usage.unexpected", language, name=unexpected[1], command=command)
    return say("cli.usage.otherwise", language, command=command)
