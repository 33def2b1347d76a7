"""Cutting: a planned stretch is cut from its roll, its true length is booked, and what is left over finds its place.

A flaw met on the table, or a roll that ends before its stated length, is written down at once: every other promise on
the roll is planned again in the same transaction, and the orders that are now short are named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from stockroom.domain.catalogue import Cloth
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.other_stock import move_cut
from stockroom.jobs.parting import part_off
from stockroom.jobs.past_day import refuse_past_day
from stockroom.jobs.pick import open_order
from stockroom.jobs.replan import RollPutRight, lock_promises, margins_again, plan_again, promises_on, put_right, repack
from stockroom.jobs.shorter import Shorter, got_out
from stockroom.jobs.way_back import remember
from stockroom.store import changed_rows, claims, holds, jobs_done, ledger, margins, orders, stock, taking
from stockroom.store.database import Shop, Tx
from stockroom.store.ledger import Entry
from stockroom.store.replaced_tags import scanned_tag
from stockroom.store.taking import Found, PlannedStretch


@dataclass(frozen=True, slots=True)
class CutMade:
    """What cutting did."""

    order: str
    tag: str
    planned_mm: int
    cut_mm: int
    left_mm: int
    """What the roll holds now."""
    sentences: tuple[str, ...]
    """What became of the rest, in words."""
    offcut: str
    """Tag of a separate offcut that was kept as a remnant; '' where there is none."""
    short: tuple[str, ...]
    """Orders that are now short, with why."""


def cut(
    shop: Shop,
    number: str,
    tag: str,
    stamp: Stamp,
    cut_mm: int | None = None,
    note: str = "",
    mix: str = "",
    shorter: Shorter = Shorter.ASKED,
) -> CutMade:
    """Cuts the order's outermost planned stretch from the roll that was scanned.

    `cut_mm`: the true length, where it is not the planned one; `shorter` says what was got out of one on which the
    panels do not go. Another roll of the same item and lot will do, if the panels go on it; of another lot where
    somebody approves the mix, and `mix` says why. Raises Refusal for another lot or colour, `DoesNotGo` where it must
    be said what was got out, and where a flaw or another order's cut is in the way.
    """
    with shop.write() as tx:
        lock_promises(tx, tag, orders.order_by(tx, number).id)
        order = open_order(tx, number)
        roll = scanned_roll(tx, tag)
        mine = [one for one in taking.planned_on(tx, roll.id) if one.order_id == order.id]
        if not mine:
            move_cut(catalogue_of(shop, tx), tx, order, roll, holds.holds_of(tx, order.id), mix, stamp)
            roll = scanned_roll(tx, tag)
            mine = [one for one in taking.planned_on(tx, roll.id) if one.order_id == order.id]
        refuse_past_day(roll, stamp.at.date())
        cloth = _cloth(shop, tx, roll)
        target = mine[0]
        length = target.length_mm if cut_mm is None else cut_mm
        job = ledger.begin_job(tx, f"cut from {roll.tag} for order {order.number}", stamp)
        before = taking.planned_on(tx, roll.id)
        end = _outer_end(roll, target, before, length)
        still_to_cut = ""
        if length < target.length_mm:
            target, still_to_cut = got_out(tx, order, roll, cloth, target, length, shorter)
        left = end - length
        others = [one for one in before if one.cut_id != target.cut_id]
        flaws = [(first, last) for first, last, _ in roll.flaws if first < left]
        _, lost, without_margin = repack(tx, others, roll, left, flaws)
        taking.end_planned(tx, roll.id, target)
        offcut_mm = roll.held - end
        entries = [Entry(roll.id, "cut", -length, None, note, order.id)]
        (movement,) = ledger.append(tx, job, stamp, entries)
        taking.keep_cut(tx, target, roll.id, length, movement, note, stamp)
        sentences = [_difference(target.length_mm, length)] if length != target.length_mm else []
        offcut = ""
        if offcut_mm:
            offcut, sentence = _part(tx, job, stamp, roll, offcut_mm, cloth)
            sentences.append(sentence)
        rest, sentence = _rest(tx, job, stamp, roll, left, cloth)
        sentences.append(sentence)
        if still_to_cut:
            sentences.append(f"Still to be cut: {still_to_cut}.")
        _, short = plan_again(shop, tx, [*lost, target] if still_to_cut else lost, stamp)
        margins_again(shop, tx, [order.number, *without_margin], stamp)
        ledger.keep_no_way_back(
            tx,
            job,
            f"{show_length(length)} is cut from {roll.tag}, and cloth does not grow together again.",
            "A panel that is bad is spoilt (stockroom spoil); what was cut off and is still whole is kept as a side "
            "piece (stockroom side-piece); a length that was wrong is measured (stockroom measure).",
            {f"order {order.id}", f"holding {roll.id}"},
        )
        return CutMade(order.number, roll.tag, target.length_mm, length, rest, tuple(sentences), offcut, short)


def keep_side_piece(shop: Shop, tag: str, length_mm: int, width_mm: int, place: str, stamp: Stamp) -> str:
    """A part-width piece left beside a lay becomes a remnant with its own tag, its parent's lot and no worth.

    Its cloth was booked out with the cut it was left from. Gives its tag.
    """
    with shop.write() as tx:
        roll = scanned_roll(tx, tag)
        if not 0 < width_mm < roll.width_mm:
            raise Refusal(
                f"A side piece of {roll.tag} is narrower than the roll ({show_length(roll.width_mm)}); "
                f"{show_length(width_mm)} is not."
            )
        cloth = _cloth(shop, tx, roll)
        if length_mm < cloth.shortest_useful_mm:
            raise Refusal(
                f"{show_length(length_mm)} of {cloth.title} is too short to be useful "
                f"(the least is {show_length(cloth.shortest_useful_mm)}): it goes to the scrap bin of its colour."
            )
        if not stock.place_is_known(tx, place):
            raise Refusal(f"There is no place '{place}' in this shop. Scan or type the place where it lies.")
        job = ledger.begin_job(tx, f"keep a side piece of {roll.tag}", stamp)
        made = stock.add_remnant(tx, roll.id, roll.item, roll.lot, width_mm, place, stamp.at.date())
        ledger.append(tx, job, stamp, [Entry(made.id, "returned", length_mm, 0, f"side piece of {roll.tag}")])
        remember(tx, job, changed_rows.look(tx, changed_rows.ROLLS, holdings=[made.id]), touched=[f"holding {roll.id}"])
        jobs_done.keep_printed(tx, job, [f"tag {made.tag}"], stamp)
        return made.tag


def measure(shop: Shop, tag: str, true_mm: int, stamp: Stamp) -> RollPutRight:
    """The true length of a roll, reel or remnant, as it was measured: shorter or longer than the books say.

    How much shorter a roll is than it came in with is told: a claim can be made for it.
    """
    with shop.write() as tx:
        lock_promises(tx, tag)
        roll = roll_on_the_table(tx, tag)
        if true_mm < 0:
            raise Refusal(f"A length is not below nothing; {true_mm} mm is.")
        job = ledger.begin_job(tx, f"measure {roll.tag}", stamp)
        before = promises_on(tx, roll)
        taking.mark_measured(tx, roll.id)
        done = put_right(shop, tx, job, roll, true_mm, roll.flaws, stamp)
        remember(tx, job, before)
        return replace(done, claimable_mm=max(0, claims.missing_mm(tx, roll.id)))


def mark_flaw(shop: Shop, tag: str, from_mm: int, to_mm: int, what: str, stamp: Stamp) -> RollPutRight:
    """A flaw met on a roll, from and to in mm from its inner end."""
    with shop.write() as tx:
        lock_promises(tx, tag)
        roll = roll_on_the_table(tx, tag)
        if not 0 <= from_mm < to_mm <= roll.held:
            raise Refusal(
                f"A flaw of {roll.tag} lies between 0 and {show_length(roll.held)} from its inner end; "
                f"{show_length(max(0, from_mm))} to {show_length(max(0, to_mm))} does not."
            )
        if not what.strip():
            raise Refusal("Say what the flaw is: a slub, a stain, a fold.")
        job = ledger.begin_job(tx, f"flaw on {roll.tag}", stamp)
        flaws = (*roll.flaws, (from_mm, to_mm, what))
        before = promises_on(tx, roll)
        taking.rewrite_flaws(tx, roll.id, flaws)
        done = put_right(shop, tx, job, roll, roll.held, flaws, stamp)
        remember(tx, job, before)
        return done


def roll_on_the_table(tx: Tx, tag: str) -> Found:
    """The roll that a tag names, in quarantine or not. Raises Refusal for anything else."""
    read = scanned_tag(tx, tag)
    found = taking.found_by_tag(tx, str(read))
    if found is None or found.kind != "roll":
        raise Refusal(f"{read} is no roll of this shop. Scan the tag of the roll on the table.")
    return found


def scanned_roll(tx: Tx, tag: str) -> Found:
    """The roll that a tag names. Raises Refusal for anything else, and for one in quarantine."""
    found = roll_on_the_table(tx, tag)
    if found.quarantined_because:
        raise Refusal(f"Roll {found.tag} is in quarantine: {found.quarantined_because}. Nothing is cut from it.")
    return found


def _cloth(shop: Shop, tx: Tx, roll: Found) -> Cloth:
    catalogue = catalogue_of(shop, tx)
    return catalogue.cloths[catalogue.items[roll.item].cloth]


def _outer_end(roll: Found, target: PlannedStretch, planned: Sequence[PlannedStretch], length: int) -> int:
    """Where the cut ends: the roll's outer end as it is planned, or all of it where other cuts lie further out."""
    if length < 1:
        raise Refusal("A cut has a length of at least 1 mm. Say how much was cut.")
    outside = [one for one in planned if one.from_mm >= target.to_mm]
    end = roll.held if outside else target.to_mm
    if length > end:
        raise Refusal(
            f"{show_length(length)} cannot be cut from {roll.tag}: there are {show_length(end)}. "
            "If the roll was longer than the books say, measure it first."
        )
    # The outer end that others were planned on is cut instead, and they move inwards: it must be as good.
    flaw = next((one for one in roll.flaws if outside and one[0] < end and end - length < one[1]), None)
    if flaw is not None:
        names = ", ".join(dict.fromkeys(one.order for one in outside))
        raise Refusal(
            f"A flaw ({flaw[2]}) lies in the way on {roll.tag}. Cut what lies further out first: order {names}."
        )
    return end


