"""What buying an item comes to in a year, by how much is bought at a time: the goods, the order lines, what is kept.

    a year's use × price  +  cost of an order line × a year's use / quantity  +  keeping × price × quantity / 2

At one price that is least at the economic order quantity, and rises to both sides of it. Exact: money in fractions of
a minor unit, quantities in mm or count.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import isqrt

from stockroom.domain.catalogue import BY_LENGTH, Item
from stockroom.domain.offer import Offer, every_quantity_has_a_price, price_at, sold_in, sold_quantity
from stockroom.domain.quantities import show_money


@dataclass(frozen=True, slots=True)
class Costs:
    """What the shop says that buying and keeping cost, besides the goods."""

    order_minor: int = 0
    """One order line, to place and to receive."""
    keeping_percent: int = 0
    """Keeping stock for a year, in per cent of its worth; 0: nobody said, so nothing is reckoned by it."""
    currency: str = ""


NO_COSTS = Costs()


@dataclass(frozen=True, slots=True)
class YearUse:
    """What is used of an item in a year."""

    quantity: int
    """mm or count, more than 0."""
    known_by: str
    """A few words: 'as it is forecast', 'by the last 52 weeks'."""


@dataclass(frozen=True, slots=True)
class Yearly:
    """One item's use and what buying and keeping it costs, besides the goods."""

    use: YearUse
    costs: Costs
    per: int
    """So many mm, or ones, have the price."""

    def parts(self, quantity: int, price_minor: int) -> tuple[Fraction, Fraction, Fraction]:
        """Minor units a year for the goods, the order lines, and keeping, where so much is bought at a time."""
        goods = Fraction(self.use.quantity * price_minor, self.per)
        orders = Fraction(self.costs.order_minor * self.use.quantity, quantity)
        return goods, orders, Fraction(self.costs.keeping_percent * price_minor * quantity, 200 * self.per)

    def economic(self, price_minor: int) -> int:
        """The economic order quantity at one price, rounded down to a whole mm or one."""
        twice = 2 * self.costs.order_minor * self.use.quantity
        return isqrt(twice * 100 * self.per // (self.costs.keeping_percent * price_minor))


def yearly(costs: Costs, use: YearUse | None, offer: Offer, item: Item) -> tuple[Yearly | None, tuple[str, ...]]:
    """What a year's cost is reckoned from, and a sentence where it cannot be though the shop asks for it."""
    if not costs.keeping_percent:
        return None, ()
    lacks = ""
    if use is None:
        lacks = "nobody can say what a year takes"
    elif offer.supplier.currency != costs.currency:
        lacks = (
            f"ordering costs are in {costs.currency}, and {offer.supplier.code} is paid in {offer.supplier.currency}"
        )
    elif not every_quantity_has_a_price(offer.terms):
        lacks = "not every quantity has a price"
    if use is None or lacks:
        return None, (f"What costs least in a year is not reckoned: {lacks}.",)
    return Yearly(use, costs, 1000 if item.kind in BY_LENGTH else 1), ()


def least_in_a_year(offer: Offer, known: Yearly, must: int, most: int | None) -> int:
    """The sold quantity from `must` up to `most` (`None`: any) that costs least in a year; of equals the smallest.

    `most` is not below the least sold quantity that covers `must`. Between two price breaks the cost falls up to the
    economic order quantity and rises after it, so only the sold quantities next to that, or the ends, can be it.
    More stock never buys more: with a lower `must` and `most` only smaller quantities are added and larger left out.
    """
    tried = [quantity for stretch in _stretches(offer, must, most) for quantity in _near(known, offer, *stretch)]
    return min(tried, key=lambda quantity: (cost_of(offer, known, quantity), quantity))


def cost_of(offer: Offer, known: Yearly, quantity: int) -> Fraction:
    """Minor units a year, all in all."""
    return sum(known.parts(quantity, price_at(offer.terms, quantity) or 0), Fraction())


def _stretches(offer: Offer, must: int, most: int | None) -> list[tuple[int, int, int | None]]:
    """Price, first and last sold quantity of each stretch between two price breaks; no last: without end."""
    terms, step, found = offer.terms, sold_in(offer.terms), []
    ends = [later.from_quantity - 1 for later in terms.breaks[1:]]
    for begins, end in zip(terms.breaks, [*ends, None], strict=True):
        bounds = [bound for bound in (end, most) if bound is not None]
        first = sold_quantity(terms, max(must, begins.from_quantity))
        last = min(bounds) // step * step if bounds else None
        if last is None or first <= last:
            found.append((begins.price_minor, first, last))
    return found


def _near(known: Yearly, offer: Offer, price: int, first: int, last: int | None) -> list[int]:
    step = sold_in(offer.terms)
    below = known.economic(price) // step * step
    tried = [max(first, quantity) for quantity in (below, below + step)]
    return tried if last is None else [min(last, quantity) for quantity in tried]


def year_words(offer: Offer, item: Item, known: Yearly, must: int, chosen: int) -> tuple[str, ...]:
    """Why the chosen quantity, with the figures: what a year takes and costs."""
    shown, currency = item.shown, known.costs.currency
    line = show_money(known.costs.order_minor, currency)
    goods, orders, keeping = known.parts(chosen, price_at(offer.terms, chosen) or 0)
    parts = (
        f"{_money(goods, currency)} to buy, {_money(orders, currency)} to order, {_money(keeping, currency)} to keep"
    )
    steps = [
        f"A year takes {shown(known.use.quantity)}, {known.use.known_by}; an order line costs {line}, and keeping "
        f"stock costs {known.costs.keeping_percent} % of its worth a year.",
        f"Bought {shown(chosen)} at a time, a year comes to {_money(goods + orders + keeping, currency)} ({parts}).",
    ]
    starts = (sold_quantity(offer.terms, step.from_quantity) for step in offer.terms.breaks)
    least = sold_quantity(offer.terms, must)
    for other in sorted({least, *(start for start in starts if start > least)} - {chosen}):
        steps.append(f"{shown(other)} at a time would come to {_money(cost_of(offer, known, other), currency)}.")
    return tuple(steps)


def _money(minor: Fraction, currency: str) -> str:
    return show_money(round(minor), currency)
