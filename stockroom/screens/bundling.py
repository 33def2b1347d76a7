"""Bundles and parcels, as the bench page and the pack page ask for them of the jobs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from stockroom.domain.stamp import Stamp
from stockroom.jobs.bundle import BenchBundle, BundleMoved, Tied
from stockroom.jobs.pack import PackingList, PackParcel, PieceMoved, Sent
from stockroom.jobs.sew import Sewn
from stockroom.jobs.spoil import SpoiltPanel

Stages = tuple[tuple[str, str], ...]
"""Code and title of each stage, in their turn."""


@dataclass(frozen=True, slots=True)
class BenchJobs:
    """The jobs of the bench."""

    bench: Callable[[datetime], tuple[BenchBundle, ...]]
    stages: Callable[[], Stages]
    tie: Callable[[str, Stamp], Tied]
    """What is cut of an order."""
    out: Callable[[str, str, str, Stamp], BundleMoved]
    """A bundle, to a stage by its code, to a person (or '')."""
    back: Callable[[str, Stamp], BundleMoved]
    sew: Callable[[str, Stamp, str], Sewn]
    """The piece of a tag, or all of a bundle's, at a stage by its code (or '', at the bench)."""


@dataclass(frozen=True, slots=True)
class PackJobs:
    """The jobs of packing."""

    packing_list: Callable[[str], PackingList]
    """By an order's number, or the tag of a bundle or a parcel of it."""
    pack: Callable[[str, str, Stamp, int], PieceMoved]
    """For an order, the piece of a tag, into the parcel of this number."""
    tick: Callable[[str, str, Stamp, int], PieceMoved]
    unpack: Callable[[str, str, Stamp], PieceMoved]
    new_parcel: Callable[[str, str, Stamp], PackParcel]
    """For an order, of this kind."""
    close: Callable[[str, Stamp], Sent]
    close_incomplete: Callable[[str, str, Stamp], Sent]
    """An order, and why it does not wait."""
    spoil: Callable[[str, str, str, Stamp], SpoiltPanel]
    """A piece by its tag, a panel of it (or ''), and how it was spoilt."""


def whither(text: str, stages: Stages) -> tuple[str, str]:
    """The stage that was typed, by its turn, code or title, and who has the bundle there, after a comma.

    >>> whither("2, Mary", (("bind", "Binding"), ("sew", "Sewing")))
    ('sew', 'Mary')
    >>> whither("binding", (("bind", "Binding"),))
    ('bind', '')

    What is no stage is given back as it was typed, for the job to refuse.
    """
    stage, _, holder = (part.strip() for part in text.partition(","))
    wanted = stage.casefold()
    for code, title in stages:
        if wanted in {code.casefold(), title.casefold()}:
            return code, holder
    if stage.isascii() and stage.isdecimal() and 1 <= int(stage) <= len(stages):
        return stages[int(stage) - 1][0], holder
    return stage, holder
