"""The rail: the orders in hand as job tickets, hung by the date they are wanted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from stockroom.jobs.amounts import show_amount
from stockroom.store.rail import RailRow, open_orders

if TYPE_CHECKING:
    from stockroom.store.database import Shop


@dataclass(frozen=True, slots=True)
class RailEntry:
    """One order on the rail."""

    number: str
    tag: str
    customer: str
    wanted: date | None
    """`None`: open."""
    overdue_days: int
    """Days past the wanted date; 0 where it is not overdue."""
    fitted_here: bool
    kits: tuple[str, ...]
    """Titles of what was ordered, with their quantity ('2 × Full boot set')."""
    cars: tuple[str, ...]
    needed: int
    """How many requirements the order has now."""
    held: int
    """How many of them are wholly held."""
    waits: int
    """How many answers it waits for."""
    short: tuple[str, ...]
    """What is short, a few words each ('hood cloth, fawn: 1.20 m')."""
    answer_overdue_days: int = 0
    """Days that the answer to a swatch is overdue; 0 where none is."""

    @property
    def ready(self) -> str:
        """How ready it is, in a word: 'held', 'short', 'waits' or 'not held yet'."""
        if self.short:
            return "short"
        if self.waits:
            return "waits"
        return "held" if self.held == self.needed else "not held yet"


def rail(shop: Shop, today: date) -> tuple[RailEntry, ...]:
    """The orders in hand, by the date they are wanted; those without a date last."""
    with shop.read() as tx:
        rows = open_orders(tx)
    return tuple(entry_of(row, today) for row in rows)


def entry_of(row: RailRow, today: date) -> RailEntry:
    """One order as it is told on this day."""
    return RailEntry(
        row.number,
        row.tag,
        row.customer,
        row.wanted,
        overdue_days(row.wanted, today),
        row.fitted_here,
        tuple(f"{quantity} × {title}" for quantity, title in row.kits),
        row.cars,
        row.needed,
        row.held,
        row.waits,
        tuple(f"{title}: {show_amount(kind, missing)}" for title, kind, missing in row.short),
        overdue_days(row.answer_until, today),
    )


def overdue_days(wanted: date | None, today: date) -> int:
    """Days that `wanted` is past; 0 where it is not, or is open."""
    return max(0, (today - wanted).days) if wanted else 0
