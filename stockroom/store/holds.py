"""What is held for whom: planned cuts of rolls, and reservations of everything else.

Every change here keeps three figures together in one transaction: the holding's `reserved`, the requirement's `held`,
and the rows that say which serves which.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Integer, bindparam, cast, delete, false, func, insert, or_, select, update
from sqlalchemy.dialects import postgresql, sqlite

from stockroom.domain.stamp import Stamp
from stockroom.store import finished
from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows, refusing

_REQUIREMENT: Any = t.Requirement.__table__
"""As a plain table: an update of many rows by number is then one statement, without the ORM's bookkeeping."""
_HOLDING: Any = t.Holding.__table__


class Candidate(NamedTuple):
    """A holding that something may be reserved from: not quarantined, not past its day, with something free.

    Hundreds are read for one order: a named tuple is made in a quarter of the time of a frozen dataclass.
    """

    holding_id: int
    kind: str
    tag: str
    item: str
    place: str
    lot: str
    held: int
    reserved: int
    width_mm: int
    """0 for a bin."""
    remnant: bool
    received_on: date | None
    flaws: tuple[tuple[int, int], ...]
    """From and to, mm from the inner end."""
    promised: tuple[tuple[int, int], ...]
    """Stretches of planned cuts and of margins, likewise."""


@dataclass(frozen=True, slots=True)
class CutToHold:
    """A planned cut to be written: a stretch of a roll, and each panel with the requirement it serves."""

    holding_id: int
    from_mm: int
    to_mm: int
    panels: tuple[tuple[int, int, int, int], ...]
    """Requirement id, x, y, degrees turned."""
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TakeToHold:
    """A reservation to be written: so much of a holding for a requirement."""

    holding_id: int
    requirement_id: int
    quantity: int
    reasons: tuple[str, ...]


# Statements are made once: building one takes longer than sending it.
_FREE: tuple[ColumnElement[bool], ...] = (
    t.Holding.item.in_(bindparam("items", expanding=True)),
    t.Holding.kind.in_(("roll", "bin")),
    t.Holding.quarantined.is_(false()),
    t.Holding.held > t.Holding.reserved,
    or_(t.Holding.expires.is_(None), t.Holding.expires >= bindparam("today")),
)
_FREE_IDS = select(t.Holding.id).where(*_FREE)
# What has come free since it was locked is not locked: somebody else may be planning cuts on it.
_FREE_AND_LOCKED = (*_FREE, t.Holding.id.in_(bindparam("locked", expanding=True)))


def _promised() -> Any:
    """The stretches of some holdings that are planned to be cut, or are held as a margin."""
    of: Any = bindparam("holdings", expanding=True)
    cuts = select(t.PlannedCut.holding_id, t.PlannedCut.from_mm, t.PlannedCut.to_mm).where(
        t.PlannedCut.holding_id.in_(of), t.PlannedCut.state == "planned"
    )
    margins = select(t.Margin.holding_id, t.Margin.from_mm, t.Margin.to_mm).where(t.Margin.holding_id.in_(of))
    return cuts.union_all(margins)


def _free_in_part(free: tuple[ColumnElement[bool], ...]) -> Any:
    """What is free in part, in the order of its numbers."""
    return (
        select(
            t.Holding.id, t.Holding.kind, t.Holding.tag, t.Holding.item, t.Holding.place, t.Holding.lot,
            t.Holding.held, t.Holding.reserved, t.Roll.width_mm, t.Roll.remnant, t.Roll.received_on, t.Roll.flaws,
        )
        .outerjoin(t.Roll, t.Roll.holding_id == t.Holding.id)
        .where(*free)
        .order_by(t.Holding.id)
    )  # fmt: skip


_PROMISED = _promised()
_CANDIDATES = _free_in_part(_FREE)
_CANDIDATES_LOCKED = _free_in_part(_FREE_AND_LOCKED)