def _difference(planned: int, length: int) -> str:
    word = "more" if length > planned else "less"
    return f"{show_length(abs(length - planned))} {word} than the {show_length(planned)} planned."


def _part(tx: Tx, job: int, stamp: Stamp, roll: Found, offcut_mm: int, cloth: Cloth) -> tuple[str, str]:
    """What came off outside the cut: a remnant with a tag of its own, or scrap."""
    if offcut_mm < cloth.shortest_useful_mm:
        ledger.append(tx, job, stamp, [Entry(roll.id, "scrapped", -offcut_mm, None, "outer end, too short")])
        return "", f"{show_length(offcut_mm)} of outer end goes to the scrap bin of its colour."
    made = part_off(tx, job, stamp, roll, (roll.held - offcut_mm, roll.held), "outer end")
    return made.tag, f"{show_length(offcut_mm)} of outer end is remnant {made.tag} now: print its tag."


def _rest(tx: Tx, job: int, stamp: Stamp, roll: Found, left: int, cloth: Cloth) -> tuple[int, str]:
    """The rest keeps the roll's tag, unless it is too short to be useful and nobody is promised any of it."""
    if left == 0:
        return 0, f"{roll.tag} is used up."
    if left >= cloth.shortest_useful_mm or taking.planned_on(tx, roll.id) or margins.margins_on(tx, roll.id):
        return left, f"{show_length(left)} is left on {roll.tag}."
    ledger.append(tx, job, stamp, [Entry(roll.id, "scrapped", -left, None, "rest, too short to be useful")])
    return 0, f"The {show_length(left)} left is too short to be useful: it goes to the scrap bin of its colour."
