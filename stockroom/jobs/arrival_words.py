"""What is said of goods that come in, before they count and after: lengths, the purchase, the worth, what is heavy."""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.arrival import Arrival, ArrivalRead, worth_minor
from stockroom.domain.arrival_questions import Bought, Goods
from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.colour_difference import USUAL_FACTORS
from stockroom.domain.new_shade import NewShade
from stockroom.domain.quantities import cloth_mass_g, show_length, show_money
from stockroom.domain.readings import read_words
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.printed import LIFT_LIMIT_G, LIFTING
from stockroom.store.purchases import PurchaseLine


@dataclass(frozen=True, slots=True)
class ArrivalKnown:
    """What was said, read, with everything that it names looked up."""

    said: Arrival
    """Trimmed, with the codes of the item and the place."""
    read: ArrivalRead
    goods: Goods
    currency: str
    """The shop's."""
    shade: NewShade | None = None
    """What is known of its shade, before it is booked."""


@dataclass(frozen=True, slots=True)
class Against:
    """What the goods came with."""

    line: PurchaseLine | None
    """The line of the purchase that is for these goods."""
    purchase: PurchaseLine | None
    """Any line of the purchase: that one, where there is one."""
    bought: Bought | None
    supplier: str | None


def price_minor(one: ArrivalKnown, against: Against) -> int:
    """What one, or one metre, is worth in the shop's currency; 0 where that is not known."""
    if one.read.price_minor is not None:
        return one.read.price_minor
    line = against.line
    return line.price_minor if line is not None and line.currency == one.currency else 0


def lines(one: ArrivalKnown, against: Against) -> tuple[str, ...]:
    """What is booked, in sentences."""
    said, read = one.said, one.read
    by_length = one.goods.item.kind in BY_LENGTH
    lot = f", lot {said.lot}" if said.lot else ""
    told = [f"{one.goods.item.title}{lot}, into {said.place}: {words}." for words in read.said_back]
    if by_length:
        told.append(f"Usable width {show_length(read.width_mm)}.")
        told.append("Measured here." if said.measured else "The length is the supplier's word until it is measured.")
    if read.reading is not None:
        told.append(f"Reading {read_words([read.reading], USUAL_FACTORS)}.")
    told += [f"Flaw from {show_length(one.from_mm)} to {show_length(one.to_mm)}: {one.what}." for one in read.flaws]
    told += [_purchase_words(one, against)] if against.purchase else []
    told.append(_worth_words(one, against))
    if read.expires:
        told.append(f"Not to be used after {read.expires}.")
    if said.quarantine:
        told.append(f"In quarantine: {said.quarantine}. Nothing of it is reserved.")
    return tuple(told)


def _purchase_words(one: ArrivalKnown, against: Against) -> str:
    purchase, line = against.purchase, against.line
    assert purchase is not None
    of = f"Purchase {purchase.reference} of {purchase.supplier_name}"
    if line is None:
        return f"{of} is for something else, which stays due."
    kind = one.goods.item.kind
    had = show_amount(kind, line.quantity)
    left = line.quantity - line.received - one.read.quantity
    if left > 0:
        return f"{of}: {show_amount(kind, left)} of {had} is still due after it. Close it if no more will come."
    if left < 0:
        return f"{of}: with it {show_amount(kind, -left)} more has come than the {had} bought."
    return f"{of}: with it all of the {had} has come."


def _worth_words(one: ArrivalKnown, against: Against) -> str:
    price = price_minor(one, against)
    line = against.line
    if not price:
        if line is not None and line.price_minor and line.currency != one.currency:
            return (
                f"The purchase is priced in {line.currency} and nothing is converted: it is booked as worth nothing. "
                f"Give its price in {one.currency}, if it is known."
            )
        return "No price is known: it is booked as worth nothing."
    worth = sum(worth_minor(price, quantity, one.goods.item) for quantity in one.read.quantities)
    each = "a metre" if one.goods.item.kind in BY_LENGTH else "each"
    return f"Worth {show_money(worth, one.currency)}, at {show_money(price, one.currency)} {each}."


def cautions(one: ArrivalKnown) -> tuple[str, ...]:
    """What is heavy, what is dangerous, and where it belongs."""
    item, cloth = one.goods.item, one.goods.cloth
    masses = [
        cloth_mass_g(quantity, one.read.width_mm, cloth.mass_g_m2) if cloth else quantity * item.mass_g
        for quantity in one.read.quantities
    ]
    heaviest = max(masses, default=0)
    hazards = item.hazards or (cloth.hazards if cloth else "")
    return (
        *((f"{heaviest / 1000:.1f} kg. {LIFTING}",) if heaviest >= LIFT_LIMIT_G else ()),
        *((f"Hazards: {hazards.rstrip('.')}. The maker's sheet and your own rules come first.",) if hazards else ()),
        *((f"Storage: {item.storage.rstrip('.')}.",) if item.storage else ()),
    )
