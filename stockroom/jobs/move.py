"""Moving: things are scanned, then the place where they lie now. Promises go with what they are on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed
from stockroom.jobs import parts, swatches
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.replan import promises_on
from stockroom.jobs.scanned import figure_of, place_scanned, stock_scanned
from stockroom.jobs.way_back import remember
from stockroom.store import ledger, moving
from stockroom.store.database import Shop, Tx
from stockroom.store.replaced_tags import scanned_tag
from stockroom.store.taking import Found

_NAMED = 4
"""Things that the job's name names."""


@dataclass(frozen=True, slots=True)
class ThingMoved:
    """One thing that was to be moved, and what became of it."""

    tag: str
    """As it was scanned."""
    title: str
    amount: str
    from_place: str
    place: str
    tag_now: str
    """Where the goods are now: another bin's tag, where they were put together with what lay there."""
    is_new: bool
    """That tag is new and is to be printed."""
    changed_anything: bool
    """False: it lay there already."""
    sentence: str


@dataclass(frozen=True, slots=True)
class MovedTo:
    """What one act of moving did."""

    place: str
    """Code of the place."""
    things: tuple[ThingMoved, ...]


def move(shop: Shop, tags: Sequence[str], place: str, stamp: Stamp) -> MovedTo:
    """Whole things are put in a place, named by its code or its tag: all of them or, where one is refused, none.

    A bin that is put where one of the same item and lot is goes into that one. Customers' parts and
    swatches are moved likewise.
    """
    if not tags:
        raise Refusal("Scan what is moved, then the place.")
    with shop.write() as tx:
        code = place_scanned(tx, place)
        read = list(dict.fromkeys(str(scanned_tag(tx, tag)) for tag in tags))
        no_stock = {tag: _part(tx, tag, code, stamp) for tag in read if tag.startswith("G")}
        no_stock |= {tag: _swatch(tx, tag, code, stamp) for tag in read if tag.startswith("S")}
        found = {one.tag: one for one in stock_scanned(tx, *(tag for tag in read if tag not in no_stock))}
        moved = _all(tx, stamp, list(found.values()), code)
        return MovedTo(code, tuple((no_stock | moved)[tag] for tag in read))


def move_part(shop: Shop, tag: str, amount: str, place: str, stamp: Stamp) -> ThingMoved:
    """So many out of a bin are put in another place, into the bin of the same item and lot there.

    What is free goes first; promises that the rest cannot keep go along. Raises Refusal for a roll, which is cut.
    """
    with shop.write() as tx:
        code = place_scanned(tx, place)
        (found,) = stock_scanned(tx, tag)
        if found.kind != "bin":
            raise Refusal(f"{found.tag} ({found.title}) is moved whole. Leave the amount out.")
        quantity = figure_of(found, amount)
        _refuse_too_many(found, quantity)
        if code == found.place:
            raise Refusal(f"{found.tag} ({found.title}) lies in {code} already. Scan the place where it is taken.")
        job = ledger.begin_job(tx, f"move of {quantity} from {found.tag} to {code}", stamp)
        before = promises_on(tx, found, beside=moving.bins_beside(tx, found, code))
        done = _into_bin(tx, job, stamp, found, quantity, code)
        remember(tx, job, before)
        return done


def _all(tx: Tx, stamp: Stamp, found: Sequence[Found], code: str) -> dict[str, ThingMoved]:
    """Tag → what became of it. Where nothing has to be moved, nothing is written."""
    stay = {one.tag: _lies_there(one) for one in found if one.place == code}
    go = [one for one in found if one.place != code]
    if not go:
        return stay
    named = [*(one.tag for one in go[:_NAMED]), *([f"{len(go) - _NAMED} more"] if len(go) > _NAMED else [])]
    job = ledger.begin_job(tx, f"move of {listed(named)} to {code}", stamp)
    beside = {id_ for one in go for id_ in moving.bins_beside(tx, one, code)}
    before = promises_on(tx, *go, beside=beside)
    gone = {one.tag: _whole(tx, job, stamp, one, code) for one in go}
    remember(tx, job, before)
    return stay | gone


def _lies_there(found: Found) -> ThingMoved:
    said = f"{found.title} ({found.tag}) lies in {found.place} already. Nothing is moved."
    amount = show_amount(found.item_kind, found.held)
    return ThingMoved(found.tag, found.title, amount, found.place, found.place, found.tag, False, False, said)


def _refuse_too_many(found: Found, quantity: int) -> None:
    if not 0 < quantity <= found.held:
        raise Refusal(
            f"{show_amount(found.item_kind, quantity)} cannot be taken out of {found.tag} ({found.title}): by the "
            f"books it holds {show_amount(found.item_kind, found.held)}. If there are more, count it first."
        )


def _whole(tx: Tx, job: int, stamp: Stamp, found: Found, code: str) -> ThingMoved:
    if not found.held and found.kind != "bin":
        raise Refusal(
            f"{found.tag} ({found.title}) is used up or gone by the books. If it is here, say how much: "
            f"stockroom adjust {found.tag} LENGTH --because 'found again'."
        )
    there = moving.bin_like(tx, found.item, found.lot, code, found.quarantined_because)
    if found.kind == "bin" and there is not None:
        if found.held:
            return _into_bin(tx, job, stamp, found, found.held, code)
        raise Refusal(f"{found.tag} ({found.title}) is empty, and {code} has a bin of it: {there.tag}. Use that one.")
    moving.put_in_place(tx, job, stamp, [found], code)
    amount = show_amount(found.item_kind, found.held)
    said = f"{amount} of {found.title} ({found.tag}): from {found.place or 'nowhere'} to {code}."
    return ThingMoved(found.tag, found.title, amount, found.place, code, found.tag, False, True, said)


def _into_bin(tx: Tx, job: int, stamp: Stamp, found: Found, quantity: int, code: str) -> ThingMoved:
    bin_ = moving.bin_for(tx, found, code, found.quarantined_because)
    note = f"from {found.tag} in {found.place or 'nowhere'} to {bin_.tag} in {code}"
    moving.move_goods(tx, job, stamp, found, bin_, quantity, note)
    amount = show_amount(found.item_kind, quantity)
    said = f"{amount} of {found.title}: {note}."
    return ThingMoved(found.tag, found.title, amount, found.place, code, bin_.tag, bin_.is_new, True, said)


def _part(tx: Tx, tag: str, code: str, stamp: Stamp) -> ThingMoved:
    done = parts.move_in(tx, tag, code, stamp)
    was = "" if done.changed_anything else code
    return ThingMoved(tag, done.what, "", was, code, tag, False, done.changed_anything, done.sentence)


def _swatch(tx: Tx, tag: str, code: str, stamp: Stamp) -> ThingMoved:
    done = swatches.move_in(tx, tag, code, stamp)
    was = "" if done.changed_anything else code
    return ThingMoved(done.tag, done.title, "", was, code, done.tag, False, done.changed_anything, done.sentence)
