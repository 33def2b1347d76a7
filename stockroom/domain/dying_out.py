"""Whether the use of an item dies out: whether it has of late been used in fewer weeks than chance explains.

If nothing has changed, the weeks with use lie anywhere among the weeks on the books, so the number of them among the
last so many weeks is hypergeometric. Use dies out where so few come by chance less than once in a thousand (`CHANCE`,
our choice): either in the weeks since the last use, which have none, or in the last 52, once twice as many are known.

The first use is left out of the count, since the history begins with it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

CHANCE = 0.001
RECENT_WEEKS = 52


def dies_out(used: Flags, known: Flags, silent: Floats) -> Flags:
    """For each item whether its use dies out.

    `used` and `known` are weeks × items, the last week below; `silent` is how many known weeks have passed since the
    last use.
    """
    import numpy as np

    weeks = known.sum(axis=0) - 1.0
    uses = used.sum(axis=0) - 1.0
    none_since = chance_of_so_few(weeks, uses, silent, np.zeros_like(uses)) < CHANCE
    to_come = np.cumsum(known[::-1], axis=0)[::-1]
    recent = np.where((to_come <= RECENT_WEEKS) & known, used, False).sum(axis=0)
    long_known = weeks >= 2 * RECENT_WEEKS
    fewer = recent * weeks < uses * RECENT_WEEKS
    rarer = np.zeros(len(uses), dtype=bool)
    asked = np.flatnonzero(long_known & fewer)
    last = np.full(len(asked), float(RECENT_WEEKS))
    rarer[asked] = chance_of_so_few(weeks[asked], uses[asked], last, recent[asked].astype(float)) < CHANCE
    return np.asarray((uses > 0) & (none_since | rarer), dtype=bool)


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
