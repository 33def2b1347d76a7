"""What is packed of an order: parcels, the pieces in them, and how much of what each piece is made of was taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Integer, cast, delete, func, insert, select, update

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx
from stockroom.store.tags import next_tags


@dataclass(frozen=True, slots=True)
class KeptParcel:
    """One parcel of an order, or what is issued to the car."""

    id: int
    number: int
    tag: str
    what: str
    """'box', 'long parcel' or 'to the car'."""
    state: str
    """'open' or 'closed'."""
    opened_by: str
    closed_by: str


@dataclass(frozen=True, slots=True)
class PackedPiece:
    """Where a piece was packed, and how."""

    piece_id: int
    parcel: int
    """Number of the parcel."""
    how: str
    """'scanned' or 'ticked'."""
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Owner:
    """The order that a piece is of."""

    piece_id: int
    tag: str
    title: str
    hand: str
    line: int
    path: str
    piece: str
    order: str
    """Number."""


def owner_of_piece(tx: Tx, tag: str) -> Owner | None:
    """The piece of a tag, and whose it is."""
    p, o = t.Piece, t.CustomerOrder
    row = tx.execute(
        select(p.id, p.tag, p.title, p.hand, p.line, p.path, p.piece, o.number)
        .join(o, o.id == p.order_id)
        .where(p.tag == tag)
    ).one_or_none()
    return None if row is None else Owner(*row)


def order_of_parcel(tx: Tx, tag: str) -> str | None:
    """Number of the order that a parcel is of."""
    o = t.CustomerOrder
    number: str | None = tx.execute(
        select(o.number).join(t.Parcel, t.Parcel.order_id == o.id).where(t.Parcel.tag == tag)
    ).scalar()
    return number


def taken_of(tx: Tx, order_id: int) -> dict[int, int]:
    """Requirement id → what was picked or cut of it, for the requirements of one order."""
    q = t.Requirement
    return {row.id: row.taken for row in tx.execute(select(q.id, q.taken).where(q.order_id == order_id))}


def begun_of(tx: Tx, order_id: int) -> set[int]:
    """Ids of the requirements of an order for which something was picked or cut, spoilt or not."""
    q, s = t.Requirement, t.Spoilt
    taken = select(q.id).where(q.order_id == order_id, q.taken > 0)
    spoilt = select(q.id).join(s, s.requirement_id == q.id).where(q.order_id == order_id)
    return set(tx.execute(taken.union(spoilt)).scalars())


def parcels_of(tx: Tx, order_id: int) -> list[KeptParcel]:
    """The parcels of an order, by number."""
    p = t.Parcel
    rows = tx.execute(
        select(p.id, p.number, p.tag, p.what, p.state, p.opened_by, p.closed_by)
        .where(p.order_id == order_id)
        .order_by(p.number)
    )
    return [KeptParcel(*row[:6], row.closed_by or "") for row in rows]


def packed_of(tx: Tx, order_id: int) -> dict[int, PackedPiece]:
    """Piece id → where it was packed, for the packed pieces of an order."""
    k, p = t.Packed, t.Parcel
    rows = tx.execute(
        select(k.piece_id, p.number, k.how, k.by, k.at).join(p, p.id == k.parcel_id).where(p.order_id == order_id)
    )
    return {row.piece_id: PackedPiece(*row) for row in rows}


def open_parcel(tx: Tx, order_id: int, number: int, what: str, stamp: Stamp) -> KeptParcel:
    """A new parcel with a kit tag of its own."""
    (tag,) = next_tags(tx, "K", 1)
    row = {
        "tag": tag,
        "order_id": order_id,
        "number": number,
        "what": what,
        "state": "open",
        "opened_by": stamp.by,
        "opened_at": stamp.at,
    }
    id_ = tx.execute(insert(t.Parcel).returning(t.Parcel.id), row).scalar_one()
    return KeptParcel(id_, number, tag, what, "open", stamp.by, "")


def put_in(tx: Tx, parcel: KeptParcel, piece_id: int, how: str, stamp: Stamp) -> None:
    """A piece goes into a parcel."""
    row = {"piece_id": piece_id, "parcel_id": parcel.id, "how": how, "by": stamp.by, "at": stamp.at}
    tx.execute(insert(t.Packed), row)


def take_out(tx: Tx, piece_id: int) -> None:
    """A piece comes out of its parcel again."""
    tx.execute(delete(t.Packed).where(t.Packed.piece_id == piece_id))


def close_parcels(tx: Tx, order_id: int, stamp: Stamp) -> None:
    """Closes every parcel of an order; one with nothing in it is done away with."""
    p = t.Parcel
    mine = p.order_id == order_id
    full = select(t.Packed.parcel_id)
    tx.execute(delete(p).where(mine, p.id.not_in(full)))
    tx.execute(update(p).where(mine).values(state="closed", closed_by=stamp.by, closed_at=stamp.at))


def unpack_all(tx: Tx, order_id: int) -> None:
    """Everything comes out of the parcels of an order, and the parcels are done away with."""
    mine = select(t.Parcel.id).where(t.Parcel.order_id == order_id)
    tx.execute(delete(t.Packed).where(t.Packed.parcel_id.in_(mine)))
    tx.execute(delete(t.Parcel).where(t.Parcel.order_id == order_id))


def keep_sent_short(tx: Tx, order_id: int, owed: Sequence[str], because: str, stamp: Stamp) -> None:
    """Writes down somebody's word that an order goes out incomplete, and what is owed."""
    row = {"order_id": order_id, "owed": list(owed), "because": because, "by": stamp.by, "at": stamp.at}
    tx.execute(insert(t.SentShort), row)


