"""Whether the use of an item dies out: whether it has of late been used in fewer weeks than chance explains.

If nothing has changed, the weeks with use lie anywhere among the weeks on the books, so the number of them among the
last so many weeks is hypergeometric. Use dies out where they are less than half of what is usual, and so few come by
chance less than once in a thousand (`CHANCE`, our choice): either in the weeks since the last use, which have none, or
in the last 52, once twice as many are known.

The first use is left out of the count, since the history begins with it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from stockroom.domain.use_table import running_sum

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

CHANCE = 0.001
RECENT_WEEKS = 52
_FAR = 2.0
"""Nothing as rare as `CHANCE` is within so many variances (its square) of what is usual."""


def dies_out(used: Flags, known: Flags, silent: Floats) -> Flags:
    """For each item whether its use dies out.

    `used` and `known` are weeks × items, the last week below; `silent` is how many known weeks have passed since the
    last use.
    """
    import numpy as np

    weeks = known.sum(axis=0, dtype=float) - 1.0
    uses = used.sum(axis=0, dtype=float) - 1.0
    of_late = running_sum(known[::-1])[::-1] <= RECENT_WEEKS
    recent = (used & of_late).sum(axis=0, dtype=float)
    none_since = _too_few(weeks, uses, silent, np.zeros_like(uses))
    rarer = _too_few(weeks, uses, np.full_like(uses, RECENT_WEEKS), recent) & (weeks >= 2 * RECENT_WEEKS)
    return np.asarray(none_since | rarer, dtype=bool)


def _too_few(weeks: Floats, uses: Floats, recent: Floats, seen: Floats) -> Flags:
    """Whether so few come by chance less than `CHANCE` often; worked out where they are far below what is usual."""
    import numpy as np

    n = np.maximum(weeks, 2.0)
    share, often = np.minimum(recent / n, 1.0), np.maximum(uses, 0.0) / n
    usual = uses * share
    variance = usual * (1.0 - share) * (1.0 - often) * n / (n - 1.0)
    asked = np.flatnonzero((2.0 * seen < usual) & ((usual - seen) ** 2 > _FAR * variance))
    few = np.zeros(len(weeks), dtype=bool)
    few[asked] = chance_of_so_few(weeks[asked], uses[asked], recent[asked], seen[asked]) < CHANCE
    return few


def chance_of_so_few(weeks: Floats, uses: Floats, recent: Floats, seen: Floats) -> Floats:
    """How likely at most `seen` of the `uses` weeks with use lie among the last `recent` of all the `weeks`.

    >>> import numpy as np
    >>> one = lambda figure: np.array([float(figure)])
    >>> chance_of_so_few(one(10), one(3), one(5), one(0)).round(4)  # C(5,3) / C(10,3) = 10 / 120
    array([0.0833])
    """
    import numpy as np

    most = int(seen.max(initial=0.0))
    total = np.zeros(len(weeks))
    for so_many in range(most + 1):
        before = weeks - recent
        possible = (so_many <= seen) & (uses - so_many <= before) & (so_many <= np.minimum(uses, recent))
        n, k, r, b = (np.where(possible, part, 0.0) for part in (weeks, uses, recent, before))
        j = np.where(possible, float(so_many), 0.0)
        ways = _log_ways(r, j) + _log_ways(b, k - j) - _log_ways(n, k)
        total += np.where(possible, np.exp(ways), 0.0)
    return np.minimum(total, 1.0)


def _log_ways(all_of: Floats, taken: Floats) -> Floats:
    """Natural logarithm of the ways to take so many of all."""
    import numpy as np
    from scipy.special import gammaln

    return np.asarray(gammaln(all_of + 1.0) - gammaln(taken + 1.0) - gammaln(all_of - taken + 1.0), dtype=float)
