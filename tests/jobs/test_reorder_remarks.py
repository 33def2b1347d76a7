"""What is wrong with a history, in sentences: gaps, and clocks that were set back."""

from __future__ import annotations

from datetime import date

from stockroom.domain.weeks import Week
from stockroom.jobs.reorder_remarks import books_remarks

W48 = Week(2026, 48)


def test_a_gap_is_named_and_the_time_before_the_books_is_not() -> None:
    """Week 0 of the history is 156 weeks before the run: 2023-W48. 2026 has a week 53 to come; 155 is 2026-W47."""
    assert books_remarks([0, 1, 2, 100, 101, 155], (), W48) == (
        "Nothing was booked from 2025-W44 to 2025-W45: forecasts leave that out, for nobody can tell it from a "
        "standstill.",
        "Nothing was booked in 2026-W47: forecasts leave that out, for nobody can tell it from a standstill.",
    )


def test_of_many_clocks_some_are_named() -> None:
    back = (date(2026, 5, 2), date(2026, 5, 1))
    said = books_remarks((), [back] * 8, W48)
    assert said[0] == (
        "A clock was set back from 2026-05-02 to 2026-05-01: what was booked about then may stand in the wrong week."
    )
    assert (len(said), said[-1]) == (6, "And 3 more such times.")
