"""Runs one command and turns whatever happens into an exit code and a sentence."""

import io
import json
import os
import sys
from collections.abc import Mapping, Sequence
from typing import Any
from unicodedata import normalize

import typer

from registry.commands import exits
from registry.commands.desk import Desk, complain
from registry.commands.helping import PROGRAM, usage_sentence
from registry.commands.options import QUESTIONS
from registry.services.settings import default_home, language_of_system
from registry.wording import say


def run(arguments: Sequence[str]) -> int:
    """One command with the options before it."""
    _stand_any_terminal()
    language = _language_named(arguments)
    desk = Desk(default_home())
    try:
        # Accents typed as two characters are one in the journal; half a character is no text at all.
        words = [normalize("NFC", word) for word in arguments]
        "".join(words).encode()
        from registry.commands.app import commands

        code = commands(language).main(words, prog_name=PROGRAM, standalone_mode=False, obj=desk)
        sys.stdout.flush()
        return code if isinstance(code, int) else exits.DONE
    except UnicodeEncodeError:
        complain(say("cli.usage.not_text", language))
        return exits.USAGE
    except BrokenPipeError:  # whoever reads our lines has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return exits.DONE
    except typer.TyperException as error:
        complain(usage_sentence(error, language))
        return exits.USAGE
    except Exception as error:
        return _failed(error, desk, language)
    finally:
        desk.close()


def _failed(error: Exception, desk: Desk, language: str) -> int:
    from registry.records.forms import PayloadError
    from registry.services.problems import KnownError, Problem, Refused, known_from_oserror

    language = _language_of(desk, language)
    if isinstance(error, PayloadError):
        error = Refused(Problem(error.key, "not_recordable"))
    if isinstance(error, OSError):
        error = known_from_oserror(error, str(error.filename or desk.home)) or error
    if isinstance(error, Refused):
        _tell_refused(error.problems, desk, language)
        return exits.REFUSED
    if isinstance(error, KnownError):
        _tell_trouble(error.code, error.values, desk, language)
        return exits.TROUBLE
    from registry.services import troubles

    log = troubles.note(error, desk.home)
    complain(say("cli.our_mistake", language, log=log) if log else say("cli.our_mistake_no_log", language))
    return exits.OUR_MISTAKE


def _tell_refused(problems: Sequence[Any], desk: Desk, language: str) -> None:
    from registry.wording.refusals import problem

    told = [(one, problem(one.field, one.code, one.values, language)) for one in problems]
    if desk.as_json:
        found = [
            {
                "field": one.field,
                "code": one.code,
                "values": {name: str(value) for name, value in one.values.items()},
                "sentence": sentence,
            }
            for one, sentence in told
        ]
        complain(json.dumps({"problems": found}, ensure_ascii=False))
        return
    for _, sentence in told:
        complain(sentence)
    if any(one.code in QUESTIONS and "row" not in one.values for one in problems):
        complain(say("cli.again", language))
    for hint in _hints_of_import(problems, language):
        complain(hint)


def _hints_of_import(problems: Sequence[Any], language: str) -> list[str]:
    """What to give at the command line where a file asks something."""
    from registry.services.import_rows import QUESTION_OF

    of_rows = [one for one in problems if "row" in one.values]
    asked = dict.fromkeys(QUESTION_OF[one.code] for one in of_rows if one.code in QUESTION_OF)
    found = [say("cli.yes_to", language, options=" ".join(f"--yes-to {one}" for one in asked))] if asked else []
    codes = {one.code for one in of_rows}
    if codes & {"column_unknown", "both_units"}:
        found.append(say("cli.name_columns", language))
    if "order_unsaid" in codes:
        found.append(say("cli.say_day_order", language))
    return found


def _tell_trouble(code: str, values: Mapping[str, str | int], desk: Desk, language: str) -> None:
    from registry.wording.refusals import trouble

    sentence = trouble(code, language)
    if desk.as_json:
        told = {"trouble": code, "values": dict(values), "sentence": sentence}
        complain(json.dumps(told, ensure_ascii=False))
        return
    complain(sentence)
    if "path" in values:
        complain(f"  {values['path']}")


def _language_named(arguments: Sequence[str]) -> str:
    """The language of help and of usage errors, wanted before the options are read."""
    from registry import resources

    for word, following in zip(arguments, [*arguments[1:], ""], strict=True):
        asked = following if word == "--language" else word.removeprefix("--language=")
        if asked in resources.languages() and word.startswith("--language"):
            return asked
    return language_of_system()


def _language_of(desk: Desk, fallback: str) -> str:
    """The group's where it can be read; trouble may have come before that."""
    if desk.language_asked:
        return fallback
    try:
        return desk.language if desk.opened is not None else fallback
    except Exception:  # telling of one trouble must not end in another
        return fallback


def _stand_any_terminal() -> None:
    """A terminal that lacks a character shows another instead of ending us."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
