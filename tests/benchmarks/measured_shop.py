"""The demo shop as the benchmarks measure it: fresh copies, one full boot set a copy, and the same rows bare.

A shop is made once through the same door as a real one and closed. Each measurement gets a copy of the file, on which
one order has been taken, exploded and reserved already, so that what is measured is warm.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from time import perf_counter
from typing import Any

import pytest

from stockroom.domain.explosion import explode as work_out
from stockroom.domain.order import CarRequest, LineRequest, OrderRequest
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import make_tag
from stockroom.jobs.explode import explode
from stockroom.jobs.holding_plan import plan_holds
from stockroom.jobs.load import load
from stockroom.jobs.reserve import Reserved, reserve
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from stockroom.store.shipped import shipped
from stockroom.store.types import Base
from tests.databases import count_statements

TODAY = date(2026, 11, 25)
STAMP = Stamp("AB", datetime(2026, 11, 25, 8, 30, tzinfo=UTC))
FIRST, MEASURED = "B-1", "B-2"
"""The order that warms a copy, and the one that is measured on it."""


def make_demo_file(path: Path) -> None:
    """Makes the demo shop at `path`, its orders taken and nothing reserved, and closes it."""
    with Shop.make(path) as shop:
        load(shop, shipped("seed"), STAMP, opening=TODAY)


def full_boot_set(number: str) -> OrderRequest:
    """An order of one full boot set for an early car of its own, of which the demo shop has everything."""
    chassis = f"RP {1500 + int(number.removeprefix('B-'))}"
    car = CarRequest(chassis, chassis, "s1", "ashgate", date(1952, 9, 1), "right", "ivory", "red", "black")
    line = LineRequest("full-boot-set", 1, car.key)
    return OrderRequest(number, "Ann Example", date(2026, 12, 16), False, "", (car,), (line,))


# --- ours ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Timed:
    """One main job: seconds of its parts."""

    take_s: float
    explode_s: float
    reserve_s: float
    worked_out_s: float
    """Of taking and reserving, what the explosion and the allocation took: nothing of it is stored."""

    @property
    def written_s(self) -> float:
        """Taking and reserving."""
        return self.take_s + self.reserve_s

    @property
    def stored_s(self) -> float:
        """Taking and reserving without working out what: storing and holding."""
        return self.written_s - self.worked_out_s

    @property
    def whole_s(self) -> float:
        """All of it."""
        return self.take_s + self.explode_s + self.reserve_s


@contextmanager
def copy_of(shop_file: Path) -> Iterator[Path]:
    """A copy of a closed shop, taken away after the block with everything SQLite laid beside it."""
    copy = shop_file.with_name(f"copy-of-{shop_file.name}")
    shutil.copyfile(shop_file, copy)
    with open(copy, "rb") as written:
        os.fsync(written.fileno())  # else the first commit that is timed waits for the copy, too
    try:
        yield copy
    finally:
        for left in copy.parent.glob(f"{copy.name}*"):
            left.unlink()


def main_job(shop: Shop, number: str) -> Timed:
    """Takes, explodes and reserves one full boot set, and times each."""
    request = full_boot_set(number)
    with _working_out() as worked_out:
        start = perf_counter()
        take(shop, request, STAMP)
        taken = perf_counter()
        bill = explode(shop, number, TODAY)
        exploded = perf_counter()
        reserved = reserve(shop, number, STAMP)
        end = perf_counter()
    assert len(bill.ticket.needs) >= 50, "a full boot set has that many requirements"
    assert is_whole(reserved), "the demo shop has everything for it"
    return Timed(taken - start, exploded - taken, end - exploded, sum(worked_out))


@contextmanager
def _working_out() -> Iterator[list[float]]:
    """Seconds of each call of the trade's own calculations, which read and write nothing."""
    seconds: list[float] = []

    def timed(calculation: Any) -> Any:
        def run(*values: Any) -> Any:
            start = perf_counter()
            result = calculation(*values)
            seconds.append(perf_counter() - start)
            return result

        return run

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("stockroom.jobs.bill.explode", timed(work_out))
        patch.setattr("stockroom.jobs.reserve.plan_holds", timed(plan_holds))
        yield seconds
    assert len(seconds) == 2, "one explosion, one allocation"


