"""What each method of forecasting makes of a table of weekly use: the rate, its spread and its own uncertainty.

The methods are explained in smoothing.py. The spread of one week's use about the rate is what safety stock is worked
out from; that the rate itself is only an estimate is kept apart, since it weighs more the longer the lead time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockroom.domain.season import YEAR_WEEKS
from stockroom.domain.smoothing import Smoothed, croston_rate, gains, intervals, smooth
from stockroom.domain.use_table import UseTable, after_first

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

ALPHA = 0.1
"""Within the 0.05 to 0.2 that the literature on seldom used items advises."""
ALPHAS = (0.05, 0.1, 0.2, 0.3)
"""Of which simple smoothing takes the best, once a year is known."""
_WARM_WEEKS = 13
"""The first weeks do not tell which constant is the best."""


@dataclass(frozen=True, slots=True)
class Rate:
    """What a method makes of its items, an item each."""

    alpha: Floats
    size: Floats
    weekly: Floats
    variance: Floats
    level_variance: Floats


def smoothed(table: UseTable, loads: Floats | None) -> Rate:
    """Simple exponential smoothing, with the constant of the least squared error where a year is known."""
    import numpy as np

    tried = [_smoothed_by(table, np.full(len(table.weeks), alpha), loads) for alpha in ALPHAS]
    errors = np.array([error for _, error in tried])
    best = np.where(table.weeks >= YEAR_WEEKS, errors.argmin(axis=0), ALPHAS.index(ALPHA))
    alpha = np.array(ALPHAS)[best]
    done, _ = _smoothed_by(table, alpha, loads)
    load = np.ones(table.use.shape) if loads is None else loads
    judged = after_first(table.known, 1)
    squares = np.where(judged, (table.use - load * done.before) ** 2, 0.0).sum(axis=0)
    # A forecast misses by the spread of the use and by its own: the former alone is wanted here.
    share = np.where(judged, load * (1.0 + load * done.weight_before), 0.0).sum(axis=0)
    variance = squares / np.maximum(share, 1e-9)
    return Rate(alpha, np.zeros(len(alpha)), done.level, variance, variance * done.weight)


def _smoothed_by(table: UseTable, alpha: Floats, loads: Floats | None) -> tuple[Smoothed, Floats]:
    """The smoothing, and the sum of its squared errors one week ahead after the first weeks."""
    import numpy as np

    done = smooth(table.use, gains(table.known, alpha, loads), loads)
    load = 1.0 if loads is None else loads
    missed = np.where(after_first(table.known, _WARM_WEEKS), table.use - load * done.before, 0.0)
    return done, (missed**2).sum(axis=0)


def croston(table: UseTable) -> Rate:
    """Croston's method with the correction of Syntetos and Boylan."""
    import numpy as np

    size = smooth(table.use, gains(table.used, ALPHA))
    apart = smooth(intervals(table.used, table.known), gains(after_first(table.used, 1), ALPHA))
    weekly = croston_rate(size.level, apart.level, ALPHA)
    squares = np.where(after_first(table.known, 1), (table.use - weekly) ** 2, 0.0).sum(axis=0)
    p, correction = np.maximum(apart.level, 1.0), (1.0 - ALPHA / 2.0) ** 2
    of_size = table.size_variance * size.weight / p**2
    of_interval = size.level**2 * (p - 1.0) * apart.weight / p**3
    variance = squares / np.maximum(table.weeks - 1.0, 1.0)
    return Rate(np.full(len(weekly), ALPHA), size.level, weekly, variance, correction * (of_size + of_interval))


def dying_out(table: UseTable) -> Rate:
    """Teunter, Syntetos and Babai."""
    import numpy as np

    size = smooth(table.use, gains(table.used, ALPHA))
    chance = smooth(table.used.astype(float), gains(after_first(table.known, 1), ALPHA))
    p, z = chance.level, size.level
    variance = p * (table.size_variance + z**2) - (p * z) ** 2
    level_variance = z**2 * p * (1.0 - p) * chance.weight + p**2 * table.size_variance * size.weight
    return Rate(np.full(len(p), ALPHA), z, p * z, variance, level_variance)
