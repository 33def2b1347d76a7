"""Things moved, put right and set apart, and counts from beginning to end: on a small real shop, by keys alone."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from stockroom.domain.about import About
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.audit import audit
from stockroom.jobs.count import enter
from stockroom.jobs.printing import Outlet
from stockroom.jobs.racks import looked_over, where_is
from stockroom.screens.app import StockroomApp
from stockroom.screens.calls import Jobs
from stockroom.screens.sheet_page import missing_of
from stockroom.screens.wiring import jobs_of
from stockroom.store.database import Shop
from tests.jobs.test_moving import HOOD, clips_for, facts, tags
from tests.screens.driving import in_a_loop, press, screen_text, settle, shows
from tests.screens.made_up import NOW, TODAY
from tests.shops import bin_of, roll, stock_shop

ABOUT = About("Lindow Trim", "Europe/London", "GBP")
INITIALS = ("f8", *"AB", "enter")
Drive = Callable[[Pilot[None]], Coroutine[Any, Any, None]]
Look = Callable[..., bool]


def scan(tag: str) -> tuple[str, ...]:
    """The keys that a scanner presses."""
    return (*tag, "enter")


def on_the_day(shop: Shop, folder: Path) -> Jobs:
    """The real jobs, on a day that never passes."""
    return replace(jobs_of(shop, ABOUT, Outlet(folder / "paper")), now=lambda: NOW, today=lambda: TODAY)


@pytest.fixture
def racks(sqlite_shop: Shop, tmp_path: Path) -> Shop:
    """Two rolls of hood cloth and a reel in R1, clips and studs in bins."""
    stock_shop(
        sqlite_shop, tmp_path, roll(HOOD, 9_000, "1"), roll(HOOD, 4_000, "2"), roll("binding/red", 9_000),
        bin_of("clip", 40), bin_of("stud", 300), bin_of("clip", 4, place="B2"),
    )  # fmt: skip
    return sqlite_shop


def drive(shop: Shop, folder: Path, go: Drive) -> None:
    """Do this at a screen of 80 by 24, with initials given; the books are sound afterwards."""

    @in_a_loop
    async def run() -> None:
        async with StockroomApp(on_the_day(shop, folder)).run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            await press(pilot, *INITIALS)
            await go(pilot)

    run()
    assert audit(shop).faults == ()


def place_tag(shop: Shop, code: str) -> str:
    """The tag on a place."""
    return {one.place: one.tag for one in looked_over(shop)}[code]


# The racks


def test_many_things_are_scanned_and_then_their_place_as_fast_as_a_scanner_goes(racks: Shop, tmp_path: Path) -> None:
    (first, second), (reel,) = tags(racks, HOOD), tags(racks, "binding/red")
    there, back = place_tag(racks, "B2"), place_tag(racks, "R1")

    async def go(pilot: Pilot[None]) -> None:
        await press(pilot, "f10", *scan(first))
        assert shows(pilot, "#scan-label") == f"{first} goes to ▸"
        await press(pilot, *scan(second))
        assert shows(pilot, "#scan-label") == "2 in hand go to ▸"
        await press(pilot, *scan(there))
        assert f"({first}): from R1 to B2." in shows(pilot, "#message")
        assert shows(pilot, "#scan-label") == "Scan ▸"
        await press(pilot, *scan(first), *scan(back), *scan(second), *scan(reel), *scan(there), *scan(there))
        assert [facts(racks, tag)["Place"] for tag in (first, second, reel)] == ["R1", "B2", "B2"]
        await press(pilot, *scan(there))
        assert "B2, More bins  ·  3 things" in shows(pilot, "#heading"), "with nothing in hand a place is shown"
        await press(pilot, *scan(first), "escape", *scan(there))
        assert facts(racks, first)["Place"] == "R1", "what was laid down again is not moved"

    drive(racks, tmp_path, go)


def test_the_racks_are_filtered_by_what_lies_there_and_opened_by_place_and_by_item(racks: Shop, tmp_path: Path) -> None:
    async def go(pilot: Pilot[None]) -> None:
        await press(pilot, *"Racks", "enter", "f3", *"clip", "enter")
        assert shows(pilot, "#filter-count") == "2 of 3 places"
        await press(pilot, "down", "enter")
        assert "B2, More bins  ·  1 thing" in shows(pilot, "#heading")
        await press(pilot, "ctrl+l")
        assert "Clip  ·  2 things" in shows(pilot, "#heading")
        assert "44 in all, 0 reserved, 44 free" in screen_text(pilot)
        await press(pilot, "escape", "escape", *"hood cloth", "enter")
        assert "4 items called hood cloth" in shows(pilot, "#heading")
        await press(pilot, *"hud clof", "enter")
        assert "There is no place and no item 'hud clof'" in shows(pilot, "#message")
        await press(pilot, "escape", *"r1", "enter")
        await press(pilot, "enter")
        assert f"Roll {tags(racks, 'binding/red')[0]}" in shows(pilot, "#heading")

    drive(racks, tmp_path, go)


def test_a_true_figure_is_written_down_with_its_reason_and_who_is_short_is_named(racks: Shop, tmp_path: Path) -> None:
    number = clips_for(racks)
    clip, small = tags(racks, "clip")

    async def go(pilot: Pilot[None]) -> None:
        await press(pilot, "f10", "ctrl+t", *scan(clip), *"a few", "enter")
        assert "'a few' is no count" in shows(pilot, "#message")
        await press(pilot, *"2", "enter", *"miscounted", "enter")
        assert "Clip" in shows(pilot, "#message")
        assert "2; the books said 40" in shows(pilot, "#message")
        await press(pilot, *scan(small), "ctrl+t", *"0", "enter", *"lost", "enter")
        assert f"! Now short: Order {number}: Clip" in shows(pilot, "#message")

    drive(racks, tmp_path, go)
    assert (where_is(racks, "clip")[0].held, facts(racks, small)["Held"]) == ("2", "0")


def test_goods_are_set_apart_in_part_released_and_scrapped(racks: Shop, tmp_path: Path) -> None:
    first, _ = tags(racks, HOOD)
    (stud,) = tags(racks, "stud")

    async def go(pilot: Pilot[None]) -> None:
        await press(pilot, "f10", *"r1", "enter", *scan(first), "ctrl+n", *"2 m to 60 cm", "enter")
        await press(pilot, *"stained", "enter")
        assert "2.00 m to 0.60 m does not" in shows(pilot, "#message")
        await press(pilot, *scan(first), "ctrl+n", *"2 m", "enter", *"stained", "enter")
        assert "Ctrl and P prints tag R" in shows(pilot, "#message")
        assert "QUARANTINE" in screen_text(pilot)
        apart = next(tag for tag in tags(racks, HOOD) if "Quarantined" in facts(racks, tag))
        await press(pilot, *scan(apart), "ctrl+n")
        assert f"{apart} is in quarantine already: stained." in shows(pilot, "#message")
        await press(pilot, *scan(apart), "ctrl+r", *"cleaned", "enter")
        assert "may be used again" in shows(pilot, "#message")
        await press(pilot, *scan(stud), "ctrl+k", *"12", "enter", *"rusted", "enter")
        assert "288 is left." in shows(pilot, "#message")
        await press(pilot, *scan(stud), "ctrl+o", *"88", "enter", *"B2", "enter")
        assert "Ctrl and P prints tag B" in shows(pilot, "#message")
        await press(pilot, "ctrl+p", "enter")
        assert "Printed in" in shows(pilot, "#message")

    drive(racks, tmp_path, go)
    assert [one.amount for one in where_is(racks, "stud")[0].things] == ["200", "88"]


def test_what_is_no_stock_is_opened_or_refused_and_never_moved(racks: Shop, tmp_path: Path) -> None:
    number = clips_for(racks)

    async def go(pilot: Pilot[None]) -> None:
        await press(pilot, "f10", *number, "enter")
        assert number in shows(pilot, "#heading")
        await press(pilot, "f10", *scan(tags(racks, HOOD)[0]), *"Q9", "enter")
        assert "There is no place 'Q9'" in shows(pilot, "#message")
        assert "goes to" in shows(pilot, "#scan-label"), "it is still in hand"

    drive(racks, tmp_path, go)


# Counts


def test_a_place_is_counted_blind_closed_and_booked(racks: Shop, tmp_path: Path) -> None:
    (clip, _), (stud,) = tags(racks, "clip"), tags(racks, "stud")

    async def go(pilot: Pilot[None]) -> None:
        await press(pilot, "ctrl+e", *scan(place_tag(racks, "B1")))
        assert "Count B1, Bins  ·  sheet 1, 2 left" in shows(pilot, "#heading")
        assert not any(figure in screen_text(pilot) for figure in ("40", "300"))
        await press(pilot, *scan(clip), *"4", "enter")
        assert shows(pilot, "#scan-label") == f"{clip} once more ▸"
        assert "40" not in screen_text(pilot), "the books' figure stays untold while it is to be counted again"
        await press(pilot, "escape", "ctrl+l")
        assert "Count again first" in shows(pilot, "#message")
        await press(pilot, *"4", "enter")
        assert "4 stands; the books say 40." in shows(pilot, "#message")
        assert where_is(racks, "clip")[0].held == "44", "nothing is booked before the sheet is closed"
        await press(pilot, "ctrl+l")
        assert f"1 differs: {clip} (4; books 40)." in shows(pilot, "#message")
        assert f"! Not counted: {stud} Stud." in shows(pilot, "#message")
        await press(pilot, *f"missing {clip}", "enter")
        assert "is not uncounted on sheet 1" in shows(pilot, "#message")
        await press(pilot, "ctrl+l", *scan(stud), *"300", "enter", "ctrl+l", "enter")
        assert "Sheet 1 is closed: 1 as the books say, 1 put right." in shows(pilot, "#message")
        assert "sheet 1, closed" in shows(pilot, "#heading")
        await press(pilot, "enter")
        assert "This count is over." in shows(pilot, "#message")

    drive(racks, tmp_path, go)
    assert where_is(racks, "clip")[0].held == "8"


def test_what_lies_here_and_elsewhere_by_the_books_is_entered_and_brought_here(racks: Shop, tmp_path: Path) -> None:
    first, second = tags(racks, HOOD)
    (stud,) = tags(racks, "stud")

    async def go(pilot: Pilot[None]) -> None:
        await press(pilot, "ctrl+e", *"b2", "enter", *scan(first), *"9 m", "enter")
        assert "By the books it lies in R1." in shows(pilot, "#message")
        await press(pilot, "enter")
        assert facts(racks, first)["Place"] == "B2"
        await press(pilot, *scan(second), *"4 m", "enter", *scan(stud), *"300", "enter", "escape")
        assert facts(racks, second)["Place"] == "R1", "the next scan leaves it where the books say"
        await press(pilot, "ctrl+l", *"missing", "enter")
        assert f"({second}) lies in B2, by the books in R1." in shows(pilot, "#message")

    drive(racks, tmp_path, go)
    assert where_is(racks, "clip")[0].held == "40", "what was missing is gone"


def test_two_people_on_one_sheet_see_each_others_figures_and_it_can_be_left(racks: Shop, tmp_path: Path) -> None:
    (stud,) = tags(racks, "stud")

    async def go(pilot: Pilot[None]) -> None:
        await press(pilot, "ctrl+e", *scan(stud), "enter")
        assert "Count Stud (stud)  ·  sheet 1, 1 left" in shows(pilot, "#heading")
        await press(pilot, *"R1")
        enter(racks, 1, stud, "299", Stamp("CD", NOW))
        for _ in range(40):
            await pilot.pause(0.1)
            if "0 left" in shows(pilot, "#heading"):
                break
        assert "0 left" in shows(pilot, "#heading"), "within two seconds or so, without a key"
        assert "(CD)" in screen_text(pilot)
        await press(pilot, "escape", "ctrl+k", *"yes", "enter")
        assert "Type leave to drop the sheet" in shows(pilot, "#message")
        await press(pilot, "escape", *"leave", "enter")
        assert "Sheet 1 is left. Nothing was booked." in shows(pilot, "#message")

    drive(racks, tmp_path, go)
    assert where_is(racks, "stud")[0].held == "300"


def test_an_open_sheet_is_found_again_and_joined(racks: Shop, tmp_path: Path) -> None:
    async def go(pilot: Pilot[None]) -> None:
        await press(pilot, "ctrl+e", *"r1", "enter")
        await press(pilot, "escape")
        assert "1 sheet open" in shows(pilot, "#heading")
        assert "sheet 1: 3 left" in screen_text(pilot)
        await press(pilot, "ctrl+home", "enter")
        assert "sheet 1, 3 left" in shows(pilot, "#heading")
        await press(pilot, *scan(place_tag(racks, "R1")))
        assert "AB began this count: you are on the same sheet." in shows(pilot, "#message")

    drive(racks, tmp_path, go)


@pytest.mark.parametrize("typed", ["lost", "left R1", "missing and", "missing R2"])
def test_what_nobody_counted_is_answered_for_in_words_that_cannot_be_mistaken(typed: str) -> None:
    with pytest.raises(Refusal, match="Enter alone leaves them as the books say"):
        missing_of(typed)


# How it looks


SIZES = pytest.mark.parametrize("size", [(80, 24), (160, 50)], ids=["80x24", "160x50"])


@pytest.fixture
def same(snap_compare: Callable[..., bool], racks: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Look:
    """Whether the screen looks as it did after these scans and keys, each waited for."""
    monkeypatch.delenv("NO_COLOR", raising=False)

    def look(size: tuple[int, int], *steps: Sequence[str]) -> bool:
        async def run(pilot: Pilot[None]) -> None:
            await settle(pilot)
            for keys in (INITIALS, *steps):
                await press(pilot, *keys)

        return snap_compare(StockroomApp(on_the_day(racks, tmp_path)), terminal_size=size, run_before=run)

    return look


@SIZES
def test_racks_with_two_things_in_hand(racks: Shop, same: Look, size: tuple[int, int]) -> None:
    assert same(size, ("f10",), *(scan(tag) for tag in tags(racks, HOOD)))


@SIZES
def test_a_place_with_something_in_quarantine(racks: Shop, same: Look, size: tuple[int, int]) -> None:
    apart = (*scan(tags(racks, HOOD)[0]), "ctrl+n", "enter", *"stained", "enter")
    assert same(size, ("f10",), scan("R1"), apart, ("down",))


@SIZES
def test_what_is_to_be_counted(same: Look, size: tuple[int, int]) -> None:
    assert same(size, ("ctrl+e",), scan("B2"), ("escape",), ("down",))


@SIZES
def test_a_sheet_with_one_thing_to_be_counted_again(racks: Shop, same: Look, size: tuple[int, int]) -> None:
    (stud,), (clip, _) = tags(racks, "stud"), tags(racks, "clip")
    assert same(size, ("ctrl+e",), scan("B1"), (*scan(stud), *"299", "enter"), (*scan(clip), *"9", "enter"))


@SIZES
def test_a_sheet_that_is_about_to_be_closed(racks: Shop, same: Look, size: tuple[int, int]) -> None:
    assert same(size, ("ctrl+e",), scan("B1"), (*scan(tags(racks, "stud")[0]), *"299", "enter"), ("ctrl+l",))


@SIZES
def test_help_of_a_place(same: Look, size: tuple[int, int]) -> None:
    assert same(size, ("f10",), scan("R1"), ("f1",))
