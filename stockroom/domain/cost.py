"""Costs: what one is worth where so many are worth so much, and how a cost is shared out so that nothing is lost."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from stockroom.domain.quantities import minor_digits

MM_PER_M = 1000


def share_minor(value_minor: int, quantity: int, of: int) -> int:
    """What `quantity` of a thing is worth that is worth `value_minor` and holds `of`: to the nearest, half up.

    >>> share_minor(1000, 1, 3), share_minor(0, 5, 0)
    (333, 0)
    """
    return (2 * value_minor * quantity + of) // (2 * of) if of else 0


def show_each(value_minor: int, quantity: int, by_length: bool, currency: str) -> str:
    """The average price of one, or of one metre: two figures finer than the currency, since caps cost pennies.

    >>> show_each(94_710, 24_600, True, "GBP"), show_each(2554, 412, False, "GBP"), show_each(0, 0, False, "GBP")
    ('38.5000 GBP', '0.0620 GBP', '')
    """
    if not quantity:
        return ""
    digits = minor_digits(currency)
    each = Decimal(value_minor * (MM_PER_M if by_length else 1)) / Decimal(quantity) / Decimal(10**digits)
    return f"{each.quantize(Decimal(1).scaleb(-digits - 2), rounding=ROUND_HALF_UP)} {currency.upper()}"


def shared_out(amount: int, weights: Sequence[int]) -> list[int]:
    """A whole amount shared out by weight: whole shares that come to it exactly.

    Each share is the running total up to it, less the one before: none is off by 1 or more.

    >>> shared_out(100, [1, 1, 1]), shared_out(-7, [2, 0, 5]), shared_out(9, [0, 0])
    ([33, 34, 33], [-2, 0, -5], [9, 0])
    """
    if not weights:
        return []
    if not sum(weights):
        weights = [1, *([0] * (len(weights) - 1))]
    whole, run, given, shares = sum(weights), 0, 0, []
    for weight in weights:
        run += weight
        upto = (2 * amount * run + whole) // (2 * whole)
        shares.append(upto - given)
        given = upto
    return shares
