"""Stock as it is kept: rolls, bins and what is on order. Opening stock is written once, however often it is loaded."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from sqlalchemy import ColumnElement, bindparam, insert, select, update

from stockroom.domain.catalogue import (
    Flaw,
    OpeningBin,
    OpeningPurchase,
    OpeningRoll,
)
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.store.catalogue import Written
from stockroom.store.database import Tx
from stockroom.store.ledger import Entry, append
from stockroom.store.readings import keep_readings
from stockroom.store.tables import Holding, Item, Moved, Movement, Parcel, Place, Purchase, Roll
from stockroom.store.tags import next_tags, tags_for

_Bin = tuple[str, str | None, str, bool]
"""Item, place, lot and whether it is in quarantine: what a bin is known by."""
_Mark = tuple[str, str]
"""Label and tag, one of them empty: what a roll of a file is known again by."""
OPENING = "opening stock"
"""Note of the movement that brings opening stock in."""


@dataclass(frozen=True, slots=True)
class RollKept:
    """One roll, reel or remnant as it is now."""

    holding_id: int
    tag: str
    label: str | None
    item: str
    lot: str
    place: str
    held_mm: int
    reserved_mm: int
    value_minor: int
    width_mm: int
    measured: bool
    remnant: bool
    parent_id: int | None
    quarantined: str
    """Reason, or empty."""
    flaws: tuple[Flaw, ...]
    received: date | None


@dataclass(frozen=True, slots=True)
class BinKept:
    """A counted item of one lot in one place as it is now."""

    holding_id: int
    tag: str
    item: str
    lot: str
    place: str
    held: int
    reserved: int
    value_minor: int
    quarantined: str
    """Reason, or empty."""


def write_rolls(tx: Tx, job_id: int, stamp: Stamp, rolls: Sequence[OpeningRoll]) -> Written:
    """Brings in the rolls whose label (or tag) is not known yet, with a tag each. Their items and places must be there.

    A label that is known changes nothing; where the file now says something else of it, that is reported. A roll that
    is used up comes in with nothing on it. Raises `Refusal` where a tag is on another roll, or a parent is not there.
    """
    known = _opened_rolls(tx)
    new = [roll for roll in rolls if _known_as(roll) not in known]
    used = _roll_tags(tx)
    tags = tags_for(tx, "R", [roll.tag for roll in new], used)
    holdings = [
        {
            **empty_holding("roll", tag, roll.item, roll.place or None, roll.lot, roll.quarantined),
            "expires": roll.expires,
        }
        for tag, roll in zip(tags, new, strict=True)
    ]
    ids = add_holdings(tx, holdings)
    used.update(zip(tags, ids, strict=True))
    if new:
        tx.execute(insert(Roll), [_roll_row(id_, roll) for id_, roll in zip(ids, new, strict=True)])
        read = [(id_, roll.reading) for id_, roll in zip(ids, new, strict=True) if roll.reading is not None]
        keep_readings(tx, read, stamp)
    _write_parents(tx, used, [(id_, roll) for id_, roll in zip(ids, new, strict=True) if roll.parent])
    append(
        tx,
        job_id,
        stamp,
        [
            Entry(id_, "received", roll.length_mm, roll.value_minor, OPENING)
            for id_, roll in zip(ids, new, strict=True)
            if roll.length_mm
        ],
    )
    differing = tuple(
        f"rolls: {roll.label or roll.tag}: was opened with {_roll_words(*known[_known_as(roll)])}, the file says "
        f"{_roll_words(roll.item, roll.lot, roll.length_mm)}: not changed, count it instead"
        for roll in rolls
        if _known_as(roll) in known and known[_known_as(roll)] != (roll.item, roll.lot, roll.length_mm)
    )
    return Written("rolls", len(new), len(rolls) - len(new) - len(differing), differing)


def write_bins(tx: Tx, job_id: int, stamp: Stamp, bins: Sequence[OpeningBin]) -> Written:
    """Brings in the bins (item × place × lot) that are not known yet, with a tag each; a bin may be empty.

    A bin that is known changes nothing; where the file now says another count, that is reported.
    """
    known = _opened_bins(tx)
    new = [one for one in bins if _bin(one) not in known]
    tags = _bin_tags(tx, new)
    ids = add_holdings(
        tx,
        [
            {**empty_holding("bin", tag, one.item, one.place, one.lot, one.quarantined), "expires": one.expires}
            for tag, one in zip(tags, new, strict=True)
        ],
    )
    append(
        tx,
        job_id,
        stamp,
        [
            Entry(id_, "received", one.count, one.value_minor, OPENING)
            for id_, one in zip(ids, new, strict=True)
            if one.count
        ],
    )
    differing = tuple(
        f"bins: {one.item} in {one.place}{f', lot {one.lot}' if one.lot else ''}: was opened with "
        f"{known[_bin(one)]}, the file says {one.count}: not changed, count it instead"
        for one in bins
        if known.get(_bin(one), one.count) != one.count
    )
    return Written("bins", len(new), len(bins) - len(new) - len(differing), differing)


def _bin(one: OpeningBin) -> _Bin:
    return one.item, one.place, one.lot, bool(one.quarantined)


def _bin_tags(tx: Tx, bins: Sequence[OpeningBin]) -> list[str]:
    """A tag for each bin, its own where it has one: finished kits kept for stock bear the kit's letter."""
    kits = set(tx.scalars(select(Item.code).where(Item.kind == "kit")))
    used: set[str | None] = set(tx.scalars(select(Holding.tag).where(Holding.kind != "roll")))
    used |= set(tx.scalars(select(Parcel.tag)))
    kit_tags = iter(tags_for(tx, "K", [one.tag for one in bins if one.item in kits], used))
    bin_tags = iter(tags_for(tx, "B", [one.tag for one in bins if one.item not in kits], used))
    return [next(kit_tags if one.item in kits else bin_tags) for one in bins]


