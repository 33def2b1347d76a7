"""Opening an older shop: it is copied, upgraded as a whole or not at all, and keeps what is in it."""

from __future__ import annotations

import re
import shutil
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, inspect, text
from sqlalchemy.exc import DBAPIError, IntegrityError

from stockroom.domain.refusal import Refusal
from stockroom.store import shipped as shipped_module
from stockroom.store.database import Shop
from stockroom.store.shipped import shipped
from stockroom.store.tables import SCHEMA
from stockroom.store.types import Base, Day, Json, Moment, YesNo
from stockroom.store.upgrade import migrate
from tests.databases import Database, Server, plain_engine

NEXT = SCHEMA + 1
"""The version which the scratch revision of these tests brings a shop to."""

REVISIONS = [f"{number:04d}" for number in range(1, SCHEMA + 1)]

REBUILD = """
    with rebuilt("movement") as movement:
        movement.add_column(sa.Column("witness", Words(), nullable=True))
        movement.create_check_constraint("ck_movement_witness_named", "witness <> ''")
    with rebuilt("holding") as holding:
        holding.alter_column("lot", new_column_name="dye_lot")
"""
"""A scratch revision which SQLite can only follow by making the ledger's table, and the one it refers to, anew."""

Rows = dict[str, list[dict[str, Any]]]


@pytest.fixture
def next_revision(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Pretend that the program is one version ahead: call it with the body of that version's migration."""

    def pretend(body: str) -> None:
        folder = tmp_path / "migrations 100% new"
        shutil.copytree(shipped("migrations"), folder, ignore=shutil.ignore_patterns("__pycache__"))
        (folder / "versions" / f"{NEXT:04d}_next.py").write_text(
            "import sqlalchemy as sa\n"
            "from alembic import op\n"
            "from stockroom.store.types import Words\n"
            "from stockroom.store.upgrade import rebuilt\n"
            f"revision, down_revision = '{NEXT:04d}', '{SCHEMA:04d}'\n\n\n"
            f"def upgrade() -> None:\n{body}\n"
        )
        monkeypatch.setattr("stockroom.store.upgrade.shipped", lambda _name: folder)
        monkeypatch.setattr("stockroom.store.database.SCHEMA", NEXT)

    return pretend


def fill(connection: Connection, version: int) -> None:
    """One row in every table there is, each referring to the others wherever it can."""
    catalogue = inspect(connection)
    for table, _ in catalogue.get_sorted_table_and_fkc_names():
        if table in (None, "alembic_version"):
            continue
        listed = dict(
            choice
            for check in catalogue.get_check_constraints(table)
            for choice in re.findall(r"\(?(\w+)(?: IN \(| = ANY \(+ARRAY\[)'(\w*)'", check["sqltext"])
        )
        values = {
            column["name"]: listed.get(column["name"], believable(table, column["name"], version))
            for column in catalogue.get_columns(table)
        }
        names = ", ".join(f'"{name}"' for name in values)
        places = ", ".join(f"'{value}'" for value in values.values())
        connection.exec_driver_sql(f"INSERT INTO {table} ({names}) VALUES ({places})")


def believable(table: str, column: str, version: int) -> str:
    """What to write into a column. Everything else is 1, so that every reference finds its row."""
    if (table, column) == ("about", "schema"):
        return str(version)
    if column == "from_mm":
        return "0"
    model = Base.metadata.tables.get(table)
    match None if model is None or column not in model.columns else model.columns[column].type:
        case Moment():
            return "2026-11-25T08:30:00.000000Z"
        case Day():
            return "2026-11-25"
        case YesNo():
            return "0"
        case Json():
            return "[]"
    return "1"


def everything(connection: Connection) -> Rows:
    """Every row of every table."""
    return {
        table: [dict(row._mapping) for row in connection.execute(text(f"SELECT * FROM {table}"))]
        for table in inspect(connection).get_table_names()
        if table != "alembic_version"
    }


def older_shop(database: Database, revision: str) -> Rows:
    """Make the shop that a program of this revision would have left behind; give its rows."""
    with plain_engine(database).begin() as connection:
        migrate(connection, revision)
    with plain_engine(database).begin() as connection:
        fill(connection, int(revision))
        return everything(connection)


@pytest.mark.parametrize("revision", REVISIONS)
def test_a_shop_of_every_revision_is_upgraded_with_all_its_rows(
    empty_database: Database, revision: str, next_revision: Callable[[str], None]
) -> None:
    before = older_shop(empty_database, revision)
    assert all(before.values()), "a table was left without rows"
    next_revision(REBUILD)
    with Shop.open(empty_database.where) as shop, shop.read() as tx:
        assert shop.version == NEXT
        after = everything(tx)
    for row in before["holding"]:
        row["dye_lot"] = row.pop("lot")
    for row in before["movement"]:
        row["witness"] = None
    before["about"][0]["schema"] = NEXT
    if revision < "0003":  # a roll's reading was in its own row
        read = {name: before["roll"][0].pop(name) for name in ("lightness", "a", "b", "illuminant", "observer")}
        before["reading"] = [{"holding_id": 1, **read, "by": "1", "at": before["movement"][0]["at"], "instrument": ""}]
    if revision < "0004":  # a colour's master was only in its own row
        read = {name: before["colour"][0][name] for name in ("lightness", "a", "b", "illuminant", "observer")}
        at = before["about"][0]["made_at"]
        before["master_reading"] = [{"colour": "1", "cloth": None, **read, "by": "", "at": at, "instrument": ""}]
    assert {table: rows for table, rows in after.items() if table not in before and rows} == {}, "rows from nowhere"
    # A later revision may add columns to a row; it changes and drops none.
    assert {
        table: [{name: now[name] for name in row} for row, now in zip(rows, after[table], strict=True)]
        for table, rows in before.items()
    } == before


def test_a_rebuilt_table_keeps_what_hangs_on_it(empty_database: Database, next_revision: Callable[[str], None]) -> None:
    older_shop(empty_database, REVISIONS[-1])
    with plain_engine(empty_database).connect() as connection:
        before = hanging_on(connection, "movement")
        holding_before = hanging_on(connection, "holding")
    next_revision(REBUILD)
    Shop.open(empty_database.where).close()
    with plain_engine(empty_database).connect() as connection:
        after = hanging_on(connection, "movement")
        assert after - before == {"ck_movement_witness_named"}
        assert before <= after
        assert hanging_on(connection, "holding") == holding_before
        if empty_database.kind == "sqlite":
            strict = {row.name: row.strict for row in connection.exec_driver_sql("PRAGMA table_list")}
            assert (strict["movement"], strict["holding"]) == (1, 1)


def hanging_on(connection: Connection, table: str) -> set[str]:
    """Names of a table's constraints, indexes and triggers, and what its foreign keys refer to."""
    catalogue = inspect(connection)
    triggers = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = :table"
        if connection.dialect.name == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE tgrelid = CAST(:table AS regclass) AND NOT tgisinternal"
    )
    found = [
        *catalogue.get_check_constraints(table),
        *catalogue.get_unique_constraints(table),
        *catalogue.get_indexes(table),
        catalogue.get_pk_constraint(table),
    ]
    keys = [f"{key['name']} → {key['referred_table']}" for key in catalogue.get_foreign_keys(table)]
    return {
        *(str(constraint["name"]) for constraint in found),
        *keys,
        *connection.execute(text(triggers), {"table": table}).scalars(),
    }


