"""Pieces whose panels were sewn together, with who says so and when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, insert, select

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx


@dataclass(frozen=True, slots=True)
class KeptSewn:
    """That a piece is sewn."""

    by: str
    at: datetime


def sewn_of(tx: Tx, order_id: int) -> dict[int, KeptSewn]:
    """Piece id → who sewed it and when, for the pieces of one order that are sewn."""
    rows = tx.execute(
        select(t.Sewn.piece_id, t.Sewn.by, t.Sewn.at)
        .join(t.Piece, t.Piece.id == t.Sewn.piece_id)
        .where(t.Piece.order_id == order_id)
    )
    return {row.piece_id: KeptSewn(row.by, row.at) for row in rows}


def sewn_by_tag(tx: Tx, tag: str) -> KeptSewn | None:
    """Who sewed the piece of a tag, and when."""
    row = tx.execute(
        select(t.Sewn.by, t.Sewn.at).join(t.Piece, t.Piece.id == t.Sewn.piece_id).where(t.Piece.tag == tag)
    ).one_or_none()
    return None if row is None else KeptSewn(row.by, row.at)


def keep_sewn(tx: Tx, piece_ids: Sequence[int], stamp: Stamp) -> None:
    """The panels of these pieces, none of which was sewn before, are sewn together."""
    if piece_ids:
        tx.execute(insert(t.Sewn), [{"piece_id": one, "by": stamp.by, "at": stamp.at} for one in piece_ids])


def take_apart(tx: Tx, piece_id: int) -> bool:
    """A piece is to be sewn again, since a panel of it is cut again; whether it had been sewn."""
    return bool(tx.execute(delete(t.Sewn).where(t.Sewn.piece_id == piece_id)).rowcount)
