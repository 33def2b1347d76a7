"""How much to buy at a time against a textbook's worked example. Its units stand for metres here."""

from __future__ import annotations

import pytest

from stockroom.domain.catalogue import Item, PriceBreak, Supplier, Terms
from stockroom.domain.lot_size import how_much
from stockroom.domain.offer import Offer
from stockroom.domain.yearly_cost import Costs, Yearly, YearUse

MM = 1000


def test_the_economic_order_quantity_with_a_fixed_cost_of_8_and_a_demand_of_1300() -> None:
    # L. V. Snyder, Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Example 3.1: fixed cost 8, holding
    # 0.225, demand 1300: 304.0468, at a cost of 68.4105. Keeping 25 % of what costs 0.90 a metre is 0.225.
    offer = Offer(Supplier("mill", "The mill", 14, "GBP"), Terms("mill", "x", None, 1, 1, (PriceBreak(1, 90),)))
    item = Item("felt/red", "Felt", "cloth")
    known = Yearly(YearUse(1300 * MM, "as it is forecast"), Costs(800, 25, "GBP"), MM)
    found = how_much(offer, item, 1, 1, known)
    assert found.quantity / MM == pytest.approx(304.0468, abs=5e-4)
    _, orders, keeping = known.parts(found.quantity, 90)
    assert float(orders + keeping) / 100 == pytest.approx(68.4105, abs=5e-5)
