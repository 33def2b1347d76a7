"""The screens stand before the shop is open, with the first orders on the rail."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

from stockroom.domain.refusal import Refusal
from stockroom.jobs.take import take
from stockroom.screens.app import StockroomApp
from stockroom.screens.calls import Jobs, already_open
from stockroom.store.database import Shop
from tests.house.test_light_start import HEAVY
from tests.screens.driving import in_a_loop, press, screen_text, settle, shows
from tests.screens.made_up import RAIL, jobs
from tests.shops import STAMP, line, order, stock_shop

ROOT = Path(__file__).parents[2]
LOOK = """
import json, sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from stockroom.domain.refusal import Refusal
from stockroom.jobs.first_look import first_look
from stockroom.jobs.printing import Outlet
from stockroom.screens.app import StockroomApp
from stockroom.screens.opening import ToBeOpened
from tests.screens.driving import screen_text

def watched():
    print(json.dumps([sorted({name.partition(".")[0] for name in sys.modules}), screen_text(SimpleNamespace(app=app))]))
    app.call_from_thread(app.exit)
    raise Refusal("That is enough.")

look = first_look(sys.argv[1], datetime.now(UTC))
app = StockroomApp(replace(ToBeOpened(sys.argv[1], look, Outlet(Path('paper'))).opening(), open=watched))
app.run(headless=True, size=(80, 24))
"""


def test_the_first_rows_are_on_the_screen_before_anything_heavy_is_loaded(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path)
    take(sqlite_shop, order(line("boot-set"), number="L-7"), STAMP)
    words = [sys.executable, "-c", LOOK, str(tmp_path / "shop.db")]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, timeout=60, check=True)
    modules, screen = json.loads(done.stdout)
    assert "L-7" in screen
    assert set(modules) & HEAVY == {"textual"}


@in_a_loop
async def test_the_first_orders_are_shown_until_all_are_read_and_typing_is_not_lost_meanwhile() -> None:
    go = threading.Event()

    def opened() -> Jobs:
        assert go.wait(20)
        return jobs()

    opening = replace(already_open(jobs()), first=RAIL[:2], open=opened)
    async with StockroomApp(opening).run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert RAIL[0].number in screen_text(pilot)
        assert RAIL[2].number not in screen_text(pilot)
        assert "in hand" not in shows(pilot, "#heading"), "how many there are is not known yet"
        await pilot.press("f3", *RAIL[2].customer.split()[0])
        await pilot.pause()
        assert "Nothing here matches" not in screen_text(pilot)
        assert shows(pilot, "#filter-count") == ""
        go.set()
        await settle(pilot)
        assert RAIL[2].number in screen_text(pilot)
        assert f"1 of {len(RAIL)} orders" in shows(pilot, "#filter-count")


@in_a_loop
async def test_a_key_for_a_page_that_is_still_to_come_is_not_lost() -> None:
    go = threading.Event()

    def opened() -> Jobs:
        assert go.wait(20)
        return jobs()

    opening = replace(already_open(jobs()), first=RAIL[:2], open=opened)
    async with StockroomApp(opening).run_test(size=(80, 24)) as pilot:
        await pilot.press("down", "f7")
        go.set()
        await settle(pilot)
        await settle(pilot)
        assert "Pack" in shows(pilot, "#heading")


@in_a_loop
async def test_a_shop_that_cannot_be_opened_says_so_on_the_screen_and_is_tried_again() -> None:
    answers: list[Exception] = [Refusal("The disk is gone.")]

    def opened() -> Jobs:
        for answer in answers:
            raise answer
        return jobs()

    async with StockroomApp(replace(already_open(jobs()), open=opened)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "The disk is gone." in shows(pilot, "#message")
        await press(pilot, "f8", *"AB", "enter", *"L-1042", "enter")
        assert "The disk is gone." in shows(pilot, "#message")
        await press(pilot, "escape", "f6", "f2")
        answers.clear()
        await press(pilot, "f5")
        assert f"{len(RAIL)} orders in hand" in shows(pilot, "#heading")
