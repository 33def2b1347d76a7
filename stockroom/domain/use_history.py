"""What was used of an item week by week, made fit to forecast from.

Three things are put right, each by a rule and each told to whoever reads the working:

- weeks before the first use say nothing: the item may not have been kept yet;
- a week that is not on the books (`None`) is not a week without use: it is left out;
- what came back in a week beyond what went out is taken off the weeks before it, the latest first. What is more than
  ever went out is dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

SILENT_WEEKS = 4
"""So many weeks in a row in which a whole shop books nothing are taken for weeks that nobody wrote down."""


@dataclass(frozen=True, slots=True)
class UseHistory:
    """Weekly use of one item."""

    item: str
    by_length: bool
    """mm, else count."""
    weekly: tuple[int | None, ...]
    """Used in each week, oldest first, the last one the week before the run; `None`: not on the books.

    Negative where more came back than went out."""


@dataclass(frozen=True, slots=True)
class CleanUse:
    """Weekly use with what came back set off."""

    weekly: tuple[int | None, ...]
    """Never negative."""
    returned: int
    """What came back beyond what went out in its week, mm or count."""
    dropped: int
    """So much of that is more than ever went out before it."""


def clean_use(weekly: Sequence[int | None]) -> CleanUse:
    """Sets off what came back.

    >>> clean_use([None, 0, 5, None, 4, -6, 2])
    CleanUse(weekly=(None, 0, 3, None, 0, 0, 2), returned=6, dropped=0)
    >>> clean_use([0, 1, -3])
    CleanUse(weekly=(0, 0, 0), returned=3, dropped=2)
    """
    kept = list(weekly)
    returned = dropped = 0
    for at, used in enumerate(kept):
        if used is None or used >= 0:
            continue
        left, kept[at] = -used, 0
        returned += left
        for before in range(at - 1, -1, -1):
            taken = min(left, kept[before] or 0)
            if taken:
                kept[before] = (kept[before] or 0) - taken
                left -= taken
            if not left:
                break
        dropped += left
    return CleanUse(tuple(kept), returned, dropped)


def silent_weeks(movements: Sequence[int]) -> frozenset[int]:
    """The places of the weeks that nobody wrote down, from the number of movements of all items in each week.

    They are those before the first movement, and any `SILENT_WEEKS` or more in a row that have none. A short
    standstill (a week's holiday) is a standstill and no gap.

    >>> sorted(silent_weeks([0, 7, 0, 3, 0, 0, 0, 0, 9]))
    [0, 4, 5, 6, 7]
    """
    silent: set[int] = set()
    run: list[int] = []
    began = False
    for week, so_many in enumerate(movements):
        if so_many:
            silent.update(run if len(run) >= SILENT_WEEKS or not began else ())
            run, began = [], True
        else:
            run.append(week)
    silent.update(run if len(run) >= SILENT_WEEKS or not began else ())
    return frozenset(silent)
