"""Net need by week: what is needed, what comes, what is left, and what must be ready; and in which order to reckon.

Made items are reckoned before what they are made of: each item has a low-level code, one more than the highest of the
items that it goes into. What is to be made in a week starts so many days earlier as making takes, and what goes into
it is needed in the week of the start. Items whose bills lead back to themselves are named, and that part of their
bills is left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import timedelta

from stockroom.domain.shortfall import Shortfall
from stockroom.domain.standing import Standing
from stockroom.domain.weeks import Week, weeks_from


@dataclass(frozen=True, slots=True)
class Levels:
    """In which order items are reckoned."""

    code: Mapping[str, int]
    """Item → its low-level code; an item that is not named has 0."""
    cycles: tuple[tuple[str, ...], ...]
    """Bills that lead back to where they began: items in the order of their bills, the first again at the end."""
    parts: Mapping[str, tuple[str, ...]]
    """The bills without what leads back."""


def levels(parts: Mapping[str, Iterable[str]]) -> Levels:
    """Low-level codes from bills (made item → what goes into it).

    >>> levels({'bag': ['blank', 'stud'], 'blank': ['cloth', 'stud']}).code
    {'bag': 0, 'blank': 1, 'cloth': 2, 'stud': 2}
    >>> levels({'a': ['b'], 'b': ['a', 'c']}).cycles
    (('a', 'b', 'a'),)
    """
    kept: dict[str, list[str]] = {}
    cycles: list[tuple[str, ...]] = []
    done: list[str] = []
    on_the_way: dict[str, None] = {}

    def visit(item: str) -> None:
        on_the_way[item] = None
        kept[item] = []
        for part in sorted(set(parts.get(item, ()))):
            if part in on_the_way:
                way = list(on_the_way)
                cycles.append((*way[way.index(part) :], part))
                continue
            kept[item].append(part)
            if part not in kept:
                visit(part)
        del on_the_way[item]
        done.append(item)

    for item in sorted(parts):
        if item not in kept:
            visit(item)
    code = dict.fromkeys(sorted(done), 0)
    for item in reversed(done):
        for part in kept[item]:
            code[part] = max(code[part], code[item] + 1)
    return Levels(code, tuple(cycles), {item: tuple(some) for item, some in kept.items()})


@dataclass(frozen=True, slots=True)
class WeekRow:
    """One week of one item's table. Quantities in mm or count."""

    week: Week | None
    """`None`: with no date, or after the last week shown."""
    needed: int
    """By orders in hand, and to make what is proposed; what was wanted before the first week is in that."""
    coming: int
    """On order and due; what is overdue is in the first week."""
    left: int
    """At the end of the week, with nothing bought or made; below nothing: short."""
    net: int
    """What must be ready this week, beyond what the weeks before asked for."""
    expected: int = 0
    """Use that is forecast beyond `needed` and what is held for that week's orders; it is not in `left`."""


def week_rows(
    standing: Standing, lack: Shortfall, week: Week, last: Week, expected: Mapping[Week, int]
) -> list[WeekRow]:
    """The table of an item from the run's week to `last`, and a row for what has no date or comes later."""
    asked = 0
    net: dict[Week, int] = {}
    for wanted, lacking in lack.by_week:
        at = max(wanted, week)
        net[at] = net.get(at, 0) + max(lacking - asked, 0)
        asked = max(asked, lacking)
    needed: dict[Week | None, int] = {}
    coming: dict[Week | None, int] = {}
    for need in standing.needs:
        at_week = None if need.week is None or need.week > last else max(need.week, week)
        needed[at_week] = needed.get(at_week, 0) + need.quantity
    for due in standing.dues:
        when = max(Week.of(due.day), week)
        at_week = None if when > last else when
        coming[at_week] = coming.get(at_week, 0) + due.quantity
    held: dict[Week, int] = {}
    for one in standing.held_for:
        if one.week is not None:
            held[max(one.week, week)] = held.get(max(one.week, week), 0) + one.quantity
    rows, left = [], standing.free
    for now in weeks_from(week, week.until(last) + 1):
        left += coming.get(now, 0) - needed.get(now, 0)
        beyond = max(expected.get(now, 0) - needed.get(now, 0) - held.get(now, 0), 0)
        rows.append(WeekRow(now, needed.get(now, 0), coming.get(now, 0), left, net.get(now, 0), beyond))
    if needed.get(None) or coming.get(None):
        left += coming.get(None, 0) - needed.get(None, 0)
        rows.append(WeekRow(None, needed.get(None, 0), coming.get(None, 0), left, 0))
    return rows


def made_by_week(lack: Shortfall, quantity: int, batch: int, week: Week) -> tuple[tuple[Week, int], ...]:
    """When so many that are made here must be ready: in whole batches, each when it is first lacking.

    What is made beyond the needs (to reach the least or the most) is made with the first; the week of the run where
    nothing with a date lacks.
    """
    ready: dict[Week, int] = {}
    made = 0
    for wanted, lacking in lack.by_week:
        if lacking > made:
            more = min(-(-(lacking - made) // batch) * batch, quantity - made)
            at = max(wanted, week)
            ready[at] = ready.get(at, 0) + more
            made += more
    if quantity > made:
        first = min(ready, default=week)
        ready[first] = ready.get(first, 0) + quantity - made
    return tuple(sorted(ready.items()))


def start_week(ready: Week, make_days: int, week: Week) -> Week:
    """The week in which making must begin; no earlier than the run's own.

    >>> str(start_week(Week(2027, 1), 10, Week(2026, 48)))
    '2026-W52'
    """
    return max(Week.of(ready.monday() - timedelta(days=make_days)), week)
