"""What was done, and taking it back, as the undo page asks for them of the jobs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from stockroom.domain.stamp import Stamp
from stockroom.jobs.undo import DoneJob, ListedJob, Undone


@dataclass(frozen=True, slots=True)
class UndoJobs:
    """The jobs of undoing."""

    latest_jobs: Callable[[int], tuple[ListedJob, ...]]
    """So many of the latest, newest first; whether they can be undone is not looked at."""
    look_at: Callable[[Sequence[int]], tuple[DoneJob, ...]]
    """Those of these numbers, each with whether it can be undone."""
    undo: Callable[[int, Stamp], Undone]