def _known_as(roll: OpeningRoll) -> _Mark:
    return roll.label, "" if roll.label else roll.tag


def _roll_tags(tx: Tx) -> dict[str, int]:
    """Tag → number of every roll there ever was."""
    return dict(tx.execute(select(Holding.tag, Holding.id).where(Holding.kind == "roll")).all())  # type: ignore[arg-type]


def _write_parents(tx: Tx, known: Mapping[str, int], children: Sequence[tuple[int, OpeningRoll]]) -> None:
    """Writes down which rolls these were cut from. Raises `Refusal` naming those that are not there."""
    missing = sorted({roll.parent for _, roll in children} - set(known))
    if missing:
        raise Refusal(
            f"{', '.join(missing)} {'is' if len(missing) == 1 else 'are'} named as the parent of a remnant, but no "
            "roll has that tag. Load the parent along, or leave its tag out."
        )
    if children:
        tx.execute(
            update(Roll).where(Roll.holding_id == bindparam("this")).values(parent_id=bindparam("parent")),
            [{"this": id_, "parent": known[roll.parent]} for id_, roll in children],
        )


@dataclass(frozen=True, slots=True)
class Remnant:
    """A remnant that has just got its tag."""

    id: int
    tag: str


def add_remnant(tx: Tx, parent_id: int, item: str, lot: str, width_mm: int, place: str, day: date) -> Remnant:
    """A remnant with a tag of its own, its parent's lot, and nothing on it yet."""
    (tag,) = next_tags(tx, "R", 1)
    (id_,) = add_holdings(tx, [empty_holding("roll", tag, item, place or None, lot)])
    tx.execute(
        insert(Roll),
        {
            "holding_id": id_,
            "label": None,
            "width_mm": width_mm,
            "measured": True,
            "remnant": True,
            "parent_id": parent_id,
            "flaws": [],
            "received_on": day,
        },
    )
    return Remnant(id_, tag)


def share_of_worth(tx: Tx, holding_id: int, quantity: int) -> int:
    """What so much of a holding is worth, in minor units: its share of what all of it is worth, rounded down."""
    held, worth = tx.execute(select(Holding.held, Holding.value_minor).where(Holding.id == holding_id)).one()
    return worth * quantity // held if held else 0


def place_is_known(tx: Tx, code: str) -> bool:
    """Whether there is a place of this code."""
    return tx.execute(select(Place.code).where(Place.code == code)).first() is not None