def candidates(tx: Tx, items: Iterable[str], today: date) -> dict[str, list[Candidate]]:
    """Item code → everything of it that is free in part and not past its day, locked until the transaction ends.

    Two statements (four on PostgreSQL), however much there is.
    """
    wanted = sorted(set(items))
    found: dict[str, list[Candidate]] = {item: [] for item in wanted}
    asked: dict[str, Any] = {"items": wanted, "today": today}
    free = _CANDIDATES
    if tx.dialect.name != "sqlite":
        asked["locked"] = tx.execute(_FREE_IDS, asked).scalars().all()
        lock_rows(tx, t.Holding.__table__, asked["locked"])
        free = _CANDIDATES_LOCKED
    rows = tx.execute(free, asked).all()
    promised: defaultdict[int, list[tuple[int, int]]] = defaultdict(list)
    of: dict[str, list[int]] = {"holdings": [row[0] for row in rows if row[7] and row[1] == "roll"]}
    for holding_id, from_mm, to_mm in tx.execute(_PROMISED, of):
        promised[holding_id].append((from_mm, to_mm))
    for id_, kind, tag, item, place, lot, held, reserved, width, remnant, received, flaws in rows:
        found[item].append(
            Candidate(
                id_, kind, tag or "", item, place or "", lot, held, reserved, width or 0, bool(remnant), received,
                tuple([(one[0], one[1]) for one in flaws]) if flaws else (), tuple(promised.get(id_, ())),
            )
        )  # fmt: skip
    return found


def _lots_bound(of_orders: ColumnElement[bool]) -> Any:
    line, requirement, order = t.OrderLine, t.Requirement, t.CustomerOrder
    joined = (
        select(line.car_id, requirement.group, requirement.item, t.Holding.lot, requirement.id)
        .join(requirement, (requirement.order_id == line.order_id) & (requirement.line == line.number))
        .join(order, order.id == line.order_id)
        .where(of_orders, requirement.group != "", requirement.held > 0)
        .distinct()
    )
    cut = (
        joined.join(t.PlannedPanel, t.PlannedPanel.requirement_id == requirement.id)
        .join(t.PlannedCut, t.PlannedCut.id == t.PlannedPanel.cut_id)
        .join(t.Holding, t.Holding.id == t.PlannedCut.holding_id)
    )
    reserved = joined.join(t.Reservation, t.Reservation.requirement_id == requirement.id).join(
        t.Holding, t.Holding.id == t.Reservation.holding_id
    )
    picked = joined.join(t.Pick, t.Pick.requirement_id == requirement.id).join(
        t.Holding, t.Holding.id == t.Pick.holding_id
    )
    # Until a spoilt panel is cut again nothing holds its lot; the panel is still to match it.
    spoilt = (
        select(line.car_id, requirement.group, requirement.item, t.Spoilt.lot, requirement.id)
        .join(requirement, (requirement.order_id == line.order_id) & (requirement.line == line.number))
        .join(t.Spoilt, t.Spoilt.requirement_id == requirement.id)
        .join(order, order.id == line.order_id)
        .where(
            of_orders,
            requirement.group != "",
            requirement.held < requirement.needed,
            t.Spoilt.lot.is_not(None),
            order.state == "open",
        )
        .distinct()
    )
    return cut.union(reserved, picked, spoilt)


_OF_CARS = (
    t.OrderLine.car_id.in_(bindparam("cars", expanding=True))
    & t.CustomerOrder.state.not_in(("cancelled", "kept"))
    & t.CustomerOrder.for_stock.is_(false())
)
"""The orders whose pieces are seen together on these cars: what was cancelled or made for stock never came to them."""
_OF_ORDER = t.OrderLine.order_id == bindparam("order")
_LOTS_OF_CARS = _lots_bound(_OF_CARS)
_LOTS_OF_ORDER = _lots_bound(_OF_ORDER)
Bound = dict[tuple[int, str, str], set[str]]
"""(car, matching group, item) → lots."""


def lots_bound(tx: Tx, car_ids: Iterable[int], without: Collection[int] = ()) -> Bound:
    """The lots that are held for, or went into, the matching groups of these cars in any of their orders.

    `without`: ids of requirements that do not count. An order that is cancelled, or is for stock, binds no car.
    """
    cars = sorted(set(car_ids))
    return _bound([*tx.execute(_LOTS_OF_CARS, {"cars": cars}), *finished.lots_used(tx, cars)], without)


