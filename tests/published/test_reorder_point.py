"""Reorder points and the newsvendor's stock against worked examples of textbooks. Their units stand for metres here.

The tables of the books round z to two decimals; ours is exact, and a whole millimetre is rounded up.
"""

from __future__ import annotations

import numpy as np
import pytest

from stockroom.domain.demand_spread import Normal, least_stock
from stockroom.domain.forecasting import Forecast
from stockroom.domain.keeping import Asked, Kept, Target, how_much_to_keep
from stockroom.domain.lead_time import LeadTime
from stockroom.domain.weeks import Week

MM = 1000


def kept(weekly_m: float, weekly_sd_m: float, lead_days: int, per_mille: int) -> Kept:
    """What is kept of cloth that is used so much a week, which is known for certain."""
    steady = Forecast("x", True, "smoothing", "", weekly=weekly_m * MM, variance=(weekly_sd_m * MM) ** 2)
    asked = Asked(steady, LeadTime.told(lead_days), Target("cycle", per_mille))
    return how_much_to_keep([asked], Week(2026, 48))[0]


def test_lead_time_demand_50_with_a_deviation_of_5_and_a_risk_of_3_percent() -> None:
    # W. J. Stevenson, Operations Management, 14th ed., ch. 12, Example 8: z 1.88, safety stock 9.40, reorder point
    # 59.40. Half of the 50 in the lead time of a week, half in the week between runs; deviations add by their squares.
    found = kept(50 / 2, 5 / 2**0.5, lead_days=7, per_mille=970)
    assert found.distribution == "normal"
    assert round(found.expected / MM, 6) == 50
    assert (round(found.reorder_point / MM, 2), round(found.safety_stock / MM, 2)) == (59.40, 9.40)


def test_the_carpet_store_with_daily_demand_30_and_10_days() -> None:
    # B. W. Taylor, Introduction to Management Science, inventory chapter, the carpet store, for 95 %:
    # 300 + 1.65 · 5 · √10 = 326.1. Ten days are a lead time of three and the week between runs.
    found = kept(7 * 30, 5 * 7**0.5, lead_days=3, per_mille=950)
    assert round(found.expected / MM, 6) == 300
    assert found.reorder_point / MM == pytest.approx(326.1, abs=0.1)
    assert found.reorder_point == 326_008  # with z 1.6449 in the place of 1.65


def test_the_newsvendor_with_holding_018_and_stock_out_070() -> None:
    # L. V. Snyder, Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Example 4.3, demand N(50, 8²): 56.60396
    # is best and costs 1.9976.
    holding, stock_out = 0.18, 0.70
    demand = Normal(np.array([50.0 * MM]), np.array([(8.0 * MM) ** 2]), np.zeros(1))
    stock = least_stock(lambda tried: demand.over(tried) <= holding / (holding + stock_out), np.array([100.0 * MM]))
    assert stock[0] == np.ceil(56.60396 * MM)
    short = demand.short(stock)[0] / MM
    left = stock[0] / MM - 50 + short
    assert holding * left + stock_out * short == pytest.approx(1.9976, abs=5e-5)
