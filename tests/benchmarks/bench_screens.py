"""The screens on a shop a hundred times a real one.

`python -m pytest tests/benchmarks/bench_screens.py -m benchmark -s` takes eight minutes.

The shop is that of `big_shop`, made once a run. Scans and keys are driven through Textual's pilot, without a terminal;
what a terminal would be sent is rendered all the same. The clock runs from the first character until the last redraw
that the scan led to, with the job behind it. The first paint is that of the `stockroom` command in a pseudo-terminal,
from before its interpreter starts until the first order has been written there, in turn with a bare Textual program
with as many rows. Memory is that of one process that opened every page.
"""

from __future__ import annotations

import fcntl
import gc
import json
import os
import pty
import sqlite3
import struct
import subprocess
import sys
import tempfile
import termios
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter, process_time
from typing import Any

import pytest
from textual import events
from textual.pilot import Pilot

from stockroom.jobs.about import about_of
from stockroom.jobs.printing import Outlet
from stockroom.jobs.rail import RailEntry
from stockroom.screens import app
from stockroom.screens.app import StockroomApp
from stockroom.screens.pick_page import PickPage
from stockroom.screens.row_list import RowList
from stockroom.screens.wiring import jobs_of
from stockroom.store.database import Shop
from stockroom.store.proof import CHECKS
from tests.benchmarks.big_shop import DEEP_ORDERS, ITEMS, MOVEMENTS, ORDERS, ROLLS, make_big_shop, sizes
from tests.cli.calling import PROGRAM
from tests.screens.driving import in_a_loop, press, settle, shows

SCANS = 60
MOST_SCAN_MS = 100.0
MOST_KEY_MS = 50.0
MOST_TIMES_BARE = 1.5
MOST_MIB = 300
RUNS = 15
SIZES = ((80, 24), (160, 50))

pytestmark = pytest.mark.benchmark


@pytest.fixture(scope="module")
def big_file() -> Iterator[Path]:
    """The big shop, closed."""
    with tempfile.TemporaryDirectory(prefix="stockroom-benchmark-") as folder:
        path = Path(folder) / "big.db"
        start = perf_counter()
        make_big_shop(path)
        told = ", ".join(f"{number:,} {what}" for what, number in sizes(path).items())
        print(f"\n{told}; made in {perf_counter() - start:.0f} s; load {os.getloadavg()[0]:.1f}")  # noqa: T201
        yield path


class DrawnApp(StockroomApp):
    """Keeps when it drew last."""

    CSS_PATH = str(Path(app.__file__).with_name("stockroom.tcss"))  # the toolkit looks for it beside this class
    drawn_at = worked_at = 0.0

    def _display(self, screen: Any, renderable: Any) -> None:
        super()._display(screen, renderable)
        if hasattr(renderable, "render_segments"):
            renderable.render_segments(self.console)
            self.drawn_at, self.worked_at = perf_counter(), process_time()


Driven = Callable[[Pilot[None]], Any]


def drive(file: Path, size: tuple[int, int], work: Driven) -> Any:
    """Open the screens on the shop, wait for the rail, and drive them."""
    kept: list[Any] = []

    @in_a_loop
    async def run() -> None:
        with Shop.open(file) as shop:
            gc.freeze()  # as the program does when it has opened the shop
            async with DrawnApp(jobs_of(shop, about_of(shop), Outlet(Path("paper")))).run_test(size=size) as pilot:
                await settle(pilot)
                kept.append(await work(pilot))

    run()
    return kept[0]


class Took(float):
    """Milliseconds from keys to the last redraw they led to, as a clock on the wall says."""

    cpu_ms = 0.0
    """What the processor worked meanwhile, all threads together: another's load does not lengthen it."""


async def drawn_ms(pilot: Pilot[None], *keys: str) -> Took:
    """What it took from these keys, sent at once as a scanner does, to the last redraw they led to."""
    drawn = pilot.app
    assert isinstance(drawn, DrawnApp)
    start, worked = perf_counter(), process_time()
    for key in keys:
        drawn.post_message(events.Key(key, " " if key == "space" else key if len(key) == 1 else None))
    await settle(pilot)
    assert drawn.drawn_at > start, "something was drawn"
    took = Took(1000 * (drawn.drawn_at - start))
    took.cpu_ms = 1000 * (drawn.worked_at - worked)
    return took


