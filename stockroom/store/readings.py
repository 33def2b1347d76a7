"""Readings of rolls as they are kept; a roll may have several."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import delete, insert, select

from stockroom.domain.catalogue import Reading
from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx


def keep_readings(tx: Tx, readings: Sequence[tuple[int, Reading]], stamp: Stamp, instrument: str = "") -> list[int]:
    """Writes down what was read of each holding; gives the numbers of the readings, in their order."""
    if not readings:
        return []
    rows = [
        {
            "holding_id": holding_id,
            "lightness": float(one.lightness),
            "a": float(one.a),
            "b": float(one.b),
            "illuminant": one.illuminant,
            "observer": one.observer,
            "by": stamp.by,
            "at": stamp.at,
            "instrument": instrument,
        }
        for holding_id, one in readings
    ]
    return list(tx.scalars(insert(t.Reading).returning(t.Reading.id, sort_by_parameter_order=True), rows))


def drop_readings(tx: Tx, reading_ids: Sequence[int]) -> None:
    """They were written down by mistake."""
    tx.execute(delete(t.Reading).where(t.Reading.id.in_(reading_ids)))


def readings_of(tx: Tx, holding_id: int) -> list[Reading]:
    """The readings of one roll, in the order they were taken."""
    return readings_by_roll(tx, holding_id).get(holding_id, [])


def readings_by_lot(tx: Tx, item: str) -> dict[str, list[Reading]]:
    """Lot of an item → what was read of its rolls, those too that are used up, in the order it was taken."""
    r, h = t.Reading, t.Holding
    found: dict[str, list[Reading]] = {}
    query = select(h.lot, r.lightness, r.a, r.b, r.illuminant, r.observer).join(h, h.id == r.holding_id)
    for row in tx.execute(query.where(h.item == item).order_by(r.id)):
        found.setdefault(row[0], []).append(Reading(*row[1:]))
    return found


def readings_by_roll(tx: Tx, *holding_ids: int) -> dict[int, list[Reading]]:
    """The readings of these rolls, or of all of them, in the order they were taken."""
    r = t.Reading
    query = select(r.holding_id, r.lightness, r.a, r.b, r.illuminant, r.observer).order_by(r.id)
    found: dict[int, list[Reading]] = {}
    for row in tx.execute(query.where(r.holding_id.in_(holding_ids)) if holding_ids else query):
        found.setdefault(row[0], []).append(Reading(*row[1:]))
    return found
