"""The tables: the journal, the stored documents, and what is folded from the journal.

Instants are integer microseconds UTC, ids and hashes are bytes, decimals stay text: SQLite's strict tables take
nothing else and PostgreSQL takes the same.
"""

from sqlalchemy import (
    BigInteger,
    Column,
    Dialect,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    }
)


class Hex(TypeDecorator[str]):
    """Hex text in Python (as in the entries), half as many bytes in the file."""

    impl = LargeBinary
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> bytes | None:
        return None if value is None else bytes.fromhex(value)

    def process_result_value(self, value: bytes | None, dialect: Dialect) -> str | None:
        return None if value is None else bytes(value).hex()


# Wide integers on PostgreSQL; on SQLite the word INTEGER is needed for strict tables and the row id.
Int = BigInteger().with_variant(Integer(), "sqlite")


def _table(name: str, *parts: Column[object] | UniqueConstraint | Index, rowid: bool = True) -> Table:
    return Table(name, metadata, *parts, sqlite_strict=True, sqlite_with_rowid=rowid)


# --- the truth -----------------------------------------------------------------------------------------------

chains = _table(
    "chains",
    Column("chain_no", Int, primary_key=True, autoincrement=False),
    Column("chain", Hex, nullable=False),
    Column("branch", Int, nullable=False),  # 0, or more where one chain was seen with two different entries
    Column("forks_from", Int),  # a branch holds only its own entries: before them stand those of this number
    Column("forks_at", Int),  # the sequence number of its first own entry
    UniqueConstraint("chain", "branch"),
)

entries = _table(
    "entries",
    Column("no", Int, primary_key=True),
    Column("chain_no", Int, nullable=False),
    Column("seq", Int, nullable=False),
    Column("kind", Text, nullable=False),
    Column("at", Int, nullable=False),
    Column("subject", Hex, nullable=False),
    Column("hash", Hex, nullable=False),
    Column("text", Text, nullable=False),
    Column("signature", LargeBinary),
    UniqueConstraint("chain_no", "seq"),
    Index("ix_entries_subject", "subject"),
)

# Names live beside the chain so that they can be erased; `person_named` holds only their hash.
detached = _table(
    "detached",
    Column("fields_hash", Hex, primary_key=True),
    Column("salt", LargeBinary, nullable=False),
    Column("text", Text, nullable=False),
)

documents = _table(
    "documents",
    Column("sha256", Hex, primary_key=True),
    Column("bytes", LargeBinary, nullable=False),
)

# --- folded from the journal ---------------------------------------------------------------------------------

# One row a replaceable fact; what counts is what no other entry names in its `after`.
facts = _table(
    "facts",
    Column("hash", Hex, primary_key=True),
    Column("subject", Hex, nullable=False),
    Column("field", Text, nullable=False),
    Column("chain_no", Int, nullable=False),
    Column("seq", Int, nullable=False),
    Column("at", Int, nullable=False),
    Column("counts", Int, nullable=False),
    Index("ix_facts_subject_field", "subject", "field"),
    Index("ix_facts_field", "field", "counts"),
    rowid=False,
)

replaced = _table("replaced", Column("hash", Hex, primary_key=True), rowid=False)
# With the subject that the voiding entry names: it takes effect on that subject's entries only.
voided = _table("voided", Column("hash", Hex, primary_key=True), Column("subject", Hex, primary_key=True), rowid=False)

baths = _table(
    "baths",
    Column("bath", Hex, primary_key=True),
    Column("site", Hex, nullable=False),
    Column("point", Text, nullable=False),
    Column("at", Int, nullable=False),
    Column("chain_no", Int, nullable=False),
    Column("seq", Int, nullable=False),
    Column("judged", Text),
    Index("ix_baths_site_at", "site", "at"),
    rowid=False,
)

checks = _table(
    "checks",
    Column("check", Hex, primary_key=True),
    Column("thermometer", Hex, nullable=False),
    Column("bath", Hex),
    Column("point", Text, nullable=False),
    Column("at", Int, nullable=False),
    Column("chain_no", Int, nullable=False),
    Column("seq", Int, nullable=False),
    Column("offset", Text),
    Column("u", Text),
    Column("given", Text),  # the outcome given an accepted bath; what an imported source stated
    Column("outcome", Text),  # the outcome that counts; none until its bath is judged
    Column("hot", Int, nullable=False),  # at boiling, or beside a reference at 60 °C or more
    Column("voided", Int, nullable=False),
    Index("ix_checks_thermometer_point_at", "thermometer", "point", "at"),
    Index("ix_checks_bath", "bath"),
    rowid=False,
)

