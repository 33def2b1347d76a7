"""A printer made by hand: it keeps what it was asked to print."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from stockroom.domain.stamp import Stamp
from stockroom.jobs.papers import Paper
from stockroom.jobs.printing import Printed

FOLDER = Path("/shop/paper")


class MadeUpPrinting:
    """What the job of printing answers; `done` is all that it printed, in order, with whose initials."""

    def __init__(self, trouble: str = "") -> None:
        self.trouble = trouble
        self.done: list[tuple[str, str]] = []
        self.start_at = 0

    def __call__(self, papers: Sequence[Paper], stamp: Stamp, start_at: int) -> Printed:
        self.start_at = start_at
        self.done += [(paper.title, stamp.by) for paper in papers]
        files = tuple(FOLDER / f"{paper.kind}.pdf" for paper in papers)
        return Printed(f"Printed in {FOLDER}: {', '.join(file.name for file in files)}.", files, self.trouble)
