"""Whole rolls and one dye lot: two half rolls do not serve an order that needs one lot."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.catalogue import Item, PriceBreak, Supplier, Terms
from stockroom.domain.offer import Offer, terms_faults
from stockroom.domain.reorder import Outlook, Proposal, reckon
from stockroom.domain.standing import Due, OneLot, OpenNeed, Standing
from stockroom.domain.weeks import Week
from stockroom.domain.whole_rolls import MOST_EXACT, rolls_for
from stockroom.domain.yearly_cost import Costs, YearUse

W48 = Week(2026, 48)
CARPET = Item("carpet/red", "Boot carpet, red", "cloth", "carpet", "red")
TERMS = Terms("mill", CARPET.code, None, 1, 1, (PriceBreak(1, 1800),), roll_mm=25_000)
MILL = Supplier("mill", "The carpet mill", 14, "GBP")


def standing(*lengths: int, held: int = 0, terms: Terms = TERMS, dues: tuple[Due, ...] = ()) -> Standing:
    """Orders L-1, L-2 ... of one week, each with a length that it needs in one lot and that nothing free will serve."""
    lots = tuple(OneLot(f"L-{number}", length) for number, length in enumerate(lengths, 1))
    orders = tuple(lot.order for lot in lots)
    need = OpenNeed(Week(2026, 52), sum(lengths), orders, sum(lengths), in_one_lot=lots)
    return Standing(CARPET, held, 0, 0, dues, (need,), (Offer(MILL, terms),))


def bought(one: Standing) -> Proposal:
    found = reckon(one, W48).proposal
    assert found is not None
    return found


def test_three_orders_of_three_fifths_of_a_roll_take_three_rolls_though_two_are_longer_than_all_of_them() -> None:
    """Three orders of 15 m are 45 m, less than two rolls of 25 m; but only one of them fits on each roll."""
    found = bought(standing(15_000, 15_000, 15_000))
    assert (found.needed, found.quantity, found.cost_minor) == (45_000, 75_000, 135_000)
    assert found.ask == (
        "ask for 15.00 m in one dye lot (order L-1), 15.00 m in one dye lot (order L-2), "
        "15.00 m in one dye lot (order L-3)"
    )
    assert "Each on one roll, or on rolls of one lot where it is longer, that takes 3 rolls of 25.00 m." in found.steps
    assert any(step.endswith("(whole rolls of 25.00 m).") for step in found.steps)


def test_an_order_longer_than_a_roll_takes_rolls_of_one_lot() -> None:
    assert bought(standing(30_000, 20_000)).quantity == 50_000
    assert bought(standing(30_000, 21_000)).quantity == 75_000


def test_what_is_free_in_halves_does_not_serve_and_what_is_on_order_does() -> None:
    assert bought(standing(15_000, held=20_000)).quantity == 25_000
    assert reckon(standing(15_000, dues=(Due("P-7", date(2026, 12, 1), 15_000),)), W48).proposal is None


def test_without_rolls_the_line_still_asks_for_one_lot() -> None:
    found = bought(standing(12_400, terms=replace(TERMS, multiple=1000, roll_mm=None)))
    assert (found.quantity, found.ask) == (13_000, "ask for 12.40 m in one dye lot (order L-1)")


def test_rolls_and_multiples_must_go_into_each_other() -> None:
    assert terms_faults(Offer(MILL, replace(TERMS, multiple=50_000))) == ()
    (fault,) = terms_faults(Offer(MILL, replace(TERMS, multiple=7_000)))
    assert "multiples of 7.00 m and whole rolls of 25.00 m do not go into each other" in fault


@given(st.lists(st.integers(1, 70), min_size=1, max_size=MOST_EXACT + 4), st.integers(1, 30), st.data())
def test_fewer_needs_never_take_more_rolls_and_all_of_it_has_room(
    lengths: list[int], roll: int, data: st.DataObject
) -> None:
    rolls = rolls_for(lengths, roll)
    assert -(-sum(lengths) // roll) <= rolls <= sum(-(-length // roll) for length in lengths)
    left_out = data.draw(st.integers(0, len(lengths) - 1))
    assert rolls_for(lengths[:left_out] + lengths[left_out + 1 :], roll) <= rolls


def test_a_few_needs_are_shared_out_exactly() -> None:
    """Six needs that fill two rolls of 20 to the end; longest first into the first roll with room would take three."""
    assert rolls_for([9, 8, 7, 6, 5, 5], 20) == 2


@given(
    st.lists(st.integers(1, 40), max_size=4), st.integers(0, 60), st.integers(0, 40), st.sampled_from([None, 10, 25]),
    st.booleans(), st.booleans(),
)  # fmt: skip
def test_more_stock_never_buys_more(
    lots: list[int], held: int, more: int, roll: int | None, shelf: bool, reckoned: bool
) -> None:
    """In whole rolls or not, for one lot each or not, with a most or not, by the year's cost or by what is paid now."""
    terms = replace(TERMS, roll_mm=roll, breaks=(PriceBreak(1, 1800), PriceBreak(30, 1500)))
    one = standing(*lots, terms=terms) if lots else Standing(CARPET, 0, 0, 0, (), (), (Offer(MILL, terms),))
    item = replace(CARPET, least=20, most=70 if shelf else None)
    outlook = Outlook(year_use=YearUse(900, "as it is forecast"))
    quantities = []
    for stock in (held, held + more):
        found = reckon(
            replace(one, item=item, held=stock), W48, outlook, Costs(1, 20 if reckoned else 0, "GBP")
        ).proposal
        quantities.append(found.quantity if found else 0)
    assert quantities[1] <= quantities[0]