def lots_bound_by_order(tx: Tx, order_id: int, without: Collection[int] = ()) -> Bound:
    """The same within one order: what is made for stock need only match itself."""
    return _bound(tx.execute(_LOTS_OF_ORDER, {"order": order_id}), without)


def _bound(rows: Iterable[Any], without: Collection[int]) -> Bound:
    bound: defaultdict[tuple[int, str, str], set[str]] = defaultdict(set)
    for car_id, group, item, lot, requirement_id in rows:
        if requirement_id not in without:
            bound[car_id, group, item].add(lot)
    return dict(bound)


_LOTS_SPOILT = (
    select(t.Spoilt.requirement_id, t.Spoilt.lot)
    .join(t.Requirement, t.Requirement.id == t.Spoilt.requirement_id)
    .where(
        t.Requirement.order_id == bindparam("order"),
        t.Requirement.held < t.Requirement.needed,
        t.Spoilt.lot.is_not(None),
    )
    .distinct()
)


def lots_spoilt(tx: Tx, order_id: int) -> dict[int, frozenset[str]]:
    """Requirement id → the lots of its spoilt panels, for what of one order is to be cut again and has no cloth yet."""
    lots: defaultdict[int, set[str]] = defaultdict(set)
    for requirement_id, lot in tx.execute(_LOTS_SPOILT, {"order": order_id}):
        lots[requirement_id].add(lot or "")
    return {requirement_id: frozenset(some) for requirement_id, some in lots.items()}


_NOT_FREE = {
    "ck_holding_reserved_within_held": "Somebody else has just reserved what this order needs. Reserve it again.",
    "ck_holding_nothing_reserved_in_quarantine": "What this order needs has just been quarantined. Reserve it again.",
}


def hold(tx: Tx, cuts: Sequence[CutToHold], takes: Sequence[TakeToHold], stamp: Stamp) -> dict[int, int]:
    """Writes planned cuts and reservations, and what they make of the holdings and the requirements.

    Gives the id of each planned cut, and the holding that it is on.
    """
    reserved: defaultdict[int, int] = defaultdict(int)
    held: defaultdict[int, int] = defaultdict(int)
    for cut in cuts:
        reserved[cut.holding_id] += cut.to_mm - cut.from_mm
        for panel in cut.panels:
            held[panel[0]] += 1
    for take in takes:
        reserved[take.holding_id] += take.quantity
        held[take.requirement_id] += take.quantity
    with refusing(_NOT_FREE):
        _add(tx, _MORE_RESERVED, reserved)
    _add(tx, _MORE_HELD, held)
    written = _write_cuts(tx, cuts, stamp) if cuts else {}
    if takes:
        tx.execute(
            _TAKE[tx.dialect.name],
            [
                {
                    "requirement_id": take.requirement_id,
                    "holding_id": take.holding_id,
                    "quantity": take.quantity,
                    "reasons": list(take.reasons),
                    "by": stamp.by,
                    "at": stamp.at,
                }
                for take in takes
            ],
        )
    return written


def _take_more(dialect: Any) -> Any:
    """A requirement that takes more of a holding of which it has something has one reservation of both."""
    taken = dialect.insert(t.Reservation.__table__)
    columns = t.Reservation.__table__.c
    more = {name: taken.excluded[name] for name in ("reasons", "by", "at")}
    return taken.on_conflict_do_update(
        index_elements=[columns.requirement_id, columns.holding_id],
        set_={"quantity": columns.quantity + taken.excluded.quantity, **more},
    )


_TAKE = {"sqlite": _take_more(sqlite), "postgresql": _take_more(postgresql)}
_INSERT_CUTS = insert(t.PlannedCut)
_INSERT_PANELS = insert(t.PlannedPanel)
_CUT_IDS = select(t.PlannedCut.holding_id, t.PlannedCut.from_mm, t.PlannedCut.id).where(
    t.PlannedCut.holding_id.in_(bindparam("holdings", expanding=True)), t.PlannedCut.state == "planned"
)


