"""What the walk of some orders shows, read for all of them at once and no wider than it is shown.

A scan on the walk has it read again: what else is known of a requirement or a reservation (shapes, reasons) takes many
times as long to read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import bindparam, select

from stockroom.store import tables as t
from stockroom.store.database import Tx


@dataclass(frozen=True, slots=True)
class KeptStop:
    """What one order holds in one holding: all of its reservations there, or one planned cut."""

    order_id: int
    holding_id: int
    cut_id: int | None
    """`None`: it is reserved."""
    tag: str
    item: str
    place: str
    walk: int
    lot: str
    from_mm: int
    """Of a cut, from the roll's inner end; 0 otherwise."""
    to_mm: int
    quantity: int
    """mm or count."""
    serves: tuple[tuple[str, str], ...]
    """Piece (or '') and hand of each requirement it is for, the same more than once where several are alike."""
    changed: bool
    """Whether one of them is changed for its car."""


@dataclass(frozen=True, slots=True)
class Fetched:
    """What was taken for an order at once: picked, or cut."""

    order_id: int
    tag: str
    item: str
    quantity: int
    """mm or count."""
    by: str


_Q, _H, _C, _P = t.Requirement, t.Holding, t.PlannedCut, t.PlannedPanel
_WHERE = (_H.id, _H.tag, _H.item, _H.place, t.Place.walk, _H.lot)
_MINE = _Q.order_id.in_(bindparam("orders", expanding=True))
_RESERVED = (
    select(_Q.order_id, _Q.piece, _Q.hand, _Q.changed, *_WHERE, t.Reservation.quantity)
    .select_from(t.Reservation)
    .join(_Q, _Q.id == t.Reservation.requirement_id)
    .join(_H, _H.id == t.Reservation.holding_id)
    .outerjoin(t.Place, t.Place.code == _H.place)
    .where(_MINE)
    .order_by(_Q.id)
)
_LAID = (
    select(_Q.order_id, _Q.piece, _Q.hand, _Q.changed, *_WHERE, _C.id, _C.from_mm, _C.to_mm)
    .select_from(_P)
    .join(_Q, _Q.id == _P.requirement_id)
    .join(_C, _C.id == _P.cut_id)
    .join(_H, _H.id == _C.holding_id)
    .outerjoin(t.Place, t.Place.code == _H.place)
    .where(_MINE, _C.state == "planned")
    .order_by(_P.id)
)
_PICKED = (
    select(_Q.order_id, _H.tag, _H.item, t.Pick.quantity, t.Pick.by)
    .select_from(t.Pick)
    .join(_Q, _Q.id == t.Pick.requirement_id)
    .join(_H, _H.id == t.Pick.holding_id)
    .where(_MINE)
    .order_by(t.Pick.id)
)
_CUT = (
    select(t.Movement.order_id, _H.tag, _H.item, t.Cut.cut_mm, t.Cut.by)
    .select_from(t.Cut)
    .join(t.Movement, t.Movement.id == t.Cut.movement_id)
    .join(_H, _H.id == t.Cut.holding_id)
    .where(t.Movement.order_id.in_(bindparam("orders", expanding=True)))
    .order_by(t.Cut.id)
)
_WAITS = (
    select(t.OrderLine.order_id, t.OrderLine.number, t.Waiting.name, t.Waiting.question)
    .join(t.OrderLine, t.OrderLine.id == t.Waiting.line_id)
    .where(t.OrderLine.order_id.in_(bindparam("orders", expanding=True)), t.Waiting.answered_at.is_(None))
    .order_by(t.OrderLine.number, t.Waiting.id)
)
_SHORT = (
    select(t.Shortage.order_id, t.Shortage.sentence)
    .where(t.Shortage.order_id.in_(bindparam("orders", expanding=True)))
    .order_by(t.Shortage.id)
)
_TO_FETCH = (
    select(t.Piece.order_id)
    .join(t.FromStock, t.FromStock.piece_id == t.Piece.id)
    .where(t.Piece.order_id.in_(bindparam("orders", expanding=True)), t.FromStock.movement_id.is_(None))
    .distinct()
)


def _rows(tx: Tx, statement: Any, order_ids: Sequence[int]) -> Sequence[Any]:
    return tx.execute(statement, {"orders": list(order_ids)}).all()


def stops_of(tx: Tx, order_ids: Sequence[int]) -> list[KeptStop]:
    """What is held for some orders and not yet fetched."""
    served: dict[tuple[int, int, int | None], list[tuple[str, str, bool]]] = {}
    where: dict[tuple[int, int, int | None], tuple[Any, ...]] = {}
    lengths: dict[tuple[int, int, int | None], tuple[int, int, int]] = {}
    for order_id, piece, hand, changed, *at, quantity in _rows(tx, _RESERVED, order_ids):
        key = (order_id, at[0], None)
        where[key] = tuple(at)
        served.setdefault(key, []).append((piece, hand, changed))
        lengths[key] = (0, 0, quantity + lengths.get(key, (0, 0, 0))[2])
    for order_id, piece, hand, changed, *at, cut_id, from_mm, to_mm in _rows(tx, _LAID, order_ids):
        laid = (order_id, at[0], cut_id)
        where[laid] = tuple(at)
        served.setdefault(laid, []).append((piece, hand, changed))
        lengths[laid] = (from_mm, to_mm, to_mm - from_mm)
    return [_stop(key, where[key], lengths[key], some) for key, some in served.items()]


def _stop(
    key: tuple[int, int, int | None],
    where: tuple[Any, ...],
    lengths: tuple[int, int, int],
    served: Sequence[tuple[str, str, bool]],
) -> KeptStop:
    (order_id, holding_id, cut_id), (_, tag, item, place, walk, lot) = key, where
    return KeptStop(
        order_id,
        holding_id,
        cut_id,
        tag or "",
        item,
        place or "",
        walk or 0,
        lot,
        *lengths,
        tuple((piece, hand) for piece, hand, _ in served),
        any(changed for _, _, changed in served),
    )


def picked_for(tx: Tx, order_ids: Sequence[int]) -> list[Fetched]:
    """What was picked for some orders, oldest first."""
    return [Fetched(order_id, tag or "", *rest) for order_id, tag, *rest in _rows(tx, _PICKED, order_ids)]


def cut_for(tx: Tx, order_ids: Sequence[int]) -> list[Fetched]:
    """What was cut for some orders, oldest first; mm."""
    return [Fetched(order_id, tag or "", *rest) for order_id, tag, *rest in _rows(tx, _CUT, order_ids)]


def waiting_for(tx: Tx, order_ids: Sequence[int]) -> list[tuple[int, int, str, str]]:
    """The answers that some orders wait for: order id, number of the line, name, question."""
    return [tuple(row) for row in _rows(tx, _WAITS, order_ids)]


def short_of(tx: Tx, order_ids: Sequence[int]) -> list[tuple[int, str]]:
    """What some orders were found short of: order id, sentence."""
    return [tuple(row) for row in _rows(tx, _SHORT, order_ids)]


def with_finished_things(tx: Tx, order_ids: Sequence[int]) -> set[int]:
    """Those of some orders for which a finished thing of the stock is still to be fetched."""
    return {row[0] for row in _rows(tx, _TO_FETCH, order_ids)}
