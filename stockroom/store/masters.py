"""Master readings of colours as they were written down, one after another: the latest stands, the others stay known.

The master of a colour in whatever cloth is kept in the colour's own row as well, where the catalogue is read from.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, delete, insert, select, true, update

from stockroom.domain.catalogue import Item, Reading
from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.catalogue import read_colours, reading_columns, reading_of
from stockroom.store.database import Tx, lock_rows
from stockroom.store.edition import new_edition


@dataclass(frozen=True, slots=True)
class KeptMaster:
    """A master as it was written down."""

    id: int
    colour: str
    cloth: str
    """The cloth that it was read in; '' of the colour in whatever cloth."""
    reading: Reading | None
    """`None`: from then on there was none."""
    by: str
    """Initials; '' where it was there before this was kept."""
    at: datetime
    instrument: str


def masters_of(tx: Tx, colour: str) -> list[KeptMaster]:
    """Every master that a colour ever had, in any cloth, in the order they were written down."""
    return _masters(tx, t.MasterReading.colour == colour)


def masters_to_change(tx: Tx, colour: str) -> list[KeptMaster]:
    """`masters_of`, with nobody else writing one of this colour down until the transaction ends."""
    lock_rows(tx, t.Colour.__table__, [colour])
    return masters_of(tx, colour)


def masters_of_items(tx: Tx, items: Mapping[str, Item]) -> dict[str, Reading]:
    """Item → the master reading that stands of it; without those that have none."""
    by_colour: defaultdict[str, list[KeptMaster]] = defaultdict(list)
    for one in _masters(tx, true()):
        by_colour[one.colour].append(one)
    found = ((code, standing(by_colour.get(item.colour, ()), item.cloth)) for code, item in items.items())
    return {code: one.reading for code, one in found if one is not None and one.reading is not None}


def _masters(tx: Tx, which: ColumnElement[bool]) -> list[KeptMaster]:
    m = t.MasterReading.__table__
    return [
        KeptMaster(
            row["id"], row["colour"], row["cloth"] or "", reading_of(row), row["by"], row["at"], row["instrument"]
        )
        for row in tx.execute(select(m).where(which).order_by(m.c.id)).mappings()
    ]


def standing(masters: Sequence[KeptMaster], cloth: str) -> KeptMaster | None:
    """The master of a colour in a cloth: the latest that was read in it, else the latest of the colour; else none."""
    for one in (cloth, "") if cloth else ("",):
        latest = next((kept for kept in reversed(masters) if kept.cloth == one), None)
        if latest is not None and latest.reading is not None:
            return latest
    return None


def keep_master(tx: Tx, colour: str, cloth: str, reading: Reading, stamp: Stamp, instrument: str = "") -> int:
    """Writes a master down, which stands from now on; gives its number. See `masters_to_change`."""
    row = _row(colour, cloth or None, reading, stamp, instrument)
    number: int = tx.execute(insert(t.MasterReading).returning(t.MasterReading.id), row).scalar_one()
    _stands(tx, colour, cloth)
    return number


def drop_master(tx: Tx, master_id: int) -> None:
    """It was written down by mistake: what stood before stands again."""
    m = t.MasterReading
    wrong = tx.execute(select(m.colour, m.cloth).where(m.id == master_id)).one()
    masters_to_change(tx, wrong.colour)
    tx.execute(delete(m).where(m.id == master_id))
    _stands(tx, wrong.colour, wrong.cloth or "")


def keep_loaded(tx: Tx, stamp: Stamp) -> None:
    """Writes down the masters of a catalogue that was loaded, those that are other than what stood."""
    known: dict[str, Reading | None] = {
        one.colour: one.reading for one in _masters(tx, t.MasterReading.cloth.is_(None))
    }
    rows = [
        _row(code, None, colour.master, stamp, "")
        for code, colour in read_colours(tx).items()
        if colour.master != known.get(code)
    ]
    if rows:
        tx.execute(insert(t.MasterReading), rows)


def _stands(tx: Tx, colour: str, cloth: str) -> None:
    """Brings the colour's own row to what stands, and says that the catalogue is another."""
    if not cloth:
        latest = standing(masters_of(tx, colour), "")
        columns = reading_columns(None if latest is None else latest.reading)
        tx.execute(update(t.Colour).where(t.Colour.code == colour).values(columns))
    new_edition(tx)


def _row(colour: str, cloth: str | None, reading: Reading | None, stamp: Stamp, instrument: str) -> dict[str, Any]:
    return {
        "colour": colour,
        "cloth": cloth,
        **reading_columns(reading),
        "by": stamp.by,
        "at": stamp.at,
        "instrument": instrument,
    }
