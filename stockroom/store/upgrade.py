"""Migrations: running them, and what a migration needs to rebuild a table. Loads Alembic; import it only to upgrade."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from alembic import command, op
from alembic.config import Config
from alembic.operations import BatchOperations
from sqlalchemy import Connection, MetaData, Table, text

from stockroom.store.shipped import shipped


def migrate(connection: Connection, to: str = "head") -> None:
    """Run the migrations up to the revision `to`, inside the transaction that has begun on `connection`."""
    config = Config()
    # Alembic reads its settings with ConfigParser, to which a percent sign in a path is a reference.
    config.set_main_option("script_location", str(shipped("migrations")).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, to)


@contextmanager
def rebuilt(table: str) -> Iterator[BatchOperations]:
    """For migrations: change a table in ways that SQLite can only do by making it anew and copying the rows.

        with rebuilt("holding") as holding:
            holding.add_column(Column("shelf", Words))

    Named CHECKs, keys, indexes, STRICT and the table's triggers are there afterwards; PostgreSQL alters it in place.
    """
    connection = op.get_bind()
    if connection.dialect.name != "sqlite":
        with op.batch_alter_table(table) as batch:
            yield batch
        return
    triggers = connection.execute(
        text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = :table"), {"table": table}
    ).all()
    # Otherwise the renaming of the new table fails over a trigger elsewhere that names the table while it is gone.
    connection.exec_driver_sql("PRAGMA legacy_alter_table = ON")
    try:
        # As it is read by SQLAlchemy alone: Alembic's own reading puts the default of an empty text into brackets.
        as_it_is = Table(table, MetaData(), autoload_with=connection)
        with op.batch_alter_table(table, recreate="always", copy_from=as_it_is) as batch:
            yield batch
    finally:
        connection.exec_driver_sql("PRAGMA legacy_alter_table = OFF")
    for trigger in triggers:
        connection.exec_driver_sql(trigger.sql)
