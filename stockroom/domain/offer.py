"""What one supplier asks for one item: its lead time, the least that is sold, what so much costs, what is impossible.

Quantities in mm or count, money in minor units of the supplier's currency.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from stockroom.domain.catalogue import BY_LENGTH, Item, Supplier, Terms
from stockroom.domain.quantities import show_length, show_money

LONGEST_LEAD_DAYS = 3650
"""A longer lead time, or a receipt longer after its order, is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class Offer:
    """One supplier with its terms for the item."""

    supplier: Supplier
    terms: Terms

    @property
    def lead_days(self) -> int:
        """Days from ordering to receiving: the item's own, else the supplier's."""
        return self.supplier.lead_days if self.terms.lead_days is None else self.terms.lead_days


def terms_faults(offer: Offer) -> tuple[str, ...]:
    """What is impossible about the terms, a sentence each; terms with a fault are not bought on."""
    terms, found = offer.terms, []
    if terms.multiple < 1:
        found.append(f"the multiple is {terms.multiple}, and nothing comes in multiples of that")
    roll = terms.roll_mm
    if roll is not None and roll < 1:
        found.append(f"a roll is {roll} mm long")
    elif roll is not None and max(roll, terms.multiple) % max(min(roll, terms.multiple), 1):
        multiple = show_length(terms.multiple)
        found.append(f"multiples of {multiple} and whole rolls of {show_length(roll)} do not go into each other")
    if terms.least_quantity < 0:
        found.append(f"the least quantity is {terms.least_quantity}")
    if not 0 <= offer.lead_days <= LONGEST_LEAD_DAYS:
        found.append(f"the lead time is {offer.lead_days} days")
    starts = [step.from_quantity for step in terms.breaks]
    if any(later <= earlier for earlier, later in pairwise(starts)):
        found.append(f"the price breaks are out of order (from {', '.join(map(str, starts))})")
    if any(start < 0 for start in starts):
        found.append("a price break begins below nothing")
    prices = [step.price_minor for step in terms.breaks]
    if any(price < 0 for price in prices) or (len(prices) > 1 and 0 in prices):
        found.append("a price is 0 or less")
    beginning = f"The terms of {offer.supplier.code} for {terms.item} are impossible"
    return tuple(f"{beginning}: {what}. Correct them." for what in found)


def sold_quantity(terms: Terms, wanted: int) -> int:
    """The least that is sold and not below `wanted`: at least the least quantity, in whole multiples.

    >>> sold_quantity(Terms('mill', 'x', None, least_quantity=25, multiple=10, breaks=()), 31)
    40
    """
    step = sold_in(terms)
    return -(-max(wanted, terms.least_quantity) // step) * step


def sold_in(terms: Terms) -> int:
    """What is sold is a whole multiple of this: the multiple, or the whole roll where that is longer."""
    return max(terms.multiple, terms.roll_mm or 1)


def sold_words(terms: Terms, item: Item) -> str:
    """How it is sold, for people: 'least quantity 10 m, multiples of 5 m'."""
    least = f"least quantity {item.shown(terms.least_quantity)}, "
    if terms.roll_mm is None:
        return f"{least}multiples of {item.shown(terms.multiple)}"
    rolls = f"whole rolls of {item.shown(terms.roll_mm)}"
    several = f", in multiples of {item.shown(terms.multiple)}" if terms.multiple > terms.roll_mm else ""
    return f"{least if terms.least_quantity > terms.roll_mm else ''}{rolls}{several}"


def cost_minor(terms: Terms, quantity: int, item: Item) -> int | None:
    """Cost of a quantity at the break it reaches, rounded up to a whole minor unit; `None` where no price is known."""
    price = price_at(terms, quantity)
    if price is None:
        return None
    return cost_at(price, quantity, item.kind)


def cost_at(price_minor: int, quantity: int, kind: str) -> int:
    """What so much costs at a price of one, or of one metre where the kind is by length, rounded up.

    >>> cost_at(1_850, 2_501, "cloth"), cost_at(45, 12, "hardware")
    (4627, 540)
    """
    return -(-price_minor * quantity // 1000) if kind in BY_LENGTH else price_minor * quantity


def price_at(terms: Terms, quantity: int) -> int | None:
    """The price of one, or of one metre, at the break that a quantity reaches; `None` where no price is known."""
    reached = [step.price_minor for step in terms.breaks if step.from_quantity <= quantity]
    return reached[-1] if reached and has_price(terms) else None


def every_quantity_has_a_price(terms: Terms) -> bool:
    """Whether the price of all that is sold is known."""
    return bool(price_at(terms, sold_quantity(terms, 1)))


def has_price(terms: Terms) -> bool:
    """Whether any price is known: a sole price of 0 is none."""
    return any(step.price_minor for step in terms.breaks)


def cost_words(offer: Offer, item: Item, quantity: int, cost: int) -> str:
    """A cost that `cost_minor` gave, for people: '28.00 GBP (0.40 GBP each)'."""
    each = "a metre" if item.kind in BY_LENGTH else "each"
    price, currency = price_at(offer.terms, quantity) or 0, offer.supplier.currency
    return f"{show_money(cost, currency)} ({show_money(price, currency)} {each})"
