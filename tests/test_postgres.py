"""The databases that tests are given: real, empty, and apart from each other."""

import sqlalchemy as sa

from tests import postgres


def test_a_test_gets_an_empty_database_and_may_write_to_it(database_url: str) -> None:
    engine = sa.create_engine(database_url)
    assert sa.inspect(engine).get_table_names() == []
    with engine.begin() as connection:
        connection.execute(sa.text("create table bath (id integer primary key, made text)"))
        connection.execute(sa.text("insert into bath values (1, 'agua a 100 °C')"))
    with engine.connect() as connection:
        assert connection.execute(sa.text("select made from bath")).scalar_one() == "agua a 100 °C"
    engine.dispose()


def test_databases_are_apart_and_gone_afterwards(postgres_server: sa.URL) -> None:
    with postgres.fresh_database(postgres_server) as one, postgres.fresh_database(postgres_server) as two:
        first, second = sa.create_engine(one), sa.create_engine(two)
        with first.begin() as connection:
            connection.execute(sa.text("create table bath (id integer)"))
        assert sa.inspect(first).get_table_names() == ["bath"]
        assert sa.inspect(second).get_table_names() == []
        held_open = first.connect()
        second.dispose()
    held_open.invalidate()
    first.dispose()
    everything = sa.create_engine(postgres_server)
    with everything.connect() as connection:
        left = connection.execute(sa.text("select datname from pg_database")).scalars().all()
    everything.dispose()
    assert not {one.database, two.database} & set(left)