def percentile_95(figures: Sequence[float]) -> float:
    """The 95th percentile."""
    return quantiles(figures, n=20, method="inclusive")[-1]


def told(what: str, size: tuple[int, int], figures: list[Took]) -> float:
    """Print what was measured; gives the 95th percentile."""
    high = percentile_95(figures)
    worked = [one.cpu_ms for one in figures]
    print(  # noqa: T201
        f"\n{what} at {size[0]}×{size[1]}: {len(figures)} times, median {median(figures):.1f} ms, 95th percentile "
        f"{high:.1f} ms, longest {max(figures):.1f} ms; of the processor {median(worked):.1f} and "
        f"{percentile_95(worked):.1f} ms; load {os.getloadavg()[0]:.1f}"
    )
    return high


def is_numbered(number: str, entry: RailEntry) -> bool:
    """Whether this is the order of that number."""
    return entry.number == number


def column(file: Path, query: str) -> list[str]:
    """The first column of what a query finds."""
    with closing(sqlite3.connect(file)) as link:
        return [row[0] for row in link.execute(query)]


def test_the_shop_is_as_big_as_is_said_and_its_books_are_true(big_file: Path) -> None:
    found = sizes(big_file)
    assert found["items"] >= ITEMS
    assert found["rolls"] >= ROLLS
    assert found["movements"] >= MOVEMENTS
    assert found["open orders"] >= ORDERS
    with Shop.open(big_file) as shop, shop.read() as tx:
        assert [fault for check in CHECKS for fault in check.find(tx)] == []


@pytest.mark.parametrize("size", SIZES)
def test_scanning_an_order_shows_its_ticket(big_file: Path, size: tuple[int, int]) -> None:
    tags = column(big_file, f"SELECT tag FROM customer_order WHERE number LIKE 'D-%' ORDER BY id LIMIT {SCANS}")
    tags += column(big_file, f"SELECT tag FROM customer_order WHERE number LIKE 'H-%' ORDER BY id LIMIT {SCANS}")

    async def work(pilot: Pilot[None]) -> list[Took]:
        figures = []
        for tag in tags:
            figures.append(await drawn_ms(pilot, *tag, "enter"))
            assert "Ticket" in shows(pilot, "#heading")
        return figures

    assert told("order tag to ticket", size, drive(big_file, size, work)) <= MOST_SCAN_MS


@pytest.mark.parametrize("size", SIZES)
def test_scanning_a_roll_shows_it(big_file: Path, size: tuple[int, int]) -> None:
    tags = column(big_file, f"SELECT tag FROM holding WHERE kind = 'roll' AND id % 300 = 7 ORDER BY id LIMIT {SCANS}")

    async def work(pilot: Pilot[None]) -> list[Took]:
        figures = []
        for tag in tags:
            figures.append(await drawn_ms(pilot, *tag, "enter"))
            assert tag in shows(pilot, "#heading")
        return figures

    assert len(tags) == SCANS
    assert told("roll tag to its page", size, drive(big_file, size, work)) <= MOST_SCAN_MS


@pytest.mark.parametrize("size", SIZES)
def test_scanning_a_roll_from_the_rail_shows_it(big_file: Path, size: tuple[int, int]) -> None:
    """Each time from the rail, which Esc has just read again."""
    tags = column(big_file, f"SELECT tag FROM holding WHERE kind = 'roll' AND id % 300 = 9 ORDER BY id LIMIT {SCANS}")

    async def work(pilot: Pilot[None]) -> list[Took]:
        figures = []
        for tag in tags:
            figures.append(await drawn_ms(pilot, *tag, "enter"))
            assert tag in shows(pilot, "#heading")
            await press(pilot, "escape")
            assert "Rail" in shows(pilot, "#heading")
        return figures

    assert told("roll tag from the rail", size, drive(big_file, size, work)) <= MOST_SCAN_MS


