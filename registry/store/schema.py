"""Making the tables, and the guards that let the journal only grow."""

import re

from sqlalchemy import Connection, text

from registry.store import tables

_SQLITE_GUARDS = {
    "entries_no_update": """
        CREATE TRIGGER entries_no_update BEFORE UPDATE ON entries
        BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END""",
    "entries_no_delete": """
        CREATE TRIGGER entries_no_delete BEFORE DELETE ON entries
        BEGIN SELECT RAISE(ABORT, 'entries are never removed'); END""",
    "entries_only_next": """
        CREATE TRIGGER entries_only_next BEFORE INSERT ON entries
        WHEN EXISTS (SELECT 1 FROM entries WHERE no = NEW.no)
          OR EXISTS (SELECT 1 FROM entries WHERE chain_no = NEW.chain_no AND seq = NEW.seq)
          OR NEW.seq != coalesce((SELECT max(seq) + 1 FROM entries WHERE chain_no = NEW.chain_no),
                                 (SELECT forks_at FROM chains WHERE chain_no = NEW.chain_no), 0)
          OR substr(NEW.text, -87 - length(NEW.seq)) != '"prev":"'
             || coalesce((SELECT lower(hex(hash)) FROM entries
                          WHERE chain_no = NEW.chain_no AND seq = NEW.seq - 1),
                         (SELECT lower(hex(hash)) FROM entries
                          WHERE chain_no = (SELECT forks_from FROM chains WHERE chain_no = NEW.chain_no)
                          AND seq = NEW.seq - 1),
                         '0000000000000000000000000000000000000000000000000000000000000000')
             || '","seq":' || NEW.seq || ',"v":1}'
        BEGIN SELECT RAISE(ABORT, 'an entry must follow the last of its chain'); END""",
}

_POSTGRES_GUARDS = (
    """CREATE FUNCTION entries_keep() RETURNS trigger LANGUAGE plpgsql AS $$
       BEGIN RAISE EXCEPTION 'entries are never changed or removed'; END $$""",
    """CREATE TRIGGER entries_no_change BEFORE UPDATE OR DELETE ON entries
       FOR EACH ROW EXECUTE FUNCTION entries_keep()""",
    """CREATE TRIGGER entries_no_truncate BEFORE TRUNCATE ON entries
       FOR EACH STATEMENT EXECUTE FUNCTION entries_keep()""",
    """CREATE FUNCTION entries_next() RETURNS trigger LANGUAGE plpgsql AS $$
       DECLARE last record; prev text; tail text;
       BEGIN
         SELECT seq, hash INTO last FROM entries WHERE chain_no = NEW.chain_no ORDER BY seq DESC LIMIT 1;
         IF last IS NULL THEN
           SELECT c.forks_at - 1 AS seq, e.hash INTO last FROM chains c
             LEFT JOIN entries e ON e.chain_no = c.forks_from AND e.seq = c.forks_at - 1
             WHERE c.chain_no = NEW.chain_no AND c.forks_at IS NOT NULL;
         END IF;
         IF NEW.seq != coalesce(last.seq + 1, 0) THEN
           RAISE EXCEPTION 'an entry must follow the last of its chain';
         END IF;
         prev := coalesce(encode(last.hash, 'hex'), repeat('0', 64));
         tail := '"prev":"' || prev || '","seq":' || NEW.seq || ',"v":1}';
         IF right(NEW.text, length(tail)) != tail THEN
           RAISE EXCEPTION 'an entry must follow the last of its chain';
         END IF;
         RETURN NEW;
       END $$""",
    """CREATE TRIGGER entries_only_next BEFORE INSERT ON entries
       FOR EACH ROW EXECUTE FUNCTION entries_next()""",
)


def create(connection: Connection) -> None:
    """Make every table and guard in an empty database."""
    tables.metadata.create_all(connection)
    guards = _SQLITE_GUARDS.values() if connection.dialect.name == "sqlite" else _POSTGRES_GUARDS
    for guard in guards:
        connection.exec_driver_sql(guard)


def recreate_projections(connection: Connection) -> None:
    """Drop what is folded from the journal and make it empty again."""
    projections = list(tables.PROJECTIONS)
    tables.metadata.drop_all(connection, tables=projections)
    tables.metadata.create_all(connection, tables=projections)


def is_empty(connection: Connection) -> bool:
    return not connection.dialect.has_table(connection, "entries")


def holds_record(connection: Connection) -> bool:
    """Whether the tables are there that cannot be made again; what is folded can."""
    return all(connection.dialect.has_table(connection, table.name) for table in tables.TRUTH)


def _squeezed(statement: str | None) -> str:
    return re.sub(r"\s+", " ", statement or "").strip()


def differences(connection: Connection, wanted: Connection) -> list[str]:
    """Names of tables, indexes and triggers whose SQL is not ours (SQLite): a guard gone, a table altered.

    `wanted` is an empty database in memory in which `create` has run: it says what ours is.
    """
    query = text("SELECT name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'")
    found, ours = ({name: _squeezed(sql) for name, sql in one.execute(query).all()} for one in (connection, wanted))
    return sorted(name for name in found.keys() | ours.keys() if found.get(name) != ours.get(name))


def postgres_differences(connection: Connection) -> list[str]:
    """Guards missing or switched off on PostgreSQL, whose schema keeps no text of ours to compare."""
    query = text("SELECT tgname FROM pg_trigger WHERE tgrelid = 'entries'::regclass AND tgenabled != 'D'")
    found = set(connection.execute(query).scalars())
    return sorted({"entries_no_change", "entries_no_truncate", "entries_only_next"} - found)
