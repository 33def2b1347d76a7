"""The real jobs behind the screens, on a small real shop."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from stockroom.domain.about import About
from stockroom.domain.tags import make_tag
from stockroom.jobs.printing import Outlet
from stockroom.screens.app import StockroomApp
from stockroom.screens.wiring import jobs_of
from stockroom.store.database import Shop
from tests.screens.driving import in_a_loop, press, screen_text, settle, shows
from tests.small_shop import write_small_shop

ROOT = Path(__file__).parents[2]
BROKEN = """
import sys
from dataclasses import replace
from stockroom.screens.app import StockroomApp
from tests.screens.made_up import jobs
app = StockroomApp(replace(jobs(), rail=lambda today: 7))
app.run()
sys.exit(app.return_code)
"""


@in_a_loop
async def test_the_screens_open_on_a_real_shop(sqlite_shop: Shop, tmp_path: Path) -> None:
    with sqlite_shop.write() as tx:
        write_small_shop(tx)
    jobs = jobs_of(sqlite_shop, About("Lindow Trim", "Pacific/Kiritimati", "GBP"), Outlet(tmp_path))
    assert jobs.today() == datetime.now(ZoneInfo("Pacific/Kiritimati")).date()
    async with StockroomApp(jobs).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "stockroom take ORDER.toml" in screen_text(pilot)
        await press(pilot, *make_tag("L", 1), "enter")
        assert "Hood cloth rack" in screen_text(pilot)
        await press(pilot, *"L-1", "enter")
        assert "There is no order 'L-1'" in shows(pilot, "#message")


@in_a_loop
async def test_a_shop_that_was_never_loaded_opens_too(sqlite_shop: Shop, tmp_path: Path) -> None:
    async with StockroomApp(jobs_of(sqlite_shop, None, Outlet(tmp_path))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "A shop without a name" in screen_text(pilot)


def test_a_fault_in_the_screens_themselves_ends_in_a_sentence_and_not_in_a_traceback() -> None:
    ours, theirs = pty.openpty()
    environment = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
    environment.pop("TEXTUAL", None)
    said = b""
    with subprocess.Popen(
        [sys.executable, "-c", BROKEN], cwd=ROOT, env=environment, stdin=theirs, stdout=theirs, stderr=theirs
    ) as process:
        os.close(theirs)
        while True:
            try:
                piece = os.read(ours, 65536)
            except OSError:  # the other end is closed
                break
            if not piece:
                break
            said += piece
        assert process.wait(timeout=30) == 1
    os.close(ours)
    text = said.decode(errors="replace")
    assert "The screens stopped because of a fault in the program (TypeError:" in " ".join(text.split())
    assert "Traceback" not in text
    assert "made_up" not in text
