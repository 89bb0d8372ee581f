"""Making databases out of told stories, and looking at what was folded."""

from pathlib import Path
from random import Random
from typing import Any

from sqlalchemy import select

from registry.journal.entry import Entry
from registry.store import bundles, database, imports, reading, tables, transaction
from registry.store.database import Database
from tests.store.story import Chain, Story

Folded = dict[str, list[tuple[Any, ...]]]


def create(url: str) -> Database:
    """An empty database where a test's address says."""
    if url.startswith("sqlite"):
        return database.create(Path(url.removeprefix("sqlite:///")))
    return database.create(url)


def append(opened: Database, chain: Chain, entries: list[Entry]) -> None:
    """Let entries of a chain arrive, all in one transaction with a signature at its end."""
    with opened.writing() as connection:
        chain_no = transaction.chain_number(connection, chain.chain)
        if chain_no is None:
            chain_no = transaction.new_chain(connection, chain.chain)
        signed = [(entry, chain.sign(entry) if entry is entries[-1] else None) for entry in entries]
        bundles.append(connection, chain_no, signed)


def deliver(opened: Database, story: Story) -> None:
    """Let a story arrive as it was told."""
    for number, entry in story.told:
        append(opened, story.chains[number], [entry])
        if entry.kind == "import_closed":
            imports.fold_pending_imports(opened)


def deliver_mixed(opened: Database, story: Story, random: Random) -> None:
    """Let a story arrive in whatever order and portions; only within a chain each entry follows the one before."""
    waiting = {chain.number: list(chain.entries) for chain in story.chains}
    while left := [number for number, entries in waiting.items() if entries]:
        number, count = random.choice(left), random.randrange(1, 6)
        append(opened, story.chains[number], waiting[number][:count])
        waiting[number] = waiting[number][count:]
        if random.random() < 0.3:
            imports.fold_pending_imports(opened)
    imports.fold_pending_imports(opened)


def folded(opened: Database) -> Folded:
    """Everything folded, with chains by their keys: their numbers differ from one database to the next."""
    with opened.reading() as connection:
        chains = {chain.chain_no: chain.chain for chain in reading.chains(connection)}
        return {
            table.name: sorted(
                (
                    tuple(chains[value] if name == "chain_no" else value for name, value in row.items())
                    for row in connection.execute(select(table)).mappings()
                ),
                key=repr,
            )
            for table in tables.PROJECTIONS
        }
