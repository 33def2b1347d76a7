"""What is held of a lot until the customer has answered to its swatch: promised to nobody else meanwhile.

It is let go when the answer comes, when the line waits for it no more, or when its day is past: whoever reserves
something of that cloth then finds it free.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from stockroom.domain.allocation import free_stretches
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.requirement import Requirement
from stockroom.domain.shortage import lot_name
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed
from stockroom.jobs.holding_plan import cuts_on_any
from stockroom.jobs.lookup import Catalogue
from stockroom.store import holds, ledger, margins, orders, swatches, waits
from stockroom.store.database import Shop, Tx
from stockroom.store.holds import Candidate
from stockroom.store.orders import KeptOrder
from stockroom.store.swatches import KeptSent

Stretch = tuple[int, int, int]
"""A roll's number, from and to in mm from its inner end."""


def enough(
    catalogue: Catalogue, tx: Tx, item: str, lot: str, needed: Sequence[Requirement], stamp: Stamp
) -> list[Stretch]:
    """Where the panels that are needed of a lot would be cut, as things are: that is what is held.

    Raises Refusal where not so much of the lot is free, naming what is free of the others.
    """
    panels = [(0, one.shape) for one in needed if one.shape is not None for _ in range(one.quantity)]
    rolls = _rolls(tx, item, stamp)
    found = cuts_on_any([one for one in rolls if one.lot == lot], panels, catalogue, "")
    if not found:
        raise _not_enough(catalogue, item, lot, rolls, "all that the line needs")
    return _joined([(one.holding_id, one.from_mm, one.to_mm) for one in found])


def so_much(catalogue: Catalogue, tx: Tx, item: str, lot: str, length_mm: int, stamp: Stamp) -> list[Stretch]:
    """So much of a lot, in one stretch where one is long enough: the shortest such, at its inner end.

    Raises Refusal where not so much of the lot is free.
    """
    rolls = _rolls(tx, item, stamp)
    free = _free([one for one in rolls if one.lot == lot])
    whole = [one for one in free if one[2] - one[1] >= length_mm]
    if whole:
        roll, first, _ = min(whole, key=lambda one: (one[2] - one[1], one[0], one[1]))
        return [(roll, first, first + length_mm)]
    found, left = list[Stretch](), length_mm
    for roll, first, last in sorted(free, key=lambda one: (one[1] - one[2], one[0])):
        if left > 0:
            found.append((roll, first, min(last, first + left)))
            left -= last - first
    if left > 0:
        raise _not_enough(catalogue, item, lot, rolls, show_length(length_mm))
    return found


def hold(tx: Tx, order_id: int, sent_id: int, stretches: Sequence[Stretch], stamp: Stamp) -> None:
    """Holds these stretches until the swatch is answered."""
    for holding_id, first, last in stretches:
        margins.hold_margin(tx, order_id, holding_id, (first, last), stamp, sent_id)


def hold_again(catalogue: Catalogue, tx: Tx, order: KeptOrder, stamp: Stamp) -> None:
    """For the swatches of an order that lost something of what was held for them: as much of their lots again.

    Where there is not so much free any more, what there is. What is past its day is not held again.
    """
    held: dict[int, int] = {}
    for one in margins.held_for_swatches(tx, order.id):
        held[one.sent_id or 0] = held.get(one.sent_id or 0, 0) + one.to_mm - one.from_mm
    for sent in swatches.awaited_of_order(tx, order.id):
        lacking = sent.hold_mm - held.get(sent.id, 0)
        if lacking <= 0 or sent.until < stamp.at.date():
            continue
        rolls = [one for one in _rolls(tx, sent.item, stamp) if one.lot == sent.lot]
        there = sum(last - first for _, first, last in _free(rolls))
        if there:
            hold(tx, order.id, sent.id, so_much(catalogue, tx, sent.item, sent.lot, min(lacking, there), stamp), stamp)


