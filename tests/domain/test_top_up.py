"""Topping up one supplier's lines to the value from which it pays the carriage."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.catalogue import Item, PriceBreak, Supplier, Terms
from stockroom.domain.offer import Offer, cost_minor, sold_in
from stockroom.domain.top_up import Candidate, top_ups

STUDS = Supplier("studs", "Studs", 14, "GBP", 25000)


def candidate(
    code: str,
    left: int,
    year_use: int,
    bought: int = 0,
    multiple: int = 10,
    prices: tuple[tuple[int, int], ...] = ((1, 100),),
    most: int | None = None,
) -> Candidate:
    terms = Terms("studs", code, None, 1, multiple, tuple(PriceBreak(*step) for step in prices))
    return Candidate(Item(code, code, "hardware", most=most), Offer(STUDS, terms), bought, left, year_use)


def more(gap: int, *some: Candidate) -> list[tuple[str, int, int]]:
    return [(one.item, one.more, one.cost_minor) for one in top_ups(gap, 25000, some)]


def test_what_is_needed_soonest_is_topped_up_with_the_fewest_multiples() -> None:
    """Carriage is paid from 250.00 and 45.00 lacks. `hook` lasts 20 of 52 weeks, `stud` 10: 50 studs at 1.00 do it."""
    assert more(4500, candidate("hook", 40, 104), candidate("stud", 20, 520, bought=10)) == [("stud", 50, 5000)]


def test_no_item_is_topped_up_over_its_most_nor_for_more_than_half_a_year() -> None:
    """Of `stud` there is room for 30 below its most, of `hook` for 12 weeks, 24, so 20; `eye` has the rest."""
    stud, hook = candidate("stud", 20, 520, most=50), candidate("hook", 28, 104)
    assert more(6000, stud, hook, candidate("eye", 900, 2600)) == [
        ("stud", 30, 3000),
        ("hook", 20, 2000),
        ("eye", 10, 1000),
    ]
    assert more(6000, stud, hook) == [], "nothing sensible reaches it, so nothing is said"


def test_what_is_not_needed_after_all_is_left_out_again() -> None:
    """30 of `stud` come to 30.00 of the 50.00; a roll of `hook` at 60.00 does it alone, so the studs are left."""
    hook = candidate("hook", 10, 200, multiple=50, prices=((1, 120),))
    assert more(5000, candidate("stud", 0, 520, most=30), hook) == [("hook", 50, 6000)]


def test_a_gap_that_is_not_near_and_a_dear_multiple_are_no_top_up() -> None:
    stud = candidate("stud", 0, 52000)
    assert more(6000, stud) == [("stud", 60, 6000)]
    assert more(6260, candidate("stud", 0, 52000, multiple=1)) == [], "more than a quarter of 250.00"
    assert more(6250, stud) == [], "70 would come to more than that quarter"
    assert more(500, candidate("roll", 0, 5200, multiple=100)) == [], "a multiple for 100.00 to save carriage on 5.00"
    assert more(500, candidate("idle", 0, 0)) == []


@given(
    st.integers(1, 6250),
    st.lists(
        st.tuples(st.integers(-20, 60), st.integers(0, 600), st.integers(0, 3), st.integers(1, 12), st.integers(1, 99)),
        min_size=1,
        max_size=4,
    ),
)
def test_a_top_up_reaches_it_within_its_bounds(gap: int, some: list[tuple[int, int, int, int, int]]) -> None:
    asked = {
        f"i{number}": candidate(
            f"i{number}", left + times * multiple, use, times * multiple, multiple, ((1, price + 20), (40, price)), 300
        )
        for number, (left, use, times, multiple, price) in enumerate(some)
    }
    found = top_ups(gap, 25000, asked.values())
    assert not found or gap <= sum(one.cost_minor for one in found) <= 25000 // 4
    for one in found:
        of = asked[one.item]
        assert 0 < one.more <= of.room
        assert one.more % sold_in(of.offer.terms) == 0
        assert one.cost_minor == (cost_minor(of.offer.terms, of.bought + one.more, of.item) or 0) - (
            cost_minor(of.offer.terms, of.bought, of.item) or 0 if of.bought else 0
        )