@pytest.mark.parametrize("size", SIZES)
def test_a_scan_on_the_walk_of_four_orders_picks(big_file: Path, size: tuple[int, int]) -> None:
    first = 4 * SIZES.index(size)
    orders = DEEP_ORDERS[first : first + 4]

    async def work(pilot: Pilot[None]) -> list[Took]:
        await press(pilot, "f8", *"AB", "enter")
        rows = pilot.app.screen.query_one("#rail-rows", RowList)
        for order in orders:
            assert rows.find(partial(is_numbered, order))
            await press(pilot, "space")
        await press(pilot, "f4")
        walk = pilot.app.screen.query_one(PickPage).walk
        assert walk is not None
        assert set(walk.orders) == set(orders)
        figures = []
        # Round by round: a tag that is scanned twice in a row is taken for one scan.
        for stop in sorted((one for one in walk.stops if one.how == "pick"), key=lambda one: one.order):
            figures.append(await drawn_ms(pilot, *stop.tag, "enter"))
            assert "taken from" in shows(pilot, "#message")
        return figures

    figures = drive(big_file, size, work)
    assert len(figures) >= SCANS
    assert told("scan on a walk of four orders, picked and booked", size, figures) <= MOST_SCAN_MS


@pytest.mark.parametrize("size", SIZES)
def test_each_key_of_the_filter_is_answered(big_file: Path, size: tuple[int, int]) -> None:
    async def work(pilot: Pilot[None]) -> list[Took]:
        await press(pilot, "f3")
        figures = []
        for words in ("clara", "full boot", "rp 14", "example 4999"):
            figures += [await drawn_ms(pilot, "space" if key == " " else key) for key in words]
            figures += [await drawn_ms(pilot, "backspace") for _ in words]
        assert pilot.app.screen.query_one("#rail-rows", RowList).seen >= ORDERS
        return figures

    assert told("key of the filter on the rail", size, drive(big_file, size, work)) <= MOST_KEY_MS


# --- the pages of the stock -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class StockPage:
    """A page of the stock: how it is opened, and what is scanned and filtered on it."""

    name: str
    opened_by: tuple[str, ...]
    heading: str
    scans: str
    """The query for what is scanned there, each once."""
    shown: str
    """Part of the screen that tells that a scan was understood, and of what it says then."""
    says: str
    filters: tuple[str, ...]


ROLLS_SOMEWHERE = "SELECT tag FROM holding WHERE kind = 'roll' AND id % 300 = {} ORDER BY id LIMIT 60"
PAGES = (
    StockPage(
        "goods in", ("ctrl+g",), "Goods in", "SELECT reference FROM purchase WHERE reference LIKE 'PO-%' LIMIT 40",
        "#scan-label", "▸", ("cap", "po-6"),
    ),
    StockPage(
        "racks", ("f10",), "Racks", ROLLS_SOMEWHERE.format(11), "#scan-label", "go", ("carpet", "black hood"),
    ),
    StockPage(
        "counts", ("ctrl+e",), "Counts", ROLLS_SOMEWHERE.format(13), "#scan-label", "Count it everywhere",
        ("bin", "never"),
    ),
    StockPage("undo", ("ctrl+y",), "Undo", ROLLS_SOMEWHERE.format(15), "#heading", " R", ("reserve", "take order n")),
    StockPage(
        "low", (*"low", "enter"), "Low", "SELECT tag FROM holding WHERE tag LIKE 'B%' ORDER BY id LIMIT 60",
        "#message", "buying list", ("cap", "d left"),
    ),
)  # fmt: skip


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_a_page_of_the_stock_is_opened_scanned_on_and_filtered(
    big_file: Path, page: StockPage, size: tuple[int, int]
) -> None:
    scans = column(big_file, page.scans)

    async def work(pilot: Pilot[None]) -> tuple[list[Took], list[Took], list[Took]]:
        await press(pilot, "f8", *"AB", "enter")
        opened, scanned, filtered = [], [], []
        for _ in range(20):
            opened.append(await drawn_ms(pilot, *page.opened_by))
            assert page.heading in shows(pilot, "#heading")
            await press(pilot, "f2")
        await press(pilot, *page.opened_by)
        for words in page.filters:
            await press(pilot, "f3")
            filtered += [await drawn_ms(pilot, "space" if key == " " else key) for key in words]
            filtered += [await drawn_ms(pilot, "backspace") for _ in words]
            await press(pilot, "escape")
        for text in scans:
            scanned.append(await drawn_ms(pilot, *text, "enter"))
            assert page.says in shows(pilot, page.shown), shows(pilot, "#message")
            while page.heading not in shows(pilot, "#heading"):
                await press(pilot, "escape")
        return opened, scanned, filtered

    opened, scanned, filtered = drive(big_file, size, work)
    assert told(f"{page.name} opened", size, opened) <= MOST_SCAN_MS
    assert told(f"scan on {page.name}", size, scanned) <= MOST_SCAN_MS
    assert told(f"key of the filter on {page.name}", size, filtered) <= MOST_KEY_MS


