"""The lots that went into orders, or are held for them: of planned cuts, reservations, picks and spoilt panels."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, bindparam, case, literal_column, select

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.store import finished
from stockroom.store import tables as t
from stockroom.store.database import Tx


class WentIn(NamedTuple):
    """Some of one lot that went into, or is held for, one requirement of an order."""

    order_id: int
    order: str
    """Number."""
    state: str
    """Of the order: 'open', 'sent' …"""
    for_stock: bool
    car_id: int
    line: int
    path: str
    piece: str
    group: str
    """Matching group, or ''."""
    item: str
    how: str
    """'held', 'cut', 'picked', 'spoilt' or 'from stock'."""
    lot: str
    tag: str
    """Of the roll or reel; '' where it is not known."""


@dataclass(frozen=True, slots=True)
class Packet:
    """Pieces that go together: those of an order with this line, path and piece code."""

    order_id: int
    owners: frozenset[tuple[int, str, str]]


_O, _L, _Q, _H = t.CustomerOrder, t.OrderLine, t.Requirement, t.Holding
_WHAT = (_O.id, _O.number, _O.state, _O.for_stock, _L.car_id, _Q.line, _Q.path, _Q.piece, _Q.group, _Q.item)
_BY_LENGTH = tuple(sorted(BY_LENGTH))


def _of(which: ColumnElement[bool]) -> Any:
    joined = (
        select(*_WHAT)
        .select_from(_L)
        .join(_O, _O.id == _L.order_id)
        .join(_Q, (_Q.order_id == _L.order_id) & (_Q.line == _L.number))
        .where(which, _O.state != "cancelled")
    )
    how = case((t.PlannedCut.state == "cut", "cut"), else_="held").label("how")
    lots = (_H.lot, _H.tag)
    cut = (
        joined.add_columns(how, *lots)
        .join(t.PlannedPanel, t.PlannedPanel.requirement_id == _Q.id)
        .join(t.PlannedCut, t.PlannedCut.id == t.PlannedPanel.cut_id)
        .join(_H, _H.id == t.PlannedCut.holding_id)
    )
    reserved, picked = (
        joined.add_columns(literal_column(f"'{said}'").label("how"), *lots)
        .join(table, table.requirement_id == _Q.id)
        .join(_H, _H.id == table.holding_id)
        .join(t.Item, t.Item.code == _H.item)
        .where(t.Item.kind.in_(_BY_LENGTH))
        for said, table in (("held", t.Reservation), ("picked", t.Pick))
    )
    spoilt = (
        joined.add_columns(literal_column("'spoilt'").label("how"), t.Spoilt.lot, literal_column("''").label("tag"))
        .join(t.Spoilt, t.Spoilt.requirement_id == _Q.id)
        .where(t.Spoilt.lot.is_not(None), _Q.held < _Q.needed, _O.state == "open")
    )
    return cut.union(reserved, picked, spoilt)


_OF_CARS = _of(_L.car_id.in_(bindparam("ids", expanding=True)))
_OF_ORDERS = _of(_L.order_id.in_(bindparam("ids", expanding=True)))
_CARS = select(_L.car_id).where(_L.order_id.in_(bindparam("ids", expanding=True))).distinct()
_REQUIREMENTS = (
    select(_Q.id, *_WHAT)
    .select_from(_L)
    .join(_O, _O.id == _L.order_id)
    .join(_Q, (_Q.order_id == _L.order_id) & (_Q.line == _L.number))
    .where(_Q.id.in_(bindparam("ids", expanding=True)))
)


def into_cars(tx: Tx, car_ids: Collection[int]) -> list[WentIn]:
    """All that went into the orders of these cars, or is held for them, the oldest order first; none of it twice."""
    cars = sorted(set(car_ids))
    if not cars:
        return []
    return sorted({*_read(tx.execute(_OF_CARS, {"ids": cars})), *_from_stock(tx, cars)})


def into_orders(tx: Tx, order_ids: Collection[int]) -> list[WentIn]:
    """The same of these orders alone."""
    asked = {"ids": sorted(set(order_ids))}
    if not asked["ids"]:
        return []
    cars = list(tx.execute(_CARS, asked).scalars())
    used = [one for one in _from_stock(tx, cars) if one.order_id in order_ids]
    return sorted({*_read(tx.execute(_OF_ORDERS, asked)), *used})


def _read(rows: Any) -> list[WentIn]:
    return [WentIn._make((*row[:-2], row[-2] or "", row[-1] or "")) for row in rows]


def _from_stock(tx: Tx, car_ids: list[int]) -> list[WentIn]:
    """What finished things of the stock brought."""
    used = finished.lots_used(tx, car_ids)
    if not used:
        return []
    rows = tx.execute(_REQUIREMENTS, {"ids": sorted({one[-1] for one in used})})
    known = {row[0]: tuple(row[1:]) for row in rows}
    return [WentIn._make((*known[requirement], "from stock", lot, "")) for _, _, _, lot, requirement in used]


def pieces_named(tx: Tx, tag: str) -> Packet | None:
    """The pieces that the tag of a piece, a bundle or a parcel names; `None` where it names none of an order."""
    p = t.Piece
    columns = select(p.order_id, p.line, p.path, p.piece)
    of_parcel = columns.join(t.Packed, t.Packed.piece_id == p.id).join(t.Parcel, t.Parcel.id == t.Packed.parcel_id)
    of_bundle = columns.join(t.Bundled, t.Bundled.piece_id == p.id).join(t.Bundle, t.Bundle.id == t.Bundled.bundle_id)
    query = {
        "P": columns.where(p.tag == tag),
        "K": of_parcel.where(t.Parcel.tag == tag),
        "T": of_bundle.where(t.Bundle.tag == tag),
    }[tag[0]]
    rows = tx.execute(query).all()
    if not rows:
        return None
    return Packet(rows[0].order_id, frozenset((row.line, row.path, row.piece) for row in rows))
