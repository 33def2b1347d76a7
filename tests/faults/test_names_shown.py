"""Hostile names in customers, cars and titles: printed and shown as they are, inside the page and the screen."""

from __future__ import annotations

import json
import unicodedata
from pathlib import Path

import pytest

from stockroom.domain.about import About
from stockroom.domain.order import CarRequest
from stockroom.jobs.fitting_paper import fitting_sheets
from stockroom.jobs.pick_list import pick_list
from stockroom.jobs.printing import Outlet
from stockroom.jobs.reorder import reorder
from stockroom.jobs.reorder_paper import reorder_paper
from stockroom.jobs.reserve import reserve_what_there_is
from stockroom.jobs.tag_paper import PIECE_SHEET, STOCK_SHEET, piece_tags, place_tags, print_tags, stock_tags
from stockroom.jobs.take import take
from stockroom.screens.app import StockroomApp
from stockroom.screens.wiring import jobs_of
from stockroom.store.database import Shop
from tests.faults.hostile import NAMES
from tests.labels.reading import assert_within_pages, texts
from tests.screens.driving import in_a_loop, press, screen_text, settle
from tests.shops import BOOK, STAMP, TODAY, line, order, plenty, stock_shop

MARKUP = ("<b>[red]x[/] {} %s", "[@click=app.quit]x[/]", "\\[red]", "<para>&amp;&lt;<br/>", "../../x")


def _named(shop: Shop, folder: Path, name: str) -> str:
    """A shop whose book, customer and car are all called `name`, with one order held. Returns the order's number."""
    book = BOOK
    for title in ("Boot floor", "Full boot set", "Press it down from the middle.", "Glue the floor at the front."):
        book = book.replace(json.dumps(title), json.dumps(name, ensure_ascii=False))
    stock_shop(shop, folder, *plenty(), book=book)
    car = CarRequest(name, "RP 1500", "s1", "ashgate", None, "right", "green", "red", "fawn")
    taken = take(shop, order(line("boot-set", car=car), cars=(car,), customer=name, note=name), STAMP)
    reserve_what_there_is(shop, taken.number, STAMP)
    return taken.number


@pytest.mark.parametrize("name", NAMES, ids=lambda name: name.encode("ascii", "backslashreplace").decode()[:20])
def test_paper_shows_names_as_they_are_and_within_the_page(sqlite_shop: Shop, tmp_path: Path, name: str) -> None:
    number = _named(sqlite_shop, tmp_path, name)
    papers = {
        "pick list": pick_list(sqlite_shop, number, STAMP, TODAY),
        "tags": print_tags(piece_tags(sqlite_shop, number), PIECE_SHEET, 1, 1),
        **fitting_sheets(sqlite_shop, number, STAMP),
    }
    for title, pdf in papers.items():
        assert pdf.startswith(b"%PDF"), title
        assert_within_pages(pdf)
    if name in MARKUP:
        assert _plain(name) in _plain("".join(texts(papers["pick list"])))
        assert _plain(name) in _plain("".join(texts(papers["tags"])))
    for pdf in (
        print_tags(stock_tags(sqlite_shop, ()), STOCK_SHEET, 1, 1),
        print_tags(place_tags(sqlite_shop), STOCK_SHEET, 1, 1),
        reorder_paper(reorder(sqlite_shop, None, TODAY, STAMP)),
    ):
        assert_within_pages(pdf)


def _plain(text: str) -> str:
    """Without the blanks at which lines break."""
    return "".join(mark for mark in text if not mark.isspace())


@pytest.mark.parametrize("name", NAMES, ids=lambda name: name.encode("ascii", "backslashreplace").decode()[:20])
@in_a_loop
async def test_screens_show_names_as_they_are(sqlite_shop: Shop, tmp_path: Path, name: str) -> None:
    number = _named(sqlite_shop, tmp_path, name)
    jobs = jobs_of(sqlite_shop, About("Lindow Trim", "Europe/London", "GBP"), Outlet(tmp_path))
    async with StockroomApp(jobs).run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        rail = screen_text(pilot)
        assert number in rail
        await press(pilot, *number, "enter")
        ticket = screen_text(pilot)
        assert number in ticket
        for text in (rail, ticket):
            assert all(unicodedata.category(mark) not in ("Cc", "Cs") or mark == "\n" for mark in text)
            if name in MARKUP:
                assert name in text
        assert pilot.app.is_running
