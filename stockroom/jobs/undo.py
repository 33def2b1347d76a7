"""What was done last, by whom and when, and taking it back.

How a job is taken back is kept with the job and stands in the job's own module; see `stockroom.jobs.way_back`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp, in_capitals
from stockroom.domain.wording import listed
from stockroom.jobs.way_back import Undoing, WayBack
from stockroom.store import jobs_done, proof
from stockroom.store.about import read_about
from stockroom.store.database import Shop, Tx
from stockroom.store.jobs_done import KeptJob
from stockroom.store.ledger import NO_WAY

_AN_UNDO = "It took another job back itself: do that one again."
_BEFORE_THIS = "Nothing was written down of how it is taken back. Put it right by hand, and count what it touched."
_LOOKED_BACK = 1000
"""Jobs that are looked through for the last of somebody."""
_NAMED = 3
"""Later jobs that are named where they stand in the way."""


@dataclass(frozen=True, slots=True)
class ListedJob:
    """One thing that somebody did."""

    number: int
    what: str
    by: str
    at: datetime
    """By the shop's own clock."""
    undone_by: str
    """Initials of who took it back; '' where it stands."""
    undone_at: datetime | None
    undoes: int | None
    """Number of the job that this one took back."""


@dataclass(frozen=True, slots=True)
class DoneJob(ListedJob):
    """One thing that somebody did, and whether it can be undone."""

    why_not: str
    """Why it cannot be undone, and what to do instead: sentences; '' where nothing is known to stand in the way."""
    printed: tuple[str, ...]
    """Paper that it gave rise to: to be thrown away when it is undone."""

    @property
    def can_be_undone(self) -> bool:
        """Whether nothing is known to stand in the way."""
        return not self.why_not


@dataclass(frozen=True, slots=True)
class Undone:
    """What taking a job back did."""

    number: int
    """Of the job that was taken back."""
    what: str
    by: str
    """Who had done it."""
    at: datetime
    """When, by the shop's own clock."""
    sentences: tuple[str, ...]
    """What is back where, and what is gone again."""
    throw_away: tuple[str, ...]
    """Paper that it gave rise to and that is void now."""


def done(shop: Shop, at_most: int = 20) -> tuple[DoneJob, ...]:
    """The latest jobs, newest first, each with whether it can be undone and, if not, why."""
    if at_most < 1:
        raise Refusal(f"{at_most} jobs cannot be listed. Ask for 1 or more.")
    with shop.read() as tx:
        return _told(shop, tx, [one.number for one in jobs_done.headings(tx, at_most)])


def list_done(shop: Shop, at_most: int) -> tuple[ListedJob, ...]:
    """The latest jobs, newest first. Whether one can be undone is not looked at, which may take long for many."""
    with shop.read() as tx:
        zone = _zone(tx)
        return tuple(
            ListedJob(
                one.number,
                one.what,
                one.by,
                one.at.astimezone(zone),
                one.undone[0] if one.undone else "",
                one.undone[1].astimezone(zone) if one.undone else None,
                one.undoes,
            )
            for one in jobs_done.headings(tx, at_most)
        )


def look_at(shop: Shop, numbers: Sequence[int]) -> tuple[DoneJob, ...]:
    """Those of these jobs that there are, newest first, each with whether it can be undone and, if not, why."""
    with shop.read() as tx:
        return _told(shop, tx, numbers)


def last_of(shop: Shop, by: str) -> int:
    """Number of the last thing that somebody did and that still stands. Raises Refusal where there is none of late."""
    with shop.read() as tx:
        for one in jobs_done.headings(tx, _LOOKED_BACK):
            if in_capitals(one.by) == in_capitals(by) and one.undone is None and one.undoes is None:
                return one.number
    raise Refusal(f"{by} did nothing of late that still stands. 'stockroom done' lists what was done last.")


def _told(shop: Shop, tx: Tx, numbers: Sequence[int]) -> tuple[DoneJob, ...]:
    printed = jobs_done.printed_of(tx, numbers)
    zone = _zone(tx)
    return tuple(
        DoneJob(
            one.id,
            one.what,
            one.by,
            one.at.astimezone(zone),
            one.undone[0] if one.undone else "",
            one.undone[1].astimezone(zone) if one.undone else None,
            one.undoes,
            _why_not(shop, tx, one, zone),
            tuple(printed[one.id]),
        )
        for one in jobs_done.jobs_by_id(tx, numbers)
    )


