"""Swatches of dye lots: one is cut from a roll, tagged, and lies in a place; which lots on the racks have none.

What a swatch takes off the roll's outer end is booked as a cut. One that was cut from an offcut takes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.matching import EyeVerdict
from stockroom.domain.quantities import need_mm, show_length
from stockroom.domain.readings import read_words
from stockroom.domain.refusal import Refusal
from stockroom.domain.shortage import lot_name
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import KINDS
from stockroom.domain.wording import listed
from stockroom.jobs.replan import make_room, replan
from stockroom.jobs.scanned import place_scanned, reason_said, stock_scanned
from stockroom.jobs.way_back import remember
from stockroom.store import changed_rows, eye_verdicts, jobs_done, ledger, promises, readings, stock, swatches, taking
from stockroom.store.about import factors_of
from stockroom.store.database import Shop, Tx
from stockroom.store.ledger import Entry
from stockroom.store.replaced_tags import scanned_tag
from stockroom.store.swatches import KeptSwatch
from stockroom.store.taking import Found

MOST_MM = 500
"""What is longer than this is no swatch: it is a slip of the pen, or a cut."""
MOST_AT_ONCE = 20


@dataclass(frozen=True, slots=True)
class SwatchesCut:
    """Swatches that were cut from a roll."""

    tags: tuple[str, ...]
    item: str
    title: str
    lot: str
    roll: str
    place: str
    taken_mm: int
    """In all, off the roll's outer end."""
    sentence: str


@dataclass(frozen=True, slots=True)
class ListedSwatch:
    """A swatch as it is listed."""

    tag: str
    item: str
    title: str
    lot: str
    where: str
    """'in M3', or which customer has it, for which order."""


@dataclass(frozen=True, slots=True)
class LotWithout:
    """A lot on the racks of which no swatch lies here."""

    item: str
    title: str
    lot: str
    roll: str
    """The longest roll of it."""
    place: str


@dataclass(frozen=True, slots=True)
class SwatchMoved:
    """What became of a swatch."""

    tag: str
    title: str
    place: str
    """'' once it is gone."""
    changed_anything: bool
    sentence: str


def cut(shop: Shop, tag: str, length: str, place: str, stamp: Stamp, count: int = 1) -> SwatchesCut:
    """So many swatches are cut from a roll, each so long ('60 mm'; 0 from an offcut of it), and lie in a place.

    Raises Refusal for what is no roll, for a length that is no swatch's, and where all of the outer end is promised.
    """
    each = _swatch_mm(length)
    if not 1 <= count <= MOST_AT_ONCE:
        raise Refusal(f"{count} swatches cannot be cut at once: say 1 to {MOST_AT_ONCE}.")
    with shop.write() as tx:
        code = place_scanned(tx, place)
        roll = _roll(tx, tag)
        left = roll.held - each * count
        if left < 0:
            raise Refusal(
                f"{roll.tag} ({roll.title}) holds {show_length(roll.held)} by the books; {count} × {show_length(each)} "
                "cannot be cut from it. Where it is cut from an offcut of that lot, say 0 as its length."
            )
        job = ledger.begin_job(tx, f"swatch of {roll.title}, {lot_name(roll.lot)}", stamp)
        watched = (*changed_rows.ROLLS, *changed_rows.SWATCHES, *changed_rows.PROMISES)
        before = changed_rows.look(tx, watched, orders=promises.orders_on(tx, [roll.id]), holdings=[roll.id])
        movements = _booked(shop, tx, job, roll, [each] * count, stamp) if each else [None] * count
        tags = swatches.keep_swatches(
            tx, (roll.id, roll.item, roll.lot), [(each, movement) for movement in movements], code, stamp
        )
        jobs_done.keep_printed(tx, job, [f"tag {one}" for one in tags], stamp)
        remember(tx, job, before)
    what = f"{'Swatch' if count == 1 else 'Swatches'} {listed(tags)} of {roll.title}, {lot_name(roll.lot)}"
    took = f", {show_length(each * count)} off {roll.tag}" if each else f", from an offcut of {roll.tag}"
    tied = "Print its tag and put it on." if count == 1 else "Print their tags and put them on."
    sentence = f"{what}{took}, {'lies' if count == 1 else 'lie'} in {code}. {tied}"
    return SwatchesCut(tuple(tags), roll.item, roll.title, roll.lot, roll.tag, code, each * count, sentence)


def _swatch_mm(length: str) -> int:
    if length.strip() in ("0", "0 mm", "0 cm", "0 m"):
        return 0
    each = need_mm(length)
    if each > MOST_MM:
        raise Refusal(
            f"{show_length(each)} is no swatch. A swatch is {show_length(MOST_MM)} long at most; say it as '60 mm'. "
            "What is cut for an order is cut with: stockroom cut."
        )
    return each


def _roll(tx: Tx, tag: str) -> Found:
    (found,) = stock_scanned(tx, tag)
    if found.kind != "roll" or found.item_kind not in BY_LENGTH:
        raise Refusal(f"{found.tag} is {found.title}. A swatch is cut from a roll, a reel or a remnant: scan that.")
    return found


