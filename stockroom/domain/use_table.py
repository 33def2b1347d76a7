"""Weekly use of many items as one table, and the plain figures of each item that every method starts from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockroom.domain.use_history import CleanUse

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class UseTable:
    """Everything that is reckoned with, weeks × items or an item each; unknown weeks hold 0."""

    use: Floats
    known: Flags
    used: Flags
    weeks: Floats
    uses: Floats
    silent: Floats
    adi: Floats
    size_variance: Floats
    """Of the amounts in the weeks with use."""
    cv2: Floats

    @classmethod
    def of(cls, clean: Sequence[CleanUse]) -> UseTable:
        import numpy as np

        use, known = _matrix(clean)
        used = use > 0
        weeks, uses = known.sum(axis=0).astype(float), used.sum(axis=0).astype(float)
        size = use.sum(axis=0) / np.maximum(uses, 1.0)
        spread = (np.where(used, use - size, 0.0) ** 2).sum(axis=0) / np.maximum(uses - 1.0, 1.0)
        silent = weeks - np.where(used, np.cumsum(known, axis=0), 0).max(axis=0)
        adi = weeks / np.maximum(uses, 1.0)
        return cls(use, known, used, weeks, uses, silent, adi, spread, spread / np.maximum(size, 1.0) ** 2)

    def only(self, items: Flags) -> UseTable:
        """The same of some items."""
        return UseTable(*(getattr(self, part)[..., items] for part in self.__slots__))


def after_first(flags: Flags, so_many: int) -> Flags:
    """The flags without the first so many of each item."""
    import numpy as np

    return np.asarray(flags & (np.cumsum(flags, axis=0) > so_many), dtype=bool)


def _matrix(clean: Sequence[CleanUse]) -> tuple[Floats, Flags]:
    """Weeks × items, the last week below; and which of them are known."""
    import numpy as np

    weeks = max(len(one.weekly) for one in clean)
    rows = np.array([(None,) * (weeks - len(one.weekly)) + one.weekly for one in clean], dtype=float).T
    known = ~np.isnan(rows)
    return np.ascontiguousarray(np.where(known, rows, 0.0)), known