def undo(shop: Shop, number: int, stamp: Stamp) -> Undone:
    """Takes a job back. Raises Refusal, and nothing has changed, where that cannot be: why, and what to do instead."""
    try:
        with shop.write() as tx:
            job = _to_undo(tx, number)
            undoing = Undoing(job, jobs_done.begin_undo(tx, job, stamp), stamp)
            told = _way(job).take_back(shop, tx, undoing)
            _refuse_bad_books(shop, tx)
            return Undone(
                job.id,
                job.what,
                job.by,
                job.at.astimezone(_zone(tx)),
                told,
                tuple(jobs_done.printed_of(tx, [job.id])[job.id]),
            )
    except Refusal as refusal:
        with shop.read() as tx:
            job = _to_undo(tx, number)
            in_the_way = _in_the_way(tx, job, _zone(tx))
            named = f"{_named(job, _zone(tx))} cannot be undone. {refusal.sentence}{in_the_way}"
        raise Refusal(named, faults=refusal.faults) from refusal


def _ways() -> Mapping[str, WayBack]:
    """Every way back, by name: each stands in the module of the job that it takes back."""
    from stockroom.jobs import (
        change,
        decide,
        inspect,
        keep,
        last_order,
        low,
        pick,
        purchasing,
        read_master,
        read_roll,
        receive,
        retag,
        verdict,
        way_back,
    )

    rooms = (
        way_back, change, decide, inspect, keep, last_order, low, pick, purchasing, read_master, read_roll, receive,
        retag, verdict,
    )  # fmt: skip
    return {name: way for room in rooms for name, way in room.WAYS_BACK.items()}


def _way(job: KeptJob) -> WayBack:
    found = _ways().get(job.way)
    if found is None:
        raise Refusal(_BEFORE_THIS)
    return found


def _zone(tx: Tx) -> ZoneInfo:
    about = read_about(tx)
    return ZoneInfo(about.time_zone if about else "UTC")


def _to_undo(tx: Tx, number: int) -> KeptJob:
    job = jobs_done.job_by_id(tx, number)
    if job is None:
        raise Refusal(f"There is no job {number}. 'stockroom done' lists what was done last.")
    if job.undone is not None:
        by, at = job.undone
        raise Refusal(f"{_named(job, _zone(tx))} was undone already ({by}, {at.astimezone(_zone(tx)):%Y-%m-%d %H:%M}).")
    if job.undoes is not None:
        raise Refusal(f"{_named(job, _zone(tx))} cannot be undone. {_AN_UNDO}")
    return job


def _named(job: KeptJob, zone: ZoneInfo) -> str:
    return f"Job {job.id}, {job.what} ({job.by}, {job.at.astimezone(zone):%Y-%m-%d %H:%M}),"


def _why_not(shop: Shop, tx: Tx, job: KeptJob, zone: ZoneInfo) -> str:
    if job.undone is not None:
        return "It was undone already."
    if job.undoes is not None:
        return _AN_UNDO
    found = _ways().get(job.way)
    if found is None:
        return _BEFORE_THIS
    why = found.why_not(shop, tx, job)
    return f"{why}{_in_the_way(tx, job, zone)}" if why else ""


def _in_the_way(tx: Tx, job: KeptJob, zone: ZoneInfo) -> str:
    """The later jobs that met with this one, and what to do: a sentence after another, or ''."""
    if job.way not in _ways() or job.way == NO_WAY:
        return ""
    met = jobs_done.met_later(tx, job)
    if not met:
        return ""
    named = [f"{one.what} (job {one.id}, {one.by}, {one.at.astimezone(zone):%Y-%m-%d %H:%M})" for one in met[:_NAMED]]
    more = [f"{len(met) - _NAMED} more"] if len(met) > _NAMED else []
    for_good = next((one for one in met if one.way == NO_WAY), None)
    if for_good is None:
        instead = "Undo what came later first, the newest first."
    else:
        instead = f"Job {for_good.id} cannot be undone: {for_good.data['because']} {for_good.data['instead']}"
    return f" Since then: {listed([*named, *more])}. {instead}"


def _refuse_bad_books(shop: Shop, tx: Tx) -> None:
    """Raises Refusal where the books would no longer prove, that did before.

    What stands is looked through, and not the years of movements behind it: what an undo books is reversed by the
    ledger, under its own rules, and only audit goes through all of it.
    """
    faults = list(_faults(tx))
    if faults:
        with shop.read() as before:
            known = set(_faults(before))
        fresh = [one for one in faults if one not in known]
        if fresh:
            raise Refusal(f"The books would no longer agree: {fresh[0]}", faults=tuple(fresh[1:]))


def _faults(tx: Tx) -> Iterable[str]:
    return (fault for check in proof.OF_WHAT_STANDS for fault in check.find(tx))
