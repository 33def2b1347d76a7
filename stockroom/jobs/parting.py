"""A stretch of a roll that becomes a roll of its own: with a tag, its parent's lot and width, and its worth."""

from __future__ import annotations

from stockroom.domain.stamp import Stamp
from stockroom.store import ledger, stock, taking
from stockroom.store.database import Tx
from stockroom.store.ledger import Entry
from stockroom.store.stock import Remnant
from stockroom.store.taking import Found


def part_off(tx: Tx, job: int, stamp: Stamp, roll: Found, stretch: tuple[int, int], what: str) -> Remnant:
    """Cuts a stretch (from and to, mm from the inner end) off a roll. `what` it is, for the ledger: 'outer end'.

    What was promised on it must have been let go. The flaws of the roll itself are left to whoever cuts.
    """
    first, last = stretch
    made = stock.add_remnant(tx, roll.id, roll.item, roll.lot, roll.width_mm, roll.place, stamp.at.date())
    within = [(max(a, first) - first, min(b, last) - first, flaw) for a, b, flaw in roll.flaws]
    taking.rewrite_flaws(tx, made.id, [one for one in within if one[0] < one[1]])
    worth = stock.share_of_worth(tx, roll.id, last - first)
    out = Entry(roll.id, "moved", first - last, -worth, f"{what}, now {made.tag}")
    ledger.append(tx, job, stamp, [out, Entry(made.id, "moved", last - first, worth, f"{what} of {roll.tag}")])
    return made
