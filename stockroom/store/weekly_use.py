"""What the ledger says of weeks gone by: what was used of each item in each week, and in which weeks anything moved.

The database adds it up: two statements, whatever the number of movements.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import ColumnElement, Select, case, func, literal_column, select
from sqlalchemy.orm import aliased

from stockroom.domain.weeks import Week
from stockroom.store import tables as t
from stockroom.store.database import Tx
from stockroom.store.history import BROUGHT_FORWARD, CLOSED
from stockroom.store.stock import OPENING

_USED = ("cut", "issued", "scrapped", "returned")
_CAME = ("received", "made")
_NOT_MOVED = (OPENING, BROUGHT_FORWARD, CLOSED)
"""Notes of movements that say what was there already."""


@dataclass(frozen=True, slots=True)
class WeeklyUse:
    """Weeks gone by, the oldest first, the last one the week before the run."""

    by_item: Mapping[str, tuple[int, ...]]
    """mm or count: cut, issued and scrapped, less what came back; negative where more came back. Only items with use
    or with something back."""
    moves: tuple[int, ...]
    """How many movements of anything there were in each week."""
    last_came: Mapping[str, int]
    """Item → how many weeks before the run something of it last came in; not there: none in these weeks."""


def weekly_use(tx: Tx, week: Week, time_zone: str, weeks: int) -> WeeklyUse:
    """The `weeks` weeks before `week`: ISO weeks of the shop's local days. What was reversed is left out."""
    zone = ZoneInfo(time_zone)
    starts = [_begins(week.following(number - weeks), zone) for number in range(weeks + 1)]
    used: defaultdict[str, list[int]] = defaultdict(lambda: [0] * weeks)
    moves = [0] * weeks
    came: dict[str, int] = {}
    for sign, query in ((1, _by_week(starts)), (-1, _reversed_by_week(starts))):
        for item, index, quantity, out_or_back, came_in in tx.execute(query):
            moves[index] += sign * (out_or_back + came_in)
            if out_or_back:
                used[item][index] -= sign * quantity
            if came_in and sign > 0:
                came[item] = min(came.get(item, weeks), weeks - index)
    by_item = {item: tuple(used[item]) for item in sorted(used) if any(used[item])}
    return WeeklyUse(by_item, tuple(moves), {item: came[item] for item in sorted(came)})


def _by_week(starts: Sequence[datetime]) -> Select[Any]:
    """Item, number of the week, what it was used less, movements out and back, movements in."""
    m, h = t.Movement, t.Holding
    return (
        select(h.item, _which(m.at, starts).label("which_week"), *_sums(m))
        .join_from(m, h, h.id == m.holding_id)
        .where(*_within(m, starts))
        .group_by(h.item, "which_week")
    )


def _reversed_by_week(starts: Sequence[datetime]) -> Select[Any]:
    """The same of those that were reversed: there are few."""
    m, h, undone = t.Movement, t.Holding, aliased(t.Movement)
    return (
        select(h.item, _which(m.at, starts).label("which_week"), *_sums(m))
        .join_from(undone, m, m.id == undone.reverses_id)
        .join(h, h.id == m.holding_id)
        .where(*_within(m, starts))
        .group_by(h.item, "which_week")
    )


def _sums(m: type[t.Movement]) -> tuple[ColumnElement[Any], ...]:
    out = m.kind.in_(_USED)
    return (
        func.sum(case((out, m.quantity), else_=0)),
        func.sum(case((out, 1), else_=0)),
        func.sum(case((out, 0), else_=1)),
    )


def _within(m: type[t.Movement], starts: Sequence[datetime]) -> tuple[ColumnElement[bool], ...]:
    return (
        m.at >= starts[0],
        m.at < starts[-1],
        m.kind.in_((*_USED, *_CAME)),
        m.note.not_in(_NOT_MOVED),
    )


def _which(at: Any, starts: Sequence[datetime]) -> ColumnElement[int]:
    """The number of the week that a moment is in, found by halves: a case within a case, not one after the other."""

    def halved(first: int, last: int) -> ColumnElement[int]:
        if last - first == 1:
            return literal_column(str(first))
        middle = (first + last) // 2
        return case((at < starts[middle], halved(first, middle)), else_=halved(middle, last))

    return halved(0, len(starts) - 1)


def _begins(week: Week, zone: ZoneInfo) -> datetime:
    """The instant a week begins in the shop."""
    return datetime.combine(week.monday(), time(), zone).astimezone(UTC)


def lead_days(tx: Tx, time_zone: str) -> dict[str, tuple[int, ...]]:
    """Item → days from ordering to each receipt, the oldest first; what came before it was ordered is below nothing."""
    zone = ZoneInfo(time_zone)
    p, r = t.Purchase, t.Receipt
    rows = tx.execute(select(p.item, p.ordered, r.at).join_from(r, p, p.id == r.purchase_id).order_by(r.id))
    days: defaultdict[str, list[int]] = defaultdict(list)
    for item, ordered, at in rows:
        days[item].append(_days(ordered, at, zone))
    return {item: tuple(days[item]) for item in sorted(days)}


def _days(ordered: date, came: datetime, zone: ZoneInfo) -> int:
    return (came.astimezone(zone).date() - ordered).days


def clock_set_back(tx: Tx) -> tuple[tuple[date, date], ...]:
    """Where the books were written by a clock that had been set back: the day before and the day after it.

    The order of jobs is their number, not their time; a difference of less than a day is two clocks that differ.
    """
    job = t.Job
    before = func.max(job.at).over(order_by=job.id, rows=(-1, -1)).label("before")
    told = select(job.at.label("at"), before).subquery()
    found = tx.execute(select(told.c.before, told.c.at).where(told.c.before > told.c.at))
    return tuple((was.date(), now.date()) for was, now in found if (was - now).days >= 1)
