"""The four-point system of ASTM D5430, from memory: points per 100 yd² = points × 3600 / (width in × length yd).

The worked figures follow from the formula: they are reckoned by hand here, in the units of the standard.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.four_point import MOST_A_YARD, USUAL_LEVEL, Fault, per_100_yd2, points, points_of
from stockroom.domain.quantities import stock_mm


@pytest.mark.parametrize(
    ("length", "expected"),
    [("1 in", 1), ("3 in", 1), ("4 in", 2), ("6 in", 2), ("7 in", 3), ("9 in", 3), ("10 in", 4), ("2 yd", 4)],
)
def test_a_fault_has_points_by_its_length(length: str, expected: int) -> None:
    assert points_of(stock_mm(length)) == expected


@pytest.mark.parametrize(
    ("so_many", "yards", "inches", "expected"),
    [
        # 3600 in² · yd make 100 yd² at 36 in: one yard of width needs no reckoning.
        (10, 100, 36, Fraction(10)),
        (24, 50, 60, Fraction(24 * 3600, 60 * 50)),  # 28.8
        (45, 125, 54, Fraction(24)),  # 45 × 3600 / (54 × 125)
    ],
)
def test_points_per_100_square_yards(so_many: int, yards: int, inches: int, expected: Fraction) -> None:
    # Ten times as long and five times as wide are whole millimetres, so that nothing is rounded.
    found = per_100_yd2(so_many, yards * 9144, inches * 127)
    assert found * 50 == expected


def test_no_yard_has_more_than_four_points() -> None:
    in_one_yard = [Fault(at, 300, "slub") for at in (0, 100, 900)]
    assert points(in_one_yard) == MOST_A_YARD
    assert points([*in_one_yard, Fault(915, 300, "slub")]) == 2 * MOST_A_YARD


@given(
    st.lists(st.builds(Fault, st.integers(0, 60_000), st.integers(1, 2_000), st.just("slub"))),
    st.builds(Fault, st.integers(0, 60_000), st.integers(1, 2_000), st.just("slub")),
)
def test_one_more_fault_never_makes_a_roll_better(faults: list[Fault], more: Fault) -> None:
    assert 0 <= points([*faults, more]) - points(faults) <= 4


def test_the_level_that_a_shop_begins_with() -> None:
    """Common practice, no source."""
    assert USUAL_LEVEL == 40
