"""Units against NIST SP 811 (Guide for the Use of the SI), Appendix B: 1 in = 25.4 mm and 1 yd = 0.9144 m exactly,
1 ft = 0.3048 m exactly, 1 oz/yd² = 33.905 75 g/m²."""

from __future__ import annotations

from fractions import Fraction

from stockroom.domain.quantities import G_M2_IN_OZ_YD2, MM_IN, mass_per_area, need_mm, stock_mm


def test_inch_foot_and_yard_are_exact() -> None:
    assert MM_IN["in"] == Fraction("25.4")
    assert MM_IN["ft"] == Fraction("304.8")
    assert MM_IN["yd"] == Fraction("914.4")
    assert stock_mm("5 in") == need_mm("5 in") == 127
    assert stock_mm("5 yd") == need_mm("5 yd") == 4572
    assert stock_mm("10000 yd") == 9_144_000


def test_ounces_a_square_yard() -> None:
    assert Fraction("33.90575") == G_M2_IN_OZ_YD2
    assert mass_per_area("100 oz/yd2") == 3391
