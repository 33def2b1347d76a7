"""A shelf that is bought for once a week, played through week by week: what the reorder points keep of their promise.

Every item of a kind is another draw of the same demand. Its reorder point comes from three years of its own history,
as in a shop, and stands for the weeks to come. The best that any one reorder point could do is found by trying, on the
very same weeks to come.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockroom.domain.forecasting import forecast
from stockroom.domain.keeping import Asked, Target, how_much_to_keep
from stockroom.domain.lead_time import LeadTime
from stockroom.domain.use_history import UseHistory
from stockroom.domain.weeks import Week

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Draw = Callable[[np.random.Generator, tuple[int, int]], NDArray[np.int64]]

HISTORY_WEEKS = 156
RUN = Week(2026, 48)


def seldom(chance: float, sizes: Draw) -> Draw:
    """Used in a week by chance, then of some size."""

    def draw(random: np.random.Generator, shape: tuple[int, int]) -> Whole:
        return np.where(random.random(shape) < chance, sizes(random, shape), 0)

    return draw


# Count or mm a week, and whether it is by length.
KINDS: dict[str, tuple[Draw, bool]] = {
    "smooth, by count": (lambda random, shape: random.poisson(6, shape), False),
    "smooth, by length": (lambda random, shape: random.normal(20_000, 4_000, shape).clip(0).astype(int), True),
    "erratic, by count": (lambda random, shape: random.negative_binomial(1, 0.1, shape) + 1, False),
    "intermittent, by count": (seldom(0.2, lambda random, shape: random.poisson(2, shape) + 1), False),
    "intermittent, by length": (seldom(0.3, lambda random, shape: random.integers(800, 4_000, shape)), True),
    "lumpy, by count": (seldom(0.2, lambda random, shape: random.negative_binomial(1, 0.1, shape) + 1), False),
    "lumpy, by length": (seldom(0.3, lambda random, shape: random.gamma(1, 3_000, shape).astype(int) + 1), True),
}


@dataclass(frozen=True, slots=True)
class Played:
    """What came of it, an item each."""

    cycles: Floats
    """Share of the weeks that ended without a stock-out."""
    met: Floats
    """Share of the demand that was met from the shelf."""
    held: Floats
    """What lay on the shelf at the end of a week, on average."""

    def share(self, measure: str) -> Floats:
        """What a target of this measure promises."""
        return self.cycles if measure == "cycle" else self.met


def play(demand: Whole, points: Floats, lead_weeks: int) -> Played:
    """Buys up to the points every Monday; goods come at the beginning of a later week, and unmet demand waits.

    `demand` is items × weeks. The first weeks, before anything bought has come, are not counted.
    """
    items, weeks = demand.shape
    net, coming = points.astype(float).copy(), np.zeros((weeks + lead_weeks + 1, items))
    on_order = np.zeros(items)
    safe, met, held = np.zeros(items), np.zeros(items), np.zeros(items)
    for week in range(weeks):
        bought = points - (net + on_order)
        coming[week + lead_weeks] += bought
        on_order += bought - coming[week]
        net = net + coming[week]
        wanted = demand[:, week]
        if week > lead_weeks:
            met += np.minimum(wanted, np.maximum(net, 0))
        net = net - wanted
        if week > lead_weeks:
            safe += net >= 0
            held += np.maximum(net, 0)
    counted = weeks - lead_weeks - 1
    return Played(safe / counted, met / demand[:, lead_weeks + 1 :].sum(axis=1), held / counted)


def promised(history: Whole, by_length: bool, target: Target, leads: Sequence[LeadTime], run: Week = RUN) -> Floats:
    """The reorder points that the program gives the items, from their histories (items × weeks)."""
    histories = [UseHistory(str(at), by_length, tuple(row.tolist())) for at, row in enumerate(history)]
    found = forecast(histories, run.following(-1))
    asked = [Asked(one, lead, target) for one, lead in zip(found, leads, strict=True)]
    return np.array([one.reorder_point for one in how_much_to_keep(asked, run)], dtype=float)


def best_point(demand: Whole, target: Target, lead_weeks: int) -> int:
    """The least reorder point, the same for all items, that keeps the promise on this demand."""
    low, high = -1, int(demand.max()) * (lead_weeks + 1)
    while high - low > 1:
        middle = (low + high) // 2
        found = play(demand, np.full(len(demand), float(middle)), lead_weeks).share(target.measure)
        low, high = (low, middle) if found.mean() >= target.per_mille / 1000 else (middle, high)
    return high
