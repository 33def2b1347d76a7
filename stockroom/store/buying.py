"""What a reorder run is reckoned from: how every item stands, and what orders in hand hold and still need.

The number of statements does not grow with the stock or the orders.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from sqlalchemy import and_, case, func, not_, select, type_coerce

from stockroom.domain.catalogue import BY_LENGTH, Cloth, Item
from stockroom.domain.made_from import laid_mm
from stockroom.domain.offer import Offer
from stockroom.domain.requirement import PanelShape
from stockroom.domain.standing import Due, HeldFor, OneLot, OpenNeed, Standing
from stockroom.domain.substitutes import is_discontinued, permitted
from stockroom.domain.weeks import Week
from stockroom.store import tables as t
from stockroom.store.catalogue import read_cloths, read_items, read_suppliers, read_terms
from stockroom.store.database import Tx
from stockroom.store.kept_shapes import given_back
from stockroom.store.low_stock import standing_low
from stockroom.store.types import Words


@dataclass(frozen=True, slots=True)
class Wanting:
    """One requirement of an order in hand that is not wholly held."""

    order: str
    """Number of the order."""
    wanted: date | None
    item: str
    car_id: int
    group: str
    """Matching group, or ''."""
    quantity: int
    """Not held yet: panels, mm or count."""
    shape: str
    """Of a panel: its shape, as the JSON it is kept as; '' otherwise."""


@dataclass(frozen=True, slots=True)
class Wantings:
    """What orders in hand need and do not hold."""

    known: tuple[Wanting, ...]
    waiting: int
    """How many requirements hang on an answer that is not given yet: nothing is bought for them."""


@dataclass(frozen=True, slots=True)
class _Shelf:
    """What there is of one item, in mm or count."""

    held: int = 0
    reserved: int = 0
    quarantined: int = 0
    longest: int = 0
    """The most that is free on any one roll, reel or bin."""
    worth_minor: int = 0


@dataclass(frozen=True, slots=True)
class _Shortage:
    """What the last attempt to hold found missing of one item, for one car's matching group of one order."""

    missing: int
    in_one_lot: bool
    """Several lots together would do: all that the group needs must come in one lot."""


@dataclass(frozen=True, slots=True)
class _Lack:
    """What one order lacks of one item for one car's matching group, in mm or count."""

    order: str
    quantity: int
    out_of_reach: int
    lots: tuple[OneLot, ...]
    """What of it must be of one lot."""


_Group = tuple[str, str, int | None, str]
"""Order number, item, car, matching group: what is looked for together."""


def read_standings(tx: Tx, wantings: Wantings) -> tuple[Standing, ...]:
    """How every item stands, in the order of codes; `wantings` as `read_wantings` gave them in the same transaction."""
    items, cloths, shelves = read_items(tx), read_cloths(tx), _shelves(tx)
    dues, offers, held_for = _dues(tx), _offers(tx), _held_for(tx)
    low = {one.item: f"low-stock tag scanned by {one.by} on {one.at:%Y-%m-%d}" for one in standing_low(tx)}
    lots, short, whole = _free_lots(tx), _shortages(tx), _whole_groups(tx, items, cloths)
    needs = _needs(wantings.known, items, cloths, shelves, short, whole)
    return tuple(
        Standing(
            item=item,
            held=shelves[code].held,
            reserved=shelves[code].reserved,
            quarantined=shelves[code].quarantined,
            dues=tuple(dues[code]),
            needs=needs.get(code, ()),
            offers=tuple(offers[code]),
            discontinued=is_discontinued(item, cloths),
            low=low.get(code, ""),
            worth_minor=shelves[code].worth_minor,
            held_for=tuple(held_for[code]),
            stand_ins=_stand_ins(item, items, cloths, shelves) if needs.get(code) else (),
            lots=tuple(lots[code]) if any(need.from_one_lot for need in needs.get(code, ())) else (),
        )
        for code, item in items.items()
    )


