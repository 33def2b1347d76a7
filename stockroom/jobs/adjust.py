"""Adjusting: the true figure of one thing in stock, with a reason. More than a handful is counted instead."""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.replan import Replanned, make_room, promises_on, replan
from stockroom.jobs.scanned import figure_of, reason_said, stock_scanned
from stockroom.jobs.way_back import remember
from stockroom.store import ledger, taking
from stockroom.store.database import Shop, Tx
from stockroom.store.ledger import Entry
from stockroom.store.taking import Found


@dataclass(frozen=True, slots=True)
class Adjusted:
    """What a true figure made of the books."""

    tag: str
    title: str
    was: int
    """mm or count, by the books."""
    now: int
    sentence: str
    promises: Replanned


def adjust(shop: Shop, tag: str, figure: str, because: str, stamp: Stamp) -> Adjusted:
    """So much (a length, a count) is really there. Promises that it does not keep are looked for elsewhere.

    Raises Refusal where nothing is said of why, and for a figure that cannot be meant.
    """
    reason = reason_said(because, "lost, found behind the rack, miscounted when it came")
    with shop.write() as tx:
        (found,) = stock_scanned(tx, tag)
        now = figure_of(found, figure)
        if found.kind == "made" and now > 1:
            raise Refusal(f"{found.tag} is one finished thing: it is there (1) or it is not (0).")
        was, is_ = show_amount(found.item_kind, found.held), show_amount(found.item_kind, now)
        if now == found.held:
            said = f"{found.title} ({found.tag}): {is_}, as the books say. Nothing is changed."
            return Adjusted(found.tag, found.title, found.held, now, said, Replanned())
        job = ledger.begin_job(tx, f"adjust {found.tag}", stamp)
        before = promises_on(tx, found)
        room = make_room(tx, found, now)
        book_difference(tx, job, stamp, found, now - found.held, reason)
        said = f"{found.title} ({found.tag}): {is_}; the books said {was}."
        if not found.held:
            said += f" It was gone by the books, and is found again in {found.place or 'no place'}."
        done = replan(shop, tx, room, stamp)
        remember(tx, job, before)
        return Adjusted(found.tag, found.title, found.held, now, said, done)


def book_difference(tx: Tx, job: int, stamp: Stamp, found: Found, difference: int, note: str) -> int:
    """Books a difference of what was counted, to either side; of a roll, what lay beyond its new end is gone.

    Promises must have been let go before (`make_room`). Gives the movement's number.
    """
    (movement,) = ledger.append(tx, job, stamp, [Entry(found.id, "counted", difference, None, note)])
    if found.kind == "roll":
        left = found.held + difference
        taking.rewrite_flaws(tx, found.id, [(a, min(b, left), what) for a, b, what in found.flaws if a < left])
        taking.mark_measured(tx, found.id)
    return movement
