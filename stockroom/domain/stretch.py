"""The demand of some items over some weeks to come: what is forecast for a week, drawn out over a stretch.

    mean      weekly use · T
    variance  σ² · T  +  how uncertain the weekly average is · T²  +  (weekly use)² · variance of T

T is in usual weeks: a season makes more or less of a week. The second part grows with the square because all weeks of
the stretch are forecast by the same average.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockroom.domain.demand_spread import Counts, Family, Gamma, Lumps, Normal, Spread, steady_family
from stockroom.domain.forecasting import Forecast
from stockroom.domain.weeks import Week

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Demand over a stretch of time, an item each, all of one family."""

    mean: Floats
    variance: Floats
    spread: Spread

    @classmethod
    def of(cls, forecasts: Sequence[Forecast], weeks: Floats, variance_of_weeks: Floats, week: Week) -> Stretch:
        """So many weeks from `week` on. Every forecast is of the family of the first."""
        import numpy as np

        usual = np.array([_usual_weeks(*pair, week) for pair in zip(forecasts, weeks.tolist(), strict=True)])
        part = {name: np.array([getattr(one, name) for one in forecasts]) for name in _PARTS}
        over_weeks = part["level_variance"] * usual**2 + part["weekly"] ** 2 * variance_of_weeks
        mean, variance = part["weekly"] * usual, part["variance"] * usual + over_weeks
        family = family_of(forecasts[0])
        if family == "lumps":
            return cls._lumps(part, usual, variance_of_weeks, forecasts[0].by_length)
        if family == "counts":
            return cls(mean, variance, Counts(mean, variance))
        return cls(mean, variance, Gamma(mean, variance) if family == "gamma" else Normal(mean, variance))

    @classmethod
    def _lumps(cls, part: dict[str, Floats], usual: Floats, variance_of_weeks: Floats, by_length: bool) -> Stretch:
        import numpy as np

        chance, size = part["chance"], part["size"]
        mean = chance * usual
        shared = part["chance_variance"] * usual**2 + chance**2 * variance_of_weeks
        uses = Counts(mean, chance * (1.0 - chance) * usual + shared)
        # The size is uncertain for all uses alike: the more of them, the more that matters.
        each = part["size_variance"] + part["size_level_variance"] * (1.0 + mean)
        half = np.full(len(size), 0.0 if by_length else 0.5)
        return cls(mean * size, mean * each + uses.variance * size**2, Lumps(uses, size, each, half))


_PARTS = ("weekly", "variance", "level_variance", "chance", "chance_variance", "size", "size_variance",
          "size_level_variance")  # fmt: skip


def family_of(forecast: Forecast) -> Family:
    """How the demand of an item is distributed."""
    return "lumps" if forecast.chance else steady_family(forecast.weekly, forecast.variance, forecast.by_length)


def _usual_weeks(forecast: Forecast, weeks: float, week: Week) -> float:
    """How many usual weeks the coming `weeks` are worth: the sum of their season's indices."""
    if not forecast.season:
        return weeks
    whole, part = divmod(weeks, 1)
    indices = [forecast.index(week.following(ahead)) for ahead in range(int(whole) + 1)]
    return sum(indices[:-1]) + part * indices[-1]
