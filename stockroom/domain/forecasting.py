"""What will be used: a forecast for each item from its weekly use, all items at once, with its working.

The rule, in this order:

1. No number is made up. An item with no use on record, with fewer than `FEWEST_WEEKS` weeks since its first use, with
   fewer than `FEWEST_USES` weeks with use, or without use for `STOPPED_WEEKS` weeks has no forecast; its least and
   its most are all there is to go by.
2. A season where three years show one beyond chance (season.py): smoothing with the season.
3. Where use dies out: Teunter, Syntetos and Babai. It dies out where its silence since the last use, or so few weeks
   with use among the last 52, would come by chance less than once in a thousand (dying_out.py); an item with a season
   only where the last 52 weeks had no use at all.
4. By class (demand_classes.py): smooth and erratic by simple exponential smoothing, intermittent and lumpy by Croston's
   method with the correction of Syntetos and Boylan (smoothing.py).

Smoothing constants: 0.1 throughout, within the 0.05 to 0.2 that the literature on seldom used items advises; for
simple smoothing the one of `ALPHAS` with the least squared error one week ahead, once a year is known.

Weekly figures are in mm or count and need not be whole. They say what is used in a week on average, how far one week's
use strays from that (`variance`), and how far the average itself is uncertain (`level_variance`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from stockroom.domain.demand_classes import ADI_LIMIT, DemandClass, demand_class
from stockroom.domain.dying_out import dies_out
from stockroom.domain.rates import Rate, croston, dying_out, smoothed
from stockroom.domain.season import CHANCE, YEAR_WEEKS, period_of, seasons
from stockroom.domain.use_history import UseHistory
from stockroom.domain.use_table import UseTable
from stockroom.domain.weeks import Week

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

FEWEST_WEEKS = 26
FEWEST_USES = 4
STOPPED_WEEKS = 104

Method = Literal["none", "smoothing", "croston", "dying out"]
Reason = Literal["", "no use", "new", "few uses", "stopped"]
"""Why there is no forecast: nothing on record; too short a history; too few weeks with use; no use for two years."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """The forecast of one item, or why it has none."""

    item: str
    by_length: bool
    """mm, else count."""
    method: Method
    reason: Reason
    """'' where there is a forecast."""
    pattern: DemandClass | Literal[""] = ""
    """Its class; '' where nothing was ever used."""
    weeks: int = 0
    """Weeks on the books since the first use."""
    gaps: int = 0
    """Weeks in between that are not on the books and were left out."""
    uses: int = 0
    """Weeks with use among them."""
    silent: int = 0
    """Weeks on the books since the last use."""
    returned: int = 0
    """What came back beyond what went out in its week, set off against the weeks before. mm or count."""
    dropped: int = 0
    """So much of it is more than ever went out before it."""
    adi: float = 0.0
    cv2: float = 0.0
    season: tuple[float, ...] = ()
    """Thirteen indices, of ISO weeks 1 to 4, 5 to 8, and so on; their mean is 1. Empty where there is no season."""
    alpha: float = 0.0
    weekly: float = 0.0
    """Use in a usual week; 0 where there is no forecast, as are the rest."""
    variance: float = 0.0
    """Of one usual week's use, about `weekly`."""
    level_variance: float = 0.0
    """Of `weekly` itself: how far it is uncertain."""
    chance: float = 0.0
    """Of use in a week, where it is seldom used (methods croston and dying out); else 0, as are the next four."""
    chance_variance: float = 0.0
    """How far `chance` is uncertain."""
    size: float = 0.0
    """Used at a time."""
    size_variance: float = 0.0
    """Of what is used at a time."""
    size_level_variance: float = 0.0
    """How far `size` is uncertain."""

    @property
    def known(self) -> bool:
        """Whether there is a forecast."""
        return self.method != "none"

    def index(self, week: Week) -> float:
        """How many usual weeks a week is worth by the season."""
        return self.season[period_of(week)] if self.season else 1.0

    def expected(self, week: Week) -> float:
        """What is used in a week to come, mm or count."""
        return self.weekly * self.index(week)


def forecast(histories: Sequence[UseHistory], last: Week) -> tuple[Forecast, ...]:
    """The forecasts, in the order of the histories, whose last week is `last` (the week before the run).

    The same history gives the same forecast, whatever else is forecast with it.
    """
    if not any(history.weekly for history in histories):
        return tuple(Forecast(history.item, history.by_length, "none", "no use") for history in histories)
    table = UseTable.of(histories)
    index, chance = seasons(table.use, table.on_books, last)
    seasonal = chance < CHANCE
    reasons = [_reason(*figures) for figures in zip(*_lists(table.weeks, table.uses, table.silent), strict=True)]
    methods = _methods(table, seasonal, reasons)
    rates = _rates(table, methods, seasonal, index, last)
    whole = (table.weeks, table.gaps, table.uses, table.silent, table.returned, table.dropped)
    seasons_of = [tuple(index[:, at].tolist()) if has else () for at, has in enumerate(seasonal.tolist())]
    patterns = [demand_class(*pair) if pair[0] else "" for pair in zip(*_lists(table.adi, table.cv2), strict=True)]
    columns = (
        methods,
        reasons,
        patterns,
        *_lists(*(column.astype(int) for column in whole), table.adi, table.cv2),
        [season if method == "smoothing" else () for season, method in zip(seasons_of, methods, strict=True)],
        *_lists(*(getattr(rates, part) for part in Rate.__slots__)),
    )
    rows = zip(histories, zip(*columns, strict=True), strict=True)
    return tuple(Forecast(history.item, history.by_length, *row) for history, row in rows)


def _lists(*columns: Floats) -> list[list[float]]:
    return [column.tolist() for column in columns]


def _reason(weeks: float, uses: float, silent: float) -> Reason:
    """Why there is no forecast, or ''."""
    if not uses:
        return "no use"
    if silent >= STOPPED_WEEKS:
        return "stopped"
    if weeks < FEWEST_WEEKS:
        return "new"
    return "few uses" if uses < FEWEST_USES else ""


def _methods(table: UseTable, seasonal: Flags, reasons: Sequence[Reason]) -> list[Method]:
    """The method of each item."""
    import numpy as np

    dying = np.where(seasonal, table.silent >= YEAR_WEEKS, dies_out(table.used, table.known, table.silent))
    often = seasonal | (table.adi < ADI_LIMIT)
    return [
        "none" if reason else "dying out" if dies else "smoothing" if smooths else "croston"
        for reason, dies, smooths in zip(reasons, dying, often, strict=True)
    ]


def _rates(table: UseTable, methods: Sequence[Method], seasonal: Flags, index: Floats, last: Week) -> Rate:
    """The rates of all items, each by its method; 0 where there is none."""
    import numpy as np

    weeks, items = table.use.shape
    whole = np.zeros((len(Rate.__slots__), items))
    chosen = np.array(methods)
    season_of = [period_of(last.following(week - weeks + 1)) for week in range(weeks)]

    def put(some: Flags, reckon: Callable[[UseTable], Rate]) -> None:
        if some.any():
            rate = reckon(table.only(some))
            whole[:, some] = [getattr(rate, part) for part in Rate.__slots__]

    put((chosen == "smoothing") & ~seasonal, lambda some: smoothed(some, None))
    loaded = (chosen == "smoothing") & seasonal
    put(loaded, lambda some: smoothed(some, index[season_of][:, loaded]))
    put(chosen == "croston", croston)
    put(chosen == "dying out", dying_out)
    return Rate(*whole)
