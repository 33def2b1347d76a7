"""Two users buy, receive, cut, pick, count, move, scrap, pack, keep, use and undo in any order, beside a plain model.

From the model it is said of every job beforehand whether it is done or refused, and what is held then; the books are
proved after every step.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from stockroom.store.database import Shop
from tests.cleaned_database import CleanedDatabase
from tests.databases import Database
from tests.jobs.order_rules import OrderRules
from tests.jobs.stock_rules import StockRules
from tests.jobs.test_receive import SUPPLIERS
from tests.shops import PLENTY, bin_of, load_files, roll, stock_shop

STOCK = (
    roll("hood-cloth/fawn", 5_300, "old"),
    roll("hood-cloth/fawn", 3_200, "new"),
    *(roll(item, PLENTY) for item in ("carpet/red", "carpet/black", "binding/red", "binding/black")),
    bin_of("stud", 400),
    bin_of("clip", 100),
)
"""Hood cloth runs short, of two lots; there is enough of the rest."""


def test_any_order_of_work_by_two_users_keeps_the_books_good(database: Database, tmp_path: Path) -> None:
    with Shop.open(database.where) as shop:
        _stocked(shop, tmp_path)
    opened = _reopened(database, tmp_path)

    modest = settings(
        max_examples=10 if database.kind == "sqlite" else 4,
        stateful_step_count=40,
        deadline=None,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )

    class InThisShop(OrderRules, StockRules):
        def __init__(self) -> None:
            super().__init__(opened)

    run_state_machine_as_test(InThisShop, settings=modest)


def _stocked(shop: Shop, folder: Path) -> None:
    stock_shop(shop, folder, *STOCK)
    load_files(shop, folder, {"suppliers.csv": SUPPLIERS})


def _reopened(database: Database, folder: Path) -> Callable[[], tuple[Shop, Shop]]:
    """Opens the stocked shop for two users, as it was at first."""
    if database.kind == "sqlite":
        numbers: list[Path] = []

        def copied() -> tuple[Shop, Shop]:
            numbers.append(folder / f"model-{len(numbers)}.db")
            shutil.copyfile(database.where, numbers[-1])
            return Shop.open(numbers[-1]), Shop.open(numbers[-1])

        return copied

    stocked = CleanedDatabase(database.where)

    def restored() -> tuple[Shop, Shop]:
        assert stocked.clean()
        return Shop.open(database.where), Shop.open(database.where)

    return restored
