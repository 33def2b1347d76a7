"""Readings of rolls as they are kept; a roll may have several."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from sqlalchemy import bindparam, delete, func, insert, select

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


def numbers_of(tx: Tx, holding_ids: Sequence[int]) -> list[int]:
    """The numbers of all readings of these holdings."""
    return list(tx.scalars(select(t.Reading.id).where(t.Reading.holding_id.in_(holding_ids)).order_by(t.Reading.id)))


def drop_readings(tx: Tx, reading_ids: Sequence[int]) -> None:
    """They were written down by mistake."""
    tx.execute(delete(t.Reading).where(t.Reading.id.in_(reading_ids)))


def readings_of(tx: Tx, holding_id: int) -> list[Reading]:
    """The readings of one roll, in the order they were taken."""
    return readings_by_roll(tx, holding_id).get(holding_id, [])


def readings_by_lot(tx: Tx, item: str) -> dict[str, list[Reading]]:
    """Lot of an item → what was read of its rolls, those too that are used up, in the order it was taken."""
    return {lot: found for (_, lot), found in readings_of_items(tx, [item]).items()}


def readings_of_items(tx: Tx, items: Collection[str]) -> dict[tuple[str, str], list[Reading]]:
    """Item and lot → what was read of its rolls, those too that are used up, in the order it was taken."""
    return _by_lot(tx.execute(_OF_ITEMS, {"items": sorted(set(items))}).all())


def latest_of_items(tx: Tx, items: Collection[str], most_of_a_lot: int) -> dict[tuple[str, str], list[Reading]]:
    """The same, only so many of the latest of each lot."""
    asked = {"items": sorted(set(items)), "most": most_of_a_lot}
    return _by_lot(tx.execute(_LATEST_OF_ITEMS, asked).all())


def _by_lot(rows: Sequence[Any]) -> dict[tuple[str, str], list[Reading]]:
    found: dict[tuple[str, str], list[Reading]] = {}
    for row in rows:
        found.setdefault((row[0], row[1]), []).append(Reading(*row[2:7]))
    return found


_READ = (
    t.Holding.item, t.Holding.lot, t.Reading.lightness, t.Reading.a, t.Reading.b, t.Reading.illuminant,
    t.Reading.observer,
)  # fmt: skip
_OF_ITEMS: Any = (
    select(*_READ)
    .join(t.Holding, t.Holding.id == t.Reading.holding_id)
    .where(t.Holding.item.in_(bindparam("items", expanding=True)))
    .order_by(t.Reading.id)
)
_TURN = func.row_number().over(partition_by=(t.Holding.item, t.Holding.lot), order_by=t.Reading.id.desc())
_NUMBERED = (
    select(*_READ, t.Reading.id, _TURN.label("turn"))
    .join(t.Holding, t.Holding.id == t.Reading.holding_id)
    .where(t.Holding.item.in_(bindparam("items", expanding=True)))
    .subquery()
)
_LATEST_OF_ITEMS: Any = select(_NUMBERED).where(_NUMBERED.c.turn <= bindparam("most")).order_by(_NUMBERED.c.id)


def readings_by_roll(tx: Tx, *holding_ids: int) -> dict[int, list[Reading]]:
    """The readings of these rolls, or of all of them, in the order they were taken."""
    r = t.Reading
    query = select(r.holding_id, r.lightness, r.a, r.b, r.illuminant, r.observer).order_by(r.id)
    found: dict[int, list[Reading]] = {}
    for row in tx.execute(query.where(r.holding_id.in_(holding_ids)) if holding_ids else query):
        found.setdefault(row[0], []).append(Reading(*row[1:]))
    return found