def _write_cuts(tx: Tx, cuts: Sequence[CutToHold], stamp: Stamp) -> dict[int, int]:
    tx.execute(
        _INSERT_CUTS,
        [
            {
                "holding_id": cut.holding_id,
                "from_mm": cut.from_mm,
                "to_mm": cut.to_mm,
                "state": "planned",
                "reasons": list(cut.reasons),
                "by": stamp.by,
                "at": stamp.at,
            }
            for cut in cuts
        ],
    )
    # Asked for afterwards: RETURNING in the order of the rows would send them one by one. Planned cuts of one roll do
    # not overlap, so each is known by where it begins.
    holdings = sorted({cut.holding_id for cut in cuts})
    ids = {(holding, from_mm): id_ for holding, from_mm, id_ in tx.execute(_CUT_IDS, {"holdings": holdings})}
    tx.execute(
        _INSERT_PANELS,
        [
            {
                "cut_id": ids[cut.holding_id, cut.from_mm],
                "requirement_id": requirement_id,
                "x_mm": x_mm,
                "y_mm": y_mm,
                "turned": turned,
            }
            for cut in cuts
            for requirement_id, x_mm, y_mm, turned in cut.panels
        ],
    )
    return {ids[cut.holding_id, cut.from_mm]: cut.holding_id for cut in cuts}


def _adding(table: Any, column: str) -> Any:
    """Adds `more` to one column of the row `row_id`."""
    return update(table).where(table.c.id == bindparam("row_id")).values({column: table.c[column] + bindparam("more")})


_MORE_RESERVED = _adding(_HOLDING, "reserved")
_MORE_HELD = _adding(_REQUIREMENT, "held")
_NEEDED = update(_REQUIREMENT).where(_REQUIREMENT.c.id == bindparam("row_id")).values(needed=bindparam("now"))


def _add(tx: Tx, adding: Any, by_id: Mapping[int, int]) -> None:
    """Adds to one column of rows by id, in the order of their ids (so that nobody waits for each other in a ring)."""
    if by_id:
        tx.execute(adding, [{"row_id": row_id, "more": more} for row_id, more in sorted(by_id.items())])


def reserve_again(tx: Tx, requirement_id: int, holding_id: int, quantity: int, stamp: Stamp) -> None:
    """What was taken back to a holding is reserved there again; the requirement never ceased to hold it."""
    with refusing(_NOT_FREE):
        _add(tx, _MORE_RESERVED, {holding_id: quantity})
    mine = (t.Reservation.requirement_id == requirement_id) & (t.Reservation.holding_id == holding_id)
    changed = tx.execute(update(t.Reservation).where(mine).values(quantity=t.Reservation.quantity + quantity))
    if not changed.rowcount:
        tx.execute(
            insert(t.Reservation),
            {
                "requirement_id": requirement_id,
                "holding_id": holding_id,
                "quantity": quantity,
                "reasons": ["Put back where it was taken from."],
                "by": stamp.by,
                "at": stamp.at,
            },
        )


def need(tx: Tx, needed: Mapping[int, int]) -> None:
    """Requirement id → what is needed of it now."""
    if needed:
        tx.execute(_NEEDED, [{"row_id": row_id, "now": now} for row_id, now in sorted(needed.items())])


def release(tx: Tx, requirement_ids: Iterable[int]) -> set[int]:
    """Lets go of all that is held for these requirements.

    A planned cut goes whole: the other panels on it are let go too. Gives the ids of all requirements that lost
    something.
    """
    wanted = sorted(set(requirement_ids))
    cuts = sorted(
        set(
            tx.execute(
                select(t.PlannedPanel.cut_id)
                .join(t.PlannedCut, t.PlannedCut.id == t.PlannedPanel.cut_id)
                .where(t.PlannedPanel.requirement_id.in_(wanted), t.PlannedCut.state == "planned")
            ).scalars()
        )
    )
    return _release(tx, cuts, wanted)


def release_cuts(tx: Tx, cut_ids: Iterable[int]) -> set[int]:
    """Lets go of these planned cuts, and of nothing else that is held for what they serve.

    Gives the ids of the requirements that lost something.
    """
    return _release(tx, sorted(set(cut_ids)), [])


