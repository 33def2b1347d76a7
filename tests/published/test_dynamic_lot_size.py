"""The dynamic lot size against the example of its authors."""

from __future__ import annotations

from fractions import Fraction

from stockroom.domain.call_off import least_parts


def test_twelve_months_of_wagner_and_whitin_cost_864() -> None:
    # H. M. Wagner, T. M. Whitin, Management Science 5 (1958); from memory, confirmed by computing it: holding 1, least
    # cost 864.
    needs = [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56]
    set_ups = [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114]
    found = least_parts(needs, set_ups, Fraction(1))
    assert found.cost == 864
