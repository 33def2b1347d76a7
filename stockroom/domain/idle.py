"""Stock that lies idle: dead, or far more than is used.

Dead: some is free, no order needs it, and in two years on the books nothing of it was used or came in. Excess: what is
free and on order is more than all orders in hand need and two years' use beside, as much as in the last year (or the
item's most, where that is more); an item that came new within the year is left alone. Neither is said before the books
reach back so far.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.standing import Standing
from stockroom.domain.weeks import YEAR_WEEKS

DEAD_WEEKS = 2 * YEAR_WEEKS
EXCESS_YEARS = 2


@dataclass(frozen=True, slots=True)
class Idle:
    """One item of which too much lies there. Quantities in mm or count."""

    item: str
    title: str
    by_length: bool
    dead: bool
    free: int
    over: int
    """So much of it is idle."""
    worth_minor: int
    """What that is worth, in the shop's currency, at what was paid."""
    why: str


def idle(standing: Standing, weekly: Sequence[int | None], last_came: int | None) -> Idle | None:
    """Whether an item lies idle. `weekly`: its use in weeks gone by, oldest first, `None` where nothing was written
    down; `last_came`: how many weeks ago something last came in."""
    free = standing.free
    if free <= 0:
        return None
    wanted = sum(need.quantity for need in standing.needs)
    two_years, year = _on_the_books(weekly, DEAD_WEEKS), _on_the_books(weekly, YEAR_WEEKS)
    since = last_came if last_came is not None else len(weekly) + 1
    if two_years and not wanted and not any(two_years) and since > DEAD_WEEKS:
        return _line(standing, True, free, f"nothing used or received in {DEAD_WEEKS} weeks")
    if not year or (not any(year) and since <= YEAR_WEEKS):
        return None
    used = max(sum(year), 0)
    enough = max(EXCESS_YEARS * used, standing.item.most or 0, standing.item.least or 0) + wanted
    over = min(free + sum(due.quantity for due in standing.dues) - enough, free)
    if over <= 0:
        return None
    shown = standing.shown
    orders = f", {shown(wanted)} wanted by orders" if wanted else ""
    return _line(standing, False, over, f"{shown(used)} used in {YEAR_WEEKS} weeks{orders}")


def _on_the_books(weekly: Sequence[int | None], weeks: int) -> list[int]:
    """Use in the last so many weeks; empty where they are not all on the books."""
    last = [used for used in weekly[-weeks:] if used is not None]
    return last if len(last) == weeks else []


def _line(standing: Standing, dead: bool, over: int, why: str) -> Idle:
    item = standing.item
    worth = standing.worth_minor * over // standing.held if standing.held else 0
    return Idle(item.code, item.title, item.kind in BY_LENGTH, dead, standing.free, over, worth, why)