def _stand_ins(
    item: Item, items: Mapping[str, Item], cloths: Mapping[str, Cloth], shelves: Mapping[str, _Shelf]
) -> tuple[tuple[str, int], ...]:
    """What may stand in for an item that orders need, and is free: titles, and how much of each."""
    return tuple(
        (items[one].title, shelves[one].held - shelves[one].reserved)
        for one in permitted(item, items, cloths)
        if shelves[one].held > shelves[one].reserved
    )


def read_wantings(tx: Tx) -> Wantings:
    """Every requirement of the open orders that is not wholly held, those that hang on an answer only counted."""
    lines, pieces = _waits(tx)
    r = t.Requirement
    rows = tx.execute(
        select(
            t.CustomerOrder.number, t.CustomerOrder.wanted, r.item, t.OrderLine.car_id, r.group,
            (r.needed - r.held).label("quantity"), type_coerce(r.shape, Words).label("shape"), t.OrderLine.id, r.piece,
        )
        .join_from(r, t.CustomerOrder, t.CustomerOrder.id == r.order_id)
        .join(t.OrderLine, and_(t.OrderLine.order_id == r.order_id, t.OrderLine.number == r.line))
        .where(t.CustomerOrder.state == "open", r.held < r.needed)
        .order_by(t.CustomerOrder.number, r.id)
    )  # fmt: skip
    known, waiting = [], 0
    for number, wanted, item, car_id, group, quantity, shape, line_id, piece in rows:
        if line_id in lines or (line_id, piece) in pieces:
            waiting += 1
        else:
            known.append(Wanting(number, wanted, item, car_id, group, quantity, shape or ""))
    return Wantings(tuple(known), waiting)


def _held_for(tx: Tx) -> defaultdict[str, list[HeldFor]]:
    """What open orders hold and have not taken yet, by item and the week they are wanted in.

    A planned cut counts for the earliest of the orders whose panels are on it.
    """
    r, o, h, cut, panel = t.Requirement, t.CustomerOrder, t.Holding, t.PlannedCut, t.PlannedPanel
    plain = (
        select(r.item, o.wanted, func.sum(r.held - r.taken))
        .join_from(r, o, o.id == r.order_id)
        .where(o.state == "open", r.need != "panel", r.held > r.taken)
        .group_by(r.item, o.wanted)
    )
    cuts = (
        select(h.item.label("item"), (cut.to_mm - cut.from_mm).label("length"), func.min(o.wanted).label("wanted"))
        .join_from(cut, h, h.id == cut.holding_id)
        .join(panel, panel.cut_id == cut.id)
        .join(r, r.id == panel.requirement_id)
        .join(o, o.id == r.order_id)
        .where(cut.state == "planned", o.state == "open")
        .group_by(cut.id, h.item)
        .subquery()
    )
    cloth = select(cuts.c.item, cuts.c.wanted, func.sum(cuts.c.length)).group_by(cuts.c.item, cuts.c.wanted)
    by_week: defaultdict[tuple[str, Week | None], int] = defaultdict(int)
    for query in (plain, cloth):
        for item, wanted, quantity in tx.execute(query):
            by_week[item, Week.of(wanted) if wanted else None] += quantity
    held: defaultdict[str, list[HeldFor]] = defaultdict(list)
    for item, week in sorted(by_week, key=lambda key: (key[0], key[1] is None, key[1] or Week(1, 1))):
        held[item].append(HeldFor(week, by_week[item, week]))
    return held


def _waits(tx: Tx) -> tuple[set[int], set[tuple[int, str]]]:
    """Ids of the order lines that wait as a whole, and line id with piece for those of which only pieces do."""
    lines: set[int] = set()
    pieces: set[tuple[int, str]] = set()
    for line_id, holds_up in tx.execute(
        select(t.Waiting.line_id, t.Waiting.holds_up).where(t.Waiting.answer.is_(None))
    ):
        if holds_up:
            pieces.update((line_id, piece) for piece in holds_up)
        else:
            lines.add(line_id)
    return lines, pieces


