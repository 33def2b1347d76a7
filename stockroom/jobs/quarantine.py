"""Quarantine: goods that may not be used until somebody has said what becomes of them, and their release.

A part of a roll gets a tag of its own, with its parent's lot; a part of a bin becomes a second bin of the same item,
place and lot. What they were promised to is looked for elsewhere, the latest wanted last.
"""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.quantities import show_length, stock_mm
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.parting import part_off
from stockroom.jobs.replan import Replanned, make_room, promises_on, replan
from stockroom.jobs.scanned import figure_of, reason_said, stock_scanned
from stockroom.jobs.way_back import remember
from stockroom.store import ledger, moving, taking
from stockroom.store.database import Shop, Tx
from stockroom.store.ledger import Entry
from stockroom.store.moving import Bin
from stockroom.store.taking import Found


@dataclass(frozen=True, slots=True)
class Quarantined:
    """What was set apart, and where it stands in the books."""

    tag: str
    """As it was scanned."""
    title: str
    tag_now: str
    """Of what is in quarantine: another one, where only a part of it is."""
    is_new: bool
    """That tag is new and is to be printed."""
    amount: str
    also_new: str
    """Tag of the good outer end, where a stretch was taken out of the middle of a roll; '' otherwise."""
    sentence: str
    promises: Replanned

    @property
    def new_tags(self) -> tuple[str, ...]:
        """Those that are to be printed."""
        return (*((self.tag_now,) if self.is_new else ()), *((self.also_new,) if self.also_new else ()))


@dataclass(frozen=True, slots=True)
class Released:
    """What may be used again."""

    tag: str
    title: str
    tag_now: str
    """Where it is now: another bin's tag, where it was put together with the good ones again."""
    amount: str
    sentence: str
    waited_for: tuple[str, ...]
    """Numbers of the orders that are short of it."""


def quarantine(shop: Shop, tag: str, because: str, stamp: Stamp, amount: str = "") -> Quarantined:
    """A thing, or so much of it, is not to be used, for this reason. Of a roll, `amount` is what its outer end is.

    Raises Refusal where nothing is said of why, for what is in quarantine, and for more than there is.
    """
    reason = reason_said(because, "wrong shade, damp, a recall, a complaint")
    with shop.write() as tx:
        found = _to_quarantine(tx, tag)
        quantity = figure_of(found, amount) if amount.strip() else found.held
        if not 0 < quantity <= found.held:
            raise Refusal(
                f"{show_amount(found.item_kind, quantity)} of {found.tag} ({found.title}) cannot be set apart: "
                f"it holds {show_amount(found.item_kind, found.held)}."
            )
        if found.kind == "roll":
            return _stretch_of(shop, tx, found, (found.held - quantity, found.held), reason, stamp)
        return _some_of(shop, tx, found, quantity, reason, stamp)


def quarantine_stretch(shop: Shop, tag: str, start: str, end: str, because: str, stamp: Stamp) -> Quarantined:
    """A stretch of a roll, from and to from its inner end, is cut out and is not to be used.

    What lies further out gets a tag of its own; what lies further in keeps the roll's.
    """
    reason = reason_said(because, "a stain, a fold, wrong shade towards the end")
    with shop.write() as tx:
        found = _to_quarantine(tx, tag)
        if found.kind != "roll":
            raise Refusal(f"{found.tag} ({found.title}) is no roll. Say how many instead.")
        first, last = stock_mm(start), stock_mm(end)
        if not 0 <= first < last <= found.held:
            raise Refusal(
                f"A stretch of {found.tag} lies between 0 and {show_length(found.held)} from its inner end; "
                f"{show_length(first)} to {show_length(last)} does not."
            )
        return _stretch_of(shop, tx, found, (first, last), reason, stamp)


def release(shop: Shop, tag: str, because: str, stamp: Stamp) -> Released:
    """What is in quarantine may be used again, for this reason. Of a bin, it goes back among the good ones there.

    Names the orders that are short of it; it is held for nobody until they are reserved again.
    """
    reason = reason_said(because, "looked at in daylight, dried out, the supplier's word")
    with shop.write() as tx:
        (found,) = stock_scanned(tx, tag)
        if not found.quarantined_because:
            raise Refusal(f"{found.tag} ({found.title}) is not in quarantine, so it is not released.")
        job = ledger.begin_job(tx, f"release {found.tag}", stamp)
        before = promises_on(tx, found, beside=moving.bins_beside(tx, found, found.place))
        amount = show_amount(found.item_kind, found.held)
        good = moving.bin_like(tx, found.item, found.lot, found.place, "") if found.kind == "bin" else None
        if good is not None and found.held:
            there = moving.bin_for(tx, found, found.place, "")
            moving.move_goods(tx, job, stamp, found, there, found.held, f"released from {found.tag}: {reason}")
        elif good is None:
            _turn(tx, job, stamp, found, "", f"released: {reason}")
        tag_now = good.tag if good is not None else found.tag
        remember(tx, job, before)
        waited_for = tuple(moving.short_of(tx, found.item))
        where = f", back in {tag_now}" if tag_now != found.tag else ""
        said = f"{amount} of {found.title} ({found.tag}) may be used again{where}: {reason}."
        return Released(found.tag, found.title, tag_now, amount, said, waited_for)


