"""The last buy: what is to be bought while it can still be had, for a stated time.

It comes where a supplier has said until when an item can be ordered, and where its cloth is discontinued. The rule: all
that will be used until the end of that time, as it is forecast, else as the average of the last year says; orders in
hand are part of it. Of what nobody used in a year, only what orders in hand need.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from stockroom.domain.forecasting import Forecast
from stockroom.domain.shortfall import Cover
from stockroom.domain.standing import Standing
from stockroom.domain.weeks import YEAR_WEEKS, Week, weeks_from

USUAL_WEEKS = YEAR_WEEKS
"""A last buy is for so many weeks, where the notice does not say."""


@dataclass(frozen=True, slots=True)
class LastOrder:
    """A supplier's notice: until when an item can be ordered."""

    until: date
    """The last day to order."""
    weeks: int
    """Buy for so many weeks after it."""
    note: str = ""


def last_buy(
    standing: Standing, notice: LastOrder | None, weekly: Sequence[int | None], known: Forecast, week: Week
) -> Cover | None:
    """What is to be covered from the run of `week` until the stated time is over.

    `weekly`: its use in the weeks gone by, the oldest first, `None` where nothing was written down. `notice`: none
    where its cloth is discontinued and nobody said until when it can be had: the time runs from the run on. `None`
    where the day is past: nothing can be bought any more.
    """
    monday = week.monday()
    if notice is not None and notice.until < monday:
        return None
    weeks = notice.weeks if notice else USUAL_WEEKS
    until = max(notice.until if notice else monday, monday) + timedelta(weeks=weeks)
    ahead = -(-(until - monday).days // 7)
    use, how = _use(weekly, known, week, ahead)
    said = (
        f"It can be ordered until {notice.until} only{f' ({notice.note})' if notice.note else ''}."
        if notice
        else "Its cloth is discontinued, and nobody said until when it can be had."
    )
    steps = (said, f"Last buy for {weeks} weeks after that, until {until}: {how}, {standing.shown(use)} in all.")
    return Cover("last buy", use, until, steps)


def _use(weekly: Sequence[int | None], known: Forecast, week: Week, ahead: int) -> tuple[int, str]:
    """What will be used in so many weeks, and how that is known."""
    if known.known:
        return round(sum(known.expected(one) for one in weeks_from(week, ahead))), "as it is forecast"
    year = [used for used in weekly[-YEAR_WEEKS:] if used is not None]
    if not year or sum(year) <= 0:
        return 0, "nothing was used in the last year, so only what orders in hand need"
    return -(-max(sum(year), 0) * ahead // len(year)), f"the average of the last {len(year)} weeks"
