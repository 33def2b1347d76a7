"""Weeks against ISO 8601: the week with the year's first Thursday is week 1."""

from __future__ import annotations

from datetime import date

from stockroom.domain.weeks import Week


def test_the_turn_of_2026() -> None:
    """2026-12-31 is in week 53 of 2026; 2027-01-03 too (ISO 8601)."""
    assert Week.of(date(2026, 12, 31)) == Week.of(date(2027, 1, 3)) == Week(2026, 53)
    assert Week.of(date(2027, 1, 4)) == Week(2027, 1)
