"""Sensible top-ups: what else of one supplier's goods to take where its lines nearly reach the value from which it pays
the carriage. Advice only; nothing is added by it.

The rule. Where what lacks is at most a quarter of that value, more is taken of what is needed soonest, as much as
closes the gap: whole sold quantities, never over the most to be kept, never so much that the item would last longer
than half a year, and in all for no more than that quarter. What nobody used in the last year, and what is bought for
the last time, is no top-up. Whatever turns out not to be needed for it is left out again, the item needed last first.
Where all that may be taken does not reach, nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from stockroom.domain.catalogue import BY_LENGTH, Item
from stockroom.domain.offer import Offer, cost_minor, every_quantity_has_a_price, sold_in, sold_quantity
from stockroom.domain.reorder import Reckoned
from stockroom.domain.weeks import YEAR_WEEKS

NEAR_SHARE = 4
"""Carriage is near where no more than a fourth part of its value lacks."""
LASTING_WEEKS = 26
"""A top-up never makes an item last longer."""
_WHOLE_MM = 1000
"""What is sold by any length is topped up by the metre."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """An item of which more may be taken. Quantities in mm or count."""

    item: Item
    offer: Offer
    bought: int
    """By its line; 0 where it has none."""
    left: int
    """In the end, with what its line buys."""
    year_use: int
    """What was used in a year; 0: nobody used it."""

    @property
    def lasts(self) -> Fraction:
        """For how many weeks what is over its least will last."""
        return Fraction((self.left - (self.item.least or 0)) * YEAR_WEEKS, self.year_use)

    @property
    def room(self) -> int:
        """So much more may be taken."""
        lasting = self.year_use * LASTING_WEEKS // YEAR_WEEKS
        return max((lasting if self.item.most is None else min(lasting, self.item.most)) - self.left, 0)


@dataclass(frozen=True, slots=True)
class TopUp:
    """So much more of one item."""

    item: str
    title: str
    by_length: bool
    more: int
    """Beyond its line, mm or count."""
    bought: int
    """By its line; 0 where it has none."""
    cost_minor: int
    """More than the line costs by itself."""


def candidates(supplier: str, run: Iterable[Reckoned], used: Mapping[str, Sequence[int]]) -> list[Candidate]:
    """What else may be taken of one supplier's; `used`: item → what was used of it each week, the oldest first."""
    return [
        Candidate(
            one.standing.item,
            one.offer,
            bought := one.proposal.quantity if one.proposal else 0,
            one.lack.at_end + bought,
            max(sum(used.get(one.standing.item.code, ())[-YEAR_WEEKS:]), 0),
        )
        for one in run
        if one.offer is not None
        and one.offer.supplier.code == supplier
        and not one.standing.discontinued
        and all(covered.cover.what != "last buy" for covered in one.lack.covered)
    ]


def top_ups(lacking_minor: int, carriage_paid_minor: int, candidates: Iterable[Candidate]) -> tuple[TopUp, ...]:
    """What to take more of so that nothing lacks, needed soonest first; empty where nothing sensible does it."""
    if not 0 < lacking_minor * NEAR_SHARE <= carriage_paid_minor:
        return ()
    fit = [one for one in candidates if one.year_use > 0 and every_quantity_has_a_price(one.offer.terms)]
    fit.sort(key=lambda one: (one.lasts, one.item.code))
    taken: list[tuple[Candidate, TopUp]] = []
    for one in fit:
        more = _more(one, lacking_minor - _worth(other for _, other in taken))
        if more is None:
            continue
        together = [*taken, (one, more)]
        if _worth(other for _, other in together) < lacking_minor:
            taken = together
            continue
        found = _no_more_than_needed(lacking_minor, together)
        if _worth(found) * NEAR_SHARE <= carriage_paid_minor:
            return found
    return ()


def _worth(some: Iterable[TopUp]) -> int:
    return sum(one.cost_minor for one in some)


def _no_more_than_needed(lacking_minor: int, taken: list[tuple[Candidate, TopUp]]) -> tuple[TopUp, ...]:
    kept = [more for _, more in taken]
    for number in reversed(range(len(taken))):
        others = sum(more.cost_minor for place, more in enumerate(kept) if place != number)
        less = None if others >= lacking_minor else _more(taken[number][0], lacking_minor - others)
        kept[number] = replace(kept[number], more=0, cost_minor=0) if less is None else less
    return tuple(more for more in kept if more.more)


def _more(one: Candidate, gap_minor: int) -> TopUp | None:
    """The least that closes the gap, else all there is room for; `None` where there is room for nothing of worth."""
    terms, item = one.offer.terms, one.item
    step = sold_in(terms)
    if item.kind in BY_LENGTH and step < _WHOLE_MM:
        step *= -(-_WHOLE_MM // step)
    first = one.bought + step if one.bought else -(-sold_quantity(terms, 1) // step) * step
    last = one.bought + one.room
    last -= (last - first) % step
    if last < first:
        return None
    already = _cost(one, one.bought)
    tried = (last, *_starts(one, first, last, step))
    closing = [_closing(one, start, already + gap_minor, step) for start in tried]
    closes = [total for total in closing if total <= last and _cost(one, total) - already >= gap_minor]
    total = min(closes, default=last)
    worth = _cost(one, total) - already
    if worth <= 0:
        return None
    return TopUp(item.code, item.title, item.kind in BY_LENGTH, total - one.bought, one.bought, worth)


def _starts(one: Candidate, first: int, last: int, step: int) -> list[int]:
    """The first quantity of each stretch of one price that can be taken."""
    starts = (first + max(-(-(later.from_quantity - first) // step), 0) * step for later in one.offer.terms.breaks)
    return sorted({start for start in starts if start <= last})


def _closing(one: Candidate, start: int, cost_wanted: int, step: int) -> int:
    """The least quantity from `start` on, at its price, that costs so much."""
    at_start = _cost(one, start)
    if at_start >= cost_wanted:
        return start
    per_step = Fraction(at_start * step, start)
    return start + -(-Fraction(cost_wanted - at_start) // per_step) * step


def _cost(one: Candidate, quantity: int) -> int:
    return (cost_minor(one.offer.terms, quantity, one.item) or 0) if quantity else 0
