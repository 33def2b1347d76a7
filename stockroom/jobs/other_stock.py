"""Other stock was scanned than is held for the order: what is promised moves to it, or it is refused in words.

Another roll, reel or bin of the same item and lot will do. Another lot will do only where the pieces need not match, or
where somebody approves the mix with initials and a reason; another item never.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.group_rule import MOST_LOTS, MatchingGroup
from stockroom.domain.mixing import pair_words
from stockroom.domain.refusal import Refusal
from stockroom.domain.shortage import lot_name
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.holding_plan import cuts_on, matching_group
from stockroom.jobs.lookup import Catalogue
from stockroom.jobs.lot_colours import lot_colours
from stockroom.jobs.margin import hold_margins
from stockroom.jobs.offer import bound_lots
from stockroom.jobs.past_day import refuse_past_day
from stockroom.jobs.reserve import approve_mixes_in
from stockroom.jobs.way_back import remember
from stockroom.jobs.went_in import lots_to_match
from stockroom.store import bill, changed_rows, holds, ledger, margins, packing, taking
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
    alike = [one for one in wanted if one.lot == roll.lot]
    moving = _Moving(catalogue, tx, order, roll, held)
    moves = [] if alike else [move for one in wanted for move in moving.together([one])]
    possible = sorted((one for one in moves if not one.why_never), key=lambda one: not one.is_allowed)
    if moves:
        moving.refuse(possible[:1] or moves[:1], mix)
    permitted = alike or [one.holds[0] for one in possible if one.is_allowed or mix.strip()]
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
    moving.approve([one for one in possible if one.holds[0] is moved], mix, stamp)
    hold_margins(catalogue, tx, order, stamp)
    remember(tx, job, before, touched=[f"holding {roll.id}"])
    return f"it was planned on {moved.tag} in {moved.place}, and is planned on {roll.tag} now"


def move_reservations(
    catalogue: Catalogue, tx: Tx, order: KeptOrder, scanned: Found, held: Sequence[KeptHold], mix: str, stamp: Stamp
) -> list[KeptHold]:
    """Moves what is reserved of the scanned item to the scanned holding; gives what moved.

    `mix`: as for a cut. Raises Refusal where nothing may move.
    """
    wanted = [one for one in held if one.cut_id is None and one.item == scanned.item]
    if not wanted:
        what = "something else" if held else "nothing more"
        raise Refusal(f"{scanned.tag} is {scanned.title}; order {order.number} needs {what} from there. Put it back.")
    # As many whole reservations as the scanned holding has free, so that nothing is pieced from two.
    free, moved = scanned.free, list[KeptHold]()
    for one in wanted:
        if one.quantity <= free and one.requirement_id is not None:
            free -= one.quantity
            moved.append(one)
    moving = _Moving(catalogue, tx, order, scanned, held)
    # Counted goods match anything, and so does what is seen beside nothing.
    seen = [move for move in moving.together(moved or wanted) if move.group.is_seen_together]
    moves = [move for move in seen if any(one.lot != scanned.lot for one in move.holds)]
    if moves and scanned.item_kind in BY_LENGTH:
        moving.refuse(moves, mix)
    if not moved:
        raise Refusal(
            f"{scanned.tag} has {show_amount(scanned.item_kind, scanned.free)} free; order {order.number} needs "
            f"{show_amount(scanned.item_kind, wanted[0].quantity)} of it in one. It is held in {wanted[0].tag} "
            f"({wanted[0].place})."
        )
    if scanned.item_kind in BY_LENGTH:
        moving.approve(moves, mix, stamp)
    for one in moved:
        taking.move_reservation(tx, one.requirement_id or 0, one.holding_id, scanned.id, one.quantity)
    return moved


@dataclass(frozen=True, slots=True)
class _Move:
    """Holds of one matching group that would move to another lot together."""

    at: tuple[int, str, str]
    """Car, matching group and item."""
    holds: tuple[KeptHold, ...]
    group: MatchingGroup
    """What the group is bound to without them."""
    lot: str
    """The lot that they would be of."""

    @property
    def is_allowed(self) -> bool:
        """Whether nobody need approve it any more."""
        return self.group.allows(frozenset((self.lot,)))

    @property
    def why_never(self) -> str:
        """Why the group may never have the lot beside those that it has; '' where it may."""
        failing = self.group.failing(frozenset((self.lot,)))
        if failing:
            return "; ".join(pair_words(*one) for one in failing)
        has = self.group.bound_to
        if self.group.is_seen_together and self.lot not in has and len(has) >= MOST_LOTS:
            return f"its set has {listed(map(lot_name, sorted(has)))} already, and never more than three lots"
        return ""


class _Moving:
    """What may move to what was scanned."""

    def __init__(
        self, catalogue: Catalogue, tx: Tx, order: KeptOrder, scanned: Found, held: Sequence[KeptHold]
    ) -> None:
        self._tx, self._order, self._scanned, self._held = tx, order, scanned, held
        self._requirements = {one.id: one.requirement for one in bill.requirements_of(tx, order.id)}
        self._cars = {line.number: line.car_id for line in order.lines}
        self._mixes = holds.approved_mixes(tx, order.id, bound_lots(tx, order))
        self._to_match = lots_to_match(tx, order, self._requirements.values())
        self._colours = lot_colours(catalogue, tx)

    def together(self, some: Sequence[KeptHold]) -> list[_Move]:
        """The holds by matching group, each with what the group has besides all of them."""
        by_group: dict[tuple[int, str, str], list[KeptHold]] = {}
        for one in some:
            requirement = self._requirements[_served(one)[0]]
            at = self._cars[requirement.key.line], requirement.group, requirement.item
            by_group.setdefault(at, []).append(one)
        bound = bound_lots(self._tx, self._order, self._leaving(some))
        return [
            _Move(
                at,
                tuple(mine),
                matching_group(at, bound, self._mixes, self._to_match, self._colours),
                self._scanned.lot,
            )
            for at, mine in by_group.items()
        ]

    def _leaving(self, some: Sequence[KeptHold]) -> set[int]:
        """The requirements of which all that is held would move; of another a part, and so its lot, stays."""
        held = Counter(number for one in self._held for number in set(_served(one)))
        moving = Counter(number for one in some for number in set(_served(one)))
        taken = packing.taken_of(self._tx, self._order.id)
        return {number for number, times in moving.items() if held[number] == times and not taken[number]}

    def refuse(self, moves: Sequence[_Move], mix: str) -> None:
        """Raises Refusal where these may not all be of the scanned lot, `AnotherLot` where somebody may approve it."""
        scanned, order = self._scanned, self._order
        (instead, *_) = (one for move in moves for one in move.holds if one.lot != scanned.lot)
        never = next((move.why_never for move in moves if move.why_never), "")
        if never:
            raise Refusal(
                f"{scanned.tag} is dye lot {scanned.lot or 'unknown'}, and nobody can approve that for order "
                f"{order.number}. {never}. Take {instead.tag} in {instead.place}, which is dye lot "
                f"{instead.lot or 'unknown'}."
            )
        if not mix.strip() and not all(move.is_allowed for move in moves):
            new = frozenset((scanned.lot,))
            pairs = "".join(f" {pair_words(*pair)}." for move in moves for pair in move.group.judged(new))
            raise AnotherLot(
                f"{scanned.tag} is dye lot {scanned.lot or 'unknown'}; order {order.number} holds dye lot "
                f"{instead.lot or 'unknown'} of {scanned.title} ({instead.tag} in {instead.place}), and what is "
                f"seen together comes from one lot.{pairs} Take that one, unless somebody approves the mix.",
                order.number,
                scanned.tag,
            )

    def approve(self, moves: Sequence[_Move], mix: str, stamp: Stamp) -> None:
        """Writes down what is approved of these, where anything must be."""
        groups = [(one.at, sorted({*one.group.bound_to, one.lot})) for one in moves if not one.is_allowed]
        if groups:
            approve_mixes_in(self._tx, self._order, groups, mix, stamp)


def _served(hold: KeptHold) -> list[int]:
    """Ids of the requirements that a hold is for."""
    return [panel[0] for panel in hold.panels] if hold.cut_id is not None else [hold.requirement_id or 0]


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
