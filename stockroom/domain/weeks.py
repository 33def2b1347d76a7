"""ISO weeks: Monday to Sunday, the first of a year is the one with its first Thursday in it (ISO 8601).

>>> Week.of(date(2027, 1, 3))
Week(year=2026, week=53)
>>> str(Week.parse('2026-W48').following(6))
'2027-W01'
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted

YEAR_WEEKS = 52
"""A year, where past or coming use is looked at by whole weeks."""


@dataclass(frozen=True, slots=True, order=True)
class Week:
    """One ISO week. Weeks are ordered, and can be stepped.

    >>> Week(2026, 48).monday()
    datetime.date(2026, 11, 23)
    """

    year: int
    """ISO year, which near the turn of the year is not always the calendar's."""
    week: int
    """1 to 52 or 53."""

    @classmethod
    def of(cls, day: date) -> Week:
        """The week that `day` is in."""
        year, week, _ = day.isocalendar()
        return cls(year, week)

    @classmethod
    def parse(cls, text: str) -> Week:
        """The week written '2026-W48' (or '2026W48'). Raises `Refusal` when there is no such week."""
        match = re.fullmatch(r"([0-9]{4})-?[Ww]([0-9]{1,2})", text.strip(), re.ASCII)
        if match is None:
            raise Refusal(f"{quoted(text)} is not a week. Write it as 2026-W48.")
        week = cls(int(match[1]), int(match[2]))
        try:
            week.monday()
        except ValueError:
            raise Refusal(f"There is no week {quoted(text)}: a year has 52 or 53 weeks.") from None
        return week

    def monday(self) -> date:
        """Its first day."""
        return date.fromisocalendar(self.year, self.week, 1)

    def following(self, weeks: int = 1) -> Week:
        """The week so many weeks later (earlier, where `weeks` is negative)."""
        return Week.of(self.monday() + timedelta(weeks=weeks))

    def until(self, later: Week) -> int:
        """How many weeks from this one to `later`."""
        return (later.monday() - self.monday()).days // 7

    def __str__(self) -> str:
        return f"{self.year:04d}-W{self.week:02d}"


@lru_cache(maxsize=64)
def weeks_from(first: Week, count: int) -> tuple[Week, ...]:
    """So many weeks one after the other.

    >>> [str(week) for week in weeks_from(Week(2026, 52), 3)]
    ['2026-W52', '2026-W53', '2027-W01']
    """
    return tuple(first.following(ahead) for ahead in range(count))
