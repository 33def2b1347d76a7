"""What one item lacks, week by week and in the end, before anybody's terms.

The rule. What is free, plus what is on order in time, less what orders in hand still need, must not fall below nothing
in any week, nor end below the item's least; and what no free dye lot is left for, however they are shared out
(lots_shared.py), must come. Where more is to be covered (a forecast, a last buy), what orders in hand take within that
time is part of it and not on top: so much is to be had as the greater of the two asks for.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from stockroom.domain.lots_shared import least_left_out
from stockroom.domain.standing import OpenNeed, Standing
from stockroom.domain.weeks import Week

HORIZON_WEEKS = 13
"""Needs later than this after the run's week are shown, not bought, unless the lead time reaches further."""


@dataclass(frozen=True, slots=True)
class Cover:
    """Demand that is to be covered until a day, ordered or not. Quantities in mm or count."""

    what: str
    """A few words: 'reorder point', 'last buy'."""
    quantity: int
    """Of all demand until then, orders in hand included."""
    until: date
    """Not included."""
    steps: tuple[str, ...] = ()
    """How the quantity came about, a sentence each."""


@dataclass(frozen=True, slots=True)
class Covered:
    """How far a cover is reached."""

    cover: Cover
    firm: int
    """Of its quantity, what orders in hand take until then, held or not."""
    besides: int
    """What is to be there besides."""
    left: int
    """What will be there: free, and on order until then, less what those orders still need."""

    @property
    def lacking(self) -> int:
        """What falls short; negative where there is more than enough."""
        return self.besides - self.left


@dataclass(frozen=True, slots=True)
class Shortfall:
    """What a standing lacks, before anybody's terms."""

    first_week: Week | None
    """First week that falls short; `None` where none with a date does."""
    for_needs: int
    """The most that is ever lacking for orders in hand; 0 where nothing is."""
    at_end: int
    """What is left when all that is on order has come and all needs within the horizon are served; may be negative."""
    must: int
    """What must come: `for_needs`, or more to reach the item's least or what is to be covered."""
    top: int
    """What would reach the item's most; `must` where there is no most or more must come."""
    by_week: tuple[tuple[Week, int], ...] = ()
    """Weeks with needs, in order, and what lacks in all by the end of each (0 or less: nothing)."""
    covered: tuple[Covered, ...] = ()

    @property
    def deciding(self) -> Covered | None:
        """The cover that asks for all of `must`, where no order and no least asks for as much."""
        worst = max(self.covered, key=lambda one: one.lacking, default=None)
        return worst if worst is not None and worst.lacking == self.must > self.for_needs else None


def last_week_served(week: Week, lead_days: int) -> Week:
    """The last week whose needs the run of `week` buys for: the horizon, or what next week's run would be too late for.

    >>> str(last_week_served(Week(2026, 48), lead_days=14)), str(last_week_served(Week(2026, 48), lead_days=182))
    ('2027-W08', '2027-W22')
    """
    return max(week.following(HORIZON_WEEKS), Week.of(week.monday() + timedelta(days=lead_days + 7)))


def shortfall(standing: Standing, week: Week, lead_days: int, covers: Iterable[Cover] = ()) -> Shortfall:
    """What lacks, week by week and in the end.

    For the needs of a week, a purchase is in time when it is due within that week, or no later than goods ordered in
    the run's week, on its Sunday at the latest, would come: buying anew would not be quicker, so a late purchase is
    hurried, and what this very run had bought is not bought again.
    Needs with no date come last, when all that is on order has come.
    """
    earliest = week.monday() + timedelta(days=6 + lead_days)
    served = [need for need in standing.needs if need.week is None or need.week <= last_week_served(week, lead_days)]
    by_week = []
    for wanted in sorted({need.week for need in served if need.week is not None}):
        by = max(wanted.monday() + timedelta(days=6), earliest)
        coming = sum(due.quantity for due in standing.dues if due.day <= by)
        up_to = [need for need in served if need.week is not None and need.week <= wanted]
        by_week.append((wanted, _lacking(standing, up_to, coming)))
    coming = sum(due.quantity for due in standing.dues)
    for_needs = max(0, *(lacking for _, lacking in by_week), _lacking(standing, served, coming))
    at_end = standing.free + coming - sum(need.quantity for need in served)
    covered = tuple(_covered(standing, cover, earliest) for cover in covers)
    # Whoever stands at the shelf knows better than the books; where more is on order already, that is enough.
    at_least = 1 if standing.low and not standing.dues else 0
    below_least = (standing.item.least or 0) - at_end
    must = max(for_needs, below_least, at_least, *(one.lacking for one in covered))
    most = standing.item.most
    top = must if most is None or must <= 0 else max(must, most - at_end)
    first_week = next((wanted for wanted, lacking in by_week if lacking > 0), None)
    return Shortfall(first_week, for_needs, at_end, max(must, 0), max(top, 0), tuple(by_week), covered)


def _covered(standing: Standing, cover: Cover, earliest: date) -> Covered:
    """How far a cover is reached by what is free and what is on order in time."""
    within = [need.quantity for need in standing.needs if need.week is None or need.week.monday() < cover.until]
    held = [one.quantity for one in standing.held_for if one.week is None or one.week.monday() < cover.until]
    coming = sum(due.quantity for due in standing.dues if due.day < cover.until or due.day <= earliest)
    firm = sum(within) + sum(held)
    return Covered(cover, firm, max(cover.quantity - firm, 0), standing.free + coming - sum(within))


def _lacking(standing: Standing, needs: list[OpenNeed], coming: int) -> int:
    """What lacks for these needs; what nothing free will serve can only be served by what comes."""
    in_all = sum(need.quantity for need in needs) - standing.free
    each = tuple(one.quantity for need in needs for one in need.from_one_lot)
    out_of_reach = sum(need.out_of_reach for need in needs) + least_left_out(each, standing.lots)
    return max(in_all, out_of_reach) - coming
