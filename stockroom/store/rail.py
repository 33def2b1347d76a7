"""The orders in hand, each with how ready it is, in a handful of statements however many there are.

The statements are written out, in words that both databases understand: the first orders are shown before the library
that would write them is loaded (see `stockroom.store.first_look`), and thousands of orders come faster without it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    from stockroom.store.database import Tx

Ask: TypeAlias = Callable[[str], Iterable[Any]]
"""Answers a statement with its rows."""

OPEN = "SELECT id FROM customer_order WHERE state = 'open'"
"""Which orders are on the rail."""
_HUNG = "wanted IS NULL, wanted, id"
"""The order of the rail: by the date; those that are open last."""
_ORDERS = (
    f"SELECT id, number, tag, customer, wanted, fitted_here FROM customer_order WHERE id IN ({{}}) ORDER BY {_HUNG}"
)
_LINES = """
    SELECT order_line.order_id, order_line.quantity, order_line.title, car.key
    FROM order_line JOIN car ON car.id = order_line.car_id
    WHERE order_line.order_id IN ({}) ORDER BY order_line.order_id, order_line.number"""
_READINESS = """
    SELECT order_id, count(*), sum(CASE WHEN held = needed THEN 1 ELSE 0 END)
    FROM requirement WHERE order_id IN ({}) AND needed > 0 GROUP BY order_id"""
_WAITS = """
    SELECT order_line.order_id, count(*)
    FROM order_line JOIN waiting ON waiting.line_id = order_line.id
    WHERE order_line.order_id IN ({}) AND waiting.answered_at IS NULL GROUP BY order_line.order_id"""
_SWATCHES = """
    SELECT order_id, min(until) FROM swatch_sent
    WHERE order_id IN ({}) AND answer IS NULL GROUP BY order_id"""
_SHORTAGES = """
    SELECT shortage.order_id, item.title, item.kind, shortage.missing
    FROM shortage JOIN item ON item.code = shortage.item
    WHERE shortage.order_id IN ({}) ORDER BY shortage.id"""


@dataclass(frozen=True, slots=True)
class RailRow:
    """One open order as the rail shows it."""

    number: str
    tag: str
    customer: str
    wanted: date | None
    fitted_here: bool
    kits: tuple[tuple[int, str], ...]
    """Quantity and title of each line."""
    cars: tuple[str, ...]
    needed: int
    held: int
    waits: int
    short: tuple[tuple[str, str, int], ...]
    """Title and kind of the item, and how much is missing."""
    answer_until: date | None = None
    """The first day until which the answer to a swatch is waited for."""


def open_orders(tx: Tx) -> list[RailRow]:
    """Every open order: those with a date first, by date; then those that are open."""
    return rows_of(tx.exec_driver_sql, OPEN)


def first_orders(ask: Ask, most: int) -> list[RailRow]:
    """The first of them, at most so many."""
    return rows_of(ask, f"{OPEN} ORDER BY {_HUNG} LIMIT {most:d}")


def rows_of(ask: Ask, chosen: str) -> list[RailRow]:
    """The orders whose numbers of their own a statement gives, as they hang on the rail."""
    kits: defaultdict[int, list[tuple[int, str]]] = defaultdict(list)
    cars: defaultdict[int, dict[str, None]] = defaultdict(dict)
    for order_id, quantity, title, car in ask(_LINES.format(chosen)):
        kits[order_id].append((quantity, title))
        cars[order_id][car] = None
    ready = {order_id: (needed, int(held)) for order_id, needed, held in ask(_READINESS.format(chosen))}
    waits: dict[int, int] = dict(tuple(row) for row in ask(_WAITS.format(chosen)))
    until: dict[int, Any] = dict(tuple(row) for row in ask(_SWATCHES.format(chosen)))
    short: defaultdict[int, list[tuple[str, str, int]]] = defaultdict(list)
    for order_id, title, kind, missing in ask(_SHORTAGES.format(chosen)):
        short[order_id].append((title, kind, missing))
    nothing: tuple[tuple[str, str, int], ...] = ()
    # Rows are unpacked, not asked by name, and most orders are short of nothing: with thousands of orders both count.
    return [
        RailRow(
            number, tag, customer, _day(wanted), bool(fitted_here), tuple(kits[order_id]), tuple(cars[order_id]),
            *ready.get(order_id, (0, 0)), waits.get(order_id, 0),
            tuple(short[order_id]) if order_id in short else nothing,
            _day(until[order_id]) if order_id in until else None,
        )
        for order_id, number, tag, customer, wanted, fitted_here in ask(_ORDERS.format(chosen))
    ]  # fmt: skip


def _day(kept: Any) -> date | None:
    """SQLite keeps a day as text."""
    return date.fromisoformat(kept) if isinstance(kept, str) else kept
