"""How the demand of a stretch of time is distributed, for many items at once: by its mean and its variance.

- Lumps, for what is used seldom: each week used or not, by chance, and a size at a time that is gamma. It knows that
  most stretches have no use at all, and that a use is a whole one. What is not known for certain (the chance, the
  lead time) is either more or less there (`Mixed`), so that a longer stretch is always a shorter one and some more.
- Counts, for what is used most weeks: negative binomial where the variance is above the mean, Poisson where it is the
  mean, binomial where it is below. One family in three parts, each the limit of the next: H. H. Panjer, ASTIN Bulletin
  12 (1981), from memory.
- Lengths that are used most weeks: gamma, which is never negative and as skewed as its spread says.
- Normal, only where it fits: used most weeks, and one week's spread a quarter of one week's use at most
  (`NORMAL_UP_TO`), so that use below nothing is out of the question (one in 30,000) and the skew is slight.

Which of them is used hangs on the item alone, never on the length of the stretch: else a longer stretch could pass
from one to another and seem to need less.

Each has `over(stock)`, the chance that demand is more than the stock, and `short(stock)`, by how much it is more on
average: E max(demand − stock, 0). Stocks are whole numbers, an item each.

>>> import numpy as np
>>> one = lambda figure: np.array([float(figure)])
>>> Counts(one(2), one(2)).over(one(1)).round(4)  # Poisson: 1 − 3 e⁻²
array([0.594])
>>> Lumps.over_weeks(one(2.5), one(0.2), one(3), one(0), one(0)).over(one(2)).round(4)  # any use at all: 1 − 0.8² · 0.9
array([0.424])
>>> Normal(one(50), one(64), one(0)).short(one(50)).round(4)  # 8 / √(2π)
array([3.1915])
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, Protocol

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

NORMAL_UP_TO = 0.25
"""Largest ratio of one week's standard deviation to one week's use for which normal is taken to fit."""
_LIKE_POISSON = 1e-6
_LIKE_EQUAL = 0.02
"""Sizes that spread less than this ratio are reckoned as if they spread by it."""
_NEVER = 1e-9
"""A chance that is left out of a sum."""

Family = Literal["lumps", "counts", "gamma", "normal"]


def steady_family(weekly: float, variance: float, by_length: bool) -> Family:
    """Which family suits an item that is used most weeks, by one week's use and its variance.

    >>> steady_family(20, 16, by_length=False), steady_family(2, 4, by_length=False)
    ('normal', 'counts')
    >>> steady_family(900, 640_000, by_length=True)
    'gamma'
    """
    if variance <= (NORMAL_UP_TO * weekly) ** 2:
        return "normal"
    return "gamma" if by_length else "counts"


class Spread(Protocol):
    """The demand of some items over some stretch of time each."""

    def over(self, stock: Floats) -> Floats:
        """The chance that demand is more than the stock."""
        ...

    def short(self, stock: Floats) -> Floats:
        """What demand is above the stock, on average."""
        ...


@dataclass(frozen=True, slots=True)
class Counts:
    """Whole counts: negative binomial, Poisson or binomial, as mean and variance have it."""

    mean: Floats
    variance: Floats

    def over(self, stock: Floats) -> Floats:
        """The chance that demand is more than the stock."""
        return self.reaches(stock + 1.0)

    def short(self, stock: Floats) -> Floats:
        """What demand is above the stock, on average: m · P(N ≥ s) − s · P(D > s), with N of a size one larger."""
        import numpy as np

        return np.maximum(self.mean * self.reaches(stock, larger=1.0) - stock * self.over(stock), 0.0)

    def reaches(self, count: Floats, larger: float = 0.0) -> Floats:
        """P(demand ≥ count); with `larger` 1 that of demand one use larger less that use (size-biased)."""
        import numpy as np
        from scipy.special import betainc, gammainc

        m, v, k = np.maximum(self.mean, 1e-12), np.maximum(self.variance, 1e-12), np.maximum(count, 1.0)
        lumps, even = v > m * (1.0 + _LIKE_POISSON), v < m * (1.0 - _LIKE_POISSON)
        r = np.where(lumps, m**2 / np.where(lumps, v - m, 1.0), 1.0) + larger
        p = np.where(even, 1.0 - v / m, 0.5)
        room = np.where(even, m / p, k + 1.0) - larger - k + 1.0
        by_binomial = np.where(room > 0, betainc(k, np.maximum(room, 1e-12), p), 0.0)
        by_lumps = betainc(k, r, np.where(lumps, 1.0 - m / v, 0.5))
        chance = np.where(lumps, by_lumps, np.where(even, by_binomial, gammainc(k, m)))
        return np.asarray(np.where(count <= 0, 1.0, chance), dtype=float)


@dataclass(frozen=True, slots=True)
class Lumps:
    """In each week used or not, by chance; and a gamma size at a time. A part of a week has that part of the chance."""

    chances: Floats
    """Of so many uses, uses × items: the first row of one use, the second of two, and so on."""
    size: Floats
    """Mean of one use."""
    size_variance: Floats
    half: Floats
    """A half where sizes are whole counts, which gamma smooths over; 0 for lengths."""

    @classmethod
    def over_weeks(cls, weeks: Floats, chance: Floats, size: Floats, size_variance: Floats, half: Floats) -> Lumps:
        """Of so many weeks, with the chance of use in each."""
        import numpy as np

        rows: list[Floats] = []
        reached = _used(1.0, weeks, chance)
        while (reached > _NEVER).any():
            further = _used(len(rows) + 2.0, weeks, chance)
            rows.append(np.maximum(reached - further, 0.0))
            reached = further
        return cls(np.array(rows).reshape(len(rows), len(weeks)), size, size_variance, half)

    def over(self, stock: Floats) -> Floats:
        """The chance that demand is more than the stock."""
        return self._sum(lambda some, uses: self._above(some, uses, stock + self.half, 0.0))

    def short(self, stock: Floats) -> Floats:
        """What demand is above the stock, on average."""
        import numpy as np

        def one(some: NDArray[np.intp], uses: float) -> Floats:
            mean = uses * self.size[some] * self._above(some, uses, stock, 1.0)
            return np.asarray(mean - stock[some] * self._above(some, uses, stock, 0.0), dtype=float)

        return np.maximum(self._sum(one), 0.0)

    def _sum(self, one: Callable[[NDArray[np.intp], float], Floats]) -> Floats:
        """The average over the number of uses of what `one` gives for some items at so many uses."""
        import numpy as np

        total = np.zeros(len(self.size))
        for before, chances in enumerate(self.chances):
            some = np.flatnonzero(chances > _NEVER)
            total[some] += chances[some] * one(some, before + 1.0)
        return total

    def _above(self, some: NDArray[np.intp], uses: float, stock: Floats, larger: float) -> Floats:
        """The chance that so many uses are above the stock; the shape of their gamma so much larger."""
        import numpy as np
        from scipy.special import gammaincc

        m, v = self.size[some], np.maximum(self.size_variance[some], (_LIKE_EQUAL * self.size[some]) ** 2)
        return np.asarray(gammaincc(uses * m**2 / v + larger, stock[some] * m / v), dtype=float)


def _used(uses: float, weeks: Floats, chance: Floats) -> Floats:
    """The chance of at least so many uses in weeks that need not be whole."""
    import numpy as np

    whole = np.floor(weeks)
    part = (weeks - whole) * chance
    return (1.0 - part) * _at_least(uses, whole, chance) + part * _at_least(uses - 1.0, whole, chance)


def _at_least(uses: float, weeks: Floats, chance: Floats) -> Floats:
    """The chance of at least so many uses in whole weeks: binomial."""
    import numpy as np
    from scipy.special import betainc

    if uses <= 0:
        return np.ones(len(weeks))
    return np.where(uses <= weeks, betainc(uses, np.maximum(weeks - uses + 1.0, 1.0), chance), 0.0)


@dataclass(frozen=True, slots=True)
class Mixed:
    """One or another of several, with the same chance each: what is not known for certain."""

    parts: Sequence[Spread]

    def over(self, stock: Floats) -> Floats:
        """The chance that demand is more than the stock."""
        import numpy as np

        return np.asarray(sum(part.over(stock) for part in self.parts) / len(self.parts), dtype=float)

    def short(self, stock: Floats) -> Floats:
        """What demand is above the stock, on average."""
        import numpy as np

        return np.asarray(sum(part.short(stock) for part in self.parts) / len(self.parts), dtype=float)


@dataclass(frozen=True, slots=True)
class Gamma:
    """Gamma, by mean and variance."""

    mean: Floats
    variance: Floats

    def over(self, stock: Floats) -> Floats:
        """The chance that demand is more than the stock."""
        return self._above(stock, 0.0)

    def short(self, stock: Floats) -> Floats:
        """What demand is above the stock, on average."""
        import numpy as np

        return np.maximum(self.mean * self._above(stock, 1.0) - stock * self._above(stock, 0.0), 0.0)

    def _above(self, stock: Floats, larger: float) -> Floats:
        """The chance to be above the stock, of a gamma whose shape is so much larger."""
        import numpy as np
        from scipy.special import gammaincc

        m, v = np.maximum(self.mean, 1e-12), np.maximum(self.variance, 1e-12)
        return np.asarray(gammaincc(m**2 / v + larger, stock * m / v), dtype=float)


@dataclass(frozen=True, slots=True)
class Normal:
    """Normal, by mean and variance."""

    mean: Floats
    variance: Floats
    half: Floats
    """A half where demand is whole counts, which normal smooths over; 0 for lengths."""

    def over(self, stock: Floats) -> Floats:
        """The chance that demand is more than the stock."""
        import numpy as np
        from scipy.special import ndtr

        return np.asarray(ndtr((self.mean - stock - self.half) / self._sd()), dtype=float)

    def short(self, stock: Floats) -> Floats:
        """What demand is above the stock, on average: σ (φ(z) − z (1 − Φ(z)))."""
        import numpy as np
        from scipy.special import ndtr

        z = np.clip((stock - self.mean) / self._sd(), -1e9, 1e9)
        density = np.exp(-0.5 * np.minimum(z**2, 1400.0)) / np.sqrt(2.0 * np.pi)
        return np.asarray(np.maximum(self._sd() * (density - z * ndtr(-z)), 0.0), dtype=float)

    def _sd(self) -> Floats:
        import numpy as np

        return np.asarray(np.sqrt(np.maximum(self.variance, 1e-12)), dtype=float)


def count_name(mean: float, variance: float) -> str:
    """Which of its three parts `Counts` is.

    >>> count_name(2.0, 3.0), count_name(2.0, 2.0), count_name(2.0, 1.0)
    ('negative binomial', 'Poisson', 'binomial')
    """
    if abs(variance - mean) <= _LIKE_POISSON * mean:
        return "Poisson"
    return "negative binomial" if variance > mean else "binomial"


def least_stock(enough: Callable[[Floats], Flags], start: Floats) -> Floats:
    """The least whole stock that is enough, an item each, where more stock is always enough, too.

    `start` is a first guess from above; it is doubled where it is not enough.
    """
    import numpy as np

    top = np.ceil(np.maximum(start, 1.0))
    for _ in range(64):
        lacking = ~enough(top)
        if not lacking.any():
            break
        top = np.where(lacking, 2.0 * top, top)
    low = np.full(top.shape, -1.0)
    while (top - low > 1.0).any():
        middle = np.floor((low + top) / 2.0)
        fits = enough(middle)
        top, low = np.where(fits, middle, top), np.where(fits, low, middle)
    return top
