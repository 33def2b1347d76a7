"""One PostgreSQL database for all tests of a worker: cleaned between them, since making one takes ten times as long.

A test that changed the tables themselves, rather than what is in them, leaves it unfit, and another one is made.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, NullPool, TableClause, column, create_engine, insert, make_url, select, table

from stockroom.store.types import Base

_OTHERS_LEAVE = (
    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
    "WHERE datname = current_database() AND pid <> pg_backend_pid()"
)

_CATALOGUE = ("pg_class", "pg_attribute", "pg_constraint", "pg_trigger", "pg_index", "pg_proc")
"""Every change of a table gives a row of one of these another transaction number."""

_AS_AT_FIRST = " UNION ALL ".join(
    f"SELECT '{name}' AS kind, count(*), max(xmin::text::bigint) FROM {name}" for name in _CATALOGUE
)

_NUMBERS = "SELECT quote_ident(sequencename), start_value, last_value FROM pg_sequences ORDER BY 1"


def _tables() -> dict[str, TableClause]:
    """Every table there is: the shop's, and the one that says which revision they are of."""
    shop: dict[str, TableClause] = {one.name: one for one in Base.metadata.sorted_tables}
    return {**shop, "alembic_version": table("alembic_version", column("version_num"))}


class CleanedDatabase:
    """A database with a shop in it, brought back to what it is now as often as it is asked for."""

    def __init__(self, url: str) -> None:
        self.url = url
        # Without a pool: what stays connected would be taken for a test's.
        self._engine = create_engine(make_url(url), isolation_level="AUTOCOMMIT", poolclass=NullPool)
        with self._engine.connect() as connection:
            self._rows = _rows(connection)
            self._numbers = _all(connection, _NUMBERS)
            self._made = _all(connection, _AS_AT_FIRST)

    def clean(self) -> bool:
        """Bring every row back to what it was; `False` where the tables are no longer what they were."""
        with self._engine.connect() as connection:
            connection.exec_driver_sql(_OTHERS_LEAVE)
            if _all(connection, _AS_AT_FIRST) != self._made:
                return False
            # Nothing is checked or refused here: neither the order of the tables matters nor the ledger's trigger.
            connection.exec_driver_sql("SET session_replication_role = replica")
            connection.exec_driver_sql(";".join(f'DELETE FROM "{name}"' for name in _tables()))
            for name, rows in self._rows.items():
                connection.execute(insert(_tables()[name]), rows)
            then = [
                f"setval('{name}', {start if last is None else last}, {'false' if last is None else 'true'})"
                for name, start, last in self._numbers
            ]
            connection.exec_driver_sql(f"SELECT {', '.join(then)}")
        return True


def _rows(connection: Connection) -> dict[str, list[dict[str, Any]]]:
    """Every row there is, by table."""
    every = {name: [dict(row._mapping) for row in connection.execute(select(one))] for name, one in _tables().items()}
    return {name: rows for name, rows in every.items() if rows}


def _all(connection: Connection, question: str) -> list[tuple[Any, ...]]:
    return [tuple(row) for row in connection.exec_driver_sql(question)]
