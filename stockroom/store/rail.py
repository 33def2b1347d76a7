"""The orders in hand, each with how ready it is, in a handful of statements however many there are."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import case, func, select

from stockroom.store import tables as t
from stockroom.store.database import Tx


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


def open_orders(tx: Tx) -> list[RailRow]:
    """Every open order: those with a date first, by date; then those that are open."""
    order, line = t.CustomerOrder, t.OrderLine
    rows = tx.execute(
        select(order.id, order.number, order.tag, order.customer, order.wanted, order.fitted_here)
        .where(order.state == "open")
        .order_by(order.wanted.is_(None), order.wanted, order.id)
    ).all()
    is_open = select(order.id).where(order.state == "open")
    kits: defaultdict[int, list[tuple[int, str]]] = defaultdict(list)
    cars: defaultdict[int, dict[str, None]] = defaultdict(dict)
    lines = (
        select(line.order_id, line.quantity, line.title, t.Car.key)
        .join(t.Car, t.Car.id == line.car_id)
        .where(line.order_id.in_(is_open))
        .order_by(line.order_id, line.number)
    )
    for order_id, quantity, title, car in tx.execute(lines):
        kits[order_id].append((quantity, title))
        cars[order_id][car] = None
    needed, held = _readiness(tx, is_open)
    waits = {
        row[0]: int(row[1])
        for row in tx.execute(
            select(line.order_id, func.count())
            .join(t.Waiting, t.Waiting.line_id == line.id)
            .where(line.order_id.in_(is_open), t.Waiting.answered_at.is_(None))
            .group_by(line.order_id)
        )
    }
    short: defaultdict[int, list[tuple[str, str, int]]] = defaultdict(list)
    shortages = (
        select(t.Shortage.order_id, t.Item.title, t.Item.kind, t.Shortage.missing)
        .join(t.Item, t.Item.code == t.Shortage.item)
        .where(t.Shortage.order_id.in_(is_open))
        .order_by(t.Shortage.id)
    )
    for order_id, title, kind, missing in tx.execute(shortages):
        short[order_id].append((title, kind, missing))
    nothing: tuple[tuple[str, str, int], ...] = ()
    # Rows are unpacked, not asked by name, and most orders are short of nothing: with thousands of orders both count.
    return [
        RailRow(
            number, tag, customer, wanted, fitted_here, tuple(kits[order_id]), tuple(cars[order_id]),
            needed.get(order_id, 0), held.get(order_id, 0), waits.get(order_id, 0),
            tuple(short[order_id]) if order_id in short else nothing,
        )
        for order_id, number, tag, customer, wanted, fitted_here in rows
    ]  # fmt: skip


def _readiness(tx: Tx, orders: Any) -> tuple[dict[int, int], dict[int, int]]:
    """Order → requirements needed now, and how many of them are wholly held."""
    requirement = t.Requirement
    needed: dict[int, int] = {}
    held: dict[int, int] = {}
    rows = tx.execute(
        select(
            requirement.order_id,
            func.count(),
            func.sum(case((requirement.held == requirement.needed, 1), else_=0)),
        )
        .where(requirement.order_id.in_(orders), requirement.needed > 0)
        .group_by(requirement.order_id)
    )
    for order_id, needs, wholly_held in rows:
        needed[order_id], held[order_id] = int(needs), int(wholly_held)
    return needed, held
