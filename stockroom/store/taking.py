"""Taking out what is held: reservations that become picks, and planned cuts that are cut.

The ledger's movements are appended by `stockroom.store.ledger`; here stand the rows that say what they were for.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import bindparam, delete, insert, select, update

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows, refusing

_REQUIREMENT: Any = t.Requirement.__table__
_HOLDING: Any = t.Holding.__table__


@dataclass(frozen=True, slots=True)
class Found:
    """A holding as a scan finds it."""

    id: int
    kind: str
    tag: str
    item: str
    title: str
    item_kind: str
    place: str
    lot: str
    held: int
    reserved: int
    quarantined_because: str
    width_mm: int
    measured: bool
    flaws: tuple[tuple[int, int, str], ...]
    expires: date | None = None
    """The day after which it is not to be used."""

    @property
    def free(self) -> int:
        """Held and not reserved; nothing in quarantine."""
        return 0 if self.quarantined_because else self.held - self.reserved


@dataclass(frozen=True, slots=True)
class Taken:
    """One pick that was made."""

    id: int
    requirement_id: int
    holding_id: int
    tag: str
    item: str
    quantity: int
    movement_id: int
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class CutDone:
    """One cut that was made."""

    holding_id: int
    tag: str
    item: str
    cut_mm: int
    by: str


@dataclass(frozen=True, slots=True)
class PlannedStretch:
    """A planned cut of a roll, with the order it is for."""

    cut_id: int
    order_id: int
    order: str
    wanted: date | None
    from_mm: int
    to_mm: int
    panels: tuple[int, ...]
    """Requirement id of each panel."""

    @property
    def length_mm(self) -> int:
        """How long it is."""
        return self.to_mm - self.from_mm


_H, _R, _I, _P, _C = t.Holding, t.Roll, t.Item, t.Pick, t.Cut
# Made once: building a statement takes longer than sending it.
_ID_BY_TAG = select(_H.id).where(_H.tag == bindparam("tag"))
_FOUND = (
    select(
        _H.id, _H.kind, _H.tag, _H.item, _I.title, _I.kind.label("item_kind"), _H.place, _H.lot, _H.held, _H.reserved,
        _H.quarantined, _H.quarantined_because, _R.width_mm, _R.measured, _R.flaws, _H.expires,
    )
    .join(_I, _I.code == _H.item)
    .outerjoin(_R, _R.holding_id == _H.id)
    .where(_H.id == bindparam("holding"))
)  # fmt: skip
_PICKS = (
    select(_P.id, _P.requirement_id, _P.holding_id, _H.tag, _H.item, _P.quantity, _P.movement_id, _P.by, _P.at)
    .join(t.Requirement, t.Requirement.id == _P.requirement_id)
    .join(_H, _H.id == _P.holding_id)
    .where(t.Requirement.order_id == bindparam("order"))
    .order_by(_P.id)
)
_CUTS = (
    select(_C.holding_id, _H.tag, _H.item, _C.cut_mm, _C.by)
    .join(_H, _H.id == _C.holding_id)
    .join(t.Movement, t.Movement.id == _C.movement_id)
    .where(t.Movement.order_id == bindparam("order"))
    .order_by(_C.id)
)


def found_by_tag(tx: Tx, tag: str) -> Found | None:
    """The roll or bin that a tag names, locked until the transaction ends."""
    known = tx.execute(_ID_BY_TAG, {"tag": tag}).scalar()
    if known is None:
        return None
    lock_rows(tx, _HOLDING, [known])
    row = tx.execute(_FOUND, {"holding": known}).one()
    return Found(
        row.id, row.kind, row.tag or "", row.item, row.title, row.item_kind, row.place or "", row.lot, row.held,
        row.reserved, (row.quarantined_because or "quarantined") if row.quarantined else "", row.width_mm or 0,
        bool(row.measured), tuple((one[0], one[1], one[2]) for one in row.flaws or ()), row.expires,
    )  # fmt: skip


def picks_of(tx: Tx, order_id: int) -> list[Taken]:
    """What was picked for an order, oldest first."""
    rows = tx.execute(_PICKS, {"order": order_id})
    return [Taken(row[0], row[1], row[2], row[3] or "", *row[4:]) for row in rows]


def places_of_picks(tx: Tx, order_id: int) -> dict[str, str]:
    """Tag → place of everything that something was picked from for an order."""
    rows = tx.execute(
        select(t.Holding.tag, t.Holding.place)
        .join(t.Pick, t.Pick.holding_id == t.Holding.id)
        .join(t.Requirement, t.Requirement.id == t.Pick.requirement_id)
        .where(t.Requirement.order_id == order_id)
        .distinct()
    )
    return {tag or "": place or "" for tag, place in rows}


def move_reservation(tx: Tx, requirement_id: int, was: int, now: int, quantity: int) -> None:
    """The reservation of a requirement moves, whole, from one holding to another."""
    lock_rows(tx, _HOLDING, [was, now])
    _reserve_more(tx, {was: -quantity, now: quantity})
    there = tx.execute(
        select(t.Reservation.id).where(t.Reservation.requirement_id == requirement_id, t.Reservation.holding_id == now)
    ).scalar()
    mine = (t.Reservation.requirement_id == requirement_id) & (t.Reservation.holding_id == was)
    if there is None:
        tx.execute(update(t.Reservation).where(mine).values(holding_id=now))
    else:
        tx.execute(delete(t.Reservation).where(mine))
        tx.execute(
            update(t.Reservation).where(t.Reservation.id == there).values(quantity=t.Reservation.quantity + quantity)
        )


def lift(tx: Tx, holding_id: int, carried: Sequence[tuple[int, int]]) -> None:
    """(requirement, quantity) that is reserved in a holding may leave it; `set_down` must follow."""
    if carried:
        _reserve_more(tx, {holding_id: -sum(quantity for _, quantity in carried)})


def set_down(tx: Tx, was: int, now: int, carried: Sequence[tuple[int, int]]) -> None:
    """(requirement, quantity) that was lifted out of one holding is reserved in the other, where the goods are now."""
    if not carried:
        return
    r = t.Reservation
    known = {
        row.requirement_id: row
        for row in tx.execute(select(r).where(r.holding_id == was, r.requirement_id.in_([one for one, _ in carried])))
    }
    there = set(tx.execute(select(r.requirement_id).where(r.holding_id == now)).scalars())
    for requirement_id, quantity in carried:
        row = known[requirement_id]
        columns = {"requirement_id": requirement_id, "reasons": row.reasons, "by": row.by, "at": row.at}
        if requirement_id in there:
            mine = (r.requirement_id == requirement_id) & (r.holding_id == now)
            tx.execute(update(r).where(mine).values(quantity=r.quantity + quantity))
        else:
            tx.execute(insert(r), {**columns, "holding_id": now, "quantity": quantity})
        # Rows come and go, none is altered: so what was carried is carried back when the job is undone.
        tx.execute(delete(r).where(r.id == row.id))
        if quantity < row.quantity:
            tx.execute(insert(r), {**columns, "holding_id": was, "quantity": row.quantity - quantity})
    _reserve_more(tx, {now: sum(quantity for _, quantity in carried)})


def end_reservations(
    tx: Tx, holding_id: int, taken: Sequence[tuple[int, int]], let_go: Sequence[tuple[int, int]]
) -> None:
    """Ends reservations on a holding: (requirement, quantity) that was taken, and what is let go instead."""
    ended = [one for one, _ in (*taken, *let_go)]
    tx.execute(
        delete(t.Reservation).where(t.Reservation.holding_id == holding_id, t.Reservation.requirement_id.in_(ended))
    )
    _reserve_more(tx, {holding_id: -sum(quantity for _, quantity in (*taken, *let_go))})
    if taken:
        _add(tx, "taken", taken)
    lost = [(one, -quantity) for one, quantity in let_go if quantity]
    if lost:
        _add(tx, "held", lost)


def _add(tx: Tx, column: str, by_requirement: Sequence[tuple[int, int]]) -> None:
    tx.execute(
        update(_REQUIREMENT)
        .where(_REQUIREMENT.c.id == bindparam("row_id"))
        .values({column: _REQUIREMENT.c[column] + bindparam("more")}),
        [{"row_id": one, "more": more} for one, more in sorted(by_requirement)],
    )


def _reserve_more(tx: Tx, by_holding: dict[int, int]) -> None:
    with refusing({"ck_holding_reserved_within_held": "Somebody else has just taken or reserved that. Scan it again."}):
        tx.execute(
            update(_HOLDING)
            .where(_HOLDING.c.id == bindparam("row_id"))
            .values(reserved=_HOLDING.c.reserved + bindparam("more")),
            [{"row_id": one, "more": more} for one, more in sorted(by_holding.items())],
        )


def keep_picks(
    tx: Tx, holding_id: int, taken: Sequence[tuple[int, int]], movements: Sequence[int], stamp: Stamp
) -> None:
    """Writes down picks: (requirement, quantity) with the movement of each."""
    tx.execute(
        insert(t.Pick),
        [
            {
                "requirement_id": requirement_id,
                "holding_id": holding_id,
                "quantity": quantity,
                "movement_id": movement_id,
                "by": stamp.by,
                "at": stamp.at,
            }
            for (requirement_id, quantity), movement_id in zip(taken, movements, strict=True)
        ],
    )


def drop_pick(tx: Tx, pick: Taken) -> None:
    """Takes a pick back: its requirement holds the same again, by a reservation."""
    tx.execute(delete(t.Pick).where(t.Pick.id == pick.id))
    _add(tx, "taken", [(pick.requirement_id, -pick.quantity)])


def movements_of_picks(tx: Tx, pick_ids: Sequence[int]) -> list[int]:
    """The movements by which these picks were booked out."""
    rows = tx.execute(select(t.Pick.movement_id).where(t.Pick.id.in_(pick_ids)).order_by(t.Pick.id))
    return list(rows.scalars())


def name_movements(tx: Tx, by_old: Mapping[int, int]) -> None:
    """Picks that were booked out anew name the movement that did it: old → new."""
    for old, new in by_old.items():
        tx.execute(update(t.Pick).where(t.Pick.movement_id == old).values(movement_id=new))


def take_again(tx: Tx, requirement_id: int, quantity: int) -> None:
    """Of a pick that was dropped, so much was taken after all."""
    _add(tx, "taken", [(requirement_id, quantity)])


def hold_no_longer(tx: Tx, by_requirement: Sequence[tuple[int, int]]) -> None:
    """So much of these requirements is held no longer: (requirement, quantity). What was taken must be less by then."""
    _add(tx, "held", [(one, -quantity) for one, quantity in by_requirement])


def taken_of_order(tx: Tx, order_id: int) -> int:
    """How many requirements of an order something was taken for."""
    rows = tx.execute(select(t.Requirement.id).where(t.Requirement.order_id == order_id, t.Requirement.taken > 0))
    return len(rows.all())


# --- cuts --------------------------------------------------------------------------------------------------------


def planned_on(tx: Tx, holding_id: int) -> list[PlannedStretch]:
    """The planned cuts of a roll, outermost first."""
    c, p, q, o = t.PlannedCut, t.PlannedPanel, t.Requirement, t.CustomerOrder
    rows = tx.execute(
        select(c.id, c.from_mm, c.to_mm, p.requirement_id, q.order_id, o.number, o.wanted)
        .join(p, p.cut_id == c.id)
        .join(q, q.id == p.requirement_id)
        .join(o, o.id == q.order_id)
        .where(c.holding_id == holding_id, c.state == "planned")
        .order_by(c.to_mm.desc(), c.id, p.id)
    )
    found: dict[int, list[Any]] = {}
    for row in rows:
        found.setdefault(row.id, []).append(row)
    return [
        PlannedStretch(
            cut_id, some[0].order_id, some[0].number, some[0].wanted, some[0].from_mm, some[0].to_mm,
            tuple(one.requirement_id for one in some),
        )
        for cut_id, some in found.items()
    ]  # fmt: skip


def shift_planned(tx: Tx, positions: Sequence[tuple[int, int, int]]) -> None:
    """Planned cuts move along their roll: (cut, from, to)."""
    if positions:
        planned: Any = t.PlannedCut.__table__
        tx.execute(
            update(planned)
            .where(planned.c.id == bindparam("row_id"))
            .values(from_mm=bindparam("first"), to_mm=bindparam("last")),
            [{"row_id": cut_id, "first": first, "last": last} for cut_id, first, last in positions],
        )


def end_planned(tx: Tx, holding_id: int, cut: PlannedStretch) -> None:
    """A planned cut is cut: what was reserved for it is free to leave, and its panels count as taken."""
    tx.execute(update(t.PlannedCut).where(t.PlannedCut.id == cut.cut_id).values(state="cut"))
    _reserve_more(tx, {holding_id: -cut.length_mm})
    counts = {one: cut.panels.count(one) for one in cut.panels}
    _add(tx, "taken", sorted(counts.items()))


def let_go_panels(tx: Tx, cut_id: int, panels: Sequence[int]) -> None:
    """Some panels (each by its requirement) come off a planned cut, whose stretch stays: they are held no longer."""
    p = t.PlannedPanel
    counts = Counter(panels)
    for requirement_id, count in sorted(counts.items()):
        mine = select(p.id).where(p.cut_id == cut_id, p.requirement_id == requirement_id)
        ids = tx.execute(mine.order_by(p.id.desc()).limit(count)).scalars().all()
        tx.execute(delete(p).where(p.id.in_(ids)))
    _add(tx, "held", [(requirement_id, -count) for requirement_id, count in sorted(counts.items())])


def keep_cut(
    tx: Tx, cut: PlannedStretch, holding_id: int, cut_mm: int, movement_id: int, note: str, stamp: Stamp
) -> None:
    """Writes down how a planned cut was really made."""
    tx.execute(
        insert(t.Cut),
        {
            "planned_cut_id": cut.cut_id,
            "holding_id": holding_id,
            "planned_mm": cut.length_mm,
            "cut_mm": cut_mm,
            "movement_id": movement_id,
            "note": note,
            "by": stamp.by,
            "at": stamp.at,
        },
    )


def cuts_of(tx: Tx, order_id: int) -> list[CutDone]:
    """What was cut for an order, oldest first."""
    rows = tx.execute(_CUTS, {"order": order_id})
    return [CutDone(row.holding_id, row.tag or "", row.item, row.cut_mm, row.by) for row in rows]


def rewrite_flaws(tx: Tx, holding_id: int, flaws: Sequence[tuple[int, int, str]]) -> None:
    """The flaws of a roll are now these."""
    tx.execute(update(t.Roll).where(t.Roll.holding_id == holding_id).values(flaws=[list(one) for one in flaws]))


def mark_measured(tx: Tx, holding_id: int) -> None:
    """The length of a roll is no longer the supplier's claim."""
    tx.execute(update(t.Roll).where(t.Roll.holding_id == holding_id).values(measured=True))
