"""Fetching what orders need, as the pick page asks it of the jobs: which order a scan is for, and what it led to."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from stockroom.domain.quantities import stock_mm
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.cut import CutMade
from stockroom.jobs.pick import Picked, Walk, WalkStop
from stockroom.jobs.replan import RollPutRight
from stockroom.jobs.show import Shown


@dataclass(frozen=True, slots=True)
class PickJobs:
    """The jobs of picking and cutting. Lengths are mm."""

    walk: Callable[[Sequence[str]], Walk]
    pick: Callable[[str, str, Stamp], Picked]
    """For an order, from the holding of a tag."""
    pick_short: Callable[[str, str, int, Stamp], Picked]
    """The same, where only so much is there (mm or count)."""
    put_back: Callable[[str, str, Stamp], Picked]
    cut: Callable[[str, str, Stamp, int], CutMade]
    """For an order, from a roll, this length."""
    measure: Callable[[str, int, Stamp], RollPutRight]
    mark_flaw: Callable[[str, int, int, str, Stamp], RollPutRight]
    """On a roll, from and to from its inner end, and what it is."""
    keep_side_piece: Callable[[str, int, int, str, Stamp], str]
    """Beside a lay on a roll: length, width and place. Gives the new tag."""
    show: Callable[[str], Shown]


@dataclass(frozen=True, slots=True)
class CutToMake:
    """A roll that was scanned lies on the table: what is to be cut from it."""

    stop: WalkStop
    tag: str
    """The roll that was scanned; it may be another than the one that is planned."""

    @property
    def length_mm(self) -> int:
        """The planned length."""
        return self.stop.to_mm - self.stop.from_mm


@dataclass(frozen=True, slots=True)
class Fetched:
    """What a scan on the walk led to."""

    walk: Walk
    """The walk as it is now."""
    picked: Picked | None = None
    cut: CutToMake | None = None
    """The scanned roll is to be cut, and nothing was booked yet."""


def fetch(jobs: PickJobs, walk: Walk, tag: str, stamp: Stamp) -> Fetched:
    """What a scan of `tag` does on this walk: it picks, or finds the roll that is to be cut.

    It is for the first order, in walking order, that has a stop there; where none has, for the first order whose job
    accepts the tag. Raises `Refusal` with what the jobs say if none does.
    """
    here = next((stop for stop in walk.stops if stop.tag == tag), None)
    try:
        if here is not None:
            picked = jobs.pick(here.order, tag, stamp)
        else:
            picked = first_accepted(walk.orders, lambda number: jobs.pick(number, tag, stamp))
    except Refusal:
        cut = None if here is not None else _another_roll(jobs, walk, tag)
        if cut is None:
            raise
        return Fetched(walk, None, cut)
    now = jobs.walk(walk.orders)
    if not picked.changed_anything:
        for stop in now.stops:
            if (stop.order, stop.tag, stop.how) == (picked.order, tag, "cut"):
                return Fetched(now, None, CutToMake(stop, tag))
    return Fetched(now, picked)


def first_accepted(orders: Sequence[str], job: Callable[[str], Picked]) -> Picked:
    """What the job says for the first order that it does not refuse. Raises `Refusal` with all that was said."""
    said: list[str] = []
    for number in orders:
        try:
            return job(number)
        except Refusal as refusal:
            said += (refusal.sentence, *refusal.faults)
    first, *others = dict.fromkeys(said)
    raise Refusal(first, tuple(others))


def _another_roll(jobs: PickJobs, walk: Walk, tag: str) -> CutToMake | None:
    """The cut for which this roll might do: the first on the walk of the same item. The job of cutting has the say."""
    facts = dict(jobs.show(tag).facts)
    if facts.get("Quarantined"):
        return None
    wanted = (stop for stop in walk.stops if stop.how == "cut" and stop.item == facts.get("Item"))
    return next((CutToMake(stop, tag) for stop in wanted), None)


def there(text: str, stop: WalkStop) -> int:
    """How much is there of what a stop is for, as it was typed: mm or a count. Raises `Refusal` for anything else."""
    if not stop.amount.isdecimal():
        return stock_mm(text)
    if not (text.isascii() and text.isdecimal() and len(text) < 10):
        raise Refusal(f"'{text}' is not a count. Type how many are there: {stop.amount} are wanted.")
    return int(text)