def write_purchases(tx: Tx, stamp: Stamp, purchases: Sequence[OpeningPurchase]) -> Written:
    """Writes down what is on order and not known yet, by reference and item. What is known is left as it is.

    Where the file now says another supplier, quantity, due day or price, that is reported.
    """
    columns = (
        Purchase.reference,
        Purchase.item,
        Purchase.supplier,
        Purchase.quantity,
        Purchase.due,
        Purchase.price_minor,
    )
    known = {(row[0], row[1]): tuple(row[2:]) for row in tx.execute(select(*columns))}
    new = [one for one in purchases if (one.reference, one.item) not in known]
    if new:
        tx.execute(insert(Purchase), [_purchase_row(one, stamp) for one in new])
    differing = tuple(
        f"purchases: {one.reference}, {one.item}: is kept with another supplier, quantity, due day or price than the "
        "file says: not changed"
        for one in purchases
        if (one.reference, one.item) in known
        and known[one.reference, one.item] != (one.supplier, one.quantity, one.due, one.price_minor)
    )
    return Written("purchases", len(new), len(purchases) - len(new) - len(differing), differing)


def rolls_of(tx: Tx, item: str) -> tuple[RollKept, ...]:
    """Every roll, reel and remnant of an item that is not used up, oldest tag first."""
    return _rolls(tx, Holding.item == item)


def lots_by_item(tx: Tx) -> dict[str, tuple[str, ...]]:
    """Item → its lots, those that are used up too, in order."""
    query = (
        select(Holding.item, Holding.lot)
        .where(Holding.kind.in_(("roll", "bin")), Holding.lot != "")
        .distinct()
        .order_by(Holding.item, Holding.lot)
    )
    lots: dict[str, tuple[str, ...]] = {}
    for item, lot in tx.execute(query):
        lots[item] = (*lots.get(item, ()), lot)
    return lots


def rolls_in(tx: Tx, place: str) -> tuple[RollKept, ...]:
    """Every roll, reel and remnant in a place that is not used up."""
    return _rolls(tx, Holding.place == place)


def bins_of(tx: Tx, item: str) -> tuple[BinKept, ...]:
    """Every bin of an item, empty ones too."""
    return _bins(tx, Holding.item == item)


def bins_in(tx: Tx, place: str) -> tuple[BinKept, ...]:
    """Every bin in a place, empty ones too."""
    return _bins(tx, Holding.place == place)


def empty_holding(
    kind: Literal["roll", "bin", "made", "past"],
    tag: str | None,
    item: str,
    place: str | None,
    lot: str,
    quarantined: str = "",
) -> dict[str, Any]:
    """The row of a holding that holds nothing yet. `quarantined` is the reason, or empty."""
    return {
        "kind": kind,
        "tag": tag,
        "item": item,
        "place": place,
        "lot": lot,
        "held": 0,
        "reserved": 0,
        "quarantined": bool(quarantined),
        "quarantined_because": quarantined,
        "last_number": 0,
        "value_minor": 0,
    }


def add_holdings(tx: Tx, rows: Sequence[dict[str, Any]]) -> Sequence[int]:
    """Adds empty holdings, and gives their numbers in the order of the rows."""
    if not rows:
        return ()
    return tx.scalars(insert(Holding).returning(Holding.id, sort_by_parameter_order=True), rows).all()


def _rolls(tx: Tx, wanted: ColumnElement[bool]) -> tuple[RollKept, ...]:
    holding = Holding.__table__
    query = (
        select(holding, *(column for column in Roll.__table__.c if column.name != "holding_id"))
        .join_from(Holding, Roll)
        .where(Holding.kind == "roll", Holding.held > 0, wanted)
        .order_by(Holding.id)
    )
    return tuple(
        RollKept(
            holding_id=row["id"],
            tag=row["tag"],
            label=row["label"],
            item=row["item"],
            lot=row["lot"],
            place=row["place"] or "",
            held_mm=row["held"],
            reserved_mm=row["reserved"],
            value_minor=row["value_minor"],
            width_mm=row["width_mm"],
            measured=row["measured"],
            remnant=row["remnant"],
            parent_id=row["parent_id"],
            quarantined=row["quarantined_because"] if row["quarantined"] else "",
            flaws=tuple(Flaw(*flaw) for flaw in row["flaws"]),
            received=row["received_on"],
        )
        for row in tx.execute(query).mappings()
    )


