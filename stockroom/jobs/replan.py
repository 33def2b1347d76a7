"""What becomes of the promises on a holding that is not what the books said: they find a place again, or are named.

Every other promise on it is planned again in the transaction of the job that found it out: along the roll, on other
stock of the same lot, or not at all. Who loses a place is who is wanted latest.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from stockroom.domain.refusal import Refusal
from stockroom.domain.repacking import Promise, repacked
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import read_tag
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.margin import hold_margins
from stockroom.jobs.reserve import reserve_in
from stockroom.jobs.swatch_hold import hold_again
from stockroom.store import changed_rows, finished, holds, ledger, margins, moving, orders, promises, taking
from stockroom.store.changed_rows import Before
from stockroom.store.database import Shop, Tx
from stockroom.store.ledger import Entry
from stockroom.store.taking import Found, PlannedStretch


class Loser(Protocol):
    """Whoever lost a promise."""

    @property
    def order(self) -> str:
        """Number of the order."""

    @property
    def wanted(self) -> date | None:
        """When it is wanted."""


@dataclass(frozen=True, slots=True)
class Replanned:
    """What became of the promises on a holding."""

    moved: int = 0
    """Planned cuts that moved along the roll."""
    planned_elsewhere: tuple[str, ...] = ()
    """Numbers of the orders that lost something here and hold it elsewhere now."""
    short: tuple[str, ...] = ()
    """What is short now and was not before: sentences that name the order."""


@dataclass(frozen=True, slots=True)
class RoomMade:
    """Promises that were let go, before anybody has looked for them elsewhere."""

    moved: int
    lost: tuple[Loser, ...]
    without_margin: tuple[str, ...]
    """Numbers of the orders that lost a margin."""


@dataclass(frozen=True, slots=True)
class RollPutRight:
    """What a flaw or a true length made of the promises on a roll."""

    tag: str
    left_mm: int
    moved: int
    """Planned cuts that moved along the roll."""
    planned_elsewhere: tuple[str, ...]
    """Orders whose cuts are planned on another roll now."""
    short: tuple[str, ...]
    """Orders that are now short, with why."""
    claimable_mm: int = 0
    """So much shorter it is than it came in with, once that was measured: the supplier's to answer for."""


def lock_promises(tx: Tx, tag: str, *order_ids: int) -> None:
    """Locks what a job on the holding of a tag may write: who is promised any of it, and all there is of its item.

    To be called first, with the order that the job is for, if it is for one.
    """
    found = moving.holding_of(tx, str(read_tag(tag)))
    promises.lock_with_orders(tx, [] if found is None else [found], order_ids)


def promises_on(tx: Tx, *found: Found, beside: Iterable[int] = ()) -> Before:
    """What is written down of holdings and promised of them, as it is before any of that is planned again.

    `beside`: other holdings of which something will be written, but no promise let go.
    """
    ids = [one.id for one in found]
    watched = (*changed_rows.ROLLS, *changed_rows.PROMISES)
    return changed_rows.look(tx, watched, orders=promises.orders_on(tx, ids), holdings=[*ids, *beside])


def put_right(
    shop: Shop, tx: Tx, job: int, roll: Found, left: int, flaws: Sequence[tuple[int, int, str]], stamp: Stamp
) -> RollPutRight:
    """Every promise on the roll finds its place again, here or elsewhere; what the books said is counted right."""
    room = make_room(tx, roll, left, flaws)
    if left != roll.held:
        ledger.append(tx, job, stamp, [Entry(roll.id, "counted", left - roll.held, None, "measured")])
        taking.rewrite_flaws(tx, roll.id, [(a, min(b, left), what) for a, b, what in flaws if a < left])
    done = replan(shop, tx, room, stamp)
    return RollPutRight(roll.tag, left, done.moved, done.planned_elsewhere, done.short)


def make_room(tx: Tx, holding: Found, left: int, flaws: Sequence[tuple[int, int, str]] | None = None) -> RoomMade:
    """Lets go of the latest-wanted promises on a holding until the others go on the `left` (mm or count) it will have.

    `flaws`: those it will have then, where they are not the ones it has. What it holds is booked afterwards, and then
    `replan` looks elsewhere for what was let go.
    """
    if holding.kind == "made" and holding.reserved > left:
        _refuse_promised(tx, holding)
    moved, lost, without_margin = 0, list[Loser](), list[str]()
    if holding.kind == "roll":
        bad = holding.flaws if flaws is None else flaws
        good = [(first, min(last, left)) for first, last, _ in bad if first < left]
        moved, cuts, without_margin = repack(tx, taking.planned_on(tx, holding.id), holding, left, good)
        lost += cuts
    reserved = promises.reservations_on(tx, holding.id)
    too_many = sum(one.quantity for one in reserved) - left
    for one in reserved:
        if too_many <= 0:
            break
        # Whole, so that no run is pieced together; of what is still here its order takes what it can again.
        taking.end_reservations(tx, holding.id, [], [(one.requirement_id, one.quantity)])
        too_many -= one.quantity
        lost.append(one)
    return RoomMade(moved, tuple(lost), tuple(without_margin))


