"""Two processes at once: what both want, one gets; the other gets a refusal and nothing half-done."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event

from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.change import cancel, set_wanted
from stockroom.jobs.cut import cut, mark_flaw, measure
from stockroom.jobs.keep import keep
from stockroom.jobs.reserve import reserve
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from tests.databases import Database
from tests.jobs.workshop import made_order, piece_tag, taken_order
from tests.shops import (
    EARLY,
    LATE,
    LATER,
    STAMP,
    bin_of,
    dump,
    free,
    line,
    load_files,
    look,
    order,
    plenty,
    roll,
    stock_shop,
)

ROUNDS = 4
HOUSE = Path(__file__).parents[2]


@contextmanager
def racer(database: Database, jobs: Sequence[str]) -> Iterator[subprocess.Popen[str]]:
    """A process with the shop open, ready for its first round."""
    command = [sys.executable, "-m", "tests.jobs.race_runner", database.where, *jobs]
    with subprocess.Popen(command, cwd=HOUSE, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        try:
            yield process
        finally:
            process.kill()


def race(database: Database, *jobs_of: Sequence[str]) -> list[tuple[str, ...]]:
    """What came of each round, racer by racer; all are sent off together."""
    with ExitStack() as stack:
        racers = [stack.enter_context(racer(database, jobs)) for jobs in jobs_of]
        assert [_line(one) for one in racers] == ["ready"] * len(racers)
        results = []
        for _ in jobs_of[0]:
            for one in racers:
                assert one.stdin is not None
                one.stdin.write("go\n")
                one.stdin.flush()
            results.append(tuple(_line(one) for one in racers))
        return results


def _line(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    return process.stdout.readline().rstrip("\n")


def test_of_two_who_reserve_the_last_length_at_the_same_moment_one_has_it_and_the_other_is_refused(
    shop: Shop, database: Database, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, *(roll(f"hood-cloth/{colour}", 1100) for colour in ("fawn", "black", "red", "green")))
    numbers: tuple[list[str], list[str]] = ([], [])
    for colour in ("fawn", "black", "red", "green"):
        for side, told in enumerate((EARLY, LATE)):
            car = replace(told, key=f"{told.key} {colour}", chassis_number="", hood_colour=colour)
            asked = order(line("tonneau", car=car), cars=[car], number=f"{side} {colour}")
            numbers[side].append(take(shop, asked, STAMP).number)
    results = race(database, *([f"reserve {number}" for number in side] for side in numbers))
    for round_number, (ours, theirs) in enumerate(results):
        assert sorted((ours[:7], theirs[:7])) == ["done", "refused"], results
        winner, loser = (0, 1) if ours == "done" else (1, 0)
        assert look(shop, numbers[winner][round_number]).wholly_held
        assert look(shop, numbers[loser][round_number]).holds == ()
    assert free(shop, "hood-cloth/fawn") == 100
    assert not audit(shop).faults


def test_of_two_who_reserve_the_last_counted_goods_one_has_them(shop: Shop, database: Database, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 20_000), bin_of("clip", 6 * ROUNDS))
    sides = [
        [take(shop, order(line("header-rail", car=car), number=f"{car.key} {n}"), STAMP).number for n in range(ROUNDS)]
        for car in (EARLY, LATE)
    ]
    results = race(database, *([f"reserve {number}" for number in side] for side in sides))
    held = [look(shop, number).wholly_held for side in sides for number in side]
    assert (held.count(True), free(shop, "clip")) == (ROUNDS, 0), results
    assert sum(result.startswith("refused") for both in results for result in both) == ROUNDS
    assert not audit(shop).faults


def test_one_order_reserved_by_two_at_once_is_held_once(shop: Shop, database: Database, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 50_000), roll("binding/red", 50_000), bin_of("clip", 100))
    numbers = [
        take(shop, order(line("tonneau", 2), line("header-rail"), number=str(n)), STAMP).number for n in range(ROUNDS)
    ]
    jobs = [f"reserve {number}" for number in numbers]
    assert race(database, jobs, jobs) == [("done", "done")] * ROUNDS
    assert free(shop, "clip") == 100 - 6 * ROUNDS
    assert not audit(shop).faults


@pytest.mark.parametrize("other", ["cancel", "double"])
def test_an_order_changed_while_it_is_reserved_ends_as_if_one_had_come_after_the_other(
    shop: Shop, database: Database, tmp_path: Path, other: str
) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 50_000))
    numbers = [take(shop, order(line("tonneau"), number=str(n)), STAMP).number for n in range(ROUNDS)]
    results = race(database, [f"some {one}" for one in numbers], [f"{other} {one}" for one in numbers])
    for number, (reserved, changed) in zip(numbers, results, strict=True):
        assert changed == "done"
        assert reserved == "done" or reserved == f"refused Order {number} is cancelled: nothing can be held for it."
        if other == "cancel":
            assert look(shop, number).holds == ()
    assert not audit(shop).faults


def test_of_two_who_receive_the_same_goods_at_once_one_books_them_and_the_other_is_asked(
    shop: Shop, database: Database, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path)
    bought = [(f"P-{n}", "clip" if n % 2 else "hood-cloth/fawn", "5" if n % 2 else "5m") for n in range(ROUNDS)]
    rows = "".join(f"{name},tern,{item},{amount},opening,opening\n" for name, item, amount in bought)
    purchases = f"reference,supplier,item,quantity,ordered,due\n{rows}"
    load_files(shop, tmp_path, {"suppliers.csv": "code,name,lead_days\ntern,Tern,7\n", "purchases.csv": purchases})
    jobs = [f"receive {' '.join(one)}" for one in bought]
    results = race(database, jobs, jobs)
    for both in results:
        assert sorted(one[:7] for one in both) == ["done", "refused"], results
    assert (free(shop, "clip"), free(shop, "hood-cloth/fawn")) == (5 * ROUNDS // 2, 5_000 * ROUNDS // 2)
    assert not audit(shop).faults


def test_of_two_orders_that_use_the_same_finished_thing_one_has_it_and_one_order_has_one_for_each_piece(
    shop: Shop, database: Database, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, *plenty())
    tags = []
    for made in range(ROUNDS + 2):
        made_order(shop, line("tonneau"), number=f"M-{made}")
        cancel(shop, f"M-{made}", LATER)
        tags.append(keep(shop, piece_tag(shop, f"M-{made}", "TN"), "B2", LATER).tag)
    orders = [[taken_order(shop, line("tonneau"), number=f"{side}-{n}") for n in range(ROUNDS)] for side in "AB"]
    results = race(database, *([f"use {tag} {one}" for tag, one in zip(tags, side, strict=False)] for side in orders))
    for n, both in enumerate(results):
        assert sorted(one[:7] for one in both) == ["done", "refused"], results
        for side, outcome in enumerate(both):
            # Whoever lost has the tonneau cover held that it makes itself.
            covered = [one.covered for one in look(shop, orders[side][n]).requirements]
            assert bool(sum(covered)) == (outcome == "done")
            assert look(shop, orders[side][n]).wholly_held
    # Two finished things for the one piece of one order.
    last = taken_order(shop, line("tonneau"), number="C-1")
    ((ours, theirs),) = race(database, [f"use {tags[-1]} {last}"], [f"use {tags[-2]} {last}"])
    assert sorted((ours[:7], theirs[:7])) == ["done", "refused"]
    assert not audit(shop).faults


def test_a_new_car_told_by_two_orders_at_once_is_kept_once(shop: Shop, database: Database, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 5_000))
    results = race(
        database, [f"take RP {9000 + n}" for n in range(ROUNDS)], [f"take rp{9000 + n}" for n in range(ROUNDS)]
    )
    for both in results:
        assert "done" in both
        assert all(one == "done" or one.startswith("refused Somebody else has just kept the same car") for one in both)
    assert len(dump(shop)["car"]) == ROUNDS
    assert not audit(shop).faults


@pytest.mark.parametrize("on_the_roll", ["flaw", "length", "cut"])
def test_who_loses_a_place_on_a_roll_is_locked_while_it_is_planned_again(
    shop: Shop, database: Database, tmp_path: Path, on_the_roll: str
) -> None:
    """Nobody does anything to another order with a cut on the roll before a job on the roll is done."""
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 2_600), roll("hood-cloth/fawn", 1_040))
    first, second = (take(shop, order(line("tonneau"), number=f"T-{n}"), STAMP).number for n in (1, 2))
    for number in (first, second):
        reserve(shop, number, STAMP)
    (tag,) = {one.tag for number in (first, second) for one in look(shop, number).holds}
    jobs: dict[str, Callable[[], object]] = {
        "flaw": lambda: mark_flaw(shop, tag, 1_500, 1_510, "slub", STAMP),
        "length": lambda: measure(shop, tag, 1_900, STAMP),
        "cut": lambda: cut(shop, first, tag, STAMP, 1_200),
    }
    told = []

    def meanwhile(_link: Any, _cursor: Any, statement: str, *_: Any) -> None:
        if statement.startswith("INSERT INTO job"):
            with Shop.open(database.where, wait_s=0.2) as other, pytest.raises(Refusal) as refused:
                set_wanted(other, second, date(2027, 3, 1), LATER)
            told.append(refused.value.sentence)

    event.listen(shop.engines[0], "before_cursor_execute", meanwhile)
    try:
        jobs[on_the_roll]()
    finally:
        event.remove(shop.engines[0], "before_cursor_execute", meanwhile)
    assert told
    assert all("Somebody else" in sentence for sentence in told)
    assert not audit(shop).faults
