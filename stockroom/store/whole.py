"""Every row of every table, read out of a shop and put into an empty one, whatever the database is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

from sqlalchemy import Column, Table, func, insert, select, text
from sqlalchemy.exc import DBAPIError, StatementError

from stockroom.domain.kept_rows import CellKind, KeptColumn, KeptRow, KeptTable
from stockroom.store import tables
from stockroom.store.database import Tx, aside
from stockroom.store.proof import CHECKS
from stockroom.store.types import Base, Day, Json, Moment, Real, Whole, Words, YesNo

SCHEMA = tables.SCHEMA
_AT_ONCE = 1_000
_KINDS: tuple[tuple[type, CellKind], ...] = (
    (Words, "words"),
    (Whole, "whole"),
    (Real, "real"),
    (YesNo, "yes or no"),
    (Moment, "moment"),
    (Day, "day"),
    (Json, "json"),
)


class NotTaken(Exception):  # noqa: N818 - whoever reads the rows says where in the files it was
    """A row that the database does not take. `number`: which of its table, from 1; `why`: the database's own words."""

    def __init__(self, number: int, why: str) -> None:
        super().__init__(why)
        self.number = number
        self.why = why


def kept_tables() -> tuple[KeptTable, ...]:
    """Every table, each after those that it names."""
    return tuple(
        KeptTable(table.name, tuple(KeptColumn(one.name, _kind(one), bool(one.nullable)) for one in table.columns))
        for table in Base.metadata.sorted_tables
    )


def _kind(column: Column[Any]) -> CellKind:
    return next(kind for type_, kind in _KINDS if isinstance(column.type, type_))


def is_bare(tx: Tx) -> bool:
    """Whether no table has a row: a shop that was made and never loaded."""
    return all(tx.execute(select(table).limit(1)).first() is None for table in Base.metadata.sorted_tables)


def how_many(tx: Tx) -> int:
    """Rows of all tables together."""
    counts = (select(func.count()).select_from(table) for table in Base.metadata.sorted_tables)
    return sum(tx.execute(count).scalar_one() for count in counts)


def rows_of(tx: Tx, name: str) -> Iterator[KeptRow]:
    """The rows of a table by its primary key, a few at a time."""
    table = Base.metadata.tables[name]
    query = select(table).order_by(*table.primary_key.columns).execution_options(yield_per=_AT_ONCE)
    return (dict(row) for row in tx.execute(query).mappings())


def put_rows(tx: Tx, name: str, rows: Iterable[KeptRow]) -> None:
    """Puts rows into a table that is empty, with the numbers that they have; whoever is named comes before.

    Raises `NotTaken` for the first row that the database refuses: the transaction is lost then, leave it.
    """
    table = Base.metadata.tables[name]
    waiting: dict[Any, tuple[int, KeptRow]] = {}
    coming = _who_waits_set_aside(table, rows, waiting)
    while some := tuple(islice(coming, _AT_ONCE)):
        _put(tx, table, some)
    while waiting:
        ready = [key for key, (_, row) in waiting.items() if _named(table, row) not in waiting]
        if not ready:
            raise NotTaken(next(iter(waiting.values()))[0], "it names a row that names it in turn")
        _put(tx, table, tuple(waiting.pop(key) for key in ready))


def _who_waits_set_aside(
    table: Table, rows: Iterable[KeptRow], waiting: dict[Any, tuple[int, KeptRow]]
) -> Iterator[tuple[int, KeptRow]]:
    """The rows with their numbers; one that names a later row of its own table goes to `waiting`."""
    key = next(iter(table.primary_key.columns)).name
    for number, row in enumerate(rows, start=1):
        named = _named(table, row)
        if named is not None and (named >= row[key] or named in waiting):
            waiting[row[key]] = (number, row)
        else:
            yield number, row


def _named(table: Table, row: KeptRow) -> Any:
    """The key of the row of the same table that this row names, if it names one."""
    for reference in table.foreign_keys:
        if reference.column.table is table:
            return row[reference.parent.name]
    return None


def _put(tx: Tx, table: Table, some: tuple[tuple[int, KeptRow], ...]) -> None:
    try:
        with aside(tx) as attempt:
            tx.execute(insert(table), [dict(row) for _, row in some])
            attempt.keep()
    except (DBAPIError, StatementError, OverflowError) as error:
        if len(some) == 1:
            raise NotTaken(some[0][0], " ".join(str(getattr(error, "orig", None) or error).split())) from error
    else:
        return
    for one in some:
        _put(tx, table, (one,))


def number_on(tx: Tx) -> None:
    """Has the database give the next numbers after those that were put in. SQLite does so by itself."""
    if tx.dialect.name == "sqlite":
        return
    for table in Base.metadata.sorted_tables:
        for column in table.columns:
            if column.identity is not None:
                last = tx.execute(select(func.max(column))).scalar()
                if last is not None:
                    statement = text("SELECT setval(pg_get_serial_sequence(:name, :column), :last)")
                    tx.execute(statement, {"name": table.name, "column": column.name, "last": last})


def faults_of_books(tx: Tx) -> tuple[str, ...]:
    """What the audit finds wrong with the rows, before they are kept."""
    return tuple(fault for check in CHECKS for fault in check.find(tx))
