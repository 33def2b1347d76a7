"""Jobs that were done, made by hand: what is undone is kept, in order, with whose initials."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.undo import DoneJob, ListedJob, Undone
from stockroom.screens.undoing import UndoJobs

AT = datetime(2026, 11, 25, 8, 12, tzinfo=UTC)
IN_THE_WAY = "What it held, or what it made, is in use by now. Since then: cut R1042L (job 44, AB, 2026-11-25 08:12)."


def made(number: int, what: str, by: str, minutes: int, why_not: str = "", printed: tuple[str, ...] = ()) -> DoneJob:
    """One job, so many minutes ago."""
    return DoneJob(number, what, by, AT - timedelta(minutes=minutes), "", None, None, why_not, printed)


DONE = (
    made(45, "move R1042L to C1", "AB", 0),
    made(44, "cut R1042L for order L-1042", "AB", 9, "The cloth is cut. Measure what is left.", ("tag R1044G",)),
    replace(made(43, "undo pick B77X for order L-1042", "CD", 31), undoes=41),
    made(42, "receive 12.5 m of Ribbed boot carpet, red", "CD", 64, "", ("tag R1043J", "tag R1042L")),
    replace(made(41, "pick B77X for order L-1042", "AB", 90), undone_by="CD", undone_at=AT - timedelta(minutes=31)),
    made(40, "reserve for order L-1042", "AB", 3000, IN_THE_WAY),
)


class MadeUpUndo:
    """What the jobs of undoing answer; `done` is all that was undone, `looked_at` what was looked at, in order."""

    def __init__(self, jobs: Sequence[DoneJob] = DONE) -> None:
        self.there = list(jobs)
        self.done: list[tuple[int, str]] = []
        self.looked_at: list[int] = []

    @property
    def jobs(self) -> UndoJobs:
        """These, as the screens ask for them."""
        return UndoJobs(self._latest, self._look_at, self._undo)

    def _latest(self, at_most: int) -> tuple[ListedJob, ...]:
        return tuple(
            ListedJob(one.number, one.what, one.by, one.at, one.undone_by, one.undone_at, one.undoes)
            for one in self.there[:at_most]
        )

    def _look_at(self, numbers: Sequence[int]) -> tuple[DoneJob, ...]:
        self.looked_at += numbers
        return tuple(one for one in self.there if one.number in numbers)

    def _undo(self, number: int, stamp: Stamp) -> Undone:
        job = next(one for one in self.there if one.number == number)
        if job.why_not:
            raise Refusal(f"Job {number} cannot be undone. {job.why_not}")
        self.done.append((number, stamp.by))
        place = self.there.index(job)
        self.there[place] = replace(job, undone_by=stamp.by, undone_at=AT)
        return Undone(number, job.what, job.by, job.at, ("It is as it was before.",), job.printed)
