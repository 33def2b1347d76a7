"""The demand of some items over some weeks to come: what is forecast for a week, drawn out over a stretch.

    mean      weekly use · T
    variance  σ² · T  +  how uncertain the weekly average is · T²  +  (weekly use)² · variance of T

T is in usual weeks: a season makes more or less of a week (what is used seldom has none). The second part grows with
the square because all weeks of the stretch are forecast by the same average. A season is uncertain besides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockroom.domain.demand_spread import Counts, Family, Gamma, Lumps, Mixed, Normal, Spread, steady_family
from stockroom.domain.forecasting import Forecast
from stockroom.domain.season import PERIOD_WEEKS, PERIODS, YEARS, period_of
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
    def of(cls, forecasts: Sequence[Forecast], usual: Floats, season_variance: Floats, spread_weeks: Floats) -> Stretch:
        """Of so many usual weeks (see `usual_weeks`), with the standard deviation of the weeks, no more than they are.

        Every forecast is of the family of the first, and all are by length or none.
        """
        import numpy as np

        part = {name: np.array([getattr(one, name) for one in forecasts]) for name in _PARTS}
        not_known = part["level_variance"] * usual**2 + part["variance"] * season_variance
        over_weeks = part["weekly"] ** 2 * spread_weeks**2
        mean, variance = part["weekly"] * usual, part["variance"] * usual + not_known + over_weeks
        half = np.full(len(mean), 0.0 if forecasts[0].by_length else 0.5)
        return cls(mean, variance, _spread(family_of(forecasts[0]), mean, variance, half, part, usual, spread_weeks))


def _spread(
    family: Family,
    mean: Floats,
    variance: Floats,
    half: Floats,
    part: dict[str, Floats],
    weeks: Floats,
    spread_weeks: Floats,
) -> Spread:
    """How the demand is distributed."""
    if family == "counts":
        return Counts(mean, variance)
    if family == "gamma":
        return Gamma(mean, variance)
    return Normal(mean, variance, half) if family == "normal" else _lumps(part, half, weeks, spread_weeks)


def _lumps(part: dict[str, Floats], half: Floats, weeks: Floats, spread_weeks: Floats) -> Mixed:
    """Uses by chance; the chance and the weeks each a little more or a little less, as far as they are uncertain."""
    import numpy as np

    chance, size = part["chance"], part["size"]
    # The true chance may as well be so many times larger as smaller than the one that was reckoned.
    times = 1.0 + np.sqrt(part["chance_variance"]) / np.maximum(chance, 1e-9)
    # Of a few uses together the size is more uncertain than of one, since its mean is.
    of_one = part["size_variance"] + 2.0 * part["size_level_variance"]
    stretches = [np.maximum(weeks - spread_weeks, 0.0), weeks + spread_weeks] if spread_weeks.any() else [weeks]
    return Mixed(
        [
            Lumps.over_weeks(so_many, either, size, of_one, half)
            for so_many in stretches
            for either in (chance / times, np.minimum(chance * times, 1.0))
        ]
    )


_PARTS = ("weekly", "variance", "level_variance", "chance", "chance_variance", "size", "size_variance",
          "size_level_variance")  # fmt: skip


def family_of(forecast: Forecast) -> Family:
    """How the demand of an item is distributed."""
    return "lumps" if forecast.chance else steady_family(forecast.weekly, forecast.variance, forecast.by_length)


def usual_weeks(forecasts: Sequence[Forecast], weeks: Floats, week: Week) -> tuple[Floats, Floats]:
    """How many usual weeks the coming `weeks` are worth, an item each: the sum of their season's indices.

    The second is how uncertain that is: its variance, in units of one usual week's use over `weekly` squared. An index
    is an average of twelve weeks, whose use spreads as the index says, and is the same for all weeks of its period.
    """
    import numpy as np

    worth = [_worth(*pair, week) for pair in zip(forecasts, weeks.tolist(), strict=True)]
    usual, season_variance = np.array(worth).T
    return usual, season_variance


def _worth(forecast: Forecast, weeks: float, week: Week) -> tuple[float, float]:
    if not forecast.season:
        return weeks, 0.0
    of_period = [0.0] * PERIODS
    whole, part = divmod(weeks, 1)
    for ahead in range(int(whole)):
        of_period[period_of(week.following(ahead))] += 1.0
    of_period[period_of(week.following(int(whole)))] += part
    worth = [so_many * index for so_many, index in zip(of_period, forecast.season, strict=True)]
    uncertain = sum(so_many * of for so_many, of in zip(of_period, worth, strict=True))
    return sum(worth), uncertain / (YEARS * PERIOD_WEEKS)