def _booked(shop: Shop, tx: Tx, job: int, roll: Found, lengths: Sequence[int], stamp: Stamp) -> list[int | None]:
    """Books the swatches out of the roll, each by a movement; promises keep their place along what is left of it."""
    left = roll.held - sum(lengths)
    room = make_room(tx, roll, left)
    if room.lost:
        raise Refusal(
            f"{roll.tag} ({roll.title}) is promised to its outer end, for order "
            f"{listed(dict.fromkeys(one.order for one in room.lost))}. Cut the swatch from another roll of that lot, "
            "or from an offcut: 0 as its length."
        )
    movements: list[int | None] = []
    for length in lengths:
        worth = stock.share_of_worth(tx, roll.id, length)
        movements += ledger.append(tx, job, stamp, [Entry(roll.id, "cut", -length, -worth, "swatch")])
    taking.rewrite_flaws(tx, roll.id, [(a, min(b, left), what) for a, b, what in roll.flaws if a < left])
    replan(shop, tx, room, stamp)
    return movements


def swatch_scanned(tx: Tx, tag: str) -> KeptSwatch:
    """The swatch that a tag names, which nobody else changes until the transaction ends; gone or not.

    Raises Refusal for a mistyped tag and for anything else.
    """
    read = scanned_tag(tx, tag)
    if read.kind != "S":
        raise Refusal(f"{read} is the tag of a {KINDS[read.kind]}. Scan the tag of a swatch.")
    found = swatches.swatch_by_tag(tx, str(read))
    if found is None:
        raise Refusal(f"No swatch in this shop has the tag {read}. It is well formed, so it may be from another shop.")
    return found


def swatch_here(tx: Tx, tag: str) -> KeptSwatch:
    """The same, locked. Raises Refusal for one that is gone."""
    found = swatches.swatch_to_change(tx, swatch_scanned(tx, tag).id)
    if found.gone_because:
        raise Refusal(f"{found.tag} ({swatch_words(found)}) is gone: {found.gone_because}. Cut another.")
    return found


def move_in(tx: Tx, tag: str, code: str, stamp: Stamp) -> SwatchMoved:
    """A swatch is put in a place, also one that comes back from a customer; within the job that moves others too."""
    found = swatch_here(tx, tag)
    words = swatch_words(found)
    if found.place == code:
        return SwatchMoved(found.tag, words, code, False, f"{words} ({found.tag}) lies in {code} already.")
    before = changed_rows.look(tx, changed_rows.SWATCHES, holdings=[found.holding_id])
    swatches.put_in_place(tx, found.id, code)
    remember(tx, ledger.begin_job(tx, f"move swatch {found.tag}", stamp), before)
    was = f"no longer in {found.place}" if found.place else "back from the customer"
    return SwatchMoved(found.tag, words, code, True, f"{words} ({found.tag}) is in {code} now, {was}.")


def throw_away(shop: Shop, tag: str, because: str, stamp: Stamp) -> SwatchMoved:
    """There is no such swatch any more: it is lost, faded, or thrown away. Raises Refusal where nobody says why."""
    reason = reason_said(because, "lost, faded, cut up")
    with shop.write() as tx:
        found = swatch_here(tx, tag)
        out = next((one for one in swatches.sent_of_swatch(tx, found.id) if not one.answer), None)
        if out is not None:
            raise Refusal(
                f"{found.tag} is with {out.customer} for order {out.order}, and is not answered yet. Answer it first: "
                f"stockroom swatch answer {found.tag} yes|no --from NAME"
            )
        before = changed_rows.look(tx, changed_rows.SWATCHES, holdings=[found.holding_id])
        swatches.mark_gone(tx, found.id, reason)
        remember(tx, ledger.begin_job(tx, f"swatch {found.tag} is gone", stamp), before)
    words = swatch_words(found)
    return SwatchMoved(found.tag, words, "", True, f"{words} ({found.tag}) is gone: {reason}.")


def list_swatches(shop: Shop) -> tuple[ListedSwatch, ...]:
    """Every swatch that there is, by item and lot, and where it is."""
    with shop.read() as tx:
        return tuple(
            ListedSwatch(one.tag, one.item, one.title, one.lot, whereabouts(tx, one)) for one in swatches.swatches(tx)
        )


def lots_without_swatch(shop: Shop) -> tuple[LotWithout, ...]:
    """Every lot of cloth on the racks of which no swatch lies here, by item."""
    with shop.read() as tx:
        return tuple(LotWithout(*row) for row in swatches.lots_without(tx))


def whereabouts(tx: Tx, swatch: KeptSwatch) -> str:
    """Where a swatch is."""
    if swatch.gone_because:
        return f"gone: {swatch.gone_because}"
    if swatch.place:
        return f"in {swatch.place}"
    sent = swatches.sent_of_swatch(tx, swatch.id)
    if not sent:
        return "in no place that is known"
    last = sent[-1]
    said = f"awaited until {last.until.isoformat()}" if not last.answer else f"said {last.answer}"
    return f"with {last.customer}, order {last.order}: {said if last.answer != 'not needed' else 'not needed any more'}"


def swatch_words(swatch: KeptSwatch) -> str:
    """A swatch by what it is of."""
    return f"Swatch of {swatch.title}, {lot_name(swatch.lot)}"


def lot_facts(tx: Tx, item: str, lot: str) -> list[tuple[str, str]]:
    """What is known of a lot's colour: its readings, and what eyes saw of it beside other lots."""
    read = readings.readings_by_lot(tx, item).get(lot, [])
    facts = [("Colour reading", read_words(read, factors_of(tx)))] if read else []
    facts += [
        (f"Beside {lot_name(other)}", _seen(seen))
        for lots, seen in eye_verdicts.verdicts_of(tx, item).items()
        if lot in lots
        for other in lots - {lot}
    ]
    return facts


def _seen(seen: EyeVerdict) -> str:
    return f"{seen.verdict}, as {seen.eyes} saw it in {seen.light}, {seen.on.isoformat()}"
