"""How much the weekly run buys of a shop that says what ordering and keeping cost."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.jobs.reorder import reorder
from stockroom.jobs.reorder_report import ReorderReport
from stockroom.store.database import Shop
from tests.reorder_shop import STAMP, STUD, fill
from tests.shops import load_files

SHOP = 'format = 1\nname = "Lindow Trim"\ntime_zone = "Europe/London"\ncurrency = "GBP"\n'
TODAY = date(2026, 11, 25)


def test_a_shop_that_says_its_costs_buys_what_costs_least_in_a_year(sqlite_shop: Shop, tmp_path: Path) -> None:
    fill(sqlite_shop)
    weeks = (date(2026, 11, 18) - timedelta(weeks=ago) for ago in range(60))
    history = "day,item,kind,quantity\n" + "".join(f"{day},{STUD},issued,5\n" for day in weeks)
    load_files(sqlite_shop, tmp_path, {"history.csv": history})
    plain = reorder(sqlite_shop, "2026-W48", TODAY, STAMP).line(STUD)
    assert plain.quantity == 60
    load_files(sqlite_shop, tmp_path, {"shop.toml": f"{SHOP}order_cost = 0.10\nkeeping_percent = 20\n"})
    line = reorder(sqlite_shop, "2026-W48", TODAY, STAMP).line(STUD)
    assert (line.quantity, line.cost) == (50, "20.00 GBP")
    assert any(
        step.startswith("A year takes 260, by the last 52 weeks; an order line costs 0.10") for step in line.steps
    )


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ("order_cost = -1", "a sum of money such as 8.00 was expected, 0 or more"),
        ("order_cost = true", "a sum of money such as 8.00 was expected, 0 or more"),
        ("keeping_percent = 2.5", "whole per cent a year were expected, 0 to 100"),
    ],
)
def test_costs_that_cannot_be_are_refused(sqlite_shop: Shop, tmp_path: Path, wrong: str, words: str) -> None:
    with pytest.raises(Refusal) as refused:
        load_files(sqlite_shop, tmp_path, {"shop.toml": f"{SHOP}{wrong}\n"})
    assert words in "".join(refused.value.faults) + refused.value.sentence


def test_a_top_up_is_told_with_what_is_to_go_and_kept_with_the_run(sqlite_shop: Shop, tmp_path: Path) -> None:
    """The studs' 24.00 are 5.00 short of carriage paid; cleats are used as well, and ten of them do."""
    fill(sqlite_shop)
    weeks = [date(2026, 11, 18) - timedelta(weeks=ago) for ago in range(60)]
    files = {
        "suppliers.csv": "code,name,lead_days,carriage_paid\nstud,Studs,14,29.00\n",
        "items.csv": "code,kind,title\ncleat,hardware,Cleat\n",
        "terms.csv": "supplier,item,multiple,price\nstud,cleat,10,0.50\n",
        "history.csv": "day,item,kind,quantity\n" + "".join(f"{day},cleat,issued,2\n" for day in weeks),
    }
    load_files(sqlite_shop, tmp_path, files)
    report = reorder(sqlite_shop, "2026-W48", TODAY, STAMP)
    (studs,) = (one for one in report.suppliers if one.code == "stud")
    assert [line.item for line in studs.lines] == [STUD], "what is proposed stays as it is"
    assert studs.carriage == (
        "Carriage is paid from 29.00 GBP; 5.00 GBP to go. A top-up of 10 of cleat (5.00 GBP), needed next, would reach "
        "it with 29.00 GBP: it is yours to choose."
    )
    assert ReorderReport.from_dict(report.to_dict()) == report