@pytest.mark.parametrize("size", SIZES)
def test_things_are_put_in_another_place(big_file: Path, size: tuple[int, int]) -> None:
    tags = column(big_file, ROLLS_SOMEWHERE.format(17))
    places = column(big_file, "SELECT tag FROM place WHERE code IN ('B6', 'B7')")

    async def work(pilot: Pilot[None]) -> list[Took]:
        await press(pilot, "f8", *"AB", "enter", "f10")
        figures = []
        for nth, tag in enumerate(tags[:40]):
            await press(pilot, *tag, "enter")
            figures.append(await drawn_ms(pilot, *places[nth % 2], "enter"))
            assert tag in shows(pilot, "#message")
        return figures

    assert told("place scanned, things moved and booked", size, drive(big_file, size, work)) <= MOST_SCAN_MS


@pytest.mark.parametrize("size", SIZES)
def test_the_tag_of_anything_shows_its_page(big_file: Path, size: tuple[int, int]) -> None:
    tags = [
        tag
        for query in (
            "SELECT tag FROM place ORDER BY walk",
            "SELECT tag FROM car ORDER BY id DESC LIMIT 30",
            "SELECT tag FROM holding WHERE kind = 'bin' AND reserved > 0 ORDER BY reserved DESC LIMIT 30",
        )
        for tag in column(big_file, query)
    ]

    async def work(pilot: Pilot[None]) -> list[Took]:
        figures = []
        for tag in tags:
            figures.append(await drawn_ms(pilot, *tag, "enter"))
            assert tag in shows(pilot, "#heading")
        return figures

    assert told("tag of a place, a car, a bin", size, drive(big_file, size, work)) <= MOST_SCAN_MS


@pytest.mark.parametrize("size", SIZES)
def test_a_count_of_a_full_place_goes_on_at_once(big_file: Path, size: tuple[int, int]) -> None:
    (full,) = column(
        big_file, "SELECT place FROM holding WHERE kind <> 'past' GROUP BY place ORDER BY count(*) DESC LIMIT 1"
    )
    (tag,) = column(big_file, f"SELECT tag FROM place WHERE code = '{full}'")
    rolls = column(big_file, f"SELECT tag FROM holding WHERE place = '{full}' AND kind = 'roll' ORDER BY id LIMIT 400")

    async def work(pilot: Pilot[None]) -> list[Took]:
        await press(pilot, "f8", *"AB", "enter", "ctrl+e")
        figures = [await drawn_ms(pilot, *tag, "enter")]
        assert "Count" in shows(pilot, "#heading")
        for roll in rolls[SIZES.index(size) :: 13]:
            figures.append(await drawn_ms(pilot, *roll, "enter"))
            assert roll in shows(pilot, "#scan-label")
            figures.append(await drawn_ms(pilot, *"12 m", "enter"))
        return figures

    assert told("count of a full place, scans and figures", size, drive(big_file, size, work)) <= MOST_SCAN_MS


# --- processes of their own -----------------------------------------------------------------------------------------