def _to_quarantine(tx: Tx, tag: str) -> Found:
    (found,) = stock_scanned(tx, tag)
    if found.quarantined_because:
        raise Refusal(f"{found.tag} ({found.title}) is in quarantine already: {found.quarantined_because}.")
    if not found.held:
        raise Refusal(f"{found.tag} ({found.title}) holds nothing by the books. Adjust it first if it is here.")
    return found


def _some_of(shop: Shop, tx: Tx, found: Found, quantity: int, reason: str, stamp: Stamp) -> Quarantined:
    """A bin or a finished thing, or so many out of a bin."""
    job = ledger.begin_job(tx, f"quarantine of {found.tag}", stamp)
    before = promises_on(tx, found, beside=moving.bins_beside(tx, found, found.place))
    room = make_room(tx, found, found.held - quantity)
    beside = moving.bin_like(tx, found.item, found.lot, found.place, reason) if found.kind == "bin" else None
    if quantity == found.held and beside is None:
        _turn(tx, job, stamp, found, reason, f"quarantined: {reason}")
        done = replan(shop, tx, room, stamp)
        remember(tx, job, before)
        return _told(found, quantity, Bin(found.id, found.tag, False), "", reason, done)
    (now,) = stock_scanned(tx, found.tag)  # what is reserved of it has changed
    there = moving.bin_for(tx, found, found.place, reason)
    moving.move_goods(tx, job, stamp, now, there, quantity, f"quarantined, from {found.tag} to {there.tag}: {reason}")
    done = replan(shop, tx, room, stamp)
    remember(tx, job, before)
    return _told(found, quantity, there, "", reason, done)


def _stretch_of(shop: Shop, tx: Tx, roll: Found, stretch: tuple[int, int], reason: str, stamp: Stamp) -> Quarantined:
    """A stretch of a roll: the rest keeps the tag, or its inner part does where the stretch lies in the middle."""
    first, last = stretch
    job = ledger.begin_job(tx, f"quarantine of {roll.tag}", stamp)
    before = promises_on(tx, roll)
    if last - first == roll.held:
        room = make_room(tx, roll, 0)
        _turn(tx, job, stamp, roll, reason, f"quarantined: {reason}")
        done = replan(shop, tx, room, stamp)
        remember(tx, job, before)
        return _told(roll, roll.held, Bin(roll.id, roll.tag, False), "", reason, done)
    # Of an inner end the rest is what lies further out: its positions are counted from where the cut is.
    left = first or roll.held - last
    moved_in = last if first == 0 else 0
    flaws = [(max(0, a - moved_in), min(b - moved_in, left), what) for a, b, what in roll.flaws]
    flaws = [one for one in flaws if one[0] < one[1]]
    room = make_room(tx, roll, left, flaws)
    also_new = ""
    if first and last < roll.held:
        also_new = part_off(tx, job, stamp, roll, (last, roll.held), "outer end").tag
    part = part_off(tx, job, stamp, roll, stretch, f"quarantined: {reason}")
    taking.rewrite_flaws(tx, roll.id, flaws)
    moving.set_quarantine(tx, part.id, reason)
    done = replan(shop, tx, room, stamp)
    ledger.keep_no_way_back(
        tx,
        job,
        f"{roll.tag} was cut, and cloth does not grow together again.",
        f"If it may be used after all: stockroom release {part.tag} --because WHY.",
        {f"holding {roll.id}", f"holding {part.id}"},
    )
    return _told(roll, last - first, Bin(part.id, part.tag, True), also_new, reason, done)


def _turn(tx: Tx, job: int, stamp: Stamp, found: Found, because: str, note: str) -> None:
    """The whole of it goes into quarantine or out of it: a movement of nothing says who, when and why."""
    ledger.append(tx, job, stamp, [Entry(found.id, "moved", 0, 0, note)])
    moving.set_quarantine(tx, found.id, because)


def _told(found: Found, quantity: int, apart: Bin, also_new: str, reason: str, promises: Replanned) -> Quarantined:
    amount = show_amount(found.item_kind, quantity)
    said = f"{amount} of {found.title} ({found.tag}) in {found.place or 'no place'} may not be used: {reason}."
    if apart.tag != found.tag:
        said += f" It is {apart.tag} now."
    if also_new:
        said += f" The good outer end is {also_new} now."
    return Quarantined(found.tag, found.title, apart.tag, apart.is_new, amount, also_new, said, promises)
