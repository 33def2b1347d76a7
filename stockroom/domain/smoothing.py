"""Exponential smoothing of many items at once, and the three methods that are made of it.

    level ← level + gain · (use − level)

- Simple exponential smoothing: use, with the same gain each week.
- Croston: sizes of use and intervals between uses are smoothed apart, each only in a week with use; a week's use is
  size / interval. Source: J. D. Croston, Operational Research Quarterly 23 (1972) 289–303. That comes out too high by
  about 1 / (1 − α/2), so it is multiplied by 1 − α/2. Source: A. A. Syntetos, J. E. Boylan, The accuracy of
  intermittent demand estimates, International Journal of Forecasting 21 (2005) 303–314.
- Teunter, Syntetos, Babai: the chance of use in a week is smoothed every week, the size only in a week with use; a
  week's use is chance · size, which falls while nothing is used. Source: R. H. Teunter, A. A. Syntetos, M. Z. Babai,
  Intermittent demand: linking forecasting to inventory obsolescence, European Journal of Operational Research 214
  (2011) 606–615.

Every matrix here is weeks × items, so that one week of all items lies together. The gain is the smoothing constant α,
but the first values are averaged plainly until α is more than their share (gain 1/n for the n-th value): what the
very first week happened to be would else weigh on a short history for long.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockroom.domain.use_table import running_sum

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Smoothed:
    """What a smoothing comes to. `weight` is how far the level itself is uncertain: the variance of the level is
    `weight` times the variance of one value (the sum of the squared weights of all values in it)."""

    level: Floats
    """After the last week, an item each."""
    weight: Floats
    before: Floats
    """Weeks × items: the level before each week's value, which is the forecast for that week."""
    weight_before: Floats
    """Weeks × items."""


def gains(updates: Flags, alpha: float | Floats, loads: Floats | None = None) -> Floats:
    """The gain in each week, weeks × items; 0 where nothing is updated.

    `loads` is how much of a usual week each week is (a season); without it every week is one.
    """
    import numpy as np

    gain = running_sum(updates if loads is None else updates * loads)
    np.divide(1.0, np.maximum(gain, 1e-9, out=gain), out=gain)
    np.maximum(gain, alpha, out=gain)
    if loads is not None:
        np.minimum(gain, 1.0 / np.maximum(loads, 1e-9), out=gain)
    return np.multiply(gain, updates, out=gain)


def smooth(values: Floats, gain: Floats, loads: Floats | None = None) -> Smoothed:
    """Smooths each item's values by the gain of each week (both weeks × items). Where the gain is 0 nothing changes.

    With `loads` (weeks × items) the value of a week is expected to be `load · level`.
    """
    import numpy as np

    weeks, items = values.shape
    level, weight = np.zeros(items), np.zeros(items)
    before, weight_before = np.empty((weeks, items)), np.empty((weeks, items))
    for week in range(weeks):
        before[week], weight_before[week] = level, weight
        step = gain[week]
        if loads is None:
            level = level + step * (values[week] - level)
            weight = (1.0 - step) ** 2 * weight + step**2
        else:
            load = loads[week]
            level = level + step * (values[week] - load * level)
            weight = (1.0 - step * load) ** 2 * weight + step**2 * load
    return Smoothed(level, weight, before, weight_before)


def squared_errors(
    values: Floats, share: Floats, alphas: Sequence[float], counted: Flags, loads: Floats | None = None
) -> Floats:
    """How far smoothing with each of the constants misses: the squares of the errors a week ahead, constants × items.

    `share` is the gain that the plain mean would have (`gains` with a constant of 0); `counted` says which weeks count.
    """
    import numpy as np

    constants = np.array(alphas)[:, None]
    level, total = np.zeros((len(alphas), values.shape[1])), np.zeros((len(alphas), values.shape[1]))
    updated = share > 0
    for week in range(len(values)):
        load = 1.0 if loads is None else loads[week]
        missed = values[week] - load * level
        total += counted[week] * missed**2
        step = updated[week] * np.maximum(constants, share[week])
        level += (step if loads is None else np.minimum(step, 1.0 / np.maximum(load, 1e-9))) * missed
    return total


def intervals(used: Flags, known: Flags) -> Floats:
    """Known weeks from one use to the next, in the week of the later one; the first use counts from the beginning.

    Weeks × items; 0 in weeks without use.
    """
    import numpy as np

    so_far = running_sum(known)
    at_use = np.where(used, so_far, 0.0)
    last_use = np.maximum.accumulate(at_use, axis=0)
    earlier = np.vstack([np.zeros((1, used.shape[1])), last_use[:-1]])
    return np.where(used, so_far - earlier, 0.0)


def croston_rate(size: Floats, interval: Floats, alpha: float) -> Floats:
    """A week's use by Croston's method with the correction of Syntetos and Boylan; 0 where there is no interval."""
    import numpy as np

    return np.where(interval > 0, (1.0 - alpha / 2.0) * size / np.maximum(interval, 1e-9), 0.0)