def test_the_ledger_still_refuses_after_its_table_was_rebuilt(
    empty_database: Database, next_revision: Callable[[str], None]
) -> None:
    older_shop(empty_database, REVISIONS[-1])
    next_revision(REBUILD)
    with Shop.open(empty_database.where) as shop:
        for change in ("UPDATE movement SET quantity = 5", "DELETE FROM movement"):
            with pytest.raises(DBAPIError, match="a movement is never changed"), shop.write() as tx:
                tx.exec_driver_sql(change)
        with pytest.raises(IntegrityError, match="ck_holding_reserved_within_held"), shop.write() as tx:
            tx.exec_driver_sql("UPDATE holding SET reserved = held + 1")
        with pytest.raises(IntegrityError), shop.write() as tx:
            tx.exec_driver_sql("DELETE FROM holding")


def test_an_older_sqlite_shop_is_copied_first_and_no_copy_is_overwritten(
    tmp_path: Path, next_revision: Callable[[str], None]
) -> None:
    database = Database("sqlite", str(tmp_path / "shop.db"))
    before = older_shop(database, REVISIONS[-1])
    earlier = tmp_path / f"shop-before-upgrade-{SCHEMA}.db"
    earlier.write_text("an earlier copy")
    next_revision(REBUILD)
    with Shop.open(database.where) as shop:
        assert shop.upgraded is not None
        copy = tmp_path / f"shop-before-upgrade-{SCHEMA}-2.db"
        assert str(copy) in shop.upgraded
    assert earlier.read_text() == "an earlier copy"
    with plain_engine(Database("sqlite", str(copy))).connect() as connection:
        assert everything(connection) == before


