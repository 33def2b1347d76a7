"""What each method of forecasting makes of a table of weekly use: the rate, its spread and its own uncertainty.

The methods are explained in smoothing.py. The spread of one week's use about the rate is what safety stock is worked
out from; that the rate itself is only an estimate is kept apart, since it weighs more the longer the lead time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockroom.domain.season import YEAR_WEEKS
from stockroom.domain.smoothing import Smoothed, croston_rate, gains, intervals, smooth, squared_errors
from stockroom.domain.use_table import UseTable, after_first, column_sums

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
    weekly: Floats
    """Use in a usual week."""
    variance: Floats
    """Of one usual week's use."""
    level_variance: Floats
    """How far `weekly` is uncertain, as a variance."""
    chance: Floats
    """Of use in a week, for what is used seldom; 0 for what is smoothed."""
    chance_variance: Floats
    """How far that is uncertain."""
    size: Floats
    """Used at a time, for what is used seldom."""
    size_variance: Floats
    """Of one use."""
    size_level_variance: Floats
    """How far `size` is uncertain."""


def smoothed(table: UseTable, loads: Floats | None) -> Rate:
    """Simple exponential smoothing, with the constant of the least squared error where a year is known."""
    import numpy as np

    after = after_first(table.known, _WARM_WEEKS)
    errors = squared_errors(table.use, gains(table.known, 0.0, loads), ALPHAS, after, loads)
    best = np.where(table.weeks >= YEAR_WEEKS, errors.argmin(axis=0), ALPHAS.index(ALPHA))
    alpha = np.array(ALPHAS)[best]
    done = smooth(table.use, gains(table.known, alpha, loads), loads)
    load = 1.0 if loads is None else loads
    judged = after_first(table.known, 1)
    squares = column_sums(judged * (table.use - load * done.before) ** 2)
    # A forecast misses by the spread of the use and by its own: the former alone is wanted here.
    share = column_sums(judged * load * (1.0 + load * done.weight_before))
    variance = squares / np.maximum(share, 1e-9)
    variance = variance * _from_few(judged.sum(axis=0) - 1.0, variance / np.maximum(done.level, 1e-9) ** 2)
    seldom = np.zeros((5, len(alpha)))
    return Rate(alpha, done.level, variance, variance * done.weight, *seldom)


def croston(table: UseTable) -> Rate:
    """Croston's method with the correction of Syntetos and Boylan."""
    import numpy as np

    size = smooth(table.use, gains(table.used, ALPHA))
    apart = smooth(intervals(table.used, table.known), gains(after_first(table.used, 1), ALPHA))
    weekly = croston_rate(size.level, apart.level, ALPHA)
    p = np.maximum(apart.level, 1.0)
    # Intervals are geometric, with a variance of p (p − 1).
    uncertain = (1.0 - ALPHA / 2.0) ** 2 * (p - 1.0) * apart.weight / p**3
    return _seldom(table, size, weekly / np.maximum(size.level, 1e-9), uncertain)


def dying_out(table: UseTable) -> Rate:
    """Teunter, Syntetos and Babai."""
    size = smooth(table.use, gains(table.used, ALPHA))
    chance = smooth(table.used.astype(float), gains(after_first(table.known, 1), ALPHA))
    return _seldom(table, size, chance.level, chance.level * (1.0 - chance.level) * chance.weight)


def _seldom(table: UseTable, size: Smoothed, chance: Floats, chance_variance: Floats) -> Rate:
    """The rate of what is used seldom, from the size of a use and the chance of one in a week."""
    import numpy as np

    z, spread = size.level, table.size_variance * _from_few(table.uses - 1.0, table.cv2)
    uncertain = spread * size.weight
    variance = chance * (spread + z**2) - (chance * z) ** 2
    level_variance = z**2 * chance_variance + chance**2 * uncertain
    alpha = np.full(len(z), ALPHA)
    return Rate(alpha, chance * z, variance, level_variance, chance, chance_variance, z, spread, uncertain)


def _from_few(freedom: Floats, cv2: Floats) -> Floats:
    """How much larger a variance may well be than one from so few values says, on average; twice at most.

    For normal values that is the variance of Student's t, 1 + 2 / (freedom − 2). The variance of a skewed sample is
    less certain: by 2 + 6 CV² in the place of 2, where the values are gamma (whose excess kurtosis is 6 CV²).
    """
    import numpy as np

    return np.minimum(1.0 + (2.0 + 6.0 * cv2) / np.maximum(freedom - 2.0, 1.0), 2.0)
