"""Fetching what orders need, as the pick page asks it of the jobs: which order a scan is for, and what it led to."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.figures import read_figure
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.cut import CutMade
from stockroom.jobs.other_stock import AnotherLot
from stockroom.jobs.pick import Picked, Walk, WalkStop
from stockroom.jobs.replan import RollPutRight
from stockroom.jobs.shorter import DoesNotGo, Shorter


@dataclass(frozen=True, slots=True)
class PickJobs:
    """The jobs of picking and cutting. Lengths are mm."""

    walk: Callable[[Sequence[str]], Walk]
    pick: Callable[[str, str, Stamp], Picked]
    """For an order, from the holding of a tag."""
    pick_mixed: Callable[[str, str, str, Stamp], Picked]
    """The same of another dye lot, with why the mix is approved."""
    pick_short: Callable[[str, str, int, Stamp], Picked]
    """The same, where only so much is there (mm or count)."""
    put_back: Callable[[str, str, Stamp], Picked]
    cut: Callable[[str, str, Stamp, int, Shorter], CutMade]
    """For an order, from a roll, this length, with what is said of panels that do not go on it."""
    measure: Callable[[str, int, Stamp], RollPutRight]
    mark_flaw: Callable[[str, int, int, str, Stamp], RollPutRight]
    """On a roll, from and to from its inner end, and what it is."""
    keep_side_piece: Callable[[str, int, int, str, Stamp], str]
    """Beside a lay on a roll: length, width and place. Gives the new tag."""


@dataclass(frozen=True, slots=True)
class Fetched:
    """What a scan on the walk led to: one of the four that follow the walk."""

    walk: Walk
    """The walk as it is now."""
    picked: Picked | None = None
    to_cut: WalkStop | None = None
    """The scanned roll is to be cut, and nothing of that was booked yet."""
    another_lot: AnotherLot | None = None
    """It is of another dye lot: nothing was done, and somebody may approve the mix."""
    again: WalkStop | None = None
    """It was scanned just before, for another order: nothing was done, and this stop is the one that is next."""


def fetch(jobs: PickJobs, walk: Walk, tag: str, stamp: Stamp, before: Picked | None = None) -> Fetched:
    """What a scan of `tag` does on this walk: it picks, or finds the roll that is to be cut.

    It is for the first order, in walking order, that has a stop there; where none has, for the first order whose job
    accepts the tag. `before`: what the scan just before picked. A scanner reads twice now and then, so that the same
    tag at once is not taken for the next order. Raises `Refusal` with what the jobs say if none does.
    """
    here = next((stop for stop in walk.stops if stop.tag == tag), None)
    if here is not None and before is not None and before.tag == tag and before.order != here.order:
        return Fetched(walk, again=here)
    orders = (here.order,) if here is not None else walk.orders
    try:
        return _fetched(jobs, walk, first_accepted(orders, lambda number: jobs.pick(number, tag, stamp)))
    except AnotherLot as refusal:
        return Fetched(walk, another_lot=refusal)


def fetch_for(jobs: PickJobs, walk: Walk, order: str, tag: str, stamp: Stamp) -> Fetched:
    """What a scan of `tag` does for one order of this walk."""
    return _fetched(jobs, walk, jobs.pick(order, tag, stamp))


def fetch_mixed(jobs: PickJobs, walk: Walk, refused: AnotherLot, because: str, stamp: Stamp) -> Fetched:
    """What becomes of a scan that was refused for its dye lot, once the mix is approved."""
    return _fetched(jobs, walk, jobs.pick_mixed(refused.order, refused.tag, because, stamp))


def _fetched(jobs: PickJobs, walk: Walk, picked: Picked) -> Fetched:
    now = jobs.walk(walk.orders)
    mine = (stop for stop in now.stops if (stop.order, stop.tag, stop.how) == (picked.order, picked.tag, "cut"))
    return Fetched(now, picked, next(mine, None) if picked.to_cut else None)


def cut_or_ask(jobs: PickJobs, stop: WalkStop, stamp: Stamp, mm: int, said: Shorter) -> CutMade | DoesNotGo:
    """A stop's cut, or that somebody must say first what was got out of it."""
    try:
        return jobs.cut(stop.order, stop.tag, stamp, mm, said)
    except DoesNotGo as refusal:
        return refusal


def first_accepted(orders: Sequence[str], job: Callable[[str], Picked]) -> Picked:
    """What the job says for the first order that it does not refuse.

    Raises `AnotherLot` where only a lot was refused, else `Refusal` with all that was said.
    """
    refused: list[Refusal] = []
    for number in orders:
        try:
            return job(number)
        except Refusal as refusal:
            refused.append(refusal)
    for one in refused:
        if isinstance(one, AnotherLot):
            raise one
    first, *others = dict.fromkeys(said for one in refused for said in (one.sentence, *one.faults))
    raise Refusal(first, tuple(others))


def there(text: str, stop: WalkStop) -> int:
    """How much is there of what a stop is for, as it was typed: mm or a count. Raises `Refusal` for anything else."""
    return read_figure(text, by_length=stop.kind in BY_LENGTH, name=stop.tag)
