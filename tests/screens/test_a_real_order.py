"""One order from the rail to the van, on a small real shop with the real jobs, by keys alone."""

from __future__ import annotations

from pathlib import Path

from textual.pilot import Pilot

from stockroom.domain.about import About
from stockroom.jobs.audit import audit
from stockroom.jobs.pack import packing_list
from stockroom.jobs.pick import walk
from stockroom.jobs.printing import Outlet
from stockroom.jobs.rail import rail
from stockroom.screens.app import StockroomApp
from stockroom.screens.wiring import jobs_of
from stockroom.store.database import Shop
from tests.jobs.workshop import taken_order
from tests.labels.reading import codes
from tests.screens.driving import in_a_loop, press, screen_text, settle, shows
from tests.shops import TODAY, line, plenty, stock_shop

ABOUT = About("Lindow Trim", "Europe/London", "GBP")


def scan(tag: str) -> tuple[str, ...]:
    """The keys that a scanner presses."""
    return (*tag, "enter")


async def fetch_all(pilot: Pilot[None], shop: Shop, number: str) -> None:
    """Scan every stop of the walk, in its order; a roll is cut as planned."""
    while stops := walk(shop, [number]).stops:
        await press(pilot, *scan(stops[0].tag))
        if stops[0].how == "cut":
            await press(pilot, "enter")
        assert len(walk(shop, [number]).stops) == len(stops) - 1, shows(pilot, "#message")


async def printed(pilot: Pilot[None], folder: Path, answer: str, name: str) -> list[str]:
    """Print from where one is; the codes on the paper that lies in the folder then, as a scanner reads them."""
    await press(pilot, "ctrl+p", *answer, "enter")
    assert f"Printed in {folder}: {name}." in shows(pilot, "#message")
    return [code for page in codes((folder / name).read_bytes(), 300) for code in page]


async def pack_all(pilot: Pilot[None], tags: list[str]) -> None:
    """Scan every piece, from its printed tag."""
    for tag in tags:
        await press(pilot, *scan(tag))
        assert "is in parcel 1 (box)" in shows(pilot, "#message")


@in_a_loop
async def drive(shop: Shop, number: str, folder: Path) -> None:
    async with StockroomApp(jobs_of(shop, ABOUT, Outlet(folder))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f8", *"AB", "enter")
        pieces = await printed(pilot, folder, "2", f"tags-{number}.pdf")
        await press(pilot, "f4")
        assert f"Pick {number}" in shows(pilot, "#heading")
        await fetch_all(pilot, shop, number)
        assert "There is nothing left to fetch." in screen_text(pilot)
        await press(pilot, "f6", "ctrl+t", *number, "enter")
        (bundle,) = await printed(pilot, folder, "", f"bundle-tags-{number}.pdf")
        await press(pilot, *scan(bundle), *"1, Mary", "enter")
        assert "Mary" in screen_text(pilot)
        await press(pilot, *scan(bundle), "enter")
        assert "is back at the bench" in shows(pilot, "#message")
        await press(pilot, "f2", *scan(bundle))
        assert f"Pack {number}" in shows(pilot, "#heading")
        await pack_all(pilot, pieces)
        assert f"Ctrl and P prints kit tags of {number}." in shows(pilot, "#message")
        (kit,) = await printed(pilot, folder, "", f"kit-tags-{number}.pdf")
        await press(pilot, "ctrl+l", "enter")
        assert f"Order {number} is sent: 1 parcel, {kit}." in shows(pilot, "#message")
        await press(pilot, *scan(kit))
        assert f"Parcel {kit}" in shows(pilot, "#heading")
        await press(pilot, "f2")
        assert number not in screen_text(pilot)


def test_it_is_picked_cut_sewn_packed_and_sent(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path, *plenty())
    number = taken_order(sqlite_shop, line("boot-set"))
    drive(sqlite_shop, number, tmp_path / "paper")
    assert packing_list(sqlite_shop, number).state == "sent"
    assert rail(sqlite_shop, TODAY) == ()
    assert audit(sqlite_shop).faults == ()


def test_two_at_two_screens_see_each_other_and_cannot_pick_the_same_thing(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path, *plenty())
    number = taken_order(sqlite_shop, line("boot-set"))
    stop = next(one for one in walk(sqlite_shop, [number]).stops if one.how == "pick")

    @in_a_loop
    async def both() -> None:
        async with (
            StockroomApp(jobs_of(sqlite_shop, ABOUT, Outlet(tmp_path))).run_test(size=(80, 24)) as one,
            StockroomApp(jobs_of(sqlite_shop, ABOUT, Outlet(tmp_path))).run_test(size=(80, 24)) as other,
        ):
            for pilot, initials in ((one, "AB"), (other, "CD")):
                await settle(pilot)
                await press(pilot, "f8", *initials, "enter", "f4")
            before = shows(other, "#heading")
            await press(other, *"R10")
            await press(one, *scan(stop.tag))
            assert "taken from" in shows(one, "#message")
            for _ in range(40):
                await other.pause(0.1)
                if shows(other, "#heading") != before:
                    break
            assert shows(other, "#heading") == shows(one, "#heading"), "within two seconds or so, without a key"
            await press(other, "escape", *scan(stop.tag))
            assert "already (AB)" in shows(other, "#message")

    both()
    assert audit(sqlite_shop).faults == ()