BARE = """
import sys
from textual.app import App
from textual.widgets import DataTable

class Bare(App):
    def compose(self):
        yield DataTable()
    def on_mount(self):
        table = self.query_one(DataTable)
        table.add_columns("Wanted", "Order", "Customer", "Kits", "Ready", "Held")
        for row in range(int(sys.argv[1])):
            table.add_row("Wed 25 Nov", f"D-{row}", "Ann Example", "Full boot set", "held", "54/54")

Bare().run()
"""
MEMORY = """
import asyncio, json, sys
from pathlib import Path
from stockroom.jobs.about import about_of
from stockroom.jobs.printing import Outlet
from stockroom.screens.app import StockroomApp
from stockroom.screens.wiring import jobs_of
from stockroom.store.database import Shop
from tests.screens.driving import press, settle

def rss(name):
    lines = Path("/proc/self/status").read_text().splitlines()
    return int(next(line.split()[1] for line in lines if line.startswith(name))) / 1024

async def main(shop, size, texts):
    async with StockroomApp(jobs_of(shop, about_of(shop), Outlet(Path("paper")))).run_test(size=size) as pilot:
        await settle(pilot)
        seen = {"rail": rss("VmRSS")}
        await press(pilot, "f4"), await press(pilot, "f6"), await press(pilot, "f7")
        for _ in range(3):
            await press(pilot, "f2", "f5")
        for text in texts:
            await press(pilot, "f2", *text, "enter")
        await press(pilot, "f2", "f3", *"clara")
        seen |= {"every page": rss("VmRSS"), "at most": rss("VmHWM")}
        print(json.dumps(seen))

size, file, texts = (int(sys.argv[1]), int(sys.argv[2])), sys.argv[3], sys.argv[4:]
with Shop.open(Path(file)) as shop:
    asyncio.run(main(shop, size, texts))
"""


def run_alone(folder: Path, name: str, text: str, *words: str) -> str:
    """What a program says, in a process of its own."""
    program = folder / name
    program.write_text(text, encoding="utf-8")
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    done = subprocess.run([sys.executable, str(program), *words], env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout


def painted_ms(words: str, size: tuple[int, int], *command: str) -> float:
    """Milliseconds from the start of a command in a terminal of its own until it has written these words there."""
    own, its = pty.openpty()
    fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
    named = {**os.environ, "TERM": "xterm-256color", "LANG": "C.UTF-8"}
    start = perf_counter()
    running = subprocess.Popen(command, stdin=its, stdout=its, stderr=its, env=named, start_new_session=True)
    os.close(its)
    try:
        drawn = b""
        while words.encode() not in drawn:
            drawn += os.read(own, 65_536)
        return 1000 * (perf_counter() - start)
    finally:
        running.kill()
        running.wait()
        os.close(own)


@pytest.mark.parametrize("size", SIZES)
def test_the_rail_is_painted_nearly_as_soon_as_a_bare_table(
    big_file: Path, tmp_path: Path, size: tuple[int, int]
) -> None:
    by_date = (
        "SELECT number FROM customer_order WHERE state = 'open' AND wanted IS NOT NULL ORDER BY wanted, id LIMIT 1"
    )
    (first,) = column(big_file, by_date)
    rows = str(size[1] - 12)
    bare_program = tmp_path / "bare.py"
    bare_program.write_text(BARE, encoding="utf-8")
    sides = {
        "ours": (first, [*PROGRAM, "--shop", str(big_file)]),
        "bare": ("D-0", [sys.executable, str(bare_program), rows]),
    }
    figures: dict[str, list[float]] = {"ours": [], "bare": []}
    for turn in range(RUNS + 1):
        for side in list(sides)[:: 1 if turn % 2 else -1]:
            words, command = sides[side]
            took = painted_ms(words, size, *command)
            if turn:  # the first compiles the modules
                figures[side].append(took)
    ratio = median(mine / its for mine, its in zip(figures["ours"], figures["bare"], strict=True))
    print(  # noqa: T201
        f"\nfirst paint at {size[0]}×{size[1]}, {RUNS} pairs, from the command to the rail's rows "
        f"{median(figures['ours']):.0f} ms, a bare table of {rows} rows {median(figures['bare']):.0f} ms, "
        f"ratio {ratio:.2f}; load {os.getloadavg()[0]:.1f}"
    )
    assert ratio <= MOST_TIMES_BARE, f"{ratio:.2f} times a bare table"


@pytest.mark.parametrize("size", SIZES)
def test_memory_stays_small(big_file: Path, tmp_path: Path, size: tuple[int, int]) -> None:
    rolls = column(big_file, "SELECT tag FROM holding WHERE kind = 'roll' AND id % 2000 = 7 ORDER BY id")
    texts = [*DEEP_ORDERS[-10:], *rolls]
    words = [str(number) for number in size]
    seen = json.loads(run_alone(tmp_path, "memory.py", MEMORY, *words, str(big_file), *texts))
    print(f"\nmemory at {size[0]}×{size[1]}: " + ", ".join(f"{k} {v:.0f} MiB" for k, v in seen.items()))  # noqa: T201
    assert seen["at most"] <= MOST_MIB
