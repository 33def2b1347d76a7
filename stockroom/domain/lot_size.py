"""How much to buy of one item from one supplier, where so much must come: what is sold, the most to be kept, and price
breaks by the least total cost.

More stock never buys more, price breaks included: every quantity bought is a sold quantity, a smaller need is offered
the same breaks, and a break that was not worth its price from a smaller quantity cannot pull a purchase past a larger
one. What price breaks do spoil is the reverse: less need may buy just as much.
"""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.catalogue import Item
from stockroom.domain.offer import Offer, cost_minor, cost_words, has_price, sold_in, sold_quantity, sold_words
from stockroom.domain.yearly_cost import Yearly, cost_of, least_in_a_year, year_words


@dataclass(frozen=True, slots=True)
class Priced:
    """A quantity to buy, what it costs, and why this quantity."""

    quantity: int
    cost_minor: int | None
    steps: tuple[str, ...]


def how_much(offer: Offer, item: Item, must: int, top: int, known: Yearly | None = None) -> Priced:
    """How much to buy where at least `must` (more than 0) has to come and `top` would reach the most.

    Never less than `must`. Not more than `top`, unless the least quantity and the multiple force it; without a most
    (`top` is `must`) as much as costs least. Where a year's cost can be reckoned (`known`), what costs least in a year;
    else up to the most, or what costs least in hand, which may be the start of a later price break.
    """
    if known is not None:
        return _least_in_a_year(offer, item, must, top, known)
    terms, step = offer.terms, sold_in(offer.terms)
    plain = max(sold_quantity(terms, must), top // step * step)
    rounding = _rounding_step(offer, item, must, top, plain)
    cost = cost_minor(terms, plain, item)
    if cost is None:
        start = f" below {item.shown(terms.breaks[0].from_quantity)}" if has_price(terms) else ""
        return Priced(plain, None, (rounding, f"{offer.supplier.code} has given no price{start}."))
    return _cheapest(offer, item, Priced(plain, cost, (rounding, _costs_step(offer, item, plain, cost))))


def _least_in_a_year(offer: Offer, item: Item, must: int, top: int, known: Yearly) -> Priced:
    """What costs least in a year, up to the most; and what would, where the most forbids it."""
    least, step = sold_quantity(offer.terms, must), sold_in(offer.terms)
    most = None if item.most is None else max(least, top // step * step)
    chosen, free = (least_in_a_year(offer, known, must, bound) for bound in (most, None))
    cost = cost_minor(offer.terms, chosen, item)
    steps = [*year_words(offer, item, known, must, chosen)]
    if cost_of(offer, known, free) < cost_of(offer, known, chosen):
        over = "would be less still, but goes over the most to be kept: it is yours to choose."
        steps.append(f"{item.shown(free)} at a time {over}")
    sold = sold_words(offer.terms, item)
    forced = most is not None and most > top
    steps.append(
        _rounding_step(offer, item, must, top, chosen)
        if forced
        else f"Buy {item.shown(chosen)}, which costs least in a year ({sold})."
    )
    return Priced(chosen, cost, (*steps, _costs_step(offer, item, chosen, cost or 0)))


def _costs_step(offer: Offer, item: Item, quantity: int, cost: int) -> str:
    return f"{item.shown(quantity)} costs {cost_words(offer, item, quantity, cost)}."


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
    shown, sold = item.shown, sold_words(offer.terms, item)
    if quantity == top:
        return f"Buy {shown(quantity)}; it can be had so ({sold})."
    if quantity < top:
        return f"Buy {shown(quantity)}, the most that does not go over ({sold})."
    forced = f"{shown(must)} rounded up" if top == must else f"the least that covers {shown(must)}"
    over = "; that goes over the most to be kept" if item.most is not None else ""
    return f"Buy {shown(quantity)}, {forced} ({sold}){over}."
