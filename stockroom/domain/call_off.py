"""Whether what dated orders need is better called off in parts than bought at once: the dynamic lot size of Wagner and
Whitin, by dynamic programming. Advice only.

Every part serves some weeks one after another and comes in the first of them. The cheapest way to serve the weeks up to
one is the cheapest way to serve those before some part, and that part.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from stockroom.domain.catalogue import BY_LENGTH, Item
from stockroom.domain.offer import Offer, cost_minor, every_quantity_has_a_price, price_at, sold_quantity
from stockroom.domain.quantities import show_money
from stockroom.domain.weeks import YEAR_WEEKS, Week
from stockroom.domain.wording import listed
from stockroom.domain.yearly_cost import Costs


@dataclass(frozen=True, slots=True)
class Parts:
    """The cheapest way to serve needs period by period."""

    cost: Fraction
    """Of all set-ups and of keeping."""
    begin: tuple[int, ...]
    """Numbers of the periods in which a part comes, from 0 on; it lasts until the next."""


def least_parts(needs: Sequence[int], set_ups: Sequence[int], keeping: Fraction) -> Parts:
    """The parts that cost least; of equals the fewest. `keeping`: one unit from a period to the next.

    >>> least_parts([10, 10, 40], [30, 30, 30], Fraction(1))
    Parts(cost=Fraction(70, 1), begin=(0, 2))
    """
    best: list[tuple[Fraction, int, tuple[int, ...]]] = [(Fraction(), 0, ())]
    for end in range(1, len(needs) + 1):
        tried = []
        kept = Fraction()
        for begin in range(end - 1, -1, -1):
            kept += keeping * sum(needs[begin + 1 : end])
            cost, parts, begins = best[begin]
            tried.append((cost + set_ups[begin] + kept, parts + 1, (*begins, begin)))
        if not needs[end - 1]:
            tried.append(best[end - 1])
        best.append(min(tried))
    cost, _, begins = best[-1]
    return Parts(cost, begins)


def call_off_steps(offer: Offer, item: Item, net: Sequence[tuple[Week, int]], costs: Costs) -> tuple[str, ...]:
    """A sentence where calling off in parts costs less than buying at once all that dated orders lack.

    `net`: what must be ready week by week, in order and without gaps, mm or count. What is compared is in quantities
    as they are sold, the goods at the price that each of them reaches, and includes ordering and keeping.
    """
    known = costs.keeping_percent and costs.order_minor and offer.supplier.currency == costs.currency
    needs = [need for _, need in net]
    if not known or not every_quantity_has_a_price(offer.terms) or sum(1 for need in needs if need) < 2:
        return ()
    first = next(number for number, need in enumerate(needs) if need)
    needs, weeks = needs[first:], [week for week, _ in net[first:]]
    per = 1000 if item.kind in BY_LENGTH else 1
    price = price_at(offer.terms, sold_quantity(offer.terms, sum(needs))) or 0
    keeping = Fraction(costs.keeping_percent * price, 100 * YEAR_WEEKS * per)
    begins = least_parts(needs, [costs.order_minor] * len(needs), keeping).begin
    parts, at_once = (_as_sold(offer, needs, some) for some in (begins, (0,)))
    in_parts, together = (_cost(offer, item, needs, some, costs, keeping) for some in (parts, at_once))
    if len(parts) < 2 or in_parts >= together:
        return ()
    named = listed(f"{item.shown(quantity)} by {weeks[number]}" for number, quantity in sorted(parts.items()))
    least, most = (show_money(round(cost), costs.currency) for cost in (in_parts, together))
    return (
        f"What orders need can be called off in parts, {named}: {least} with ordering and keeping, against {most} for "
        f"{item.shown(at_once[0])} at once.",
    )


def _as_sold(offer: Offer, needs: Sequence[int], begins: Sequence[int]) -> dict[int, int]:
    """What comes in which period, in quantities as they are sold; what rounding brings too much serves later needs."""
    parts: dict[int, int] = {}
    for begin, end in zip(begins, [*begins[1:], len(needs)], strict=True):
        lacking = sum(needs[:end]) - sum(parts.values())
        if lacking > 0:
            parts[begin] = sold_quantity(offer.terms, lacking)
    return parts


def _cost(
    offer: Offer, item: Item, needs: Sequence[int], parts: dict[int, int], costs: Costs, keeping: Fraction
) -> Fraction:
    """Minor units for the goods, the order lines, and keeping from each week to the next until the last need."""
    goods = sum(cost_minor(offer.terms, quantity, item) or 0 for quantity in parts.values())
    left, kept = 0, 0
    for number, need in enumerate(needs[:-1]):
        left += parts.get(number, 0) - need
        kept += left
    return goods + costs.order_minor * len(parts) + keeping * kept
