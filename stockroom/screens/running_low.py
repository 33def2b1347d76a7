"""What runs out and what is past its day, as the screens ask for them of the jobs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from stockroom.domain.stamp import Stamp
from stockroom.jobs.expiring import Expiring
from stockroom.jobs.low import LowItem, LowScanned


@dataclass(frozen=True, slots=True)
class LowJobs:
    """The jobs of what is used up."""

    buying_list: Callable[[], tuple[LowItem, ...]]
    expiring: Callable[[int, date], tuple[Expiring, ...]]
    """Within so many days of a day."""
    low: Callable[[str, Stamp], LowScanned]
    """An item by the tag at its shelf, or by its code."""
    not_wanted: Callable[[str, Stamp], LowScanned]


def low_words(said: LowScanned) -> tuple[str, ...]:
    """What a scan of a shelf tag did, and how it is taken back."""
    if not said.changed_anything:
        return (said.sentence,)
    return (f"{said.sentence} Taken back with ^Y, Enter; the list: type low.",)
