"""The week's lines are bought, changed, put off and printed on the screen, on a real shop, by keys alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pypdfium2
import pytest

from stockroom.domain.about import About
from stockroom.jobs.buying import buying_list
from stockroom.jobs.printing import Outlet
from stockroom.jobs.purchasing import expected
from stockroom.screens.app import StockroomApp
from stockroom.screens.calls import Jobs
from stockroom.screens.wiring import jobs_of
from stockroom.store.database import Shop
from tests.reorder_shop import BINDING, CARPET, STUD, Ordering, fill
from tests.screens.driving import in_a_loop, press, screen_text, settle, shows
from tests.screens.test_snapshots import SIZES, Compare, same

ABOUT = About("Lindow Trim", "Europe/London", "GBP")
TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 8, 30, tzinfo=UTC)


def jobs(shop: Shop, folder: Path) -> Jobs:
    """The real jobs, on a Wednesday of 2026-W48."""
    return replace(jobs_of(shop, ABOUT, Outlet(folder)), today=lambda: TODAY, now=lambda: NOW)


def lindow(shop: Shop) -> None:
    """Carpet and turn-buttons run out, and an order needs more binding than any roll has."""
    fill(shop)
    with shop.write() as tx:
        Ordering(tx, "L-1001", date(2026, 12, 4)).need(BINDING, 12_000, need="length")


@in_a_loop
async def drive(shop: Shop, folder: Path) -> None:
    async with StockroomApp(jobs(shop, folder)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f8", *"AB", "enter", *"buying", "enter")
        assert "No run of 2026-W48 was made yet." in screen_text(pilot)
        await press(pilot, "ctrl+t")
        assert "There is no line here" in shows(pilot, "#message")
        await press(pilot, "ctrl+r")
        assert "3 lines to decide." in shows(pilot, "#message")
        assert "Buying  ·  2026-W48  ·  3 to decide" in shows(pilot, "#heading")
        await press(pilot, "enter")
        assert "lead time 21 days" in shows(pilot, "#buying-text Static")
        await press(pilot, "enter", "f3", *"stud", "enter", "ctrl+o", *"12", "enter", *"until the fair", "enter")
        assert "sells 15 of Turn-button fastener, not 12. Has it agreed?" in shows(pilot, "#message")
        await press(pilot, *"perhaps", "enter")
        assert "Type yes if it is so" in shows(pilot, "#message")
        await press(pilot, *"yes", "enter", *"yes", "enter")
        assert "Purchase P-0001, Studs: 12 of Turn-button fastener" in shows(pilot, "#message")
        await press(pilot, "ctrl+t")
        assert "bought 12 in P-0001 (AB): until the fair" in shows(pilot, "#message")
        await press(pilot, "escape", "ctrl+home", "ctrl+n", *"a sample comes first", "enter", "enter")
        assert "is put off until 2026-11-30" in shows(pilot, "#message")
        await press(pilot, "ctrl+l")
        assert "Purchase P-0002, The carpet mill: 25.00 m of Edge binding, red" in shows(pilot, "#message")
        await press(pilot, "ctrl+t")
        assert "Purchase P-0002, The carpet mill: 20.00 m of Boot carpet, red" in shows(pilot, "#message")
        await press(pilot, "ctrl+p", "enter")
        assert f"Printed in {folder}: purchase-P-0002.pdf." in shows(pilot, "#message")
        await press(pilot, "ctrl+l")
        assert "Every line of this supplier is decided already." in shows(pilot, "#message")


def test_a_week_is_bought_by_keys_alone(sqlite_shop: Shop, tmp_path: Path) -> None:
    lindow(sqlite_shop)
    drive(sqlite_shop, tmp_path)
    assert [(one.reference, one.item, one.shown) for one in expected(sqlite_shop, TODAY)] == [
        ("P-0002", BINDING, "25.00 m"),
        ("P-0001", STUD, "12"),
        ("P-0002", CARPET, "20.00 m"),
    ]
    page = pypdfium2.PdfDocument(tmp_path / "purchase-P-0002.pdf")[0].get_textpage().get_text_bounded()
    for words in (
        "Lindow Trim",
        "The carpet mill",
        "our code carpet/red",
        "20.00 m",
        "15.00 GBP a metre",
        "due 2026-12-02",
        "All of it in one dye lot, please",
        "310.00 GBP",
        "Carriage is paid from 500.00 GBP; this order is below that.",
        "Write our reference P-0002",
    ):
        assert words in page
    assert "on order" not in page, "what we hold is nobody's business"
    assert not buying_list(sqlite_shop, None, TODAY).open_lines


@in_a_loop
async def begin_and_leave(shop: Shop, folder: Path) -> None:
    async with StockroomApp(jobs(shop, folder)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *"buying", "enter", "ctrl+r", *"AB", "enter")
    async with StockroomApp(jobs(shop, folder)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *"buying", "enter", "ctrl+t")
        assert shows(pilot, "#scan-label") == "Initials ▸"
        await press(pilot, "ctrl+o")
        assert "Nothing was done before this, since no initials were given." in shows(pilot, "#message")
        await press(pilot, *"25 m", "enter", *"a long hood", "enter", *"AB", "enter")
        assert "Purchase P-0001, The carpet mill: 25.00 m of Boot carpet, red" in shows(pilot, "#message")


def test_what_was_begun_and_left_for_another_question_is_not_bought_once_initials_are_given(
    sqlite_shop: Shop, tmp_path: Path
) -> None:
    lindow(sqlite_shop)
    begin_and_leave(sqlite_shop, tmp_path)
    assert [(one.item, one.shown) for one in expected(sqlite_shop, TODAY)] == [(CARPET, "25.00 m")]


@pytest.fixture
def bought(sqlite_shop: Shop, tmp_path: Path) -> Jobs:
    """The jobs on a shop whose run was made; carpet was put off."""
    lindow(sqlite_shop)
    return jobs(sqlite_shop, tmp_path)


@SIZES
def test_buying(snap_compare: Compare, size: tuple[int, int], bought: Jobs) -> None:
    keys = ("f8", *"AB", "enter", *"buying", "enter", "ctrl+r", "ctrl+n", *"a sample", "enter", "enter", "enter")
    assert same(snap_compare, size, *keys, given=bought)


def test_help_of_buying(snap_compare: Compare, bought: Jobs) -> None:
    assert same(snap_compare, (80, 24), *"buying", "enter", "f1", given=bought)
