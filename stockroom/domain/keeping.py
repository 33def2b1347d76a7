"""How much to keep of an item, so that what the shop promises itself is kept.

The run comes once a week. What it buys comes a lead time later, and what it does not buy comes a week after that: until
then the stock must last. So the reorder point covers the demand over T = lead time + one week (stretch.py). A run that
finds less at hand and on order than the reorder point buys up to it at least.

The target of an item's group is one of two: how seldom a cycle (the week before the next delivery) may end in a
stock-out, P(demand over T > reorder point); or how much of the demand is met from the shelf, where of the demand of
the last usual week of T goes unmet

    E max(demand over T − reorder point, 0) − E max(demand over T without that week − reorder point, 0).

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

from stockroom.domain.demand_spread import Family, count_name, least_stock
from stockroom.domain.forecasting import Forecast
from stockroom.domain.lead_time import LeadTime
from stockroom.domain.stretch import Stretch, family_of, usual_weeks
from stockroom.domain.weeks import Week

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Measure = Literal["cycle", "shelf"]
LEAST_PER_MILLE, MOST_PER_MILLE = 500, 999
"""A target below a half or of everything is none."""


@dataclass(frozen=True, slots=True)
class Target:
    """What a shop promises itself of a group of items."""

    measure: Measure
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
    """How that demand is taken to be distributed, in words: 'negative binomial', 'normal', ..."""
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


def how_much_to_keep(asked: Sequence[Asked], week: Week) -> tuple[Kept, ...]:
    """How much to keep of each item from the run of `week` on, in the order they are asked.

    Raises `ValueError` for an item without a forecast.
    """
    if any(not one.forecast.known for one in asked):
        raise ValueError("an item without a forecast has no reorder point")
    alike: dict[tuple[Family, Measure, bool, bool], list[int]] = {}
    for at, one in enumerate(asked):
        spreads = one.lead_time.next_spread_days > 0
        kind = (family_of(one.forecast), one.target.measure, one.forecast.by_length, spreads)
        alike.setdefault(kind, []).append(at)
    kept: dict[int, Kept] = {}
    for (family, measure, *_), places in alike.items():
        some = [asked[at] for at in places]
        kept.update(zip(places, _keep(some, family, measure, week), strict=True))
    return tuple(kept[at] for at in range(len(asked)))


def _keep(asked: Sequence[Asked], family: Family, measure: Measure, week: Week) -> list[Kept]:
    """The same of items that are alike: of one family, all counted or all by length, by one measure."""
    import numpy as np

    forecasts = [one.forecast for one in asked]
    leads = np.array([one.lead_time.days / 7 for one in asked])
    lead_spreads = np.array([one.lead_time.next_spread_days / 7 for one in asked])
    usual, unsure = usual_weeks(forecasts, leads + 1.0, week)
    whole = Stretch.of(forecasts, usual, unsure, lead_spreads)
    # What goes unmet is asked of a usual week: by a slack one, a longer lead time would seem to need less.
    less = np.maximum(usual - 1.0, 0.0)
    before = Stretch.of(forecasts, less, unsure * (less / usual) ** 2, lead_spreads)
    allowed = np.array([1.0 - one.target.per_mille / 1000.0 for one in asked])

    def missed(stock: Floats) -> Floats:
        return whole.spread.over(stock) if measure == "cycle" else _unmet(whole, before, stock)

    start = whole.mean + 4.0 * np.sqrt(whole.variance)
    point = least_stock(lambda stock: missed(stock) <= allowed + 1e-9, start)
    dying = np.array([one.method == "dying out" for one in forecasts])
    gives_up = dying & (whole.spread.over(np.zeros(len(asked))) <= allowed)
    point = np.where(gives_up, 0.0, point)
    columns = (leads + 1.0, whole.mean, whole.variance, point, 1.0 - missed(point), gives_up)
    return [
        Kept(one, weeks, mean, variance, _name(family, mean, variance), int(stock), reached, up)
        for one, weeks, mean, variance, stock, reached, up in zip(
            asked, *(column.tolist() for column in columns), strict=True
        )
    ]


def _unmet(whole: Stretch, before: Stretch, stock: Floats) -> Floats:
    """The share of a week's demand that is not met from the shelf."""
    import numpy as np

    demand = whole.mean - before.mean
    unmet = whole.spread.short(stock) - before.spread.short(stock)
    return np.where(demand > 0, unmet / np.maximum(demand, 1e-12), 0.0)


def _name(family: Family, mean: float, variance: float) -> str:
    """What the distribution is called."""
    if family == "lumps":
        return "use by chance in each week, with a gamma size"
    return count_name(mean, variance) if family == "counts" else family