def is_whole(reserved: Reserved) -> bool:
    """Whether everything that is needed is held, and was not before."""
    return reserved.held_now == reserved.needed and not reserved.short


def timed_on_a_copy(shop_file: Path) -> Timed:
    """The main job on a fresh copy, warm. Nothing listens to the statements while it is timed."""
    with copy_of(shop_file) as copy, Shop.open(copy) as shop:
        main_job(shop, FIRST)
        return main_job(shop, MEASURED)


def statements_on_a_copy(shop_file: Path) -> list[str]:
    """The SQL statements that the main job sends, in order; BEGIN and COMMIT are not among them."""
    with copy_of(shop_file) as copy, Shop.open(copy) as shop:
        main_job(shop, FIRST)
        with count_statements(shop) as sent:
            main_job(shop, MEASURED)
        return sent.sent


# --- the same rows, bare --------------------------------------------------------------------------------------------

Rows = dict[str, dict[Any, tuple[Any, ...]]]
"""Table → primary key → row."""


@dataclass(frozen=True, slots=True)
class Statement:
    """One executemany of the bare script."""

    sql: str
    rows: tuple[tuple[Any, ...], ...]


Commit = tuple[Statement, ...]
"""What the bare script writes in one transaction."""


def recorded_commits(shop_file: Path) -> dict[str, tuple[Commit, ...]]:
    """Order → for each of its two commits, the rows that the real job left written, as a bare script writes them.

    A row that is written and then changed within one commit is written once, as it is in the end.
    """
    commits: dict[str, tuple[Commit, ...]] = {}
    with copy_of(shop_file) as copy, Shop.open(copy) as shop:
        before = _rows(copy)
        for number in (FIRST, MEASURED):
            take(shop, full_boot_set(number), STAMP)
            taken = _rows(copy)
            assert is_whole(reserve(shop, number, STAMP))
            reserved = _rows(copy)
            commits[number] = (_difference(before, taken), _difference(taken, reserved))
            before = reserved
    return commits


def _keys(table: Any) -> list[str]:
    return [column.name for column in table.primary_key.columns]


def _rows(shop_file: Path) -> Rows:
    """Every row of every table but the ledger's, which nothing here may touch."""
    rows: Rows = {}
    with closing(sqlite3.connect(shop_file)) as link:
        for table in Base.metadata.sorted_tables:
            keys = [table.columns.keys().index(key) for key in _keys(table)]
            found = link.execute(f"SELECT {_listed(table.columns.keys())} FROM {table.name}").fetchall()
            rows[table.name] = {tuple(row[key] for key in keys): row for row in found}
    return rows


def _difference(before: Rows, after: Rows) -> Commit:
    statements = []
    for table in Base.metadata.sorted_tables:
        columns, keys = table.columns.keys(), _keys(table)
        old, new = before[table.name], after[table.name]
        assert old.keys() <= new.keys(), "the main job deletes nothing"
        fresh = tuple(row for key, row in new.items() if key not in old)
        if fresh:
            marks = ", ".join("?" for _ in columns)
            statements.append(Statement(f"INSERT INTO {table.name} ({_listed(columns)}) VALUES ({marks})", fresh))
        changed = [(key, row) for key, row in new.items() if key in old and row != old[key]]
        touched = [column for at, column in enumerate(columns) if any(row[at] != old[key][at] for key, row in changed)]
        if changed:
            values = ", ".join(f'"{column}" = ?' for column in touched)
            where = " AND ".join(f'"{key}" = ?' for key in keys)
            rows = tuple((*(row[columns.index(column)] for column in touched), *key) for key, row in changed)
            statements.append(Statement(f"UPDATE {table.name} SET {values} WHERE {where}", rows))
    return tuple(statements)


def _listed(columns: list[str]) -> str:
    return ", ".join(f'"{column}"' for column in columns)


