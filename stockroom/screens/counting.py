"""Counting, as the counts page and the page of a sheet ask for it of the jobs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from stockroom.domain.stamp import Stamp
from stockroom.jobs.count import Begun, Closing, CountClosed, Entered, Sheet
from stockroom.jobs.count_due import CountsDue


@dataclass(frozen=True, slots=True)
class CountJobs:
    """The jobs of counting. Sheets are named by their numbers."""

    due: Callable[[datetime], CountsDue]
    sheets: Callable[[], tuple[Sheet, ...]]
    """Those that are open."""
    sheet: Callable[[int], Sheet]
    begin: Callable[[str, Stamp], Begun]
    """A place by its code or tag; an item by its code or words of its name."""
    enter: Callable[[int, str, str, Stamp], Entered]
    """On a sheet, the thing of a tag, the figure as it was typed."""
    closing: Callable[[int], Closing]
    close: Callable[[int, Stamp, Sequence[str], Sequence[str] | None], CountClosed]
    """A sheet, tags of what is missing, tags of what is left uncounted (`None`: all the others)."""
    leave: Callable[[int, Stamp], Sheet]
