"""Using a finished thing of the stock for an order, and letting it go again. What it covers need not be held or made.

It stays on its shelf, promised to the order, until it is fetched on the pick walk.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import read_tag
from stockroom.jobs.offer import Owner, Slot, binding, owner_of, slots_of, why_not, within
from stockroom.jobs.reserve import Reserved, holds_something, reserve_in
from stockroom.jobs.way_back import remember
from stockroom.store import bill, changed_rows, finished, holds, ledger, orders, pieces, taking
from stockroom.store.database import Shop, Tx
from stockroom.store.finished import FromStock, KeptFinished
from stockroom.store.orders import KeptOrder


@dataclass(frozen=True, slots=True)
class Used:
    """A finished thing that an order is to have, or is to have no longer."""

    order: str
    tag: str
    title: str
    place: str
    pieces: tuple[str, ...]
    """Tags of the pieces that it is to be."""
    lacks: tuple[str, ...]
    """What of it is not there, and must be picked besides."""
    binds: tuple[str, ...]
    """What that settles about the rest of the set: sentences."""
    reserved: Reserved | None
    """What became of the order's holds, where it had any."""
    sentence: str


@dataclass(frozen=True, slots=True)
class Loosened:
    """A finished thing that was let go while its order is made anew, and the pieces that it was to be."""

    tag: str
    title: str
    pieces: frozenset[tuple[Owner, int]]
    """What each shares with its other copies, and which copy it is."""


def use(shop: Shop, tag: str, number: str, stamp: Stamp) -> Used:
    """An order is to have a finished thing of the stock.

    Raises Refusal where it is not there, is promised already, or does not fit, and says why not.
    """
    with shop.write() as tx:
        order = _open_order(tx, number)
        thing = _free_thing(tx, tag)
        slot = _slot_for(shop, tx, order, thing)
        had = holds_something(tx, order)
        before = _look(tx, order)
        job = ledger.begin_job(tx, f"use {thing.tag} for order {order.number}", stamp)
        binds = binding(tx, order, thing, slot)
        _take_up(tx, thing, slot, order, stamp)
        orders.log_change(tx, order.id, job, f"{thing.title} of the stock ({thing.tag}) is to be {slot.words}", stamp)
        reserved = reserve_in(shop, tx, order, stamp) if had else None
        remember(tx, job, before, touched=[f"holding {thing.holding_id}"])
        lacks = f" It lacks {', '.join(thing.lacks)}: that is still picked." if thing.lacks else ""
        return Used(
            order.number,
            thing.tag,
            thing.title,
            thing.place,
            tuple(one.tag for one in slot.pieces),
            thing.lacks,
            binds,
            reserved,
            f"{thing.title} ({thing.tag} in {thing.place}) is to be {slot.words}, of order {order.number}.{lacks}",
        )


def unuse(shop: Shop, tag: str, stamp: Stamp) -> Used:
    """The order that was to have a finished thing makes its own after all; the thing is free again."""
    with shop.write() as tx:
        thing = _thing(tx, tag)
        used = finished.used_for(tx, thing.holding_id)
        if used is None:
            raise Refusal(f"{thing.title} ({thing.tag}) is promised to no order, so there is nothing to let go.")
        order = _open_order(tx, used[0])
        had = holds_something(tx, order)
        mine = [one for one in finished.from_stock_of(tx, order.id).values() if one.holding_id == thing.holding_id]
        if not mine:
            raise Refusal(f"Somebody else has just let {thing.tag} go. Nothing is done again.")
        before = _look(tx, order)
        job = ledger.begin_job(tx, f"let {thing.tag} go from order {order.number}", stamp)
        let_go(tx, order, mine)
        orders.log_change(tx, order.id, job, f"{thing.title} of the stock ({thing.tag}) was let go", stamp)
        tags = {one.id: one.tag for one in pieces.pieces_of(tx, order.id)}
        reserved = reserve_in(shop, tx, order, stamp) if had else None
        # What the order asks for may be other by then, and the thing be no more what fits it.
        remember(tx, job, before, touched=[f"holding {thing.holding_id}"], alone=[f"order {order.id}"])
        return Used(
            order.number,
            thing.tag,
            thing.title,
            thing.place,
            tuple(tags[one.piece_id] for one in mine),
            (),
            (),
            reserved,
            f"{thing.title} ({thing.tag} in {thing.place}) is free again; order {order.number} makes its own.",
        )


