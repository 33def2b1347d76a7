"""The weekly run of a big shop: `python -m pytest tests/benchmarks/bench_reorder.py -m benchmark -s`.

2,000 items, each with three years of weekly history and a forecast, 5,000 open orders and two million movements
besides: the whole run, from a cold start of the program to the kept report, in at most 10 s on two cores and under
500 MiB. What is reckoned for all items takes no more than twice as long as for half of them, and a quarter for noise.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

import pytest

from stockroom.domain.weeks import Week
from stockroom.jobs.reorder import reckoned
from stockroom.jobs.reorder_inputs import RunInputs, gather
from stockroom.store.database import Shop
from tests.benchmarks.big_shop import ITEMS, ORDERS, make_big_shop, sizes
from tests.benchmarks.reorder_history import WEEKS, write_history

MOST_S, MOST_MIB = 10.0, 500
RUNS = 5

pytestmark = pytest.mark.benchmark


@pytest.fixture(scope="module")
def big() -> Iterator[Path]:
    """The big shop with its history, closed."""
    with tempfile.TemporaryDirectory(prefix="stockroom-benchmark-") as folder:
        path = Path(folder) / "big.db"
        make_big_shop(path)
        write_history(path)
        yield path


@pytest.fixture(scope="module")
def inputs(big: Path) -> RunInputs:
    """All that goes into the run."""
    with Shop.open(big) as shop, shop.read() as tx:
        return gather(shop, tx, Week(2026, 48))


def test_the_whole_run_takes_ten_seconds_at_most_and_half_a_gibibyte(big: Path) -> None:
    there = sizes(big)
    assert (there["items"], there["open orders"]) >= (ITEMS, ORDERS)
    start = perf_counter()
    words = ["-m", "stockroom", "reorder", "--week", "2026-W48", "--json", "--by", "AB", "--shop", str(big)]
    done = subprocess.run([sys.executable, *words], capture_output=True, check=True)
    seconds = perf_counter() - start
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    mib = used.ru_maxrss / 1024
    report = json.loads(done.stdout)
    lines = sum(len(one["lines"]) for one in report["suppliers"])
    core_s = used.ru_utime + used.ru_stime
    print(f"\n{there}: {seconds:.2f} s ({core_s:.2f} s of a core), {mib:.0f} MiB, {lines} lines")  # noqa: T201
    assert lines > 100
    assert seconds <= MOST_S
    assert mib <= MOST_MIB


def test_time_grows_no_faster_than_the_items(inputs: RunInputs) -> None:
    assert sum(1 for used in inputs.past.used.values() if len(used) == WEEKS) >= ITEMS
    half = replace(inputs, standings=tuple(one for at, one in enumerate(inputs.standings) if at // 4 % 2))
    whole_s, half_s = [], []
    for _ in range(RUNS):
        whole_s.append(_seconds(inputs))
        half_s.append(_seconds(half))
    ratio = median(whole_s) / median(half_s)
    print(f"\n{len(inputs.standings)} items {median(whole_s):.2f} s, half {median(half_s):.2f} s: ratio {ratio:.2f}")  # noqa: T201
    assert ratio <= 2.5


def _seconds(inputs: RunInputs) -> float:
    start = process_time()
    reckoned(inputs)
    return process_time() - start