def _release(tx: Tx, cuts: Sequence[int], wanted: Sequence[int]) -> set[int]:
    """Lets go of planned cuts, and of the reservations of some requirements."""
    reserved: defaultdict[int, int] = defaultdict(int)
    held: defaultdict[int, int] = defaultdict(int)
    planned = select(t.PlannedCut.holding_id, t.PlannedCut.from_mm, t.PlannedCut.to_mm).where(t.PlannedCut.id.in_(cuts))
    for holding_id, from_mm, to_mm in tx.execute(planned):
        reserved[holding_id] -= to_mm - from_mm
    panels = (
        select(t.PlannedPanel.requirement_id, cast(func.count(), Integer))
        .where(t.PlannedPanel.cut_id.in_(cuts))
        .group_by(t.PlannedPanel.requirement_id)
    )
    for requirement_id, count in tx.execute(panels):
        held[requirement_id] -= count
    takes = select(t.Reservation.requirement_id, t.Reservation.holding_id, t.Reservation.quantity).where(
        t.Reservation.requirement_id.in_(wanted)
    )
    for requirement_id, holding_id, quantity in tx.execute(takes):
        reserved[holding_id] -= quantity
        held[requirement_id] -= quantity
    tx.execute(delete(t.PlannedPanel).where(t.PlannedPanel.cut_id.in_(cuts)))
    tx.execute(delete(t.PlannedCut).where(t.PlannedCut.id.in_(cuts)))
    tx.execute(delete(t.Reservation).where(t.Reservation.requirement_id.in_(wanted)))
    _add(tx, _MORE_RESERVED, reserved)
    _add(tx, _MORE_HELD, held)
    return set(held)


# --- what is short ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class KeptShortage:
    """Something an order lacks, as its last reservation found it."""

    item: str
    group: str
    car_id: int | None
    missing: int
    """mm or count."""
    sentence: str
    would_mix: tuple[str, ...]


def rewrite_shortages(tx: Tx, order_id: int, shortages: Sequence[KeptShortage]) -> None:
    """Makes the kept shortages of an order these."""
    tx.execute(delete(t.Shortage).where(t.Shortage.order_id == order_id))
    if shortages:
        tx.execute(
            insert(t.Shortage),
            [
                {
                    "order_id": order_id,
                    "item": one.item,
                    "group": one.group,
                    "car_id": one.car_id,
                    "missing": one.missing,
                    "sentence": one.sentence,
                    "would_mix": list(one.would_mix),
                }
                for one in shortages
            ],
        )


_SHORTAGES = (
    select(t.Shortage.item, t.Shortage.group, t.Shortage.car_id, t.Shortage.missing, t.Shortage.sentence,
           t.Shortage.would_mix)
    .where(t.Shortage.order_id == bindparam("order"))
    .order_by(t.Shortage.id)
)  # fmt: skip


def shortages_of(tx: Tx, order_id: int) -> list[KeptShortage]:
    """What an order was found short of."""
    return [
        KeptShortage(item, group, car_id, missing, sentence, tuple(would_mix))
        for item, group, car_id, missing, sentence, would_mix in tx.execute(_SHORTAGES, {"order": order_id})
    ]


_MIXES = select(t.MixApproval.car_id, t.MixApproval.group, t.MixApproval.item, t.MixApproval.lots).where(
    t.MixApproval.order_id == bindparam("order")
).order_by(t.MixApproval.id)  # fmt: skip
Mixes = dict[tuple[int, str, str], list[frozenset[str]]]
"""(car, matching group, item) → all the lots that it may have, of each mix that somebody approved."""


def approved_mixes(tx: Tx, order_id: int, bound: Bound) -> Mixes:
    """The mixes of lots that somebody approved for this order.

    `bound`: the lots that the matching groups of its cars have. An approval from before lots were written down is for
    those alone.
    """
    mixes: defaultdict[tuple[int, str, str], list[frozenset[str]]] = defaultdict(list)
    for car_id, group, item, lots in tx.execute(_MIXES, {"order": order_id}):
        if lots:
            mixes[car_id or 0, group, item].append(frozenset(lots))
            continue
        for at, some in bound.items():
            if at[2] == item:
                mixes[at].append(frozenset(some))
    return dict(mixes)


