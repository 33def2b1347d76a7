"""Cars as they are kept: one row a car however its key is spelled, and what was proved on it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.order import CarRequest, Change
from stockroom.jobs.take import take
from stockroom.store import cars
from stockroom.store.cars import facts_of, folded_key
from stockroom.store.database import Shop
from tests.shops import EARLY, LATE, LATER, STAMP, line, order, stock_shop


@pytest.mark.parametrize("spelled", ["RP 2417", "rp2417", "RP-2417", "Rp.24 17"])
def test_spellings_of_one_key_fold_to_the_same(spelled: str) -> None:
    assert folded_key(spelled) == "rp2417"


@given(st.text(min_size=1, max_size=30))
def test_folding_twice_is_folding_once_and_never_leaves_nothing(key: str) -> None:
    assert folded_key(folded_key(key)) == folded_key(key)
    assert folded_key(key)


@pytest.mark.parametrize(
    ("chassis", "number"),
    [("RP 2417", 2417), ("RP 2417/2", 2), ("2417 R", 2417), ("RP", None), ("", None), ("RP ٢٤١٧", None)],
)
def test_the_chassis_number_counts_by_its_last_run_of_figures(chassis: str, number: int | None) -> None:
    assert facts_of(CarRequest("x", chassis)).chassis == number


def test_what_was_not_told_is_not_known() -> None:
    facts = facts_of(CarRequest("x"))
    assert (facts.series, facts.works, facts.built, facts.hand, facts.trim_colour) == (None,) * 5


def test_a_car_is_read_as_it_was_kept_and_found_by_key_number_and_tag(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path)
    told = replace(EARLY, series="s1", works="ashgate", built=date(1952, 6, 1))
    with shop.write() as tx:
        first, second = cars.keep_cars(tx, [told, LATE])
    with shop.read() as tx:
        assert cars.cars_by_key(tx, ["rp1500", "RP 3000", "unknown"]) == {"rp1500": first, "rp3000": second}
        assert cars.cars_by_id(tx, [first.id, second.id, 999]) == {first.id: first, second.id: second}
        assert cars.car_by_tag(tx, second.tag) == second
        assert cars.car_by_tag(tx, "C999") is None
    assert first.told == told
    assert first.tag != second.tag


def test_what_is_told_later_is_kept_under_the_first_spelling(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path)
    with shop.write() as tx:
        (car,) = cars.keep_cars(tx, [CarRequest("RP 1500")])
        cars.tell_more(tx, car.id, replace(EARLY, key="rp1500"))
    with shop.read() as tx:
        assert cars.cars_by_id(tx, [car.id])[car.id].told == EARLY


def test_what_was_proved_is_kept_once_oldest_first_and_given_back_whole(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path)
    hole = Change(
        "hole", "BF", "the filler was moved", "AB", panel="top", part="filler", made="cut", x_mm=210, y_mm=250,
        diameter_mm=60, proved=True,
    )  # fmt: skip
    long = Change("overlong", "BF", "the floor is bowed", "AB", panel="top", part="front", mm=30, proved=True)
    take(shop, order(line("boot-set"), line("boot-set", car=LATE)), STAMP)
    with shop.write() as tx:
        early, late = cars.cars_by_key(tx, ["RP 1500", "RP 3000"]).values()
        cars.keep_changes(tx, early.id, 1, [hole], STAMP)
        cars.keep_changes(tx, early.id, 1, [hole, long], LATER)
    with shop.read() as tx:
        assert cars.changes_of(tx, [early.id, late.id]) == {early.id: (hole, long), late.id: ()}
