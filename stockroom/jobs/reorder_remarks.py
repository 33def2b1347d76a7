"""What is wrong with the history that a weekly run goes by, in sentences."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from stockroom.domain.outlook import HISTORY_WEEKS
from stockroom.domain.weeks import Week

_NAMED = 5
"""Gaps, or clocks, that are named one by one."""


def books_remarks(silent: Iterable[int], set_back: Sequence[tuple[date, date]], week: Week) -> tuple[str, ...]:
    """Weeks that nobody wrote down (numbers, 0 the oldest of the history) and clocks that were set back."""
    gaps = [
        f"Nothing was booked {_weeks(week.following(first - HISTORY_WEEKS), week.following(last - HISTORY_WEEKS))}: "
        "forecasts leave that out, for nobody can tell it from a standstill."
        for first, last in _runs(silent)
    ]
    clocks = [
        f"A clock was set back from {before} to {after}: what was booked about then may stand in the wrong week."
        for before, after in set_back
    ]
    return (*_some(gaps, "gaps"), *_some(clocks, "times"))


def _runs(silent: Iterable[int]) -> list[tuple[int, int]]:
    """First and last of each run of weeks; not the one that reaches back to before the books were begun."""
    runs: list[tuple[int, int]] = []
    for number in sorted(silent):
        if runs and runs[-1][1] == number - 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return [run for run in runs if run[0] > 0]


def _weeks(first: Week, last: Week) -> str:
    return f"in {first}" if first == last else f"from {first} to {last}"


def _some(sentences: Sequence[str], what: str) -> tuple[str, ...]:
    more = len(sentences) - _NAMED
    return (*sentences[:_NAMED], *((f"And {more} more such {what}.",) if more > 0 else ()))
