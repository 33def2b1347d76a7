"""The trimmer's page: a whole question from the scan to the eye's verdict, by keys alone, on a small real shop."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from stockroom.jobs.match import match_rolls
from stockroom.screens.app import StockroomApp
from stockroom.screens.match_page import MatchPage
from stockroom.store import stock
from stockroom.store.database import Shop
from tests.jobs.workshop import made_order, taken_order
from tests.screens.driving import in_a_loop, press, screen_text, settle, shows
from tests.screens.test_racks_and_counts import on_the_day, scan
from tests.shops import LATE, line, roll, stock_shop

HOOD = "hood-cloth/fawn"
UNDER = {"illuminant": "D65", "observer": 10}


def fawn(lightness: float) -> dict[str, object]:
    """Columns of a reading of fawn cloth."""
    return {"L": lightness, "a": 4, "b": 17, **UNDER}


@pytest.fixture
def hoods(sqlite_shop: Shop, tmp_path: Path) -> Shop:
    """A tonneau cover that went out of lot A; beside it fawn cloth that is near, that is far, and that nobody read."""
    stock_shop(
        sqlite_shop, tmp_path, roll(HOOD, 3_000, "A", **fawn(64.2)), roll(HOOD, 9_000, "near", **fawn(64.9)),
        roll(HOOD, 8_000, "far", **fawn(67)), roll(HOOD, 7_000, "unread"),
        roll("leathercloth/red", 4_000, "N1", L=50, a=80, b=-60, **UNDER),
    )  # fmt: skip
    made_order(sqlite_shop, line("tonneau"), number="L-1")
    return sqlite_shop


def tag_of(shop: Shop, lot: str) -> str:
    """The tag of the first roll of a lot."""
    with shop.read() as tx:
        return next(one.tag for one in stock.rolls_of(tx, HOOD) if one.lot == lot)


def drive(shop: Shop, folder: Path, go: Callable[[Pilot[None]], Coroutine[Any, Any, None]]) -> None:
    """Do this at a screen of 80 by 24."""

    @in_a_loop
    async def run() -> None:
        async with StockroomApp(on_the_day(shop, folder)).run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            await go(pilot)

    run()


def test_the_trimmer_scans_two_rolls_is_asked_what_was_seen_and_it_stands(hoods: Shop, tmp_path: Path) -> None:
    first, second, third = (tag_of(hoods, lot) for lot in ("A", "unread", "near"))

    async def go(pilot: Pilot[None]) -> None:
        await press(pilot, "f10", *"Match", "enter")
        assert "Scan a roll to see what goes beside it" in screen_text(pilot)
        await press(pilot, "f2", *f"match {first}", "enter")
        assert f"roll {first}" in shows(pilot, "#heading"), "what stands behind the page's name is asked there"
        await press(pilot, "f2", "f10", *"match mauve", "enter")
        assert "mauve" in shows(pilot, "#message")
        await press(pilot, "ctrl+n", "escape")
        await press(pilot, *scan(first.lower()), *scan(third))
        assert f"{first} beside {third}" in shows(pilot, "#heading")
        assert "Matches. ΔE00 is 0.5" in shows(pilot, "#match-text Static")
        assert "Scan ▸" in screen_text(pilot), "where there are readings nobody need look"
        await press(pilot, *scan(second))
        assert f"{first} beside {second}" in shows(pilot, "#heading")
        assert shows(pilot, "#scan-label") == "unread beside A ▸"
        await press(pilot, *"good", "enter")
        assert "'good' is no verdict" in shows(pilot, "#message")
        await press(pilot, *("backspace",) * 4, *"near", "enter", "enter", *"gh", "enter")
        assert "near, as GH saw them, light: daylight" in shows(pilot, "#message")
        assert "GH saw them side by side" in shows(pilot, "#match-text Static")
        await press(pilot, "ctrl+l", *"no match", "enter", *"north light", "enter")
        assert "Does not match." in shows(pilot, "#match-text Static"), "the later verdict stands"

    drive(hoods, tmp_path, go)
    assert match_rolls(hoods, first, second).words == "does not match"


def test_what_went_out_is_asked_by_order_by_piece_and_by_car_and_a_colour_shows_all_its_cloths(
    hoods: Shop, tmp_path: Path
) -> None:
    taken_order(hoods, line("tonneau", car=LATE), number="L-2")

    async def go(pilot: Pilot[None]) -> None:
        await press(pilot, *"L-1", "enter", "ctrl+d")
        assert "Match  ·  order L-1  ·  4 rolls" in shows(pilot, "#heading")
        text = screen_text(pilot)
        for words in ("same lot", "matches", "check by eye", "NO MATCH", "top: Hood"):
            assert words in text
        rows = [line for line in text.splitlines() if "top: " in line]
        assert [next(lot for lot in ("A ", "near", "unread", "far") if lot in row) for row in rows] == [
            "A ", "near", "unread", "far",
        ]  # fmt: skip
        await press(pilot, "f3", *"far", "enter")
        assert shows(pilot, "#filter-count") == "1 of 4 rolls"
        await press(pilot, "escape", "ctrl+n", *"rp 3000", "enter")
        assert "Match  ·  car RP 3000" in shows(pilot, "#heading")
        await press(pilot, *"FAWN", "enter")
        assert "Match  ·  colour fawn  ·  4 rolls" in shows(pilot, "#heading")
        assert "check by eye" in screen_text(pilot), "the colour has no master reading"
        await press(pilot, "ctrl+l")
        assert "held against a master reading" in shows(pilot, "#message")
        await press(pilot, *"fawm", "enter")
        assert "Nothing here is called 'fawm'" in shows(pilot, "#message")
        assert "colour fawn" in shows(pilot, "#heading"), "what was shown stays"

    drive(hoods, tmp_path, go)


@pytest.mark.parametrize("size", [(80, 24), (160, 50)], ids=["80x24", "160x50"])
@pytest.mark.parametrize("colours", [True, False], ids=["in colour", "in words"])
def test_how_it_looks(
    snap_compare: Callable[..., bool],
    hoods: Shop,
    tmp_path: Path,
    size: tuple[int, int],
    colours: bool,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setattr(MatchPage, "in_colour", colours)

    async def go(pilot: Pilot[None]) -> None:
        await settle(pilot)
        await press(pilot, *"match", "enter", *("L-1" if colours else "leathercloth/red"), "enter", "down")

    assert snap_compare(StockroomApp(on_the_day(hoods, tmp_path)), terminal_size=size, run_before=go)