def _bins(tx: Tx, wanted: ColumnElement[bool]) -> tuple[BinKept, ...]:
    query = select(Holding.__table__).where(Holding.kind == "bin", wanted).order_by(Holding.id)
    return tuple(
        BinKept(
            holding_id=row["id"],
            tag=row["tag"],
            item=row["item"],
            lot=row["lot"],
            place=row["place"] or "",
            held=row["held"],
            reserved=row["reserved"],
            value_minor=row["value_minor"],
            quarantined=row["quarantined_because"] if row["quarantined"] else "",
        )
        for row in tx.execute(query).mappings()
    )


def _opened_rolls(tx: Tx) -> Mapping[_Mark, tuple[str, str, int]]:
    """What a roll is known by → item, lot and length in mm, as the roll was opened."""
    query = (
        select(Roll.label, Holding.tag, Holding.item, Holding.lot, Movement.quantity)
        .join_from(Roll, Holding, Roll.holding_id == Holding.id)
        .join(Movement, (Movement.holding_id == Holding.id) & (Movement.number == 1), isouter=True)
    )
    return {
        (label or "", "" if label else tag or ""): (item, lot, length_mm or 0)
        for label, tag, item, lot, length_mm in tx.execute(query)
    }


def _opened_bins(tx: Tx) -> Mapping[_Bin, int]:
    """What a bin is known by → the count it was opened with (0 where it was not there at the opening).

    A bin that was carried elsewhere since, or went into quarantine, is known by how it was opened and by how it is.
    """
    opening = (Movement.holding_id == Holding.id) & (Movement.number == 1) & (Movement.note == OPENING)
    query = (
        select(Holding.id, Holding.item, Holding.place, Holding.lot, Holding.quarantined, Movement.quantity)
        .join(Movement, opening, isouter=True)
        .where(Holding.kind == "bin")
        .order_by(Holding.id)
    )
    # A movement of nothing is of a whole bin: carried elsewhere where it says from where, otherwise set apart.
    whole = (
        select(Movement.holding_id, Moved.movement_id, Moved.from_place)
        .outerjoin(Moved, Moved.movement_id == Movement.id)
        .where(Movement.kind == "moved", Movement.quantity == 0)
        .order_by(Movement.number.desc())
    )
    first: dict[int, str | None] = {}
    set_apart: set[int] = set()
    for id_, moved, place in tx.execute(whole):
        if moved is None:
            set_apart.add(id_)
        else:
            first[id_] = place
    known: dict[_Bin, int] = {}
    otherwise: dict[_Bin, int] = {}
    for id_, item, place, lot, apart, quantity in tx.execute(query):
        known.setdefault((item, place, lot, apart), 0)
        opened = (item, first.get(id_, place), lot, apart)
        known[opened] = known.get(opened, 0) + (quantity or 0)
        if id_ in set_apart:
            otherwise[(*opened[:3], not apart)] = quantity or 0
    return {**otherwise, **known}


def _roll_row(holding_id: int, roll: OpeningRoll) -> dict[str, Any]:
    return {
        "holding_id": holding_id,
        "label": roll.label or None,
        "width_mm": roll.width_mm,
        "measured": roll.measured,
        "remnant": roll.remnant,
        "parent_id": None,
        "flaws": [[flaw.from_mm, flaw.to_mm, flaw.what] for flaw in roll.flaws],
        "received_on": roll.received,
    }


def _purchase_row(one: OpeningPurchase, stamp: Stamp) -> dict[str, Any]:
    return {
        "reference": one.reference,
        "supplier": one.supplier,
        "item": one.item,
        "quantity": one.quantity,
        "received": one.received,
        "ordered": one.ordered,
        "due": one.due,
        "price_minor": one.price_minor,
        "by": stamp.by,
        "at": stamp.at,
        "closed_because": one.closed,
        "closed_by": stamp.by if one.closed else None,
        "closed_at": stamp.at if one.closed else None,
    }


def _roll_words(item: str, lot: str, length_mm: int) -> str:
    return f"{show_length(length_mm)} of {item}, lot {lot}"
