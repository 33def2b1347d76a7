"""Whether three years of weekly use show a season beyond chance, and which.

The year is thirteen periods of four weeks (ISO weeks 1 to 4, 5 to 8, ..., 49 to 52 or 53). From the last 156 weeks
each item has 3 × 13 averages of weekly use. Their square roots (which evens out the spread of counts) are put through
the analysis of variance of two ways without replication, years against periods:

    F = (sum of squares of periods / 12) / (sum of squares left over / 24)

A season is there where so large an F comes by chance less than once in a thousand (`CHANCE`). Its index for a period
is the average over the years of the period's share of the year, drawn in towards 1 by 1 − 1/F, since that part of the
differences is chance. Source of the test: any textbook of analysis of variance, such as R. A. Fisher, Statistical
Methods for Research Workers (1925), from memory. One in a thousand is our choice: of 2,000 items two are taken wrongly.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from stockroom.domain.use_table import column_sums
from stockroom.domain.weeks import Week

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

PERIODS = 13
PERIOD_WEEKS = 4
YEARS = 3
YEAR_WEEKS = PERIODS * PERIOD_WEEKS
CHANCE = 0.001
LEAST_INDEX = 0.02
"""A season never rules a use out altogether."""
LEAST_CELLS = 3 * YEARS
"""With use in fewer of the 39 periods than this nothing can be told."""


def period_of(week: Week) -> int:
    """The period a week is in, 0 to 12.

    >>> period_of(Week(2026, 1)), period_of(Week(2026, 52)), period_of(Week(2026, 53))
    (0, 12, 12)
    """
    return min((week.week - 1) // PERIOD_WEEKS, PERIODS - 1)


def seasons(use: Floats, known: Flags, last: Week) -> tuple[Floats, Floats]:
    """The indices, 13 × items (all 1 where there is no season), and the chance of each item's F.

    `use` and `known` are weeks × items, the last row is the week `last`; unknown weeks hold 0. Weeks before the first
    use count as known here: else what is used in summer alone would lose the winter before. An item that is not used
    in each of the three years, or is known for less than half of any period, has no season and a chance of 1.
    """
    import numpy as np
    from scipy.special import fdtrc

    weeks, items = use.shape
    if weeks < YEARS * YEAR_WEEKS:
        return np.ones((PERIODS, items)), np.ones(items)
    order, starts = _cells(last)
    recent = slice(weeks - YEARS * YEAR_WEEKS, weeks)
    so_many = np.add.reduceat(known[recent][order].astype(float), starts, axis=0)
    average = np.add.reduceat(use[recent][order], starts, axis=0) / np.maximum(so_many, 1.0)
    roots = np.sqrt(average).reshape(YEARS, PERIODS, items)
    by_year = column_sums(roots.swapaxes(0, 1)) / PERIODS
    by_period = column_sums(roots) / YEARS
    grand = column_sums(by_year) / YEARS
    between = YEARS * column_sums((by_period - grand) ** 2)
    left = column_sums(column_sums((roots - by_year[:, None, :] - by_period[None, :, :] + grand) ** 2))
    freedom, freedom_left = PERIODS - 1, (PERIODS - 1) * (YEARS - 1)
    ratio = (between / freedom) / np.maximum(left / freedom_left, 1e-12 + 1e-9 * grand**2)
    tellable = (so_many >= PERIOD_WEEKS / 2).all(axis=0) & ((average > 0).sum(axis=0) >= LEAST_CELLS)
    tellable &= (by_year > 0).all(axis=0)
    chance = np.where(tellable, fdtrc(freedom, freedom_left, ratio), 1.0)
    return np.where(chance < CHANCE, _indices(average, ratio), 1.0), chance


def _cells(last: Week) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The last 156 weeks put in order of year and period, and where each of the 39 of them begins in that order."""
    import numpy as np

    weeks = YEARS * YEAR_WEEKS
    cells = [week // YEAR_WEEKS * PERIODS + period_of(last.following(week - weeks + 1)) for week in range(weeks)]
    order = np.argsort(cells, kind="stable")
    return order, np.searchsorted(np.array(cells)[order], np.arange(YEARS * PERIODS))


def _indices(average: Floats, ratio: Floats) -> Floats:
    import numpy as np

    by_year = average.reshape(YEARS, PERIODS, -1)
    in_all = column_sums(by_year)
    shares = in_all / np.maximum(column_sums(in_all) / PERIODS, 1e-12)
    drawn_in = 1.0 + (shares - 1.0) * (1.0 - 1.0 / np.maximum(ratio, 1.0))
    floored = np.maximum(drawn_in, LEAST_INDEX)
    return np.asarray(floored * PERIODS / column_sums(floored), dtype=float)
