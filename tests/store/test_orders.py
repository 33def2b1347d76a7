"""Orders as they are kept: found by number and tag, their lines given back as they were asked, their log in order."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from stockroom.domain.facts import Overruling
from stockroom.domain.refusal import Refusal
from stockroom.jobs.change import cancel
from stockroom.jobs.take import take
from stockroom.store import ledger, orders
from stockroom.store.database import Shop
from tests.databases import count_statements
from tests.shops import EARLY, LATE, LATER, STAMP, change, line, order, plenty, stock_shop


@pytest.fixture
def stocked(shop: Shop, tmp_path: Path) -> Shop:
    stock_shop(shop, tmp_path, *plenty())
    return shop


def test_a_line_is_given_back_as_it_was_asked_to_the_last_field(stocked: Shop) -> None:
    asked = line(
        "boot-set",
        2,
        pieces=("BF", "BSL"),
        changes=(change("hole", "BF", panel="top", part="filler", made="solid"),),
        overruled={"carpet-colour": Overruling("black", "EF", "Größe “ő” <b>")},
        swatches=("carpet in red",),
    )
    hood = line("hood", car=LATE, choices={"window": "sewn"})
    number = take(stocked, order(asked, hood), STAMP).number
    with stocked.read() as tx:
        kept = orders.order_by(tx, number)
    assert [one.request for one in kept.lines] == [asked, hood]


def test_an_order_is_found_by_its_number_and_its_tag_whatever_the_case_of_the_tag(stocked: Shop) -> None:
    taken = take(stocked, order(line("tonneau"), number="L-7"), STAMP)
    with stocked.read() as tx:
        kept = orders.order_by(tx, "L-7")
        assert orders.order_by(tx, f" {taken.tag.lower()} ") == kept
        assert orders.order_by(tx, "l-7") == kept, "typed in a hurry"
        assert orders.number_is_taken(tx, "L-7")
        assert not orders.number_is_taken(tx, "l-7")
        with pytest.raises(Refusal, match="There is no order 'L-8'"):
            orders.order_by(tx, "L-8")


def test_a_number_is_looked_for_before_a_tag(stocked: Shop) -> None:
    tag = take(stocked, order(line("tonneau"), number="first"), STAMP).tag
    take(stocked, order(line("hood"), number=tag), STAMP)
    with stocked.read() as tx:
        assert orders.order_by(tx, tag).number == tag


def test_a_twin_is_an_open_order_only(stocked: Shop) -> None:
    number = take(stocked, order(line("tonneau")), STAMP).number
    with pytest.raises(Refusal, match="asks for exactly the same"):
        take(stocked, order(line("tonneau")), STAMP)
    cancel(stocked, number, STAMP)
    assert take(stocked, order(line("tonneau")), STAMP).number != number


def test_the_open_orders_of_a_car_are_found_each_once(stocked: Shop) -> None:
    take(stocked, order(line("tonneau"), line("hood"), number="two lines"), STAMP)
    take(stocked, order(line("tonneau", car=LATE), number="other car"), STAMP)
    take(stocked, order(line("tonneau", 2), number="second"), STAMP)
    take(stocked, order(line("tonneau", 3), number="gone"), STAMP)
    cancel(stocked, "gone", STAMP)
    with stocked.write() as tx:  # they are locked, for whoever rewrites them all
        car_id = orders.order_by(tx, "second").lines[0].car_id
        assert [one.number for one in orders.orders_of_cars(tx, [car_id])] == ["two lines", "second"]
        assert orders.orders_of_cars(tx, []) == []


def test_what_was_changed_is_told_oldest_first_with_who_and_when(stocked: Shop) -> None:
    take(stocked, order(line("tonneau"), number="L-7", wanted=date(2026, 12, 1)), STAMP)
    with stocked.write() as tx:
        order_id = orders.order_by(tx, "L-7").id
        job = ledger.begin_job(tx, "change", LATER)
        for what in ("first", "second"):
            orders.log_change(tx, order_id, job, what, LATER)
    with stocked.read() as tx:
        assert orders.changes_logged(tx, order_id) == [("first", "CD", LATER.at), ("second", "CD", LATER.at)]


def test_an_order_of_many_lines_is_read_in_as_few_statements_as_one_of_one_line(stocked: Shop) -> None:
    take(stocked, order(line("tonneau"), number="one"), STAMP)
    take(stocked, order(*(line("tonneau", n, EARLY if n % 2 else LATE) for n in range(1, 9)), number="many"), STAMP)
    counts = []
    for number in ("one", "many"):
        with count_statements(stocked) as sent, stocked.read() as tx:
            orders.order_by(tx, number)
        counts.append(sent.count)
    assert counts[0] == counts[1] <= 2
