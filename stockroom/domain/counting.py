"""Counting: how far a figure may be off before it is counted again, and which places are due.

>>> tolerated(28_400, by_length=True), tolerated(3_000, by_length=True), tolerated(99, by_length=False)
(284, 50, 0)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

USUAL_PERCENT = 1
"""Where the shop says nothing else."""
LEAST_LENGTH_MM = 50
"""A tape along a roll is no truer than this (common practice, no source)."""
SELDOM_DAYS = 180
"""Every place is counted at least this often."""
BUSY_DAYS = 90
"""How busy a place is, is reckoned over so many days."""
RULE_WORDS = (
    "Every place is counted every 180 days. One that is worth more than the average place is counted twice as often, "
    "and so is one where more came and went in the last 90 days than in the average place; "
    "one that is both: four times."
)


def tolerated(expected: int, *, by_length: bool, percent: int = USUAL_PERCENT) -> int:
    """How far a figure may be off what the books say (mm or count) and still stand.

    Rounded down: at 1 %, fewer than a hundred are counted exactly.
    """
    off = expected * percent // 100
    return max(LEAST_LENGTH_MM, off) if by_length else off


def tolerance_words(length_percent: int, count_percent: int) -> str:
    """When a figure stands, in words."""
    return (
        f"A length within {length_percent} % of the books (at least {LEAST_LENGTH_MM} mm) and a count within "
        f"{count_percent} % stand; what is further off is counted again."
    )


@dataclass(frozen=True, slots=True)
class PlaceActivity:
    """What decides how often a place is counted."""

    code: str
    value_minor: int
    """What lies there is worth."""
    movements: int
    """So many came and went within `BUSY_DAYS`."""
    last_counted: date | None
    since: date
    """Its last count or, where it was never counted, the day the books were opened."""


@dataclass(frozen=True, slots=True)
class Turn:
    """When a place's turn to be counted comes, and why."""

    code: str
    every_days: int
    due: date
    days: int
    """Since its last count, or the opening of the books."""
    is_valuable: bool
    """Worth more than the average place."""
    is_busy: bool
    """Busier than the average place."""


def turns(places: Sequence[PlaceActivity], today: date) -> list[Turn]:
    """When each place is due, by the rule of `RULE_WORDS`: the one that is longest over its time first.

    >>> some = [PlaceActivity(code, worth, 0, None, date(2026, 1, 1)) for code, worth in (("A", 900), ("B", 100))]
    >>> [(one.code, one.every_days, str(one.due)) for one in turns(some, date(2026, 5, 1))]
    [('A', 90, '2026-04-01'), ('B', 180, '2026-06-30')]
    """
    worth, moved = sum(one.value_minor for one in places), sum(one.movements for one in places)
    found = []
    for one in places:
        is_valuable = one.value_minor * len(places) > worth
        is_busy = one.movements * len(places) > moved
        every = SELDOM_DAYS // (2 ** (is_valuable + is_busy))
        days = (today - one.since).days
        found.append(Turn(one.code, every, one.since + timedelta(days=every), days, is_valuable, is_busy))
    by_code = {one.code: one for one in places}
    return sorted(found, key=lambda turn: (-turn.days / turn.every_days, -by_code[turn.code].value_minor, turn.code))
