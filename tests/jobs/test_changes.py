"""It tells whether anything was done since."""

from __future__ import annotations

from pathlib import Path

from stockroom.jobs.changes import latest
from stockroom.jobs.reserve import reserve
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from tests.shops import STAMP, line, order, plenty, stock_shop


def test_it_is_another_after_every_job_and_only_then(shop: Shop, tmp_path: Path) -> None:
    assert not any(latest(shop))
    stock_shop(shop, tmp_path, *plenty())
    loaded = latest(shop)
    number = take(shop, order(line("tonneau")), STAMP).number
    taken = latest(shop)
    assert latest(shop) == taken
    reserve(shop, number, STAMP)
    assert len({loaded, taken, latest(shop)}) == 3