def _shelves(tx: Tx) -> defaultdict[str, _Shelf]:
    h = t.Holding
    usable = not_(h.quarantined)
    rows = tx.execute(
        select(
            h.item,
            func.sum(case((usable, h.held), else_=0)),
            func.sum(h.reserved),
            func.sum(case((usable, 0), else_=h.held)),
            func.max(case((usable, h.held - h.reserved), else_=0)),
            func.sum(case((usable, h.value_minor), else_=0)),
        ).group_by(h.item)
    )
    shelves: defaultdict[str, _Shelf] = defaultdict(_Shelf)
    shelves.update({item: _Shelf(*numbers) for item, *numbers in rows})
    return shelves


def _free_lots(tx: Tx) -> defaultdict[str, list[int]]:
    """What is free of each dye lot of every cloth, in mm, the most first."""
    h = t.Holding
    free = func.sum(h.held - h.reserved).label("free")
    rows = tx.execute(
        select(h.item, free)
        .join(t.Item, t.Item.code == h.item)
        .where(t.Item.kind == "cloth", not_(h.quarantined), h.held > h.reserved)
        .group_by(h.item, h.lot)
        .order_by(h.item, free.desc())
    )
    lots: defaultdict[str, list[int]] = defaultdict(list)
    for item, free_mm in rows:
        lots[item].append(free_mm)
    return lots


def _dues(tx: Tx) -> defaultdict[str, list[Due]]:
    p = t.Purchase
    rows = tx.execute(
        select(p.item, p.reference, p.due, p.quantity - p.received)
        .where(p.quantity > p.received, p.closed_because == "")
        .order_by(p.item, p.due, p.reference)
    )
    dues: defaultdict[str, list[Due]] = defaultdict(list)
    for item, reference, due, quantity in rows:
        dues[item].append(Due(reference, due, quantity))
    return dues


def _offers(tx: Tx) -> defaultdict[str, list[Offer]]:
    suppliers = read_suppliers(tx)
    offers: defaultdict[str, list[Offer]] = defaultdict(list)
    for terms in read_terms(tx):
        offers[terms.item].append(Offer(suppliers[terms.supplier], terms))
    return offers


def _shortages(tx: Tx) -> defaultdict[_Group, list[_Shortage]]:
    """What the last attempts to hold by length found missing, for the open orders."""
    s = t.Shortage
    rows = tx.execute(
        select(t.CustomerOrder.number, s.item, s.car_id, s.group, s.missing, s.would_mix)
        .join_from(s, t.CustomerOrder, t.CustomerOrder.id == s.order_id)
        .join(t.Item, t.Item.code == s.item)
        .where(t.CustomerOrder.state == "open", t.Item.kind.in_(sorted(BY_LENGTH)))
        .order_by(s.id)
    )
    found: defaultdict[_Group, list[_Shortage]] = defaultdict(list)
    for number, item, car_id, group, missing, would_mix in rows:
        found[number, item, car_id, group].append(_Shortage(missing, bool(would_mix)))
    return found


def _whole_groups(tx: Tx, items: Mapping[str, Item], cloths: Mapping[str, Cloth]) -> dict[_Group, int]:
    """What the matching groups that lack cloth take of it in all, held or not, in mm: new cloth is of another lot than
    what is held, so all that is seen together and not cut yet has to come of the new one."""
    r, o, line, s = t.Requirement, t.CustomerOrder, t.OrderLine, t.Shortage
    lines, pieces = _waits(tx)
    lacks = select(s.order_id, s.item, s.group, s.car_id).where(s.group != "").distinct().subquery()
    rows = tx.execute(
        select(
            o.number, o.wanted, r.item, line.car_id, r.group, (r.needed - r.taken).label("quantity"),
            type_coerce(r.shape, Words).label("shape"), line.id, r.piece,
        )
        .join_from(lacks, o, o.id == lacks.c.order_id)
        .join(r, and_(r.order_id == o.id, r.item == lacks.c.item, r.group == lacks.c.group))
        .join(line, and_(line.order_id == o.id, line.number == r.line, line.car_id == lacks.c.car_id))
        .join(t.Item, t.Item.code == r.item)
        .where(o.state == "open", r.needed > r.taken, t.Item.kind == "cloth")
        .order_by(o.number, r.id)
    )  # fmt: skip
    together: defaultdict[_Group, list[Wanting]] = defaultdict(list)
    for number, wanted, item, car_id, group, quantity, shape, line_id, piece in rows:
        if line_id not in lines and (line_id, piece) not in pieces:
            one = Wanting(number, wanted, item, car_id, group, quantity, shape or "")
            together[number, item, car_id, group].append(one)
    return {group: _amount(some, items[group[1]], cloths) for group, some in together.items()}


