"""What costs least in a year: a price break worked by hand, and what holds for all quantities, prices and stocks."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.catalogue import Item, PriceBreak, Supplier, Terms
from stockroom.domain.lot_size import how_much
from stockroom.domain.offer import Offer, sold_in, sold_quantity
from stockroom.domain.yearly_cost import Costs, Yearly, YearUse, cost_of, least_in_a_year, yearly

STUD = Item("stud", "Stud", "hardware")
COSTS = Costs(800, 20, "GBP")


def offer(*breaks: tuple[int, int], least: int = 1, multiple: int = 1, currency: str = "GBP") -> Offer:
    terms = Terms("studs", "stud", None, least, multiple, tuple(PriceBreak(*step) for step in breaks))
    return Offer(Supplier("studs", "Studs", 14, currency), terms)


def known(use: int, costs: Costs = COSTS) -> Yearly:
    return Yearly(YearUse(use, "by the last 52 weeks"), costs, 1)


def test_the_second_break_costs_least_though_the_third_is_cheaper_each() -> None:
    """1000 studs a year, 8.00 an order line, keeping 20 %, in hundreds.

    | quantity | each | goods  | order lines         | keeping                   | a year |
    |----------|------|--------|---------------------|---------------------------|--------|
    | 300      | 1.00 | 1000   | 8 · 1000/300 = 26.67 | 0.20 · 1.00 · 150 = 30.00 | 1056.67 |
    | 500      | 0.95 | 950    | 16.00               | 0.20 · 0.95 · 250 = 47.50 | 1013.50 |
    | 3000     | 0.94 | 940    | 2.67                | 0.20 · 0.94 · 1500 = 282  | 1224.67 |

    At 1.00 the economic quantity is √(2 · 8 · 1000 / 0.20) = 282.8; at 0.95 and 0.94 it lies below their breaks.
    """
    found = how_much(offer((1, 100), (500, 95), (3000, 94), multiple=100), STUD, 70, 70, known(1000))
    assert (found.quantity, found.cost_minor) == (500, 47500)
    assert found.steps == (
        "A year takes 1000, by the last 52 weeks; an order line costs 8.00 GBP, and keeping stock costs 20 % of its "
        "worth a year.",
        "Bought 500 at a time, a year comes to 1013.50 GBP (950.00 GBP to buy, 16.00 GBP to order, 47.50 GBP to keep).",
        "100 at a time would come to 1090.00 GBP.",
        "3000 at a time would come to 1224.67 GBP.",
        "Buy 500, which costs least in a year (least quantity 1, multiples of 100).",
        "500 costs 475.00 GBP (0.95 GBP each).",
    )
    kept = how_much(offer((1, 100), (500, 95), multiple=100), replace(STUD, most=400), 70, 370, known(1000))
    assert kept.quantity == 300
    assert "500 at a time would be less still, but goes over the most to be kept: it is yours to choose." in kept.steps


def test_what_the_terms_force_over_the_most_is_said() -> None:
    shelf, sold = replace(STUD, most=60), offer((1, 100), multiple=200)
    for one in (known(1000), None):
        found = how_much(sold, shelf, 4, 44, one)
        assert found.quantity == 200
        assert (
            "Buy 200, the least that covers 4 (least quantity 1, multiples of 200); that goes over the most to be kept."
            in found.steps
        )


def test_nothing_is_reckoned_that_is_not_known() -> None:
    use = YearUse(1000, "by the last 52 weeks")
    assert yearly(Costs(800, 0, "GBP"), use, offer((1, 100)), STUD) == (None, ())
    for costs, used, sold, why in (
        (COSTS, None, offer((1, 100)), "nobody can say what a year takes"),
        (COSTS, use, offer((1, 100), currency="EUR"), "ordering costs are in GBP, and studs is paid in EUR"),
        (COSTS, use, offer((10, 100)), "not every quantity has a price"),
    ):
        assert yearly(costs, used, sold, STUD) == (None, (f"What costs least in a year is not reckoned: {why}.",))


@st.composite
def priced(draw: st.DrawFn) -> tuple[Offer, Yearly]:
    starts = sorted(draw(st.sets(st.integers(2, 60), max_size=3)))
    prices = draw(st.lists(st.integers(1, 40), min_size=len(starts) + 1, max_size=len(starts) + 1))
    sold = offer(
        *zip([1, *starts], prices, strict=True), least=draw(st.integers(0, 9)), multiple=draw(st.integers(1, 7))
    )
    costs = Costs(draw(st.integers(0, 500)), draw(st.integers(1, 60)), "GBP")
    return sold, known(draw(st.integers(1, 300)), costs)


@given(priced(), st.integers(1, 70), st.integers(0, 90))
def test_nothing_that_is_sold_costs_less_in_a_year(sold_and_known: tuple[Offer, Yearly], must: int, more: int) -> None:
    sold, one = sold_and_known
    least, step = sold_quantity(sold.terms, must), sold_in(sold.terms)
    most = max(least, (must + more) // step * step)
    assert least_in_a_year(sold, one, must, most) == min(
        range(least, most + 1, step), key=lambda quantity: (cost_of(sold, one, quantity), quantity)
    )
    free = least_in_a_year(sold, one, must, None)
    assert all(cost_of(sold, one, free) <= cost_of(sold, one, tried) for tried in range(least, 400, step))


@given(priced(), st.integers(1, 70), st.integers(0, 90), st.integers(0, 40), st.booleans())
def test_more_stock_never_buys_more(
    sold_and_known: tuple[Offer, Yearly], must: int, more: int, stock: int, limited: bool
) -> None:
    sold, one = sold_and_known
    item = replace(STUD, most=1000) if limited else STUD
    top = must + more if limited else must
    less = max(must - stock, 1)
    fewer = how_much(sold, item, less, max(top - (must - less), less), one)
    assert less <= fewer.quantity <= how_much(sold, item, must, top, one).quantity
