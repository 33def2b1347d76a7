"""Where things lie and whether they may be used: putting a holding elsewhere, parting and joining bins, quarantine.

Quantities go from one holding to another by the ledger's movements, out and in; here stand the rows beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import insert, select, update

from stockroom.domain.stamp import Stamp
from stockroom.store import arrivals, stock, taking
from stockroom.store import tables as t
from stockroom.store.database import Tx
from stockroom.store.ledger import Entry, append
from stockroom.store.promises import reservations_on
from stockroom.store.taking import Found


@dataclass(frozen=True, slots=True)
class Bin:
    """A bin that goods are put into."""

    id: int
    tag: str
    is_new: bool
    """It has just got its tag, which is to be printed."""


def holding_of(tx: Tx, tag: str) -> int | None:
    """Number of the roll, bin or finished thing of a tag; not locked."""
    return tx.execute(select(t.Holding.id).where(t.Holding.tag == tag, t.Holding.kind != "past")).scalar()


def put_in_place(tx: Tx, job: int, stamp: Stamp, holdings: Sequence[Found], place: str) -> tuple[int, ...]:
    """Whole holdings lie in another place now. Gives the movement of each, which brings nothing in and takes nothing.

    Raises nothing: no bin of the same item and lot may lie there.
    """
    words = [f"from {one.place or 'nowhere'} to {place}" for one in holdings]
    entries = [Entry(one.id, "moved", 0, 0, said) for one, said in zip(holdings, words, strict=True)]
    movements = append(tx, job, stamp, entries)
    if holdings:
        tx.execute(update(t.Holding).where(t.Holding.id.in_([one.id for one in holdings])).values(place=place))
        tx.execute(
            insert(t.Moved),
            [
                {"movement_id": movement, "from_place": one.place or None, "to_place": place}
                for movement, one in zip(movements, holdings, strict=True)
            ],
        )
    return movements


def bin_like(tx: Tx, item: str, lot: str, place: str, because: str) -> Bin | None:
    """The bin of this item and lot in a place: the one in quarantine where there is a reason, otherwise the other."""
    h = t.Holding
    row = tx.execute(
        select(h.id, h.tag).where(
            h.kind == "bin", h.item == item, h.lot == lot, h.place == place, h.quarantined == bool(because)
        )
    ).one_or_none()
    return None if row is None else Bin(row.id, row.tag or "", False)


def bins_beside(tx: Tx, like: Found, place: str) -> list[int]:
    """Numbers of the bins of this item and lot in a place, in quarantine or not."""
    h = t.Holding
    here = (h.kind == "bin", h.item == like.item, h.lot == like.lot, h.place == place)
    return list(tx.execute(select(h.id).where(*here).order_by(h.id)).scalars()) if like.kind == "bin" else []


def bin_for(tx: Tx, like: Found, place: str, because: str) -> Bin:
    """The bin in a place that goods of this item and lot go into, made where there is none.

    `because`: they are in quarantine, for this reason; it stands beside the reason of what is there already.
    """
    expires: date | None = tx.execute(select(t.Holding.expires).where(t.Holding.id == like.id)).scalar()
    known = arrivals.bin_for(tx, like.item, place, like.lot, is_quarantined=bool(because))
    if known is None:
        made = arrivals.add_bin(tx, like.item, place, like.lot, because, expires)
        return Bin(made.id, made.tag, True)
    if because:
        _add_reason(tx, known, because)
    there = arrivals.open_bin(tx, known, expires)
    return Bin(there.id, there.tag, False)


def move_goods(tx: Tx, job: int, stamp: Stamp, was: Found, now: Bin, quantity: int, note: str) -> tuple[int, ...]:
    """So much goes from one bin to another, with its worth; promises that `was` cannot keep go along.

    `note` is the same on both movements. Neither may be in quarantine where promises go along.
    """
    worth = stock.share_of_worth(tx, was.id, quantity)
    too_many = was.reserved - (was.held - quantity)
    carried: list[tuple[int, int]] = []
    for one in reservations_on(tx, was.id):
        if too_many <= 0:
            break
        carried.append((one.requirement_id, min(one.quantity, too_many)))
        too_many -= carried[-1][1]
    taking.lift(tx, was.id, carried)
    movements = append(
        tx,
        job,
        stamp,
        [Entry(was.id, "moved", -quantity, -worth, note), Entry(now.id, "moved", quantity, worth, note)],
    )
    taking.set_down(tx, was.id, now.id, carried)
    return movements


def set_quarantine(tx: Tx, holding_id: int, because: str) -> None:
    """A holding is in quarantine for this reason; no reason: it is not."""
    h = t.Holding
    values = {"quarantined": bool(because), "quarantined_because": because}
    tx.execute(update(h).where(h.id == holding_id).values(values))


def _add_reason(tx: Tx, holding_id: int, because: str) -> None:
    h = t.Holding
    held, known = tx.execute(select(h.held, h.quarantined_because).where(h.id == holding_id)).one()
    reasons = [one for one in known.split("; ") if one] if held else []
    if because not in reasons:
        set_quarantine(tx, holding_id, "; ".join([*reasons, because]))


def short_of(tx: Tx, item: str) -> list[str]:
    """Numbers of the open orders that were found short of an item, the earliest wanted first."""
    o, s = t.CustomerOrder, t.Shortage
    rows = tx.execute(
        select(o.number, o.wanted, o.id).join(s, s.order_id == o.id).where(s.item == item, o.state == "open").distinct()
    )
    return [row.number for row in sorted(rows, key=lambda row: (row.wanted or date.max, row.id))]
