"""The free dye lots of a cloth, shared out to orders that need one lot each."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.catalogue import Item, PriceBreak, Supplier, Terms
from stockroom.domain.lots_shared import MOST_EXACT, least_left_out, ways_left_out
from stockroom.domain.offer import Offer
from stockroom.domain.reorder import Proposal, reckon
from stockroom.domain.standing import Due, OneLot, OpenNeed, Standing
from stockroom.domain.weeks import Week

W48 = Week(2026, 48)
CARPET = Item("carpet/red", "Boot carpet, red", "cloth", "carpet", "red")
MILL = Supplier("mill", "The carpet mill", 14, "GBP")

lengths = st.integers(1, 30)


def standing(
    needs: list[int], lots: list[int], weeks: list[int] | None = None, coming: int = 0, roll: int | None = None
) -> Standing:
    """Orders L-1, L-2 ..., each in need of so much in one lot, in W50 or the weeks said."""
    wanted = [W48.following(week) for week in weeks or [2] * len(needs)]
    open_needs = tuple(
        OpenNeed(week, length, (f"L-{number}",), from_one_lot=(OneLot(f"L-{number}", length),))
        for number, (week, length) in enumerate(zip(wanted, needs, strict=True), 1)
    )
    terms = Terms("mill", CARPET.code, None, 1, 1, (PriceBreak(1, 1800),), roll_mm=roll)
    dues = (Due("P-7", date(2026, 11, 27), coming),) if coming else ()
    return Standing(CARPET, sum(lots), 0, 0, dues, open_needs, (Offer(MILL, terms),), lots=tuple(lots))


def proposed(one: Standing) -> Proposal:
    found = reckon(one, W48).proposal
    assert found is not None
    return found


def bought(one: Standing) -> int:
    found = reckon(one, W48).proposal
    return found.quantity if found else 0


def test_five_orders_of_which_the_free_lots_serve_three_buy_two_pieces_though_metres_alone_would_ask_for_less() -> None:
    """14.906 m are free and 19.470 m needed: 4.564 m lack by length, but two orders of 3.894 m find no lot."""
    found = proposed(standing([3894] * 5, [8000, 3906, 3000]))
    assert (found.needed, found.quantity) == (7788, 7788)
    assert found.ask == "ask for 3.894 m in one dye lot (order L-4), 3.894 m in one dye lot (order L-5)"
    assert (
        "Of that, 5 lengths (19.47 m in all) must be of one dye lot each. 3 lots have something free, 8.00 m the most: "
        "however that is shared out, 7.788 m finds no lot." in found.steps
    )


def test_nothing_is_bought_where_the_lots_can_be_shared_out_though_whoever_takes_the_first_enough_would_fail() -> None:
    """The 2 m go on the lot of 3 m and the 3 m on that of 4 m with 1 m: not the other way round."""
    assert reckon(standing([2, 3, 1, 1], [4, 3]), W48).proposal is None


def test_what_is_on_order_serves_whole_pieces_only() -> None:
    """5 m come, two orders need 4 m in one lot each: 3 m more would be two pieces that serve nobody."""
    found = proposed(standing([4000, 4000], [], coming=5000))
    assert (found.needed, found.quantity, found.ask) == (3000, 4000, "ask for 4.00 m in one dye lot (order L-2)")
    assert reckon(standing([4000, 4000], [], coming=9000), W48).proposal is None


@given(st.lists(lengths, max_size=5), st.lists(lengths, max_size=3))
def test_few_needs_are_shared_out_as_well_as_any_way_there_is(needs: list[int], lots: list[int]) -> None:
    served = [0]
    for choice in product(range(len(lots) + 1), repeat=len(needs)):
        on_lot = [sum(need for need, lot in zip(needs, choice, strict=True) if lot == at) for at in range(len(lots))]
        if all(taken <= lot for taken, lot in zip(on_lot, lots, strict=True)):
            served.append(sum(on_lot))
    assert least_left_out(tuple(needs), tuple(lots)) == sum(needs) - max(served)


@given(st.lists(lengths, min_size=MOST_EXACT + 1, max_size=16), st.lists(lengths, max_size=5))
def test_of_many_needs_never_more_is_left_out_than_must_be(needs: list[int], lots: list[int]) -> None:
    """Against filling the lots in turn with the shortest first, which leaves out at least as many of any length."""
    (way,) = ways_left_out(tuple(needs), tuple(lots))
    left, rests = [], list(lots)
    for need in sorted(needs):
        at = next((at for at, rest in enumerate(rests) if rest >= need), None)
        if at is None:
            left.append(need)
        else:
            rests[at] -= need
    counted = [needs[place] for place in way]
    for length in needs:
        assert sum(one >= length for one in counted) <= sum(one >= length for one in left)
    if len(set(needs)) == 1:
        assert len(counted) == len(needs) - sum(lot // needs[0] for lot in lots) or not counted


@given(
    st.lists(st.tuples(lengths, st.integers(1, 5)), min_size=1, max_size=MOST_EXACT + 3),
    st.lists(lengths, max_size=4), lengths, st.data(), st.integers(0, 40), st.sampled_from([None, 7, 30]),
)  # fmt: skip
def test_more_of_a_lot_or_another_lot_never_buys_more(
    needs: list[tuple[int, int]], lots: list[int], more: int, data: st.DataObject, coming: int, roll: int | None
) -> None:
    at = data.draw(st.integers(0, len(lots)))
    longer = [lot + more * (number == at) for number, lot in enumerate([*lots, 0])]
    sizes, weeks = [length for length, _ in needs], sorted(week for _, week in needs)
    before, after = (bought(standing(sizes, some, weeks, coming, roll)) for some in (lots, longer))
    assert after <= before


@given(
    st.lists(lengths, min_size=1, max_size=MOST_EXACT + 1), st.lists(lengths, max_size=4), st.integers(0, 40),
    st.sampled_from([None, 7, 30]),
)  # fmt: skip
def test_what_is_bought_is_enough_once_it_is_on_order(
    needs: list[int], lots: list[int], coming: int, roll: int | None
) -> None:
    one = standing(needs, lots, coming=coming, roll=roll)
    quantity = bought(one)
    if quantity:
        again = replace(one, dues=(*one.dues, Due("P-8", date(2026, 12, 7), quantity)))
        assert bought(again) == 0
