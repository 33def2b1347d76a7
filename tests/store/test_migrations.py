"""The migrations make exactly the tables that the models describe, with everything that hangs on them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, text

from stockroom.store.database import Shop
from stockroom.store.shipped import shipped
from stockroom.store.tables import SCHEMA
from stockroom.store.types import Base
from tests.databases import Database, plain_engine

ALEMBICS_OWN = "alembic_version"

POSTGRESQL = {
    "columns": """
        SELECT table_name, ordinal_position, column_name, data_type, is_nullable, column_default, collation_name,
               identity_generation
        FROM information_schema.columns WHERE table_schema = current_schema()""",
    "constraints": """
        SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid)
        FROM pg_constraint WHERE connamespace = current_schema()::regnamespace AND contype <> 'n'""",
    "indexes": "SELECT tablename, indexname, indexdef FROM pg_indexes WHERE schemaname = current_schema()",
    "triggers": "SELECT tgrelid::regclass::text, tgname, pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal",
    "functions": "SELECT pg_get_functiondef(oid) FROM pg_proc WHERE pronamespace = current_schema()::regnamespace",
}
"""What PostgreSQL's catalogue tells about a schema."""


def described(connection: Connection) -> set[tuple[Any, ...]]:
    """Everything the database knows of its tables: a row each, without what is Alembic's own."""
    if connection.dialect.name == "sqlite":
        rows = connection.execute(text("SELECT type, tbl_name, name, sql FROM sqlite_master")).all()
        found = {(row.type, row.tbl_name, row.name, *normalised(row.sql)) for row in rows}
    else:
        found = {(kind, *row) for kind, query in POSTGRESQL.items() for row in connection.execute(text(query))}
    return {row for row in found if ALEMBICS_OWN not in row}


def normalised(sql: str | None) -> tuple[str, ...]:
    """The SQL of SQLite's schema without needless blanks and quotes, the constraints in the order of their names.

    Columns keep their order: it is part of the table. The order in which constraints are written means nothing.
    """
    lines = [
        " ".join(line.replace('"', "").split()).rstrip(",") for line in re.split(r",?\n", sql or "") if line.strip()
    ]
    constraints = sorted(line for line in lines if line.startswith("CONSTRAINT "))
    return (*(line for line in lines if line not in constraints), *constraints)


def by_migrations(database: Database) -> set[tuple[Any, ...]]:
    """What is there after the migrations."""
    Shop.make(database.where).close()
    with plain_engine(database).connect() as connection:
        return described(connection)


def by_models(database: Database) -> set[tuple[Any, ...]]:
    """What is there after making the tables straight from the models, in a database of its own."""
    with plain_engine(database).begin() as connection:
        Base.metadata.create_all(connection)
        return described(connection)


@pytest.fixture
def second_database(empty_database: Database, request: pytest.FixtureRequest) -> Iterator[Database]:
    """Another empty database of the same kind."""
    if empty_database.kind == "sqlite":
        yield Database("sqlite", empty_database.where + "-second")
    else:
        with request.getfixturevalue("server").new_database() as url:
            yield Database("postgresql", url)


def test_migrations_and_models_make_the_same_schema(empty_database: Database, second_database: Database) -> None:
    migrated, modelled = by_migrations(empty_database), by_models(second_database)
    assert sorted(map(str, migrated - modelled)) == []
    assert sorted(map(str, modelled - migrated)) == []
    kinds = Counter(row[0] for row in modelled)
    assert kinds["triggers" if empty_database.kind == "postgresql" else "trigger"] > 0
    assert kinds["indexes" if empty_database.kind == "postgresql" else "index"] > len(Base.metadata.tables)


@pytest.mark.parametrize(
    "change",
    [
        "DROP INDEX ix_item_cloth_colour",
        "DROP INDEX uq_holding_bin",
        "DROP TRIGGER {trigger}",
        "ALTER TABLE colour ADD COLUMN shine INT",
        "ALTER TABLE colour RENAME COLUMN a TO reddish",
        "CREATE TABLE extra (id INTEGER)",
    ],
)
def test_the_comparison_sees_a_difference(database: Database, change: str) -> None:
    trigger = "movement_no_delete" if database.kind == "sqlite" else "movement_no_change ON movement"
    with plain_engine(database).begin() as connection:
        before = described(connection)
        connection.execute(text(change.format(trigger=trigger)))
        assert described(connection) != before


def test_the_comparison_sees_a_changed_check_of_sqlite() -> None:
    table = (
        "CREATE TABLE t (\n\ta INTEGER, \n\tCONSTRAINT ck_t_a CHECK (a > {}), \n\tCONSTRAINT pk_t PRIMARY KEY (a)\n)"
    )
    assert normalised(table.format(0)) != normalised(table.format(1))
    assert normalised("CREATE TABLE t (\n\ta INTEGER, \n\tb TEXT\n)") != normalised(
        "CREATE TABLE t (\n\tb TEXT, \n\ta INTEGER\n)"
    )


def test_every_constraint_has_a_name() -> None:
    unnamed = [
        f"{table.name}: {constraint}"
        for table in Base.metadata.tables.values()
        for constraint in table.constraints
        if not constraint.name
    ]
    assert unnamed == []


def test_revisions_are_one_line_numbered_as_the_schema_is() -> None:
    config = Config()
    config.set_main_option("script_location", str(shipped("migrations")))
    revisions = [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()]
    assert revisions == [f"{number:04d}" for number in range(SCHEMA, 0, -1)]