def test_an_upgraded_postgresql_shop_says_that_a_dump_should_be_kept(
    server: Server, next_revision: Callable[[str], None]
) -> None:
    with server.new_database() as url:
        older_shop(Database("postgresql", url), REVISIONS[-1])
        next_revision(REBUILD)
        with Shop.open(url) as shop:
            assert shop.upgraded is not None
            assert "keep a dump" in shop.upgraded


def test_a_shop_that_is_up_to_date_is_not_copied(sqlite_template: Path, tmp_path: Path) -> None:
    shutil.copyfile(sqlite_template, tmp_path / "shop.db")
    with Shop.open(tmp_path / "shop.db") as shop:
        assert shop.upgraded is None
    assert [path.name for path in tmp_path.iterdir()] == ["shop.db"]


def test_an_upgrade_that_fails_leaves_the_shop_as_it_was(
    empty_database: Database, next_revision: Callable[[str], None]
) -> None:
    before = older_shop(empty_database, REVISIONS[-1])
    next_revision(REBUILD + "    op.execute(sa.text('INSERT INTO counter (name) VALUES (NULL)'))\n")
    with pytest.raises(Refusal, match=f"could not be upgraded from version {SCHEMA} to {NEXT} and is as it was"):
        Shop.open(empty_database.where)
    with plain_engine(empty_database).connect() as connection:
        assert everything(connection) == before
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one() == REVISIONS[-1]


def test_an_upgrade_interrupted_leaves_the_shop_as_it_was(
    empty_database: Database, next_revision: Callable[[str], None]
) -> None:
    before = older_shop(empty_database, REVISIONS[-1])
    next_revision(REBUILD + "    raise KeyboardInterrupt\n")
    with pytest.raises(KeyboardInterrupt):
        Shop.open(empty_database.where)
    with plain_engine(empty_database).connect() as connection:
        assert everything(connection) == before


def test_an_upgrade_that_would_leave_rows_referring_to_nothing_is_refused(
    empty_database: Database, next_revision: Callable[[str], None]
) -> None:
    before = older_shop(empty_database, REVISIONS[-1])
    next_revision("    op.execute(sa.text('DELETE FROM colour'))\n")
    with pytest.raises(Refusal, match=r"rows that are not there|violates foreign key constraint"):
        Shop.open(empty_database.where)
    with plain_engine(empty_database).connect() as connection:
        assert everything(connection) == before


def test_several_who_open_an_older_shop_at_once_upgrade_it_once(
    empty_database: Database, next_revision: Callable[[str], None], tmp_path: Path
) -> None:
    older_shop(empty_database, REVISIONS[-1])
    next_revision(REBUILD)
    start = threading.Barrier(3)

    def open_it() -> str | None:
        start.wait()
        with Shop.open(empty_database.where) as shop, shop.read() as tx:
            assert tx.execute(text("SELECT schema FROM about")).scalar_one() == NEXT
            return shop.upgraded

    with ThreadPoolExecutor(3) as pool:
        told = [future.result() for future in [pool.submit(open_it) for _ in range(3)]]
    assert told.count(None) == 2
    assert len(list(tmp_path.glob("*before-upgrade*"))) == (empty_database.kind == "sqlite")


def test_foreign_keys_hold_again_after_an_upgrade(
    empty_database: Database, next_revision: Callable[[str], None]
) -> None:
    older_shop(empty_database, REVISIONS[-1])
    next_revision(REBUILD)
    with (
        Shop.open(empty_database.where) as shop,
        pytest.raises(IntegrityError),
        shop.write() as tx,
    ):
        tx.exec_driver_sql("DELETE FROM colour")


def test_what_is_shipped_is_found_in_a_wheel_and_in_a_checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "stockroom"
    monkeypatch.setattr(shipped_module, "_PACKAGE", package)
    (tmp_path / "seed").mkdir()
    assert shipped("seed") == tmp_path / "seed"
    (package / "_shipped" / "seed").mkdir(parents=True)
    assert shipped("seed") == package / "_shipped" / "seed"
    with pytest.raises(Refusal, match="Install stockroom again"):
        shipped("migrations")