def bare_s(shop_file: Path, commits: dict[str, tuple[Commit, ...]]) -> float:
    """Seconds that a plain sqlite3 script takes to write the measured order's rows, in as many commits, as durably."""
    with copy_of(shop_file) as copy, closing(sqlite3.connect(copy, isolation_level=None)) as link:
        for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", "recursive_triggers = ON"):
            link.execute(f"PRAGMA {pragma}")
        _replay(link, commits[FIRST])
        start = perf_counter()
        _replay(link, commits[MEASURED])
        return perf_counter() - start


def _replay(link: sqlite3.Connection, commits: tuple[Commit, ...]) -> None:
    for commit in commits:
        link.execute("BEGIN IMMEDIATE")
        for statement in commit:
            link.executemany(statement.sql, statement.rows)
        link.execute("COMMIT")


# --- a shop that has grown ------------------------------------------------------------------------------------------

ROLLS_TIMES, MOVEMENTS_TIMES = 10, 100


def grow(shop_file: Path) -> None:
    """Ten times the rolls and a hundred times the movements, in the same items and places.

    Of the nine rolls beside each one, five are of its own dye lot and four of two further lots. What the ledger has
    besides is goods issued and returned again, so that every balance stays what it was and the books are true.
    """
    with closing(sqlite3.connect(shop_file, isolation_level=None)) as link:
        link.execute("BEGIN")
        movements = MOVEMENTS_TIMES * _count(link, "movement")
        _multiply_rolls(link)
        _lengthen_ledger(link, movements - _count(link, "movement"))
        link.execute("COMMIT")
        assert _count(link, "movement") >= movements


def _count(link: sqlite3.Connection, table: str) -> int:
    return int(link.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


def _multiply_rolls(link: sqlite3.Connection) -> None:
    serial = int(link.execute("SELECT last FROM counter WHERE name = 'tag R'").fetchone()[0])
    holding = int(link.execute("SELECT max(id) FROM holding").fetchone()[0])
    found = link.execute("SELECT id, lot FROM holding WHERE kind = 'roll' ORDER BY id").fetchall()
    for roll, lot in found:
        for further in range(1, ROLLS_TIMES):
            serial, holding = serial + 1, holding + 1
            other_lot = lot if further <= 5 else f"{lot}-{1 + further % 2}"
            link.execute(
                "INSERT INTO holding SELECT ?, kind, ?, item, place, ?, held, 0, quarantined, quarantined_because, 1, "
                "value_minor, expires FROM holding WHERE id = ?",
                (holding, make_tag("R", serial), other_lot, roll),
            )
            link.execute(
                "INSERT INTO roll SELECT ?, NULL, width_mm, measured, remnant, NULL, flaws, received_on "
                "FROM roll WHERE holding_id = ?",
                (holding, roll),
            )
            link.execute(
                "INSERT INTO movement (holding_id, number, kind, quantity, balance, value_minor, order_id, job_id, "
                "reverses_id, \"by\", at, note) SELECT id, 1, 'received', held, held, value_minor, NULL, 1, NULL, "
                "'AB', '2026-11-25T08:30:00.000000Z', 'further stock' FROM holding WHERE id = ?",
                (holding,),
            )
    link.execute("UPDATE counter SET last = ? WHERE name = 'tag R'", (serial,))


def _lengthen_ledger(link: sqlite3.Connection, wanted: int) -> None:
    """Appends `wanted` movements (one more, should that be odd): one out and back in again of each holding in turn."""
    holdings = link.execute("SELECT id, held, last_number FROM holding WHERE held > 1 ORDER BY id").fetchall()
    turns = -(-wanted // (2 * len(holdings)))
    rows = (
        (holding, number + 2 * turn + back, ("issued", "returned")[back - 1], (-1, 1)[back - 1], held - 2 + back)
        for turn in range(turns)
        for holding, held, number in holdings
        for back in (1, 2)
    )
    link.executemany(
        "INSERT INTO movement (holding_id, number, kind, quantity, balance, value_minor, order_id, job_id, "
        "reverses_id, \"by\", at, note) VALUES (?, ?, ?, ?, ?, 0, NULL, 1, NULL, 'AB', "
        "'2026-11-25T08:30:00.000000Z', 'out and back')",
        rows,
    )
    link.execute("UPDATE holding SET last_number = last_number + ? WHERE held > 1", (2 * turns,))
