"""Inspections as they are kept: what was met on a roll, and how much of it was looked over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, insert, select

from stockroom.domain.four_point import Fault
from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx


@dataclass(frozen=True, slots=True)
class KeptInspection:
    """A roll looked over once."""

    faults: tuple[Fault, ...]
    points: int
    length_mm: int
    """So much was looked over."""
    width_mm: int
    by: str
    at: datetime


def keep_inspection(
    tx: Tx, holding_id: int, faults: Sequence[Fault], points: int, length_mm: int, width_mm: int, stamp: Stamp
) -> int:
    """Writes down that a roll was looked over. Gives its number."""
    made = tx.execute(
        insert(t.Inspection).returning(t.Inspection.id),
        {
            "holding_id": holding_id,
            "faults": [[one.at_mm, one.length_mm, one.what] for one in faults],
            "points": points,
            "length_mm": length_mm,
            "width_mm": width_mm,
            "by": stamp.by,
            "at": stamp.at,
        },
    )
    return int(made.scalar_one())


def forget_inspection(tx: Tx, inspection_id: int) -> None:
    """It was written down by mistake."""
    tx.execute(delete(t.Inspection).where(t.Inspection.id == inspection_id))


def latest_of(tx: Tx, holding_id: int) -> KeptInspection | None:
    """The latest inspection of a roll; `None` where it was never looked over."""
    i = t.Inspection
    row = tx.execute(select(i).where(i.holding_id == holding_id).order_by(i.id.desc()).limit(1)).first()
    if row is None:
        return None
    faults = tuple(Fault(at, length, what) for at, length, what in row.faults)
    return KeptInspection(faults, row.points, row.length_mm, row.width_mm, row.by, row.at)