def approve_mix(
    tx: Tx, order_id: int, group: tuple[int, str, str], lots: Iterable[str], because: str, stamp: Stamp
) -> None:
    """Writes down that somebody approved these lots for one matching group of an order: car, group and item."""
    car_id, name, item = group
    tx.execute(
        insert(t.MixApproval),
        {
            "order_id": order_id,
            "item": item,
            "because": because,
            "by": stamp.by,
            "at": stamp.at,
            "group": name,
            "car_id": car_id or None,
            "lots": sorted(set(lots)),
        },
    )


# --- where things are held -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class KeptHold:
    """One stretch, length or count that is held, and where."""

    holding_id: int
    kind: str
    tag: str
    item: str
    place: str
    walk: int
    lot: str
    cut_id: int | None
    """`None`: a reservation, of `quantity` for the one requirement."""
    from_mm: int
    to_mm: int
    quantity: int
    reasons: tuple[str, ...]
    panels: tuple[tuple[int, int, int, int], ...]
    """Requirement id, x, y, degrees turned."""
    requirement_id: int | None
    held_mm: int
    """Length or count of the whole holding."""
    width_mm: int


_WHERE = (
    t.Holding.id, t.Holding.kind, t.Holding.tag, t.Holding.item, t.Holding.place, t.Place.walk, t.Holding.lot,
    t.Holding.held, t.Roll.width_mm,
)  # fmt: skip
_LAID = (
    select(
        t.PlannedPanel.cut_id, t.PlannedPanel.requirement_id, t.PlannedPanel.x_mm, t.PlannedPanel.y_mm,
        t.PlannedPanel.turned,
    )
    .join(t.Requirement, t.Requirement.id == t.PlannedPanel.requirement_id)
    .where(t.Requirement.order_id == bindparam("order"))
    .order_by(t.PlannedPanel.id)
)  # fmt: skip
_CUTS = (
    select(*_WHERE, t.PlannedCut.id.label("cut_id"), t.PlannedCut.from_mm, t.PlannedCut.to_mm, t.PlannedCut.reasons)
    .select_from(t.PlannedCut)
    .join(t.Holding, t.Holding.id == t.PlannedCut.holding_id)
    .outerjoin(t.Roll, t.Roll.holding_id == t.Holding.id)
    .outerjoin(t.Place, t.Place.code == t.Holding.place)
    .where(t.PlannedCut.id.in_(bindparam("cuts", expanding=True)), t.PlannedCut.state == "planned")
)
_TAKES = (
    select(*_WHERE, t.Reservation.requirement_id, t.Reservation.quantity, t.Reservation.reasons)
    .select_from(t.Reservation)
    .join(t.Requirement, t.Requirement.id == t.Reservation.requirement_id)
    .join(t.Holding, t.Holding.id == t.Reservation.holding_id)
    .outerjoin(t.Roll, t.Roll.holding_id == t.Holding.id)
    .outerjoin(t.Place, t.Place.code == t.Holding.place)
    .where(t.Requirement.order_id == bindparam("order"))
)


def holds_of(tx: Tx, order_id: int) -> list[KeptHold]:
    """Everything that is held for an order, in walking order."""
    panels: defaultdict[int, list[tuple[int, int, int, int]]] = defaultdict(list)
    for cut_id, *panel in tx.execute(_LAID, {"order": order_id}):
        panels[cut_id].append((panel[0], panel[1], panel[2], panel[3]))
    holds = [
        KeptHold(
            row.id, row.kind, row.tag or "", row.item, row.place or "", row.walk or 0, row.lot, row.cut_id,
            row.from_mm, row.to_mm, row.to_mm - row.from_mm, tuple(row.reasons), tuple(panels[row.cut_id]), None,
            row.held, row.width_mm or 0,
        )
        for row in tx.execute(_CUTS, {"cuts": sorted(panels)})
    ] + [
        KeptHold(
            row.id, row.kind, row.tag or "", row.item, row.place or "", row.walk or 0, row.lot, None, 0, 0,
            row.quantity, tuple(row.reasons), (), row.requirement_id, row.held, row.width_mm or 0,
        )
        for row in tx.execute(_TAKES, {"order": order_id})
    ]  # fmt: skip
    return sorted(holds, key=lambda one: (one.walk, one.place, one.tag, one.from_mm, one.requirement_id or 0))