def _needs(
    wantings: Iterable[Wanting],
    items: Mapping[str, Item],
    cloths: Mapping[str, Cloth],
    shelves: Mapping[str, _Shelf],
    shortages: Mapping[_Group, list[_Shortage]],
    whole: Mapping[_Group, int],
) -> dict[str, tuple[OpenNeed, ...]]:
    """Item → its open needs by week, those with no date last."""
    together: defaultdict[_Group, list[Wanting]] = defaultdict(list)
    for one in wantings:
        together[one.order, one.item, one.car_id, one.group].append(one)
    by_week: defaultdict[tuple[str, Week | None], list[_Lack]] = defaultdict(list)
    for group, some in together.items():
        number, item, _, seen_together = group
        short, longest = shortages.get(group, []), shelves[item].longest
        quantity = max(_amount(some, items[item], cloths), sum(one.missing for one in short))
        one_lot = items[item].kind == "cloth" and (seen_together or any(one.in_one_lot for one in short))
        anew = whole.get(group, quantity)
        out_of_reach = _out_of_reach(quantity, short, longest)
        if group in whole:
            out_of_reach = anew if anew > longest else 0
        lots = (OneLot(number, out_of_reach or anew),) if one_lot else ()
        week = Week.of(some[0].wanted) if some[0].wanted else None
        by_week[item, week].append(_Lack(number, quantity, out_of_reach, lots))
    needs: defaultdict[str, list[OpenNeed]] = defaultdict(list)
    for item, week in sorted(by_week, key=lambda key: (key[0], key[1] is None, key[1] or Week(1, 1))):
        lacks = by_week[item, week]
        needs[item].append(
            OpenNeed(
                week,
                sum(one.quantity for one in lacks),
                tuple(sorted({one.order for one in lacks})),
                sum(one.out_of_reach for one in lacks),
                in_one_lot=tuple(lot for one in lacks if one.out_of_reach for lot in one.lots),
                from_one_lot=tuple(lot for one in lacks if not one.out_of_reach for lot in one.lots),
            )
        )
    return {item: tuple(some) for item, some in needs.items()}


def _out_of_reach(quantity: int, shortages: Iterable[_Shortage], longest: int) -> int:
    """How much of a need nothing free will serve, to the best of what the last attempt to hold it found.

    What was found missing has been looked for on every roll; only a roll that is long enough by itself, and so came or
    was set free since, makes that out of date.
    """
    out = 0
    for one in shortages:
        missing = quantity if one.in_one_lot else one.missing
        out += missing if missing > longest else 0
    return min(out, quantity)


def _amount(some: list[Wanting], item: Item, cloths: Mapping[str, Cloth]) -> int:
    """What these requirements of one item take, in mm or count. Panels are laid on a roll of the nominal width."""
    panels = [one for one in some if one.shape]
    plain = sum(one.quantity for one in some if not one.shape)
    if not panels:
        return plain
    cloth = cloths[item.cloth]
    laid = tuple(sorted((one.shape, one.quantity) for one in panels))
    return plain + laid_mm(tuple((_shape(kept), count) for kept, count in laid), cloth.width_mm, cloth.nap)


@lru_cache(maxsize=4096)
def _shape(kept: str) -> PanelShape:
    return given_back(PanelShape, json.loads(kept))
