"""What becomes of the promises on a roll that is not what the books said: they find a place again, or are named.

Every other promise on the roll is planned again in the transaction of the job that found it out: along the roll, on
other cloth of the same lot, or not at all. Who loses a place is who is wanted latest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from stockroom.domain.repacking import Promise, repacked
from stockroom.domain.stamp import Stamp
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.margin import hold_margins
from stockroom.jobs.reserve import reserve_in
from stockroom.store import holds, ledger, margins, orders, taking
from stockroom.store.database import Shop, Tx
from stockroom.store.ledger import Entry
from stockroom.store.taking import Found, PlannedStretch


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


def put_right(
    shop: Shop, tx: Tx, job: int, roll: Found, left: int, flaws: Sequence[tuple[int, int, str]], stamp: Stamp
) -> RollPutRight:
    """Every promise on the roll finds its place again, here or elsewhere; what the books said is counted right."""
    before = taking.planned_on(tx, roll.id)
    good = [(first, min(last, left)) for first, last, _ in flaws if first < left]
    moved, lost, without_margin = repack(tx, before, roll, left, good)
    if left != roll.held:
        ledger.append(tx, job, stamp, [Entry(roll.id, "counted", left - roll.held, None, "measured")])
        taking.rewrite_flaws(tx, roll.id, [(a, min(b, left), what) for a, b, what in flaws if a < left])
    elsewhere, short = plan_again(shop, tx, lost, stamp)
    margins_again(shop, tx, without_margin, stamp)
    return RollPutRight(roll.tag, left, moved, elsewhere, short)


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
        holds.release(tx, [requirement for one in lost for requirement in one.panels])
    margins.drop_margins(tx, [-one for one in found.lost if one < 0])
    at = {one.cut_id: one for one in promises}
    moved = [one for one in found.kept if one != at[one.cut_id]]
    taking.shift_planned(tx, [(one.cut_id, one.from_mm, one.to_mm) for one in moved if one.cut_id > 0])
    margins.shift_margins(tx, [(-one.cut_id, one.from_mm, one.to_mm) for one in moved if one.cut_id < 0])
    without_margin = [one.order for one in beside if -one.id in found.lost]
    return sum(one.cut_id > 0 for one in moved), lost, without_margin


def plan_again(
    shop: Shop, tx: Tx, lost: Sequence[PlannedStretch], stamp: Stamp
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Orders that lost a cut look for other cloth, the earliest wanted first: those that found it, those now short."""
    elsewhere: list[str] = []
    short: list[str] = []
    in_need = sorted(lost, key=lambda one: (one.wanted or date.max, one.order))
    for number in dict.fromkeys(one.order for one in in_need):
        done = reserve_in(shop, tx, orders.order_by(tx, number), stamp)
        if done.short:
            short += [f"Order {number}: {sentence}" for sentence in done.short]
        else:
            elsewhere.append(number)
    return tuple(elsewhere), tuple(short)


def margins_again(shop: Shop, tx: Tx, numbers: Sequence[str], stamp: Stamp) -> None:
    """For orders that may have lost a margin another is held, where there is cloth of their lot."""
    for number in dict.fromkeys(numbers):
        hold_margins(catalogue_of(shop, tx), tx, orders.order_by(tx, number), stamp)
