"""How much to keep of an item, so that what the shop promises itself is kept.

The run comes once a week. What it buys comes a lead time later, and what it does not buy comes a week after that: until
then the stock must last. So the reorder point covers the demand over the lead time and the week between runs:

    mean      weekly use · T, with T = lead time + 1 week (a season weighs each week)
    variance  σ² · T  +  how uncertain the weekly average is · T²  +  (weekly use)² · variance of the lead time

A run that finds less at hand and on order than the reorder point buys up to it at least. The target of an item's group
is one of two: how seldom a cycle (the week before the next delivery) may end in a stock-out, P(demand over T > reorder
point); or how much of the demand is met from the shelf, where of a week's demand goes unmet

    E max(demand over T − reorder point, 0) − E max(demand over the lead time − reorder point, 0).

Source of both measures and of the second formula (periodic review, unmet demand waits): E. A. Silver, D. F. Pyke,
D. J. Thomas, Inventory and Production Management in Supply Chains, 4th ed., ch. 6, from memory. A longer lead time
never keeps less, nor does a higher target.

Of what dies out nothing is kept once any demand at all is less likely than the target allows for: to serve even the
last use of it from the shelf would be to keep dead stock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from stockroom.domain.demand_spread import SPREADS, Counts, Family, Spread, family_of, least_stock
from stockroom.domain.forecasting import Forecast
from stockroom.domain.lead_time import LeadTime
from stockroom.domain.weeks import Week

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

LEAST_PER_MILLE, MOST_PER_MILLE = 500, 999
"""A target below a half or of everything is none."""


@dataclass(frozen=True, slots=True)
class Target:
    """What a shop promises itself of a group of items."""

    measure: Literal["cycle", "shelf"]
    """'cycle': the share of cycles that end without a stock-out; 'shelf': the share of demand met from the shelf."""
    per_mille: int
    """So many in a thousand, 500 to 999."""

    def words(self) -> str:
        """What is promised.

        >>> Target("cycle", 950).words(), Target("shelf", 985).words()
        ('a stock-out in at most 5 % of cycles', '98.5 % of demand met from the shelf')
        """
        if self.measure == "cycle":
            return f"a stock-out in at most {(1000 - self.per_mille) / 10:g} % of cycles"
        return f"{self.per_mille / 10:g} % of demand met from the shelf"


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked about one item."""

    forecast: Forecast
    """Known: an item without a forecast has no reorder point of this kind."""
    lead_time: LeadTime
    target: Target


@dataclass(frozen=True, slots=True)
class Kept:
    """How much to keep of one item. Quantities in mm or count."""

    asked: Asked
    weeks: float
    """Lead time and the week between runs."""
    expected: float
    """Demand over that time, on average."""
    variance: float
    """Of the demand over that time."""
    distribution: str
    """'negative binomial', 'Poisson', 'binomial', 'gamma' or 'normal'."""
    reorder_point: int
    """A run that finds less at hand and on order buys up to this at least."""
    reached: float
    """What share of cycles, or of demand, it serves by this reckoning: the target or a little more."""

    gives_up: bool
    """Its use dies out, and any demand at all over the time is less likely than the target allows: nothing is kept."""

    @property
    def safety_stock(self) -> int:
        """What is kept beyond the expected demand; negative where less will do."""
        return self.reorder_point - round(self.expected)

    def beyond(self, firm: int) -> int:
        """What to keep besides what orders in hand take within the time: they are part of the demand, not on top."""
        return max(self.reorder_point - firm, 0)


def how_much_to_keep(asked: Sequence[Asked], week: Week) -> tuple[Kept, ...]:
    """How much to keep of each item from the run of `week` on, in the order they are asked.

    Raises `ValueError` for an item without a forecast.
    """
    if any(not one.forecast.known for one in asked):
        raise ValueError("an item without a forecast has no reorder point")
    families = [family_of(a.forecast.weekly, a.forecast.variance, a.forecast.by_length) for a in asked]
    kept: dict[int, Kept] = {}
    for family in SPREADS:
        places = [at for at, own in enumerate(families) if own == family]
        if places:
            kept.update(zip(places, _keep([asked[at] for at in places], family, week), strict=True))
    return tuple(kept[at] for at in range(len(asked)))


def _keep(asked: Sequence[Asked], family: Family, week: Week) -> list[Kept]:
    """The same of items of one family."""
    import numpy as np

    make = SPREADS[family]
    leads = [one.lead_time.days / 7 for one in asked]
    spread = make(*_moments(asked, [lead + 1.0 for lead in leads], week))
    before = make(*_moments(asked, leads, week))
    allowed = np.array([1.0 - one.target.per_mille / 1000.0 for one in asked])
    by_cycle = np.array([one.target.measure == "cycle" for one in asked])

    def misses(stock: Floats) -> Floats:
        return np.where(by_cycle, spread.over(stock), _unmet(spread, before, stock, spread.mean - before.mean))

    start = spread.mean + 4.0 * np.sqrt(spread.variance)
    point = least_stock(lambda stock: misses(stock) <= allowed + 1e-9, start)
    dying = np.array([one.forecast.method == "dying out" for one in asked])
    gives_up = dying & (spread.over(np.zeros(len(asked))) <= allowed)
    point = np.where(gives_up, 0.0, point)
    names = spread.names() if isinstance(spread, Counts) else [family] * len(asked)
    figures = (asked, leads, spread.mean, spread.variance, names, point, misses(point), gives_up)
    return [
        Kept(one, lead + 1.0, float(mean), float(variance), name, int(stock), 1.0 - float(missed), bool(up))
        for one, lead, mean, variance, name, stock, missed, up in zip(*figures, strict=True)
    ]


def _unmet(whole: Spread, before: Spread, stock: Floats, demand: Floats) -> Floats:
    """The share of a week's demand that is not met from the shelf."""
    import numpy as np

    return np.where(demand > 0, (whole.short(stock) - before.short(stock)) / np.maximum(demand, 1e-12), 0.0)


def _moments(asked: Sequence[Asked], weeks: Sequence[float], week: Week) -> tuple[Floats, Floats]:
    """Mean and variance of the demand over so many weeks from `week` on, an item each."""
    import numpy as np

    usual = np.array([_usual_weeks(one.forecast, so_many, week) for one, so_many in zip(asked, weeks, strict=True)])
    weekly, variance, uncertain = (
        np.array([getattr(one.forecast, name) for one in asked]) for name in ("weekly", "variance", "level_variance")
    )
    lead_variance = np.array([(one.lead_time.spread_days / 7) ** 2 for one in asked])
    return weekly * usual, variance * usual + uncertain * usual**2 + weekly**2 * lead_variance


def _usual_weeks(forecast: Forecast, weeks: float, week: Week) -> float:
    """How many usual weeks the coming `weeks` are worth: the sum of their season's indices."""
    if not forecast.season:
        return weeks
    whole, part = divmod(weeks, 1)
    indices = [forecast.expected(week.following(ahead)) for ahead in range(int(whole) + 1)]
    return (sum(indices[:-1]) + part * indices[-1]) / forecast.weekly if forecast.weekly else weeks
