"""Calling off in parts: the cheapest of all ways, and a sentence worked by hand."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.call_off import call_off_steps, least_parts
from stockroom.domain.catalogue import Item, PriceBreak, Supplier, Terms
from stockroom.domain.offer import Offer
from stockroom.domain.weeks import Week
from stockroom.domain.yearly_cost import Costs

W49 = Week(2026, 49)
CLOTH = Item("felt/red", "Felt, red", "cloth")


def steps(
    *needs_m: int, prices: tuple[tuple[int, int], ...] = ((1, 5200),), costs: Costs | None = None
) -> tuple[str, ...]:
    terms = Terms("mill", CLOTH.code, None, 1, 5000, tuple(PriceBreak(*step) for step in prices))
    net = [(W49.following(number), metres * 1000) for number, metres in enumerate(needs_m)]
    return call_off_steps(
        Offer(Supplier("mill", "The mill", 14, "GBP"), terms), CLOTH, net, costs or Costs(800, 20, "GBP")
    )


def test_two_needs_far_apart_are_called_off_in_parts() -> None:
    """52.00 a metre, keeping 20 %: 0.20 a metre and week. 35 m kept for seven weeks are 49.00, an order line is 8.00.

    In parts: 55 m · 52.00 + 2 · 8.00 = 2876.00. At once: 2860.00 + 8.00 + 49.00 = 2917.00.
    """
    assert steps(20, 0, 0, 0, 0, 0, 0, 35) == (
        "What orders need can be called off in parts, 20.00 m by 2026-W49 and 35.00 m by 2027-W03: 2876.00 GBP with "
        "ordering and keeping, against 2917.00 GBP for 55.00 m at once.",
    )


def test_nothing_is_said_where_parts_do_not_pay_or_the_costs_are_not_known() -> None:
    assert steps(20, 35) == (), "35 m for a week are 7.00, and an order line is 8.00"
    assert steps(0, 0, 55) == ()
    far = (20, 0, 0, 0, 0, 0, 0, 35)
    assert steps(*far, prices=((1, 5200), (50_000, 5000))) == (), "at once it reaches the lower price"
    for unknown in (Costs(800, 0, "GBP"), Costs(0, 20, "GBP"), Costs(800, 20, "EUR")):
        assert steps(*far, costs=unknown) == ()


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 20)), min_size=1, max_size=6), st.integers(0, 4))
def test_no_other_way_to_share_them_out_costs_less(periods: list[tuple[int, int]], keeping: int) -> None:
    needs, set_ups = [need for need, _ in periods], [set_up for _, set_up in periods]
    costs = []
    for orders in product((False, True), repeat=len(needs)):
        cost, last = 0, None
        for number, need in enumerate(needs):
            last = number if orders[number] else last
            cost += (set_ups[number] if orders[number] else 0) + (
                0 if last is None else keeping * need * (number - last)
            )
            if need and last is None:
                break
        else:
            costs.append(cost)
    assert least_parts(needs, set_ups, Fraction(keeping)).cost == min(costs)
