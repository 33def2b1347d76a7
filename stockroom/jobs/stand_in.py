"""What may stand in for what an order is short of, and what is free of it: proposed, never taken without a yes."""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.quantities import show_length
from stockroom.domain.shortage import lot_name
from stockroom.domain.substitutes import Substituted, is_discontinued, permitted, stand_in_words
from stockroom.domain.wording import listed
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.lookup import Catalogue
from stockroom.store import holds, racks, substitutions
from stockroom.store.database import Tx
from stockroom.store.orders import KeptOrder


@dataclass(frozen=True, slots=True)
class Proposal:
    """A permitted substitute for something that an order is short of."""

    item: str
    title: str
    instead: str
    instead_title: str
    free: str
    """What is free of it: '4.20 m', 'nothing'."""
    sentence: str


def proposals_in(catalogue: Catalogue, tx: Tx, order: KeptOrder) -> tuple[Proposal, ...]:
    """The permitted substitutes of what the last attempt to reserve an order found short, with what is free of them."""
    short = dict.fromkeys(one.item for one in holds.shortages_of(tx, order.id))
    taken = substitutions.substitutions_of(tx, order.id) if short else {}
    found = []
    for code in short:
        first = original(code, taken)
        for instead in permitted(catalogue.items[first], catalogue.items, catalogue.cloths):
            if instead != code:
                found.append(_proposal(catalogue, tx, order.number, code, instead))
    return tuple(found)


def substitutes_of(catalogue: Catalogue, tx: Tx, item: str) -> tuple[str, ...]:
    """The permitted substitutes of an item, each with what is free of it: for whoever looks for another."""
    return tuple(
        f"{stand_in_words(catalogue.items[one].title, _free(catalogue, tx, one))}."
        for one in permitted(catalogue.items[item], catalogue.items, catalogue.cloths)
    )


def _proposal(catalogue: Catalogue, tx: Tx, number: str, code: str, instead: str) -> Proposal:
    item, other = catalogue.items[code], catalogue.items[instead]
    free = _free(catalogue, tx, instead)
    gone = " is discontinued, and" if is_discontinued(item, catalogue.cloths) else ""
    sentence = (
        f"{item.title}{gone} may be replaced by {other.title} ({free} free), if the customer says yes: "
        f"stockroom substitute {number} {code} --with {instead} --yes-from NAME"
    )
    return Proposal(code, item.title, instead, other.title, free, sentence)


def _free(catalogue: Catalogue, tx: Tx, code: str) -> str:
    """What is free of an item; of cloth, in which lots."""
    kind = catalogue.items[code].kind
    lots: dict[str, int] = {}
    for one in racks.lying_of(tx, code):
        if not one.quarantined_because and one.held > one.reserved:
            lots[one.lot] = lots.get(one.lot, 0) + one.held - one.reserved
    if not lots:
        return "nothing"
    if kind not in BY_LENGTH or len(lots) == 1:
        return show_amount(kind, sum(lots.values()))
    return listed(f"{show_length(free)} of {lot_name(lot)}" for lot, free in sorted(lots.items()))


def original(item: str, taken: dict[int, dict[str, Substituted]]) -> str:
    """The item as the kit book has it, where what is named is taken instead of another already."""
    return next((one.item for line in taken.values() for one in line.values() if one.instead == item), item)