def sent_short(tx: Tx, order_id: int) -> tuple[tuple[str, ...], str, str] | None:
    """What is owed of an order that went out incomplete, why, and whose word it is."""
    s = t.SentShort
    row = tx.execute(select(s.owed, s.because, s.by).where(s.order_id == order_id)).one_or_none()
    return None if row is None else (tuple(row.owed), row.because, row.by)


# --- spoilt panels -------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SpoiltCut:
    """Where a spoilt panel was cut from."""

    tag: str
    item: str
    lot: str


def spoil_panel(tx: Tx, requirement_id: int, piece_id: int, because: str, stamp: Stamp) -> SpoiltCut | None:
    """One panel that was cut for a requirement counts no longer. `None`, and nothing changed, if none was cut."""
    p, c, h = t.PlannedPanel, t.PlannedCut, t.Holding
    row = tx.execute(
        select(p.id, p.cut_id, h.tag, h.item, h.lot)
        .join(c, c.id == p.cut_id)
        .join(h, h.id == c.holding_id)
        .where(p.requirement_id == requirement_id, c.state == "cut")
        .order_by(p.id.desc())
        .limit(1)
    ).one_or_none()
    if row is None:
        return None
    q = t.Requirement
    tx.execute(delete(p).where(p.id == row.id))
    tx.execute(update(q).where(q.id == requirement_id).values(held=q.held - 1, taken=q.taken - 1))
    tx.execute(
        insert(t.Spoilt),
        {
            "requirement_id": requirement_id,
            "piece_id": piece_id,
            "count": 1,
            "because": because,
            "by": stamp.by,
            "at": stamp.at,
            "lot": row.lot,
            "cut_id": row.cut_id,
        },
    )
    return SpoiltCut(row.tag or "", row.item, row.lot)


def spoilt_of(tx: Tx, order_id: int) -> dict[int, int]:
    """Piece id → how many panels of it were spoilt, for the pieces of one order."""
    s, p = t.Spoilt, t.Piece
    rows = tx.execute(
        select(s.piece_id, cast(func.sum(s.count), Integer).label("number"))
        .join(p, p.id == s.piece_id)
        .where(p.order_id == order_id)
        .group_by(s.piece_id)
    )
    return {row.piece_id: row.number for row in rows}


def lot_spoken_for(tx: Tx, item: str, lot: str, order_id: int) -> list[str]:
    """Numbers of the other orders that hold something of one lot of an item and have not taken it yet."""
    h, q, o = t.Holding, t.Requirement, t.CustomerOrder
    planned = (
        select(o.number)
        .join(q, q.order_id == o.id)
        .join(t.PlannedPanel, t.PlannedPanel.requirement_id == q.id)
        .join(t.PlannedCut, t.PlannedCut.id == t.PlannedPanel.cut_id)
        .join(h, h.id == t.PlannedCut.holding_id)
        .where(h.item == item, h.lot == lot, o.id != order_id, t.PlannedCut.state == "planned")
    )
    reserved = (
        select(o.number)
        .join(q, q.order_id == o.id)
        .join(t.Reservation, t.Reservation.requirement_id == q.id)
        .join(h, h.id == t.Reservation.holding_id)
        .where(h.item == item, h.lot == lot, o.id != order_id)
    )
    margins = (
        select(o.number)
        .join(t.Margin, t.Margin.order_id == o.id)
        .join(h, h.id == t.Margin.holding_id)
        .where(h.item == item, h.lot == lot, o.id != order_id)
    )
    return sorted(tx.execute(planned.union(reserved, margins)).scalars())
