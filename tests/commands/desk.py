"""A registry on disk that commands are given to, with a clock that the test sets."""

import io
import json
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from registry.cli import main

ZONE = "Europe/London"


@dataclass(frozen=True)
class Said:
    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        return json.loads(self.out)


@dataclass
class Clock:
    """Goes on by a second each time it is asked."""

    now: int

    def __call__(self) -> int:
        self.now += 1_000_000
        return self.now

    def set(self, local: str) -> None:
        self.now = instant(local)


def instant(local: str) -> int:
    return int(datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(ZONE)).timestamp()) * 1_000_000


@dataclass
class Kitchen:
    home: Path
    clock: Clock
    tags: list[str] = field(default_factory=list)

    def __call__(self, *words: str) -> Said:
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            code = main(["--home", str(self.home), *words])
        return Said(code, out.getvalue(), err.getvalue())

    def json(self, *words: str) -> Any:
        said = self("--json", *words)
        assert said.code in (0, 5), said.err
        return said.data

    def done(self, *words: str) -> str:
        said = self(*words)
        assert (said.code, said.err) == (0, ""), said
        return said.out
