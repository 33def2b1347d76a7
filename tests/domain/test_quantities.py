"""Lengths, masses and money: exact, whole, and rounded the safe way."""

from __future__ import annotations

import doctest
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain import quantities
from stockroom.domain.quantities import (
    MM_IN,
    cloth_mass_g,
    mass_per_area,
    money_minor,
    need_mm,
    show_length,
    show_money,
    stock_mm,
)
from stockroom.domain.refusal import Refusal


def test_the_examples_in_the_docstrings_are_true() -> None:
    assert doctest.testmod(quantities).failed == 0


@pytest.mark.parametrize(
    ("typed", "down", "up"),
    [
        ("12.5 m", 12500, 12500),
        ("12,5 m", 12500, 12500),
        ("0,250 m", 250, 250),
        ("13 yd", 11887, 11888),
        ("54 in", 1371, 1372),
        ('54"', 1371, 1372),
        ("54″", 1371, 1372),
        ("3 ft", 914, 915),
        ("5' 6\"", 1676, 1677),
        ("12 1/2 in", 317, 318),
        ("900 mm", 900, 900),
        ("900", 900, 900),
        (" 1\u00a0yd ", 914, 915),
        ("1.5 METRES", 1500, 1500),
        ("0", 0, 0),
    ],
)
def test_a_typed_length_is_rounded_down_for_stock_and_up_for_needs(typed: str, down: int, up: int) -> None:
    assert (stock_mm(typed), need_mm(typed)) == (down, up)


@pytest.mark.parametrize(
    "typed",
    ["", "  ", "m", "12.5", "-3 m", "1,250 m", "12 ells", "3 in 2 ft", "1/0 in", "<b>3 m</b>", "٣ m", "1e3 m", "3 m x"],
)
def test_what_is_not_plainly_a_length_is_refused(typed: str) -> None:
    with pytest.raises(Refusal):
        stock_mm(typed)


@pytest.mark.parametrize(
    "typed",
    ["9" * 5000 + " m", "9" * 19 + " m", "\x00" * 10_000],
    ids=["5000 figures", "19 figures", "control characters"],
)
def test_monstrous_lengths_are_refused_with_a_short_sentence(typed: str) -> None:
    with pytest.raises(Refusal) as refused:
        need_mm(typed)
    assert len(refused.value.sentence) < 500
    assert "\x00" not in refused.value.sentence


@given(st.integers(0, 10**6), st.sampled_from(sorted(MM_IN)))
def test_rounding_never_promises_more_and_never_needs_less(count: int, unit: str) -> None:
    exact = count * MM_IN[unit]
    if exact <= quantities.LONGEST_MM:
        text = f"{count} {unit}"
        assert exact - 1 < stock_mm(text) <= exact <= need_mm(text) < exact + 1


@given(st.integers(0, quantities.LONGEST_MM))
def test_a_length_shown_and_typed_back_is_the_same(mm: int) -> None:
    assert stock_mm(show_length(mm)) == need_mm(show_length(mm)) == mm


@given(st.integers(0, 10**12), st.sampled_from(["GBP", "EUR", "JPY", "KWD"]))
def test_money_shown_and_typed_back_is_the_same(minor: int, currency: str) -> None:
    assert money_minor(show_money(minor, currency), currency) == minor


@pytest.mark.parametrize("typed", ["", "-1.00", "1.234", "12 USD", "1,250", "ten", "1" + "0" * 18])
def test_what_is_not_plainly_money_is_refused(typed: str) -> None:
    with pytest.raises(Refusal):
        money_minor(typed, "GBP")


@given(st.integers(0, 10**5), st.integers(0, 3000), st.integers(0, 2000))
def test_a_mass_is_never_called_less_than_it_is(length: int, width: int, mass: int) -> None:
    exact = Fraction(length * width * mass, 10**6)
    assert exact <= cloth_mass_g(length, width, mass) < exact + 1


def test_a_mass_per_area_needs_its_unit_unless_it_is_whole() -> None:
    assert mass_per_area("450 g/m2") == mass_per_area("450") == 450
    with pytest.raises(Refusal):
        mass_per_area("450 kg")
