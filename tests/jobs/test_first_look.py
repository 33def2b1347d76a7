"""The first look shows what the open shop shows, or leaves the word to whoever opens it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from stockroom.jobs import first_look as first
from stockroom.jobs.first_look import first_look
from stockroom.jobs.rail import rail
from stockroom.jobs.reserve import reserve_what_there_is
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from stockroom.store.version import SCHEMA
from tests.shops import STAMP, TODAY, bin_of, line, order, stock_shop


@pytest.fixture
def file(sqlite_shop: Shop, tmp_path: Path) -> Path:
    """A shop with orders that are short, wait for an answer, and are open as to their day."""
    stock_shop(sqlite_shop, tmp_path, bin_of("stud", 40))
    for number, days in (("L-1", 3), ("L-2", None), ("L-3", -3)):
        wanted = None if days is None else TODAY + timedelta(days=days)
        take(sqlite_shop, replace(order(line("hood"), line("boot-set"), number=number), wanted=wanted), STAMP)
    reserve_what_there_is(sqlite_shop, "L-3", STAMP)
    return tmp_path / "shop.db"


def test_it_sees_the_first_of_what_the_open_shop_has_on_its_rail(
    file: Path, sqlite_shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = rail(sqlite_shop, TODAY)
    assert [entry.number for entry in whole] == ["L-3", "L-1", "L-2"]
    assert whole[0].short
    assert whole[0].held
    assert whole[0].waits
    look = first_look(str(file), STAMP.at)
    assert look is not None
    assert look.orders == whole
    monkeypatch.setattr(first, "MOST", 2)
    look = first_look(str(file), STAMP.at)
    assert look is not None
    assert look.orders == whole[:2]


def test_it_leaves_alone_what_must_be_opened_to_be_told_about(file: Path, tmp_path: Path) -> None:
    assert first_look(str(tmp_path / "nowhere.db"), STAMP.at) is None
    assert first_look("postgresql+psycopg://nobody@nowhere/none", STAMP.at) is None
    (tmp_path / "letter.db").write_text("Dear Sir, ...")
    assert first_look(str(tmp_path / "letter.db"), STAMP.at) is None
    with closing(sqlite3.connect(tmp_path / "other.db")) as link:
        link.execute("CREATE TABLE about (schema INTEGER)")
    assert first_look(str(tmp_path / "other.db"), STAMP.at) is None
    for version in (SCHEMA - 1, SCHEMA + 1):
        with closing(sqlite3.connect(file)) as link:
            link.execute("UPDATE about SET schema = ?", (version,))
            link.commit()
        assert first_look(str(file), STAMP.at) is None
