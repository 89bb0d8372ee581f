"""Who sits at the registry and how they are answered: the open session, the language, plain text or JSON."""

import json
import os
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from registry.commands import exits
from registry.wording import format, say

if TYPE_CHECKING:  # what needs SQLAlchemy comes along when a command runs, so that --help is quick
    from registry.quantity import Unit
    from registry.records.places import SiteSet
    from registry.records.rules import GroupSet
    from registry.services.lookup import Fact
    from registry.services.session import Actor, Session
    from registry.services.thermometers import Thermometer

WHO = "THERMOMETER_REGISTRY_AS"


@dataclass
class Desk:
    """The options given before the command; what needs the registry opens it."""

    home: Path
    home_asked: bool = False
    initials: str = ""
    as_json: bool = False
    language_asked: str = ""
    replaces: bool = False  # whether a file that is there already may be written over
    opened: "Session | None" = field(default=None, repr=False)

    @staticmethod
    def of(context: typer.Context) -> "Desk":
        found: Desk = context.obj
        return found

    # --- the registry ----------------------------------------------------------------------------------------

    @property
    def session(self) -> "Session":
        if self.opened is None:
            from registry.services import clock
            from registry.services.session import open_session

            self.opened = open_session(self.home, clock=clock.now_us)
        return self.opened

    def close(self) -> None:
        if self.opened is not None:
            self.opened.close()

    @cached_property
    def group(self) -> "GroupSet":
        with self.session.reading() as connection:
            return self.session.group(connection).payload

    @cached_property
    def language(self) -> str:
        return self.language_asked or self.group.language

    @property
    def region(self) -> str:
        return format.region_in(self.language, self.group.region)

    @cached_property
    def actor(self) -> "Actor":
        """Who does it, where anything may be recorded here at all."""
        from registry.services.problems import KnownError

        if self.session.signer is None:
            raise KnownError(self.session.why_read_only or "read_only")
        return self.who

    @cached_property
    def who(self) -> "Actor":
        """The person named, else the only one, else the one of the environment."""
        from registry.services.people import find_person, people
        from registry.services.problems import refuse
        from registry.services.session import actor_of

        with self.session.reading() as connection:
            # Who has no role is known by initials from an import only, and does nothing here.
            here = [one for one in people(connection) if one.left is None and one.roles]
            wanted = self.initials or ("" if len(here) == 1 else os.environ.get(WHO, ""))
            if not wanted and len(here) != 1:
                raise refuse("actor", "say_who", value=", ".join(one.initials for one in here))
            person = find_person(connection, wanted).person if wanted else here[0].person
            return actor_of(connection, person)

    @cached_property
    def initials_by_person(self) -> dict[str, str]:
        from registry.services.people import people

        with self.session.reading() as connection:
            return {one.person: one.initials for one in people(connection)}

    def find(self, tag_id: str) -> "Thermometer":
        from registry.services.thermometers import find

        with self.session.reading() as connection:
            return find(connection, tag_id)

    def site(self, wanted: str) -> "Fact[SiteSet]":
        """By letters or name; the only one where nothing is said."""
        from registry.services.places import site_named

        with self.session.reading() as connection:
            return site_named(connection, wanted)

    def site_of(self, of: "Thermometer") -> "Fact[SiteSet]":
        from registry.services.places import site_named_by_id

        with self.session.reading() as connection:
            return site_named_by_id(connection, of.row.site or "")

    def today(self, zone: str) -> date:
        from registry.services.session import day_at

        return day_at(self.session.clock(), zone)

    def unit(self, asked: str, of: "Thermometer | None" = None) -> "Unit":
        """The unit asked for, else the only one of the thermometer, else the group's."""
        from registry.services import typed

        if asked:
            return typed.unit(asked)
        own = list(of.facts.scales) if of is not None else []
        return "F" if (own[0] if len(own) == 1 else self.group.unit) == "F" else "C"

    # --- files -----------------------------------------------------------------------------------------------

    def refuse_standing(self, path: Path) -> None:
        """A file that is there already stays, unless it was said to be replaced; a record or its key always does."""
        from registry.services.files import refuse_record
        from registry.services.problems import refuse

        refuse_record(path)
        if path.is_file() and not self.replaces:
            raise refuse("out", "file_exists", value=str(path))

    def refuse_no_place(self, path: Path) -> None:
        """Before anything is recorded that the file should hold: its folder is to be there."""
        from registry.services.problems import KnownError

        if path.is_dir() or not path.parent.is_dir():
            raise KnownError("wrong_place", path=str(path))

    def write(self, name: str | Path, content: bytes) -> Path:
        """Write a file that was asked for: every command does it here."""
        from registry.services import files

        path = Path(name)
        self.refuse_standing(path)
        files.write(path, content)
        return path

    # --- answering -------------------------------------------------------------------------------------------

    def say(self, code: str, /, **values: object) -> str:
        return say(code, self.language, **values)

    def instant(self, at: int, zone: str) -> str:
        return format.instant(at, zone, self.region)

    def done(self, code: str, data: Mapping[str, Any], /, *more: str, **values: object) -> int:
        """One sentence of what was done, and what follows from it."""
        return self.answer([self.say(f"cli.{code}", **values), *more], {"done": code, **data})

    def too_few_left(self, *thermometers: str) -> list[str]:
        """A sentence for each station that is left with too few, now that these cannot be used."""
        from registry.services.words import shortage

        return shortage.sentences(self.session, thermometers, self.language)

    def answer(self, lines: Sequence[str], data: Mapping[str, Any], code: int = exits.DONE) -> int:
        """The answer to people as lines, to machines as JSON; DEMO first where nothing here is real."""
        demo = self.session.demo
        if self.as_json:
            print(json.dumps({**({"demo": True} if demo else {}), **data}, ensure_ascii=False))
        else:
            print("\n".join([*([self.say("cli.demo")] if demo else []), *lines]))
        return code


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Aligned columns under their heads; nothing where there are no rows."""
    if not rows:
        return []
    widths = [max(len(row[n]) for row in (head, *rows)) for n in range(len(head))]
    drawn = [[cell.ljust(width) for cell, width in zip(row, widths, strict=True)] for row in (head, *rows)]
    return ["  ".join(row).rstrip() for row in drawn]


def iso(at: int | None) -> str | None:
    """An instant for machines, UTC."""
    if at is None:
        return None
    return datetime.fromtimestamp(at / 1e6, UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def complain(line: str) -> None:
    print(line, file=sys.stderr)
