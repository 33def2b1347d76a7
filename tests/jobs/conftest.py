"""Shops that the tests of jobs start from.

On PostgreSQL the tests of this folder share one database, emptied before each: making one for each of them takes
longer than what they test.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from stockroom.store.database import Shop
from stockroom.store.types import Base
from tests.databases import KINDS, Database, Server, plain_engine
from tests.shops import plenty, stock_shop


@pytest.fixture(scope="session")
def shared_database(server: Server, postgresql_template: str) -> Iterator[Database]:
    """A PostgreSQL database with a shop in it, for one test after another."""
    with server.new_database(postgresql_template) as url:
        yield Database("postgresql", url)


def emptied(database: Database) -> Database:
    """A PostgreSQL database with a shop in it, without its rows."""
    tables = ", ".join(f'"{table.name}"' for table in Base.metadata.sorted_tables)
    with plain_engine(database).begin() as connection:
        connection.execute(text(f"TRUNCATE {tables} RESTART IDENTITY CASCADE"))
    return database


@pytest.fixture(params=KINDS)
def database(request: pytest.FixtureRequest, tmp_path: Path) -> Database:
    """Where a shop without rows lies; not opened."""
    if request.param == "sqlite":
        path = tmp_path / "shop.db"
        shutil.copyfile(request.getfixturevalue("sqlite_template"), path)
        return Database("sqlite", str(path))
    return emptied(request.getfixturevalue("shared_database"))


@pytest.fixture
def full_shop(shop: Shop, tmp_path: Path) -> Shop:
    """A shop with enough of everything but blanks, on either database."""
    stock_shop(shop, tmp_path, *plenty())
    return shop
