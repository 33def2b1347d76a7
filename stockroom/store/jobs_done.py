"""The jobs that were done: who did what and when, how each is taken back, and which later ones met with it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import insert, select, update
from sqlalchemy.orm import aliased

from stockroom.domain.stamp import Stamp
from stockroom.store import ledger
from stockroom.store import tables as t
from stockroom.store.database import Tx, refusing

_MOST_LOOKED_AT = 5_000
"""Later jobs that are looked through for one that met with a job."""


@dataclass(frozen=True, slots=True)
class KeptJob:
    """One thing that somebody did."""

    id: int
    what: str
    by: str
    at: datetime
    way: str
    """The name of the way in which it is taken back; '' where none was kept."""
    data: dict[str, Any]
    """What that way must know."""
    touched: frozenset[str]
    """What it had to do with: 'order 5', 'holding 9'."""
    undoes: int | None
    """The job that it took back."""
    undone: tuple[str, datetime] | None
    """Who took it back, and when."""


@dataclass(frozen=True, slots=True)
class Heading:
    """What is said of a job in a list."""

    number: int
    what: str
    by: str
    at: datetime
    undoes: int | None
    """The job that it took back."""
    undone: tuple[str, datetime] | None
    """Who took it back, and when."""


def headings(tx: Tx, at_most: int) -> list[Heading]:
    """The latest jobs, newest first; what they kept to be taken back, which may be long, is not read."""
    query = (
        select(t.Job.id, t.Job.what, t.Job.by, t.Job.at, t.Job.undoes_id, _UNDOING.by, _UNDOING.at)
        .outerjoin(_UNDOING, _UNDOING.undoes_id == t.Job.id)
        .order_by(t.Job.id.desc())
        .limit(at_most)
    )
    return [Heading(*row[:5], None if row[5] is None else (row[5], row[6])) for row in tx.execute(query)]


def jobs_by_id(tx: Tx, job_ids: Sequence[int]) -> list[KeptJob]:
    """The jobs of these numbers, newest first."""
    return _jobs(tx, _JOBS.where(t.Job.id.in_(job_ids)).order_by(t.Job.id.desc())) if job_ids else []


def job_by_id(tx: Tx, job_id: int) -> KeptJob | None:
    """The job of this number."""
    return next(iter(jobs_by_id(tx, [job_id])), None)


_UNDOING = aliased(t.Job)
_JOBS = select(
    t.Job.id, t.Job.what, t.Job.by, t.Job.at, t.Job.way_back, t.Job.undoes_id, _UNDOING.by.label("undone_by"),
    _UNDOING.at.label("undone_at"),
).outerjoin(_UNDOING, _UNDOING.undoes_id == t.Job.id)  # fmt: skip


def _jobs(tx: Tx, query: Any) -> list[KeptJob]:
    found = []
    for row in tx.execute(query):
        kept: dict[str, Any] = dict(row.way_back or {})
        touched = kept.pop(ledger.TOUCHED, ())
        way, data = next(iter(kept.items()), ("", {}))
        undone = None if row.undone_by is None else (row.undone_by, row.undone_at)
        found.append(KeptJob(row.id, row.what, row.by, row.at, way, data, frozenset(touched), row.undoes_id, undone))
    return found


def count_since(tx: Tx, moment: datetime, but: AbstractSet[int]) -> int:
    """How many jobs were done after a moment, these left away."""
    found = tx.scalars(select(t.Job.id).where(t.Job.at > moment))
    return len(set(found) - but)


def touched_since(tx: Tx, job: KeptJob, what: AbstractSet[str]) -> bool:
    """Whether a later job that still stands touched any of `what`."""
    return bool(what) and any(one.touched & what for one in _later(tx, job))


def _later(tx: Tx, job: KeptJob) -> list[KeptJob]:
    """The later jobs that still stand, oldest first."""
    return [
        one
        for one in _jobs(tx, _JOBS.where(t.Job.id > job.id).order_by(t.Job.id).limit(_MOST_LOOKED_AT))
        if one.undone is None and (one.undoes is None or one.undoes < job.id)
    ]


def met_later(tx: Tx, job: KeptJob) -> list[KeptJob]:
    """The later jobs that had to do with the same order, or else the same goods, and still stand; newest first."""
    later = _later(tx, job)
    moved = _touched_by_movements(tx, [job.id, *(one.id for one in later)])
    mine = job.touched | moved[job.id]
    for kind in ("order ", "holding ", ""):
        wanted = {one for one in mine if one.startswith(kind)}
        met = [one for one in reversed(later) if wanted & (one.touched | moved[one.id])]
        if met:
            return met
    return []


def _touched_by_movements(tx: Tx, job_ids: Sequence[int]) -> defaultdict[int, set[str]]:
    m = t.Movement
    found: defaultdict[int, set[str]] = defaultdict(set)
    if job_ids:
        query = select(m.job_id, m.holding_id, m.order_id).where(m.job_id >= min(job_ids), m.job_id <= max(job_ids))
        for job_id, holding_id, order_id in tx.execute(query.distinct()):
            found[job_id].add(f"holding {holding_id}")
            if order_id is not None:
                found[job_id].add(f"order {order_id}")
    return found


@dataclass(frozen=True, slots=True)
class Booked:
    """One movement of a job."""

    id: int
    holding_id: int
    tag: str
    title: str
    item_kind: str
    quantity: int
    reverses: int | None
    """The movement that it takes back."""


def movements_of(tx: Tx, job_id: int) -> list[Booked]:
    """What a job booked, newest first."""
    return _booked(tx, t.Movement.job_id == job_id)


def movements(tx: Tx, ids: Sequence[int]) -> list[Booked]:
    """The movements of these numbers, newest first."""
    return _booked(tx, t.Movement.id.in_(ids))


def _booked(tx: Tx, which: Any) -> list[Booked]:
    m, h = t.Movement, t.Holding
    rows = tx.execute(
        select(m.id, h.id.label("holding_id"), h.tag, t.Item.title, t.Item.kind, m.quantity, m.reverses_id)
        .join(h, h.id == m.holding_id)
        .join(t.Item, t.Item.code == h.item)
        .where(which)
        .order_by(m.id.desc())
    )
    return [Booked(row[0], row[1], row[2] or "", *row[3:]) for row in rows]


def begin_undo(tx: Tx, job: KeptJob, stamp: Stamp) -> int:
    """Begins the job that takes another back; gives its number. Raises Refusal where somebody was quicker."""
    undo_id = ledger.begin_job(tx, f"undo {job.what}", stamp)
    ledger_touched = {ledger.TOUCHED: sorted(job.touched)}
    with refusing({"uq_job_undoes_id": f"Job {job.id} has just been undone by somebody else."}):
        tx.execute(update(t.Job).where(t.Job.id == undo_id).values(undoes_id=job.id, way_back=ledger_touched))
    return undo_id


def keep_printed(tx: Tx, job_id: int, papers: Iterable[str], stamp: Stamp) -> None:
    """Writes down what paper a job gave rise to: 'tag R1042L'. What stands there already is not written again."""
    p = t.Printed
    there = set(tx.execute(select(p.what).where(p.job_id == job_id)).scalars())
    fresh = [one for one in dict.fromkeys(papers) if one not in there]
    if fresh:
        tx.execute(insert(p), [{"job_id": job_id, "what": one, "at": stamp.at} for one in fresh])


def printed_of(tx: Tx, job_ids: Sequence[int]) -> defaultdict[int, list[str]]:
    """Job → the paper that it gave rise to."""
    p = t.Printed
    found: defaultdict[int, list[str]] = defaultdict(list)
    for job_id, what in tx.execute(select(p.job_id, p.what).where(p.job_id.in_(job_ids)).order_by(p.id)):
        found[job_id].append(what)
    return found