def _refuse_promised(tx: Tx, holding: Found) -> None:
    """Raises Refusal for a finished thing that an order is to have: who lets it go must know that it is made then."""
    used = finished.used_for(tx, holding.id)
    whom = f"order {used[0]}" if used else "an order"
    raise Refusal(
        f"{holding.title} ({holding.tag}) is promised to {whom} as a piece of it. Take it off that order first: "
        f"stockroom unuse {holding.tag}"
    )


def replan(shop: Shop, tx: Tx, room: RoomMade, stamp: Stamp) -> Replanned:
    """Looks elsewhere for what was let go, the earliest wanted first, and names who is short of it now."""
    elsewhere, short = plan_again(shop, tx, room.lost, stamp)
    margins_again(shop, tx, room.without_margin, stamp)
    return Replanned(room.moved, elsewhere, short)


def repack(
    tx: Tx, planned: Sequence[PlannedStretch], roll: Found, left: int, flaws: Sequence[tuple[int, int]]
) -> tuple[int, list[PlannedStretch], list[str]]:
    """Moves planned cuts onto what is left, the earliest wanted first, and after them margins.

    Gives how many cuts moved, those that were let go for want of a place, and the orders that lost a margin.
    """
    in_need = sorted(planned, key=lambda one: (one.wanted or date.max, one.cut_id))
    beside = margins.margins_on(tx, roll.id)
    # Below nothing, the id of a margin is no cut's.
    promises = [Promise(one.cut_id, one.from_mm, one.to_mm) for one in in_need]
    promises += [Promise(-one.id, one.from_mm, one.to_mm) for one in beside]
    found = repacked(left, flaws, promises)
    lost = [one for one in planned if one.cut_id in found.lost]
    if lost:
        holds.release_cuts(tx, [one.cut_id for one in lost])
    margins.drop_margins(tx, [-one for one in found.lost if one < 0])
    at = {one.cut_id: one for one in promises}
    moved = [one for one in found.kept if one != at[one.cut_id]]
    taking.shift_planned(tx, [(one.cut_id, one.from_mm, one.to_mm) for one in moved if one.cut_id > 0])
    margins.shift_margins(tx, [(-one.cut_id, one.from_mm, one.to_mm) for one in moved if one.cut_id < 0])
    without_margin = [one.order for one in beside if -one.id in found.lost]
    return sum(one.cut_id > 0 for one in moved), lost, without_margin


def plan_again(shop: Shop, tx: Tx, lost: Sequence[Loser], stamp: Stamp) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Orders that lost a promise look elsewhere, the earliest wanted first: those that found it, those now short.

    What an order was short of before is no news of this.
    """
    elsewhere: list[str] = []
    short: list[str] = []
    in_need = sorted(lost, key=lambda one: (one.wanted or date.max, one.order))
    for number in dict.fromkeys(one.order for one in in_need):
        order = orders.order_by(tx, number)
        before = {(one.item, one.group, one.car_id): one.missing for one in holds.shortages_of(tx, order.id)}
        reserve_in(shop, tx, order, stamp)
        now = holds.shortages_of(tx, order.id)
        fresh = [one for one in now if one.missing > before.get((one.item, one.group, one.car_id), 0)]
        if fresh:
            short += [f"Order {number}: {one.sentence}" for one in fresh]
        else:
            elsewhere.append(number)
    return tuple(elsewhere), tuple(short)


def margins_again(shop: Shop, tx: Tx, numbers: Sequence[str], stamp: Stamp) -> None:
    """For orders that may have lost a margin, or what was held for a swatch, another is held of the same lot."""
    for number in dict.fromkeys(numbers):
        order = orders.order_by(tx, number)
        hold_margins(catalogue_of(shop, tx), tx, order, stamp)
        hold_again(catalogue_of(shop, tx), tx, order, stamp)
