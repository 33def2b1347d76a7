"""Other stock was scanned than is held for the order: what is promised moves to it, or it is refused in words.

Another roll, reel or bin of the same item and lot will do. Another lot will do only where the pieces need not match, or
where somebody approves the mix with initials and a reason; another item never.
"""

from __future__ import annotations

from collections.abc import Sequence

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.holding_plan import cuts_on
from stockroom.jobs.lookup import Catalogue
from stockroom.jobs.margin import hold_margins
from stockroom.jobs.past_day import refuse_past_day
from stockroom.jobs.reserve import approve_mix_in
from stockroom.jobs.way_back import remember
from stockroom.store import bill, changed_rows, holds, ledger, margins, taking
from stockroom.store.database import Tx, aside
from stockroom.store.holds import KeptHold
from stockroom.store.orders import KeptOrder
from stockroom.store.taking import Found


class AnotherLot(Refusal):
    """What was scanned is the right thing in another dye lot: it may be taken if somebody approves the mix."""

    def __init__(self, sentence: str, order: str, tag: str) -> None:
        super().__init__(sentence)
        self.order = order
        self.tag = tag


def move_cut(
    catalogue: Catalogue, tx: Tx, order: KeptOrder, roll: Found, held: Sequence[KeptHold], mix: str, stamp: Stamp
) -> str:
    """Plans a cut that is planned on another roll on the one that was scanned; says so.

    `mix`: why another lot may be used; '' where nobody approves one. Raises Refusal where the cut may not move.
    """
    refuse_past_day(roll, stamp.at.date())
    wanted = [one for one in held if one.cut_id is not None and one.item == roll.item]
    if not wanted:
        raise Refusal(
            f"{roll.tag} is {roll.title}; nothing of that is left to cut for order {order.number}. Put it back."
        )
    permitted = [one for one in wanted if one.lot == roll.lot] or _agreed(tx, order, roll, wanted, mix, stamp)
    before = changed_rows.look(tx, changed_rows.PROMISES, orders=[order.id])
    job = ledger.begin_job(tx, f"plan a cut for order {order.number} on {roll.tag}, which was scanned", stamp)
    # Its own margin is not in the way of its own panels.
    margins.drop_margins(tx, [one.id for one in margins.margins_of(tx, order.id) if one.holding_id == roll.id])
    moved = next((one for one in permitted if _planned_on(catalogue, tx, order, roll, one, stamp)), None)
    if moved is None:
        raise Refusal(
            f"The panels for order {order.number} do not go on what is free of {roll.tag}. "
            f"They are planned on roll {permitted[0].tag} in {permitted[0].place}. Take that one."
        )
    hold_margins(catalogue, tx, order, stamp)
    remember(tx, job, before, touched=[f"holding {roll.id}"])
    return f"it was planned on {moved.tag} in {moved.place}, and is planned on {roll.tag} now"


def move_reservations(
    tx: Tx, order: KeptOrder, scanned: Found, held: Sequence[KeptHold], mix: str, stamp: Stamp
) -> list[KeptHold]:
    """Moves what is reserved of the scanned item to the scanned holding; gives what moved.

    `mix`: as for a cut. Raises Refusal where nothing may move.
    """
    wanted = [one for one in held if one.cut_id is None and one.item == scanned.item]
    if not wanted:
        what = "something else" if held else "nothing more"
        raise Refusal(f"{scanned.tag} is {scanned.title}; order {order.number} needs {what} from there. Put it back.")
    groups = {one.id: one.requirement.group for one in bill.requirements_of(tx, order.id)}
    bound = [one for one in wanted if groups.get(one.requirement_id or 0)]
    if any(one.lot != scanned.lot for one in bound):
        _agreed(tx, order, scanned, bound, mix, stamp)
    # As many whole reservations as the scanned holding has free, so that nothing is pieced from two.
    free, moved = scanned.free, []
    for one in wanted:
        if one.quantity <= free and one.requirement_id is not None:
            taking.move_reservation(tx, one.requirement_id, one.holding_id, scanned.id, one.quantity)
            free -= one.quantity
            moved.append(one)
    if not moved:
        raise Refusal(
            f"{scanned.tag} has {show_amount(scanned.item_kind, scanned.free)} free; order {order.number} needs "
            f"{show_amount(scanned.item_kind, wanted[0].quantity)} of it in one. It is held in {wanted[0].tag} "
            f"({wanted[0].place})."
        )
    return moved


def _agreed(
    tx: Tx, order: KeptOrder, scanned: Found, wanted: Sequence[KeptHold], mix: str, stamp: Stamp
) -> Sequence[KeptHold]:
    """The same holds, if several lots may be used for them: a mix was approved before, or is now, in `mix`."""
    if scanned.item not in holds.approved_mixes(tx, order.id):
        if not mix.strip():
            raise AnotherLot(
                f"{scanned.tag} is dye lot {scanned.lot or 'unknown'}; order {order.number} holds dye lot "
                f"{wanted[0].lot or 'unknown'} of {scanned.title} ({wanted[0].tag} in {wanted[0].place}), and what is "
                "seen together comes from one lot. Take that one, unless somebody approves the mix.",
                order.number,
                scanned.tag,
            )
        approve_mix_in(tx, order, scanned.item, mix, stamp)
    return wanted


def _planned_on(catalogue: Catalogue, tx: Tx, order: KeptOrder, roll: Found, cut: KeptHold, stamp: Stamp) -> bool:
    """Plans one cut on this roll instead; False, and nothing changed, if its panels do not go on it."""
    with aside(tx) as attempt:
        holds.release_cuts(tx, [] if cut.cut_id is None else [cut.cut_id])
        shapes = {one.id: one.requirement.shape for one in bill.requirements_of(tx, order.id)}
        panels = [(panel[0], shape) for panel in cut.panels if (shape := shapes[panel[0]]) is not None]
        there = holds.candidates(tx, [roll.item], stamp.at.date())[roll.item]
        free = next((one for one in there if one.holding_id == roll.id), None)
        why = f"It was scanned instead of {cut.tag}."
        planned = cuts_on(free, panels, catalogue, why) if free is not None else ()
        if planned:
            holds.hold(tx, planned, [], stamp)
            attempt.keep()
    return bool(planned)