adjustments = _table(
    "adjustments",
    Column("adjustment", Hex, primary_key=True),
    Column("check", Hex),
    Column("thermometer", Hex, nullable=False),
    Column("bath", Hex),
    Column("point", Text, nullable=False),
    Column("at", Int, nullable=False),
    Column("chain_no", Int, nullable=False),
    Column("seq", Int, nullable=False),
    Column("offset", Text),
    Column("given", Text),
    Column("outcome", Text),
    Column("hot", Int, nullable=False),
    Column("voided", Int, nullable=False),
    Index("ix_adjustments_thermometer_at", "thermometer", "at"),
    Index("ix_adjustments_check", "check"),
    Index("ix_adjustments_bath", "bath"),
    rowid=False,
)

# Readings whose check (or adjustment, for as-left ones) is not recorded yet; recording it takes them away.
open_readings = _table(
    "open_readings",
    Column("reading", Hex, primary_key=True),
    Column("fact", Hex, nullable=False),  # the check's or the adjustment's id
    Column("bath", Hex, nullable=False),
    Column("thermometer", Hex, nullable=False),
    Column("at", Int, nullable=False),
    Column("chain_no", Int, nullable=False),
    Column("seq", Int, nullable=False),
    Index("ix_open_readings_bath", "bath"),
    Index("ix_open_readings_fact", "fact"),
    rowid=False,
)

# Everything else that adds up: incidents, answers, papers, prints, uses allowed.
events = _table(
    "events",
    Column("chain_no", Int, primary_key=True, autoincrement=False),
    Column("seq", Int, primary_key=True, autoincrement=False),
    Column("subject", Hex, nullable=False),
    Column("kind", Text, nullable=False),
    Column("at", Int, nullable=False),
    Column("detail", Text),  # the one code people filter by: what happened, why not checked
    Column("hash", Hex, nullable=False),
    Column("voided", Int, nullable=False),
    Index("ix_events_subject_at", "subject", "at"),
    Index("ix_events_kind_at", "kind", "at"),
    Index("ix_events_hash", "hash"),
    rowid=False,
)

thermometers = _table(
    "thermometers",
    Column("thermometer", Hex, primary_key=True),
    Column("tag_id", Text),
    Column("type", Text),
    Column("scale", Text),
    Column("hot", Int),
    Column("site", Hex),
    Column("station", Hex),
    Column("status", Text, nullable=False),
    Column("enrolled_at", Int),
    Column("last_check", Hex),
    Column("last_check_at", Int),
    Column("last_offset", Text),
    Column("last_outcome", Text),
    Column("good_ice_at", Int),
    Column("good_boil_at", Int),
    Column("good_comparison_at", Int),
    Column("good_hot_at", Int),
    Column("failed_at", Int),
    Column("incident_at", Int),
    Column("incident", Text),
    Column("adjusted_at", Int),
    Column("reference_due", Text),
    Index("ix_thermometers_tag_id", "tag_id"),
    Index("ix_thermometers_site", "site"),
    rowid=False,
)

imports = _table(
    "imports",
    Column("chain_no", Int, primary_key=True, autoincrement=False),
    Column("import", Hex, primary_key=True),
    Column("opened", Int, nullable=False),  # sequence numbers of the two entries that stand at its ends
    Column("closed", Int),
    Column("counts", Int, nullable=False),
    # The last sequence number folded so far: a long import is folded in small steps. It reaches `closed` when the
    # summaries are up to date too.
    Column("folded", Int, nullable=False),
    rowid=False,
)

# --- local ---------------------------------------------------------------------------------------------------

# One row while the projections are being made again: until it is gone they are not whole.
rebuilds = _table(
    "rebuilds",
    Column("rebuild", Int, primary_key=True, autoincrement=False),
    Column("folded", Int, nullable=False),  # the last entry (by `no`) folded so far
    Column("summarised", Hex),  # the last thermometer whose summary is made, once all entries are folded
)

TRUTH = (chains, entries, detached, documents)
LOCAL = (rebuilds,)
PROJECTIONS = tuple(table for table in metadata.sorted_tables if table not in TRUTH + LOCAL)