def _look(tx: Tx, order: KeptOrder) -> changed_rows.Before:
    return changed_rows.look(tx, (*changed_rows.FROM_STOCK, *changed_rows.PROMISES), orders=[order.id])


def _open_order(tx: Tx, number: str) -> KeptOrder:
    order = orders.order_to_change(tx, number)
    if order.state != "open":
        raise Refusal(f"Order {order.number} is {order.state}: no finished thing is found for it any more.")
    if order.for_stock:
        raise Refusal(f"Order {order.number} is for stock itself: it is made, not taken from there.")
    return order


def _thing(tx: Tx, tag: str) -> KeptFinished:
    """The finished thing of a tag, locked until the transaction ends."""
    read = str(read_tag(tag))
    found = taking.found_by_tag(tx, read)
    thing = finished.finished_by_tag(tx, read) if found is not None else None
    if thing is None:
        raise Refusal(f"{read} is no finished thing of the stock. What there is: stockroom left-over")
    return thing


def _free_thing(tx: Tx, tag: str) -> KeptFinished:
    thing = _thing(tx, tag)
    if thing.is_free:
        return thing
    name = f"{thing.title} ({thing.tag})"
    used = finished.used_for(tx, thing.holding_id)
    if thing.quarantined_because:
        raise Refusal(f"{name} is in quarantine: {thing.quarantined_because}. Leave it.")
    if used is not None:
        done = "went into" if used[1] else "is promised to"
        raise Refusal(f"{name} {done} order {used[0]} already. What else there is: stockroom left-over")
    raise Refusal(f"{name} is not there any more. What there is: stockroom left-over")


def _slot_for(shop: Shop, tx: Tx, order: KeptOrder, thing: KeptFinished) -> Slot:
    """The place of an order that a finished thing fits. Raises Refusal, with the reason, where there is none."""
    name = f"{thing.title} ({thing.tag})"
    alike = []
    for slot in slots_of(shop, tx, order):
        if slot.is_like(thing):
            why = why_not(tx, order, thing, slot)
            if not why:
                return slot
            alike.append(f"{slot.words}: {why}.")
    if not alike:
        raise Refusal(f"Order {order.number} asks for no {thing.title} that could come from stock: {name} is not used.")
    raise Refusal(f"{name} does not fit order {order.number}, {alike[0]}", faults=tuple(alike[1:]))


def _take_up(tx: Tx, thing: KeptFinished, slot: Slot, order: KeptOrder, stamp: Stamp) -> None:
    """Promises the thing to its pieces; what they ask for is needed no more, and what was held for it is free."""
    amounts = _amounts(thing, slot)
    covered: defaultdict[int, int] = defaultdict(int)
    for mine in amounts.values():
        for requirement_id, amount in mine.items():
            covered[requirement_id] += amount
    holds.release(tx, covered)
    finished.promise(tx, thing.holding_id, amounts, stamp)
    now = {one.id: one for one in bill.requirements_to_hold(tx, order.id)}
    needed: dict[int, int] = {}
    for requirement_id, amount in covered.items():
        one = now[requirement_id]
        if one.requirement.key.unit:
            needed[requirement_id] = 0
        elif one.requirement.need == "made":
            owned = [piece for piece, parts in slot.parts.items() if any(part.id == one.id for part in parts)]
            made_here = sum(any(now[unit.id].needed for unit in slot.units[piece]) for piece in owned)
            needed[requirement_id] = one.needed - (amount - made_here)
        else:
            needed[requirement_id] = one.requirement.quantity - one.covered
    holds.need(tx, needed)


