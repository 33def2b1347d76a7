"""The trimmer's answer in the big shop: `python -m pytest tests/benchmarks/bench_match_answer.py -m benchmark -s`.

20,000 rolls, every one of them read, the fullest items having 4,000 rolls each. A roll, an order and a colour are asked
about; what a question sends and takes is told. The figures are medians of one warm run: the screens keep the shop open.
"""

from __future__ import annotations

import random
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

import pytest

from stockroom.jobs.match_order import match_named
from stockroom.store.database import Shop
from tests.benchmarks.big_shop import ROLLS, make_big_shop, sizes
from tests.databases import count_statements

MOST_S = 0.100
MOST_STATEMENTS = 20
RUNS = 15
FULLEST = "leathercloth/red"
"""4,000 rolls of it are free in part."""

pytestmark = pytest.mark.benchmark


@pytest.fixture(scope="module")
def big_shop() -> Iterator[Shop]:
    """The big shop, a reading of every roll of cloth; a hundred lots of the fullest item."""
    with tempfile.TemporaryDirectory(prefix="stockroom-benchmark-") as folder:
        path = Path(folder) / "big.db"
        make_big_shop(path)
        assert sizes(path)["rolls"] >= ROLLS
        read_every_roll(path)
        with Shop.open(path) as shop:
            yield shop


def read_every_roll(path: Path) -> None:
    """A reading of every roll that has none, near its colour's master, and more lots in the fullest item."""
    rng = random.Random(5)
    with closing(sqlite3.connect(path, isolation_level=None)) as link:
        link.execute("BEGIN")
        rolls = link.execute(
            "SELECT h.id, c.lightness, c.a, c.b FROM holding h JOIN item i ON i.code = h.item "
            "JOIN colour c ON c.code = i.colour WHERE h.kind = 'roll' AND c.lightness IS NOT NULL"
        ).fetchall()
        link.executemany(
            'INSERT INTO reading (holding_id, lightness, a, b, illuminant, observer, "by", at, instrument) '
            "VALUES (?, ?, ?, ?, 'D65', '10', 'AB', '2026-11-25T08:30:00.000000Z', '')",
            [(id_, *(figure + rng.gauss(0, 0.3) for figure in lab)) for id_, *lab in rolls],
        )
        link.execute("UPDATE holding SET lot = lot || '-' || (id % 100) WHERE kind = 'roll' AND item = ?", (FULLEST,))
        link.execute("COMMIT")


def a_roll(shop: Shop) -> str:
    """The tag of a roll of the fullest item."""
    return next(one.tag for group in match_named(shop, FULLEST).groups for one in group.rolls)


@pytest.mark.parametrize("asked", [a_roll, lambda _: "D-200", lambda _: "red"], ids=["a roll", "an order", "a colour"])
def test_the_trimmer_is_answered_within_a_tenth_of_a_second(big_shop: Shop, asked: Callable[[Shop], str]) -> None:
    text = asked(big_shop)
    with count_statements(big_shop) as sent:
        found = match_named(big_shop, text)
    told = sum(len(group.rolls) for group in found.groups)
    assert told >= 40, "there is something to choose from"
    seconds, at_work = [], []
    for _ in range(RUNS):
        start, worked = perf_counter(), process_time()
        match_named(big_shop, text)
        seconds.append(perf_counter() - start)
        at_work.append(process_time() - worked)
    print(  # noqa: T201
        f"\n{found.asked}: {1000 * median(seconds):.1f} ms, of which the processor worked {1000 * median(at_work):.1f} "
        f"ms; {len(sent.sent)} statements, {len(found.groups)} groups, {told} rolls told"
    )
    assert len(sent.sent) <= MOST_STATEMENTS
    assert median(seconds) <= MOST_S