def end_unawaited(tx: Tx, order: KeptOrder, stamp: Stamp) -> None:
    """Swatches that no line of the order waits for any more, since it was changed, are not needed; nothing is held."""
    sent = swatches.awaited_of_order(tx, order.id)
    if not sent:
        return
    waiting = {(one.line, one.wait.name) for one in waits.waits_of(tx, order.id) if one.wait.kind == "swatch"}
    end_all(tx, [one for one in sent if (one.line, one.name) not in waiting], stamp)


def end_all(tx: Tx, sent: Sequence[KeptSent], stamp: Stamp) -> None:
    """No answer to these swatches is needed any more; nothing is held for them."""
    if sent:
        margins.let_go_of_swatches(tx, [one.id for one in sent])
        for one in sent:
            swatches.answer_sent(tx, one.id, "not needed", "", "", stamp)


def let_go_of_all_past(shop: Shop, stamp: Stamp) -> None:
    """Lets go of all that was held for swatches until a day that is past, for whoever counts what is free."""
    with shop.read() as tx:
        past = margins.past_day(tx, stamp.at.date())
    if past:
        with shop.write() as tx:
            let_go_past(tx, {one.item for one in past}, stamp)


def let_go_past(tx: Tx, items: Iterable[str], stamp: Stamp) -> None:
    """Lets go of what of these items was held for swatches until a day that is past; their orders say so."""
    wanted = set(items)
    past = [one for one in margins.past_day(tx, stamp.at.date()) if one.item in wanted]
    if not past:
        return
    margins.let_go_past(tx, wanted, past)
    job = ledger.begin_job(tx, "let go of what was held for swatches that nobody answered in time", stamp)
    for order_id, tag, until in dict.fromkeys((one.order_id, one.swatch, one.until) for one in past):
        told = f"No answer to swatch {tag} came by {until.isoformat()}: its lot is held no more"
        orders.log_change(tx, order_id, job, told, stamp)
    ledger.keep_no_way_back(
        tx, job, "The day was past.", "Wait longer for the answer, and it is held again: stockroom swatch wait."
    )


def free_by_lot(tx: Tx, item: str, stamp: Stamp) -> dict[str, int]:
    """Lot of an item → mm of it that are free, clear of flaws, on all its rolls."""
    return _by_lot(_rolls(tx, item, stamp))


def _by_lot(rolls: Sequence[Candidate]) -> dict[str, int]:
    """Lot → mm of it that are free on these rolls; without those that have nothing."""
    found: dict[str, int] = {}
    for one in rolls:
        found[one.lot] = found.get(one.lot, 0) + sum(last - first for _, first, last in _free([one]))
    return {lot: there for lot, there in sorted(found.items()) if there}


def _rolls(tx: Tx, item: str, stamp: Stamp) -> list[Candidate]:
    let_go_past(tx, [item], stamp)
    return [one for one in holds.candidates(tx, [item], stamp.at.date())[item] if one.kind == "roll"]


def _free(rolls: Sequence[Candidate]) -> list[Stretch]:
    return [
        (one.holding_id, first, last)
        for one in rolls
        for first, last in free_stretches(one.held, (*one.promised, *one.flaws))
    ]


def _joined(stretches: Sequence[Stretch]) -> list[Stretch]:
    """Neighbours on one roll as one stretch."""
    found: list[Stretch] = []
    for roll, first, last in sorted(stretches):
        if found and found[-1][0] == roll and found[-1][2] == first:
            found[-1] = (roll, found[-1][1], last)
        else:
            found.append((roll, first, last))
    return found


def _not_enough(catalogue: Catalogue, item: str, lot: str, rolls: Sequence[Candidate], wanted: str) -> Refusal:
    by_lot = _by_lot(rolls)
    mine = by_lot.pop(lot, 0)
    others = listed(f"{lot_name(other)} has {show_length(free)}" for other, free in by_lot.items())
    free = f"{show_length(mine)} of it is free" if mine else "nothing of it is free"
    return Refusal(
        f"{catalogue.items[item].title}, {lot_name(lot)}: {wanted} cannot be held, as {free}"
        + (f"; {others} free. Send a swatch of that, or say" if others else ". Say")
        + " how much is to be held all the same: --hold LENGTH, 0 for nothing."
    )
