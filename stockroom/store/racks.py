"""What lies where: everything in a place, everything there is of an item, and the places themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import BigInteger, case, cast, false, func, or_, select, true

from stockroom.store import tables as t
from stockroom.store.database import Tx


class Lying(NamedTuple):
    """One roll, reel, remnant, bin or finished thing, and where it lies.

    Thousands are read of a full place: a named tuple is made in a quarter of the time of a frozen dataclass.
    """

    holding_id: int
    kind: str
    """'roll', 'bin' or 'made'."""
    tag: str
    item: str
    title: str
    item_kind: str
    colour: str
    lot: str
    place: str
    """Code; '' where it lies nowhere that is known."""
    walk: int
    held: int
    """mm or count."""
    reserved: int
    quarantined_because: str
    remnant: bool


class Alike(NamedTuple):
    """Things that lie in one place and differ in nothing but their tags and how much each holds."""

    place: str
    """Code; '' where they lie nowhere that is known."""
    item: str
    lot: str
    kind: str
    """'roll', 'bin' or 'made'."""
    remnant: bool
    quarantined_because: str
    finished: str
    """Title of finished things; '' of all else, which is called as its item is."""
    holding: int
    """How many of them hold something."""
    promised: int
    """Of how many something is reserved."""
    held: int
    """In all: mm or count."""
    reserved: int
    tags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlaceSum:
    """A place, and how much lies in it."""

    code: str
    tag: str
    title: str
    walk: int
    things: int
    """Rolls, bins and finished things that hold something."""
    quarantined: int
    """Of those, the ones in quarantine."""
    value_minor: int


def lying_in(tx: Tx, place: str) -> list[Lying]:
    """What lies in a place, by item, lot and tag; empty bins too, but nothing that is used up or gone."""
    return _lying(tx, t.Holding.place == place)


def lying_of(tx: Tx, item: str) -> list[Lying]:
    """All there is of an item, in walking order; empty bins too, but nothing that is used up or gone."""
    return _lying(tx, t.Holding.item == item)


def number_lying(tx: Tx, place: str, item: str) -> int:
    """How many things `lying_in` a place there are or, where an item is named, `lying_of` that."""
    which = t.Holding.item == item if item else t.Holding.place == place
    return int(tx.execute(select(func.count()).select_from(t.Holding).where(*_THERE, which)).scalar_one())


def alike(tx: Tx, places: Sequence[str] = ()) -> list[Alike]:
    """All there is, by item and lot; empty bins too, but nothing that is used up or gone. `places`: only there.

    The database puts together what is alike: of twenty thousand things that is a fraction of the time.
    """
    h, f = t.Holding, t.Finished
    one = (h.place, h.item, h.lot, h.kind, t.Roll.remnant, h.quarantined, h.quarantined_because, f.title)
    rows = tx.execute(
        select(
            *one, _number_where(h.held > 0), _number_where(h.reserved > 0), _whole(func.sum(h.held)),
            _whole(func.sum(h.reserved)), func.aggregate_strings(h.tag, " "),
        )
        .outerjoin(t.Roll, t.Roll.holding_id == h.id)
        .outerjoin(f, f.holding_id == h.id)
        .where(*_THERE, h.place.in_(places) if places else true())
        .group_by(*one)
        .order_by(h.item, h.lot, func.min(h.id))
    )  # fmt: skip
    return [
        Alike(
            row[0] or "", row[1], row[2], row[3], bool(row[4]), (row[6] or "quarantined") if row[5] else "",
            row[7] or "", row[8], row[9], row[10], row[11], tuple(sorted(sorted((row[12] or "").split(" ")), key=len)),
        )
        for row in rows
    ]  # fmt: skip


def lying_by_id(tx: Tx, holding_ids: Sequence[int]) -> list[Lying]:
    """These holdings, gone or not."""
    return _read(tx, t.Holding.id.in_(holding_ids))


# A bin stays on its shelf when it is empty; one in quarantine is done away with.
_THERE = (
    t.Holding.kind != "past",
    or_(t.Holding.held > 0, (t.Holding.kind == "bin") & t.Holding.quarantined.is_(false())),
)


def _lying(tx: Tx, which: Any) -> list[Lying]:
    return _read(tx, *_THERE, which)


def _number_where(condition: Any) -> Any:
    return _whole(func.sum(case((condition, 1), else_=0)))


def _whole(sum_of: Any) -> Any:
    """A sum of whole numbers, which PostgreSQL would make a decimal one."""
    return cast(sum_of, BigInteger)


def _read(tx: Tx, *which: Any) -> list[Lying]:
    h, i, p = t.Holding, t.Item, t.Place
    rows = tx.execute(
        select(
            h.id, h.kind, h.tag, h.item, func.coalesce(t.Finished.title, i.title), i.kind, t.Colour.name, h.lot,
            h.place, p.walk, h.held, h.reserved, h.quarantined, h.quarantined_because, t.Roll.remnant,
        )
        .join(i, i.code == h.item)
        .outerjoin(t.Colour, t.Colour.code == i.colour)
        .outerjoin(p, p.code == h.place)
        .outerjoin(t.Roll, t.Roll.holding_id == h.id)
        .outerjoin(t.Finished, t.Finished.holding_id == h.id)
        .where(*which)
        .order_by(p.walk, h.place, h.item, h.lot, h.id)
    )  # fmt: skip
    return [
        Lying(
            id_, kind, tag or "", item, title, item_kind, colour or "", lot, place or "", walk or 0, held, reserved,
            (because or "quarantined") if quarantined else "", bool(remnant),
        )
        for (
            id_, kind, tag, item, title, item_kind, colour, lot, place, walk, held, reserved, quarantined, because,
            remnant,
        ) in rows.all()
    ]  # fmt: skip


def places_summed(tx: Tx) -> list[PlaceSum]:
    """Every place with how much lies in it, in walking order."""
    h, p = t.Holding, t.Place
    rows = tx.execute(
        select(
            p.code, p.tag, p.title, p.walk, func.count(h.id),
            cast(func.coalesce(func.sum(case((h.quarantined, 1), else_=0)), 0), BigInteger),
            cast(func.coalesce(func.sum(h.value_minor), 0), BigInteger),
        )
        .outerjoin(h, (h.place == p.code) & (h.held > 0) & (h.kind != "past"))
        .group_by(p.code, p.tag, p.title, p.walk)
        .order_by(p.walk, p.code)
    )  # fmt: skip
    return [PlaceSum(*row) for row in rows]


def items_like(tx: Tx, text: str) -> list[str]:
    """Codes of the items that are called so: that very one, or those with these words in their code or title."""
    i = t.Item
    wanted = text.strip()
    if tx.execute(select(i.code).where(i.code == wanted)).first() is not None:
        return [wanted]
    words = wanted.casefold().split()
    if not words:
        return []
    known = tx.execute(select(i.code, i.title_folded).order_by(i.code))
    return [code for code, title in known if all(word in code.casefold() or word in title for word in words)]


def title_of(tx: Tx, item: str) -> tuple[str, str]:
    """Title and kind of the item of this code."""
    title, kind = tx.execute(select(t.Item.title, t.Item.kind).where(t.Item.code == item)).one()
    return title, kind


def item_codes(tx: Tx) -> list[str]:
    """Every item's code."""
    return list(tx.execute(select(t.Item.code)).scalars())
