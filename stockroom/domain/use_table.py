"""Weekly use of many items as one table, and the plain figures of each item that every method starts from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockroom.domain.use_history import UseHistory, clean_use

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class UseTable:
    """Weeks × items, the last week below, or an item each. Weeks that are not known hold 0 in `use`."""

    use: Floats
    on_books: Flags
    known: Flags
    """On the books, and not before the week of the first use."""
    used: Flags
    weeks: Floats
    """How many are known."""
    gaps: Floats
    """How many after the first use are not."""
    uses: Floats
    """In how many it was used."""
    silent: Floats
    """How many are known since the last use."""
    returned: Floats
    """What came back beyond what went out in its week."""
    dropped: Floats
    """So much of that is more than ever went out before it."""
    adi: Floats
    cv2: Floats
    size_variance: Floats
    """Of the amounts in the weeks with use."""

    @classmethod
    def of(cls, histories: Sequence[UseHistory]) -> UseTable:
        """The table of these items, one at least."""
        import numpy as np

        use, returned, dropped = _matrix(histories)
        used = use > 0
        since_first = np.logical_or.accumulate(used, axis=0)
        on_books = ~np.isnan(use)
        known = since_first & on_books
        use = np.where(known, use, 0.0)
        weeks, uses = known.sum(axis=0, dtype=float), used.sum(axis=0, dtype=float)
        gaps = since_first.sum(axis=0, dtype=float) - weeks
        size = use.sum(axis=0) / np.maximum(uses, 1.0)
        spread = column_sums(np.where(used, use - size, 0.0) ** 2) / np.maximum(uses - 1.0, 1.0)
        silent = (known & ~np.logical_or.accumulate(used[::-1], axis=0)[::-1]).sum(axis=0, dtype=float)
        adi, cv2 = weeks / np.maximum(uses, 1.0), spread / np.maximum(size, 1.0) ** 2
        return cls(use, on_books, known, used, weeks, gaps, uses, silent, returned, dropped, adi, cv2, spread)

    def only(self, items: Flags) -> UseTable:
        """The same of some items."""
        return UseTable(*(getattr(self, part)[..., items] for part in self.__slots__))


def column_sums(rows: Floats) -> Floats:
    """The sum of all rows, row by row: NumPy's own adds up one column in another order than the same among others."""
    import numpy as np

    total = np.zeros(rows.shape[1:])
    for row in rows:
        total += row
    return total


def running_sum(rows: Floats | Flags) -> Floats:
    """The sum of each row and all before it. Row by row, since NumPy's own goes down each column by itself."""
    import numpy as np

    sums = np.empty(rows.shape)
    total = np.zeros(rows.shape[1])
    for at, row in enumerate(rows):
        total += row
        sums[at] = total
    return sums


def after_first(flags: Flags, so_many: int) -> Flags:
    """The flags without the first so many of each item."""
    import numpy as np

    return np.asarray(flags & (running_sum(flags) > so_many), dtype=bool)


def _matrix(histories: Sequence[UseHistory]) -> tuple[Floats, Floats, Floats]:
    """Weeks × items with what came back set off, `nan` where nothing is known; and what came back and was dropped."""
    import numpy as np

    weeks = max(len(one.weekly) for one in histories)
    rows = [one.weekly if len(one.weekly) == weeks else (None,) * (weeks - len(one.weekly)) + one.weekly
            for one in histories]  # fmt: skip
    use = np.array(rows, dtype=float).reshape(len(rows), weeks)
    returned, dropped = np.zeros(len(rows)), np.zeros(len(rows))
    for at in np.flatnonzero((use < 0).any(axis=1)).tolist():
        clean = clean_use(rows[at])
        use[at] = clean.weekly
        returned[at], dropped[at] = clean.returned, clean.dropped
    return np.ascontiguousarray(use.T), returned, dropped
