"""Swatches and substitutes on the ticket, on a small real shop with the real jobs, by keys alone."""

from __future__ import annotations

from pathlib import Path

from stockroom.jobs.swatch_awaited import list_awaited
from stockroom.jobs.swatches import cut
from stockroom.jobs.take import take
from stockroom.store import tagged
from stockroom.store.database import Shop
from tests.screens.driving import in_a_loop, press, shows
from tests.screens.test_ticket_at_work import HOOD_CLOTH, at_the_ticket
from tests.shops import STAMP, TODAY, line, load_files, look, order, roll, stock_shop

GREEN = "hood-cloth/green"


@in_a_loop
async def test_a_scanned_swatch_is_sent_and_scanned_again_is_answered(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path, roll(HOOD_CLOTH, 1500, "A"))
    number = take(sqlite_shop, order(line("tonneau", swatches=("the hood cloth",))), STAMP).number
    with sqlite_shop.read() as tx:
        tag = cut_one(sqlite_shop, tagged.holdings_by_tag(tx, [])[0].tag)
    async with at_the_ticket(sqlite_shop, number, tmp_path) as pilot:
        await press(pilot, "ctrl+n", *tag, "enter")
        assert f"Swatch {tag} goes to Ann Example for line 1, the hood cloth." in shows(pilot, "#message")
        await press(pilot, "enter")
        assert "1.00 m of lot A is held until" in shows(pilot, "#message")
        assert [one.tag for one in list_awaited(sqlite_shop, TODAY)] == [tag]
        await press(pilot, *tag, "enter", *"perhaps", "enter")
        assert "The answer to a swatch is yes or no." in shows(pilot, "#message")
        await press(pilot, "escape", "escape", "ctrl+n", *"yes", "enter", *"Ann", "enter")
        assert f"Ann said yes to swatch {tag}" in shows(pilot, "#message")
    assert look(sqlite_shop, number).lots(HOOD_CLOTH) == {"A"}


def cut_one(shop: Shop, roll_tag: str) -> str:
    """A swatch from an offcut of a roll; its tag."""
    return cut(shop, roll_tag, "0", "B1", STAMP).tags[0]


@in_a_loop
async def test_what_may_stand_in_is_taken_with_the_name_of_who_said_yes(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path, roll(HOOD_CLOTH, 500), roll(GREEN, 3000))
    head = "code,kind,cloth,colour,substitutes\n"
    load_files(sqlite_shop, tmp_path, {"items.csv": f"{head}{HOOD_CLOTH},cloth,hood-cloth,fawn,{GREEN}\n"})
    number = take(sqlite_shop, order(line("tonneau")), STAMP).number
    async with at_the_ticket(sqlite_shop, number, tmp_path) as pilot:
        await press(pilot, "ctrl+r", "escape", "ctrl+o")
        assert "Hood cloth, green may stand in for Hood cloth, fawn (3.00 m free)." in shows(pilot, "#message")
        await press(pilot, *"Ann", "enter")
        assert "Hood cloth, green instead of Hood cloth, fawn: Ann said yes" in shows(pilot, "#message")
        await press(pilot, "ctrl+r")
    assert look(sqlite_shop, number).held(GREEN) == 1000
