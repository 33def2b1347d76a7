"""ISO weeks."""

from __future__ import annotations

import doctest
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain import weeks
from stockroom.domain.refusal import Refusal
from stockroom.domain.weeks import Week

days = st.dates(date(1950, 1, 1), date(2100, 1, 1))


def test_the_examples_in_the_docstrings_are_true() -> None:
    assert doctest.testmod(weeks).failed == 0


@given(days)
def test_a_week_reads_back_and_holds_its_day(day: date) -> None:
    week = Week.of(day)
    assert Week.parse(str(week)) == week
    assert week.monday() <= day < week.monday() + timedelta(days=7)


@given(days, st.integers(-500, 500))
def test_stepping_goes_there_and_back(day: date, weeks_on: int) -> None:
    week = Week.of(day)
    assert week.following(weeks_on).following(-weeks_on) == week
    assert week.until(week.following(weeks_on)) == weeks_on
    assert (week < week.following(weeks_on)) == (weeks_on > 0)


@pytest.mark.parametrize("typed", ["", "2026", "2026-W00", "2026-W54", "2025-W53", "W48", "2026-48", "0000-W01"])
def test_what_is_no_week_is_refused(typed: str) -> None:
    with pytest.raises(Refusal):
        Week.parse(typed)
