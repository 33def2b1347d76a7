"""The pieces of an order, each with its tag, and the fitting list of each car."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import bindparam, delete, insert, select, update

from stockroom.domain.requirement import FittingStep, PieceMade
from stockroom.store import tables as t
from stockroom.store.database import Tx
from stockroom.store.kept_shapes import given_back, kept
from stockroom.store.tags import next_tags, tags_for


@dataclass(frozen=True, slots=True)
class KeptPiece:
    """One physical piece with its tag."""

    id: int
    tag: str
    piece: PieceMade


# Made once: building a statement takes longer than sending it.
_OF_ORDER = select(t.Piece).where(t.Piece.order_id == bindparam("order")).order_by(t.Piece.id)
_INSERT = insert(t.Piece)
_ORDER: Any = t.CustomerOrder.__table__
"""As a plain table: an update by number goes without the ORM's bookkeeping."""
_FITTING = update(_ORDER).where(t.CustomerOrder.id == bindparam("order")).values(fitting=bindparam("now"))


def _piece_key(piece: PieceMade) -> tuple[int, str, str, int]:
    return piece.line, piece.path, piece.piece, piece.copy


def _piece_row(piece: PieceMade) -> dict[str, Any]:
    return {
        "line": piece.line,
        "path": piece.path,
        "piece": piece.piece,
        "copy": piece.copy,
        "title": piece.title,
        "hand": piece.hand,
        "group": piece.group,
        "note": piece.note,
        "steps": list(piece.steps),
        "steps_in_all": piece.steps_in_all,
        "holes_left": list(piece.holes_left),
        "changed": piece.changed,
        "changes": list(piece.changes),
    }


def _piece_made(row: Any) -> PieceMade:
    return PieceMade(
        row.line, row.path, row.piece, row.copy, row.title, row.hand, row.group, row.note, tuple(row.steps),
        row.steps_in_all, tuple(row.holes_left), row.changed, tuple(row.changes),
    )  # fmt: skip


def pieces_of(tx: Tx, order_id: int) -> list[KeptPiece]:
    """The pieces of one order, as they were exploded."""
    rows = tx.execute(_OF_ORDER, {"order": order_id})
    return [KeptPiece(row.id, row.tag, _piece_made(row)) for row in rows]


def rewrite_pieces(tx: Tx, order_id: int, old: Sequence[KeptPiece], now: Sequence[PieceMade]) -> None:
    """Makes the order's pieces those in `now`; a piece that stays keeps its tag."""
    wanted = {_piece_key(piece): piece for piece in now}
    kept_now = {_piece_key(one.piece): one for one in old}
    gone = [one.id for key, one in kept_now.items() if key not in wanted]
    if gone:
        tx.execute(delete(t.Piece).where(t.Piece.id.in_(gone)))
    for key, one in kept_now.items():
        if key in wanted and wanted[key] != one.piece:
            tx.execute(update(t.Piece).where(t.Piece.id == one.id).values(_piece_row(wanted[key])))
    keep_pieces(tx, order_id, [piece for key, piece in wanted.items() if key not in kept_now])


def keep_pieces(
    tx: Tx, order_id: int, fresh: Sequence[PieceMade], marked: Mapping[tuple[int, str, str, int], str] | None = None
) -> None:
    """Writes pieces that are new to the order, each with a tag of its own.

    `marked`: tags that pieces (line, path, piece, copy) bear already. Raises `Refusal` where one is on another piece.
    """
    if fresh:
        own = [marked.get(_piece_key(one), "") for one in fresh] if marked else []
        used = set(tx.scalars(select(t.Piece.tag).where(t.Piece.tag.in_(own)))) if own else set()
        tags = tags_for(tx, "P", own, used) if own else next_tags(tx, "P", len(fresh))
        tx.execute(
            _INSERT,
            [{"order_id": order_id, "tag": tag, **_piece_row(one)} for tag, one in zip(tags, fresh, strict=True)],
        )


def keep_fitting(tx: Tx, order_id: int, steps: Mapping[str, Sequence[FittingStep]]) -> None:
    """Keeps the fitting list of each car of the order (car key → steps)."""
    fitting = {car: [kept(step) for step in listed] for car, listed in steps.items()}
    tx.execute(_FITTING, {"order": order_id, "now": fitting})


def fitting_of(tx: Tx, order_id: int) -> dict[str, tuple[FittingStep, ...]]:
    """Car key → its fitting steps."""
    fitting: Mapping[str, Any] = tx.execute(
        select(t.CustomerOrder.fitting).where(t.CustomerOrder.id == order_id)
    ).scalar_one()
    return {car: tuple(given_back(FittingStep, step) for step in steps) for car, steps in fitting.items()}
