"""One memory of compiled statements for all the SQLite databases of a run.

Each engine compiles every statement for itself, the first time. The program opens one database and is done with it;
the tests open thousands, where that is a fifth of their time. What is run, and on what, stays as it was.
"""

from typing import Any

import pytest
import sqlalchemy
from sqlalchemy.engine import Engine

from registry.store import database


def share(patch: pytest.MonkeyPatch) -> None:
    """From now on SQLite engines of the store have one dialect and one cache, whose keys name the dialect."""
    donor = sqlalchemy.create_engine("sqlite://")
    with donor.connect():
        pass  # at its first connection a dialect learns what this SQLite can do
    compiled: dict[Any, Any] = {}

    def create_engine(address: Any, **more: Any) -> Engine:
        engine = sqlalchemy.create_engine(address, **more)
        if engine.dialect.name == "sqlite":
            engine.dialect = donor.dialect
            engine.update_execution_options(compiled_cache=compiled)
        return engine

    patch.setattr(database, "create_engine", create_engine)
