"""How much to buy of one item from one supplier, where so much must come: what is sold, the most to be kept, and price
breaks by the least total cost.

More stock never buys more, price breaks included: every quantity bought is a sold quantity, a smaller need is offered
the same breaks, and a break that was not worth its price from a smaller quantity cannot pull a purchase past a larger
one. What price breaks do spoil is the reverse: less need may buy just as much.
"""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.catalogue import Item
from stockroom.domain.offer import Offer, cost_minor, cost_words, has_price, sold_quantity


@dataclass(frozen=True, slots=True)
class Priced:
    """A quantity to buy, what it costs, and why this quantity."""

    quantity: int
    cost_minor: int | None
    steps: tuple[str, ...]


def how_much(offer: Offer, item: Item, must: int, top: int) -> Priced:
    """How much to buy where at least `must` (more than 0) has to come and `top` would reach the most.

    Never less than `must`. Not more than `top`, unless the least quantity and the multiple force it; without a most
    (`top` is `must`) as much as costs least in all, which may be the start of a later price break.
    """
    terms = offer.terms
    plain = max(sold_quantity(terms, must), top // terms.multiple * terms.multiple)
    rounding = _rounding_step(offer, item, must, top, plain)
    cost = cost_minor(terms, plain, item)
    if cost is None:
        start = f" below {item.shown(terms.breaks[0].from_quantity)}" if has_price(terms) else ""
        return Priced(plain, None, (rounding, f"{offer.supplier.code} has given no price{start}."))
    costs = f"{item.shown(plain)} costs {cost_words(offer, item, plain, cost)}."
    return _cheapest(offer, item, Priced(plain, cost, (rounding, costs)))


def _cheapest(offer: Offer, item: Item, plain: Priced) -> Priced:
    """The same, or the start of a later price break where that costs less in all and no most forbids it."""
    later: dict[int, int] = {}
    for step in offer.terms.breaks:
        quantity = sold_quantity(offer.terms, step.from_quantity)
        cost = cost_minor(offer.terms, quantity, item)
        if quantity > plain.quantity and cost is not None:
            later[quantity] = cost
    if not later or plain.cost_minor is None:
        return plain
    best = min(later, key=lambda quantity: (later[quantity], quantity))
    words = f"{item.shown(best)} would cost {cost_words(offer, item, best, later[best])}"
    if later[best] >= plain.cost_minor:
        return Priced(plain.quantity, plain.cost_minor, (*plain.steps, f"{words}, which is not less in all."))
    if item.most is not None:
        choice = f"{words}, which is less in all but goes over the most to be kept: it is yours to choose."
        return Priced(plain.quantity, plain.cost_minor, (*plain.steps, choice))
    return Priced(best, later[best], (*plain.steps, f"{words}, which is less in all: buy that."))


def _rounding_step(offer: Offer, item: Item, must: int, top: int, quantity: int) -> str:
    terms, shown = offer.terms, item.shown
    sold = f"least quantity {shown(terms.least_quantity)}, multiples of {shown(terms.multiple)}"
    if quantity == top:
        return f"Buy {shown(quantity)}; it can be had so ({sold})."
    if quantity < top:
        return f"Buy {shown(quantity)}, the most that does not go over ({sold})."
    forced = f"{shown(must)} rounded up" if top == must else f"the least that covers {shown(must)}"
    return f"Buy {shown(quantity)}, {forced} ({sold})."
