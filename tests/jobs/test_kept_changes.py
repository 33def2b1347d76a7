"""What was proved on a car stands on the ticket of its next order too."""

from __future__ import annotations

from pathlib import Path

from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.store.database import Shop
from tests.shops import STAMP, TODAY, change, line, order, stock_shop


def test_a_change_kept_with_the_car_stands_on_the_line_of_its_next_order(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path)
    solid = change("hole", "BF", panel="top", part="filler", made="solid", proved=True)
    take(shop, order(line("boot-set", changes=(solid,)), number="first"), STAMP)
    take(shop, order(line("boot-set"), number="next"), STAMP)
    first, following = (ticket(shop, number, TODAY).lines[0].changes for number in ("first", "next"))
    assert len(first) == 1
    assert following == first