def _amounts(thing: KeptFinished, slot: Slot) -> dict[int, dict[int, int]]:
    """Piece id → requirement id → how much of it the finished thing covers."""
    left = {one.where: one.there for one in thing.covers}
    amounts: dict[int, dict[int, int]] = {}
    for piece in slot.pieces:
        owner = owner_of(piece)
        mine = amounts.setdefault(piece.id, {})
        for part in slot.parts[piece.id]:
            requirement = part.requirement
            where = (within(slot.path, owner[1]), owner[2], requirement.key.part, requirement.key.hand)
            amount = min(requirement.quantity // slot.copies[owner], left[where])
            left[where] -= amount
            if amount:
                mine[part.id] = amount
            if amount and requirement.need == "made":
                mine.update({unit.id: unit.requirement.quantity for unit in slot.units[piece.id]})
    return amounts


# --- letting go --------------------------------------------------------------------------------------------------


def let_go(tx: Tx, order: KeptOrder, mine: Sequence[FromStock]) -> None:
    """A finished thing is promised to its pieces no longer, and what they consist of is asked for again.

    Raises Refusal for one that was fetched: it is put back first.
    """
    if any(one.movement_id is not None for one in mine):
        raise Refusal(
            f"{mine[0].title} ({mine[0].tag}) was fetched for order {order.number}. "
            f"Put it back first: stockroom put-back {order.number} {mine[0].tag}"
        )
    finished.end_promise(tx, mine)
    freed: defaultdict[int, int] = defaultdict(int)
    for used in mine:
        for requirement_id, amount in used.amounts.items():
            freed[requirement_id] += amount
    needed = {}
    for one in bill.requirements_to_hold(tx, order.id):
        if one.id in freed and not one.requirement.key.unit:
            is_made = one.requirement.need == "made"
            needed[one.id] = one.needed + freed[one.id] if is_made else one.requirement.quantity - one.covered
    holds.need(tx, needed)


def let_go_all(tx: Tx, order: KeptOrder) -> list[str]:
    """Lets go of every finished thing that was not fetched for an order, and names them."""
    named = []
    for some in _by_thing(finished.from_stock_of(tx, order.id)).values():
        if some[0].movement_id is None:
            let_go(tx, order, some)
            named.append(f"{some[0].tag} ({some[0].title})")
    return named


def let_go_of(tx: Tx, order: KeptOrder, touched: Collection[Owner]) -> list[Loosened]:
    """Lets go of the finished things that are to be pieces of which something changes."""
    stocked = finished.from_stock_of(tx, order.id)
    if not stocked:
        return []
    where = {one.id: (owner_of(one), one.piece.copy) for one in pieces.pieces_of(tx, order.id)}
    loosened = []
    for some in _by_thing(stocked).values():
        mine = frozenset(where[one.piece_id] for one in some)
        if any(owner in touched for owner, _ in mine):
            let_go(tx, order, some)
            loosened.append(Loosened(some[0].tag, some[0].title, mine))
    return loosened


def take_up_again(shop: Shop, tx: Tx, order: KeptOrder, loosened: Sequence[Loosened], stamp: Stamp) -> tuple[str, ...]:
    """Has an order that was made anew keep the finished things that still fit; says which do not, and why."""
    told = []
    for one in loosened:
        thing = finished.finished_by_tag(tx, one.tag)
        slot = next((slot for slot in slots_of(shop, tx, order) if _is_of(slot, one)), None)
        if thing is None or slot is None:
            told.append(f"{one.title} of the stock ({one.tag}) was let go: it is asked for no longer.")
        elif why := why_not(tx, order, thing, slot):
            told.append(f"{one.title} of the stock ({one.tag}) was let go: {why}.")
        else:
            _take_up(tx, thing, slot, order, stamp)
    return tuple(told)


def _is_of(slot: Slot, loosened: Loosened) -> bool:
    return {(owner_of(piece), piece.piece.copy) for piece in slot.pieces} == loosened.pieces


def _by_thing(stocked: Mapping[int, FromStock]) -> dict[int, list[FromStock]]:
    things: defaultdict[int, list[FromStock]] = defaultdict(list)
    for one in stocked.values():
        things[one.holding_id].append(one)
    return dict(things)
