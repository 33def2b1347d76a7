"""The bill of materials of an order as it is stored: what it needs, how much of each item in all, and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stockroom.jobs.amounts import show_amount
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.ticket import Ticket, ticket_in
from stockroom.store import bill, orders
from stockroom.store.database import Shop


@dataclass(frozen=True, slots=True)
class ItemTotal:
    """All that an order needs of one item."""

    item: str
    title: str
    kind: str
    needed: int
    """mm or count; panels of cloth are counted."""
    held: int
    amount: str
    """`needed` as people read it."""
    lines: int
    """Requirements it is made up of."""


@dataclass(frozen=True, slots=True)
class Bill:
    """An order's bill of materials."""

    ticket: Ticket
    totals: tuple[ItemTotal, ...]


def explode(shop: Shop, number: str, today: date) -> Bill:
    """Reads the stored bill of materials of an order. Raises Refusal where there is no such order."""
    with shop.read() as tx:
        order = orders.order_by(tx, number)
        requirements = bill.requirements_of(tx, order.id)
        shown = ticket_in(shop, tx, order, requirements, today)
        items = catalogue_of(shop, tx).items
    totals: dict[tuple[str, str], tuple[int, int, int]] = {}
    for one in requirements:
        if one.needed:
            key = (one.requirement.item, one.requirement.need)
            needed, held, lines = totals.get(key, (0, 0, 0))
            totals[key] = (needed + one.needed, held + one.held, lines + 1)
    return Bill(
        shown,
        tuple(
            ItemTotal(
                item,
                items[item].title,
                items[item].kind,
                needed,
                held,
                f"{needed} panel{'s' if needed > 1 else ''}"
                if need == "panel"
                else show_amount(items[item].kind, needed),
                lines,
            )
            for (item, need), (needed, held, lines) in totals.items()
        ),
    )
