"""A swatch goes to a customer: a line of the order waits for the answer, and enough of the lot is held until a day.

A yes lets the line go on, with that lot; a no leaves it waiting, and names what else there is.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from stockroom.domain.quantities import need_mm, show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.requirement import Requirement
from stockroom.domain.shortage import lot_name
from stockroom.domain.stamp import Stamp
from stockroom.domain.substitutes import permitted
from stockroom.domain.wording import listed, quoted
from stockroom.jobs import swatch_hold
from stockroom.jobs.bill import explode_order, rewrite_bill
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.jobs.offer import bound_lots
from stockroom.jobs.read_order import said_in_a_line
from stockroom.jobs.reserve import Reserved, reserve_in
from stockroom.jobs.stand_in import substitutes_of
from stockroom.jobs.substitute import substitute_in
from stockroom.jobs.swatch_hold import Stretch
from stockroom.jobs.swatches import swatch_here, swatch_scanned, swatch_words
from stockroom.jobs.way_back import remember
from stockroom.store import bill, changed_rows, ledger, margins, orders, swatches, waits
from stockroom.store.changed_rows import Before
from stockroom.store.database import Shop, Tx
from stockroom.store.orders import KeptLine, KeptOrder
from stockroom.store.swatches import KeptSent, KeptSwatch

MOST_DAYS = 366
"""Nobody is waited for longer: a later day is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class SentOut:
    """A swatch that went to a customer, and what is held meanwhile."""

    tag: str
    order: str
    customer: str
    line: int
    name: str
    """What the line waits for."""
    lot: str
    until: date
    held_mm: int
    sentence: str


@dataclass(frozen=True, slots=True)
class SwatchAnswered:
    """What the customer said to a swatch, and what came of it."""

    tag: str
    order: str
    line: int
    name: str
    lot: str
    answer: str
    """'yes' or 'no'."""
    said_by: str
    sentence: str
    others: tuple[str, ...]
    """After a no, what else there is: sentences."""
    reserved: Reserved | None
    """After a yes, what could be held at once."""


def send(
    shop: Shop,
    tag: str,
    number: str,
    until: date,
    stamp: Stamp,
    line: int | None = None,
    name: str = "",
    hold: str = "",
) -> SentOut:
    """A swatch is sent for a line of an order, and enough of its lot is held until the end of a day.

    `line` and `name`: which line, and which of the swatches that it waits for; to be said only where that is not plain.
    A line that waits for none waits for this one from now on. `hold`: how much is held, where it is not what the line
    takes; 0 holds nothing. Raises Refusal where the line takes nothing of that cloth, and where not enough is free.
    """
    said_in_a_line(name=name)
    _refuse_day(until, stamp.at.date())
    with shop.write() as tx:
        order = orders.order_to_change(tx, number)
        if order.state != "open":
            raise Refusal(f"Order {order.number} is {order.state}: no swatch is sent for it any more.")
        if order.for_stock:
            raise Refusal(f"Order {order.number} is for stock: there is no customer to send a swatch to.")
        swatch = swatch_here(tx, tag)
        _refuse_away(tx, swatch)
        meant, waits_for = _meant(tx, order, swatch, line, name)
        job = ledger.begin_job(tx, f"send swatch {swatch.tag} for order {order.number}", stamp)
        before = _before(tx, order, swatch)
        awaiting = {one.wait.name for one in waits.waits_of(tx, order.id) if one.line == meant.number}
        if waits_for not in awaiting:
            swatches_asked = (*meant.request.swatches, waits_for)
            orders.rewrite_line(tx, meant, replace(meant.request, swatches=swatches_asked))
            rewrite_bill(shop, tx, orders.order_by(tx, order.number), stamp)
        found = _to_hold(shop, tx, orders.order_by(tx, order.number), meant.number, swatch, hold, stamp)
        held_mm = sum(last - first for _, first, last in found)
        sent = swatches.keep_sent(tx, swatch.id, (order.id, meant.number, waits_for), until, held_mm, stamp)
        swatch_hold.hold(tx, order.id, sent, found, stamp)
        swatches.put_in_place(tx, swatch.id, None)
        held = _held_words(held_mm, swatch.lot, until)
        sentence = (
            f"{swatch_words(swatch)} ({swatch.tag}) goes to {order.customer} for line {meant.number} of order "
            f"{order.number}, {quoted(waits_for)}. {held}{_beside_words(tx, order, meant, swatch)}"
        )
        orders.log_change(tx, order.id, job, sentence, stamp)
        remember(tx, job, before)
    return SentOut(
        swatch.tag, order.number, order.customer, meant.number, waits_for, swatch.lot, until, held_mm, sentence
    )


def wait_longer(shop: Shop, tag: str, until: date, stamp: Stamp) -> SentOut:
    """The answer to a swatch is awaited until another day; what was held is held until then, again where it was free.

    Raises Refusal for one that is not awaited, and where what was held has gone to somebody else.
    """
    _refuse_day(until, stamp.at.date())
    with shop.write() as tx:
        sent = _awaited(tx, tag)
        order = orders.order_to_change(tx, sent.order)
        swatch = swatch_here(tx, tag)
        catalogue = catalogue_of(shop, tx)
        job = ledger.begin_job(tx, f"wait longer for the answer to swatch {sent.tag}", stamp)
        before = _before(tx, order, swatch)
        margins.let_go_of_swatches(tx, [sent.id])
        swatches.hold_longer(tx, sent.id, until)
        if sent.hold_mm:
            found = swatch_hold.so_much(catalogue, tx, sent.item, sent.lot, sent.hold_mm, stamp)
            swatch_hold.hold(tx, order.id, sent.id, found, stamp)
        held = _held_words(sent.hold_mm, sent.lot, until)
        sentence = f"The answer to {sent.tag} ({sent.title}) is awaited until {until.isoformat()}. {held}"
        orders.log_change(tx, order.id, job, sentence, stamp)
        remember(tx, job, before)
    return SentOut(sent.tag, sent.order, sent.customer, sent.line, sent.name, sent.lot, until, sent.hold_mm, sentence)


def answer_swatch(shop: Shop, tag: str, said: str, said_by: str, stamp: Stamp, note: str = "") -> SwatchAnswered:
    """What the customer said to a swatch that was sent: yes or no, and who said so.

    Raises Refusal for a swatch that nobody waits for an answer to.
    """
    with shop.write() as tx:
        sent = _awaited(tx, tag)
        order = orders.order_to_change(tx, sent.order)
        return answer_in(shop, tx, order, sent, said, (said_by, note), stamp)


def answer_in(
    shop: Shop, tx: Tx, order: KeptOrder, sent: KeptSent, said: str, words: tuple[str, str], stamp: Stamp
) -> SwatchAnswered:
    """`answer_swatch` of an order that is locked, within its transaction. `words`: who said so, and a note."""
    yes = read_yes(said)
    said_by, note = (one.strip() for one in words)
    if not said_by:
        raise Refusal("Say who of the customer's said so: --from NAME.")
    said_in_a_line(name=said_by, note=note)
    job = ledger.begin_job(tx, f"answer to swatch {sent.tag} for order {order.number}: {'yes' if yes else 'no'}", stamp)
    before = _before(tx, order, swatch_here(tx, sent.tag))
    margins.let_go_of_swatches(tx, [sent.id])
    swatches.answer_sent(tx, sent.id, "yes" if yes else "no", said_by, note, stamp)
    reserved = _let_go_on(shop, tx, order, job, sent, said_by, stamp) if yes else None
    others = () if yes else _what_else(shop, tx, sent, stamp)
    sentence = (
        f"{said_by} said {'yes' if yes else 'no'} to swatch {sent.tag} of {sent.title}, {lot_name(sent.lot)}"
        + (f" ({note})" if note else "")
        + (f"; line {sent.line} goes on with {lot_name(sent.lot)}." if yes else f"; line {sent.line} waits on.")
    )
    orders.log_change(tx, order.id, job, sentence, stamp)
    remember(tx, job, before)
    return SwatchAnswered(
        sent.tag, order.number, sent.line, sent.name, sent.lot, "yes" if yes else "no", said_by, sentence, others,
        reserved,
    )  # fmt: skip


def _let_go_on(shop: Shop, tx: Tx, order: KeptOrder, job: int, sent: KeptSent, said_by: str, stamp: Stamp) -> Reserved:
    """The line waits for this swatch no more; what it needs is held at once, before anybody else takes it.

    A yes to the swatch of a permitted substitute is a yes to the substitute.
    """
    line = next(one for one in order.lines if one.number == sent.line)
    left = tuple(name for name in line.request.swatches if name != sent.name)
    orders.rewrite_line(tx, line, replace(line.request, swatches=left))
    now = orders.order_by(tx, order.number)
    rewrite_bill(shop, tx, now, stamp, {("swatch", sent.name): "yes"})
    needed = [one.requirement for one in bill.requirements_of(tx, order.id) if one.requirement.key.line == sent.line]
    stood_in_for = dict.fromkeys(one.item for one in _stood_in_for(catalogue_of(shop, tx), needed, sent.item))
    if sent.item not in {one.item for one in needed} and stood_in_for:
        for item in stood_in_for:
            done = substitute_in(shop, tx, order, (item, sent.item), (said_by, ""), stamp, sent.line)
            orders.log_change(tx, order.id, job, done.sentence, stamp)
        rewrite_bill(shop, tx, now, stamp)
    return reserve_in(shop, tx, now, stamp)


def day_meant(text: str, today: date) -> date:
    """A day as it is typed: 2026-12-18, or '14d' for so many days from today. Raises Refusal for anything else."""
    days = re.fullmatch(r"([0-9]{1,4}) ?d(?:ays?)?", text.strip(), re.ASCII)
    if days is not None:
        return today + timedelta(days=int(days[1]))
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise Refusal(f"{quoted(text)} is not a day. Write 2026-12-18, or 14d for so many days from today.") from None


def read_yes(said: str) -> bool:
    """Whether it is a yes. Raises Refusal for what is neither yes nor no."""
    word = said.strip().casefold()
    if word in ("yes", "y", "agreed"):
        return True
    if word in ("no", "n"):
        return False
    raise Refusal(f"The answer to a swatch is yes or no; {quoted(said)} is neither.")


# --- what is meant, and how much is held -----------------------------------------------------------------------------


def _refuse_day(until: date, today: date) -> None:
    if until < today:
        raise Refusal(f"{until.isoformat()} is past. Say until when the lot is to be held: --until YYYY-MM-DD.")
    if until > today + timedelta(days=MOST_DAYS):
        raise Refusal(
            f"{until.isoformat()} is more than a year away. Nobody is waited for so long: say an earlier day."
        )


def _refuse_away(tx: Tx, swatch: KeptSwatch) -> None:
    if swatch.place:
        return
    sent = swatches.sent_of_swatch(tx, swatch.id)
    last = sent[-1] if sent else None
    where = f"with {last.customer}, for order {last.order}" if last else "in no place"
    then = (
        f"Answer it first: stockroom swatch answer {swatch.tag} yes|no --from NAME"
        if last and not last.answer
        else f"When it is back, put it in its place: stockroom move {swatch.tag} PLACE"
    )
    raise Refusal(f"{swatch.tag} ({swatch_words(swatch)}) is {where}. {then}. Or cut another.")


def _awaited(tx: Tx, tag: str) -> KeptSent:
    swatch = swatch_scanned(tx, tag)
    sent = swatches.sent_of_swatch(tx, swatch.id)
    if not sent:
        raise Refusal(f"{swatch.tag} ({swatch_words(swatch)}) was sent to nobody, so there is no answer to it.")
    last = sent[-1]
    if last.answer == "not needed":
        raise Refusal(f"Order {last.order} waits for the answer to {swatch.tag} no more, since it was changed.")
    if last.answer:
        raise Refusal(
            f"{swatch.tag} was answered already: {last.answer}, {last.said_by}, on {last.answered_at:%Y-%m-%d} "
            f"({last.answered_by}). If that was wrong: stockroom undo."
        )
    return last


def _meant(tx: Tx, order: KeptOrder, swatch: KeptSwatch, line: int | None, name: str) -> tuple[KeptLine, str]:
    """Which line a swatch is sent for, and under which name it waits."""
    waiting = [one for one in waits.waits_of(tx, order.id) if one.wait.kind == "swatch" and line in (None, one.line)]
    if name.strip():
        same = [one for one in waiting if one.wait.name.casefold() == name.strip().casefold()]
        waiting = same or []
    lines = {one.number: one for one in order.lines}
    if line is not None and line not in lines:
        raise Refusal(f"Order {order.number} has no line {line}; it has {listed(map(str, lines))}.")
    if len({(one.line, one.wait.name) for one in waiting}) > 1:
        told = listed((f"{quoted(one.wait.name)} (line {one.line})" for one in waiting), "or")
        raise Refusal(f"Order {order.number} waits for several swatches. Say which: --for {told}.")
    if waiting:
        return lines[waiting[0].line], waiting[0].wait.name
    if line is None and len(lines) > 1:
        raise Refusal(f"Order {order.number} has several lines. Say for which the swatch is: --line N.")
    return lines[line] if line is not None else next(iter(lines.values())), name.strip() or swatch.title


def _to_hold(
    shop: Shop, tx: Tx, order: KeptOrder, line: int, swatch: KeptSwatch, hold: str, stamp: Stamp
) -> list[Stretch]:
    """What is held of the lot of a swatch: so much, or else what the line takes of it."""
    catalogue = catalogue_of(shop, tx)
    needed, is_whole = _needed(shop, tx, order, line)
    mine = [one for one in needed if one.item == swatch.item] or _stood_in_for(catalogue, needed, swatch.item)
    if is_whole and not mine:
        raise Refusal(_takes_none(catalogue, order, line, swatch, needed))
    if hold.strip():
        length_mm = 0 if hold.strip() == "0" else need_mm(hold)
        if length_mm and catalogue.items[swatch.item].kind != "cloth":
            raise Refusal(f"{swatch.title} is on reels, and only cloth is held for a swatch. Leave out what is held.")
        return swatch_hold.so_much(catalogue, tx, swatch.item, swatch.lot, length_mm, stamp) if length_mm else []
    if catalogue.items[swatch.item].kind != "cloth":
        return []
    if not mine:
        raise Refusal(
            f"How much line {line} of order {order.number} takes of {swatch.title} is not known, as it waits for other "
            "answers. Say how much is to be held: --hold '2.5 m', or 0 for nothing."
        )
    return swatch_hold.enough(catalogue, tx, swatch.item, swatch.lot, mine, stamp)


def _stood_in_for(catalogue: Catalogue, needed: Sequence[Requirement], item: str) -> list[Requirement]:
    """What is needed of items for which this one may stand in: a yes to its swatch is a yes to that."""
    return [one for one in needed if item in permitted(catalogue.items[one.item], catalogue.items, catalogue.cloths)]


def _needed(shop: Shop, tx: Tx, order: KeptOrder, number: int) -> tuple[list[Requirement], bool]:
    """What a line takes once its swatches are agreed to, and whether that is all of it."""
    lines = tuple(
        replace(one, request=replace(one.request, swatches=())) if one.number == number else one for one in order.lines
    )
    explosion = explode_order(shop, tx, replace(order, lines=lines))
    needed = [one for one in explosion.requirements if one.key.line == number]
    return needed, not any(line == number for line, _ in explosion.waits)


def _takes_none(
    catalogue: Catalogue, order: KeptOrder, line: int, swatch: KeptSwatch, needed: Sequence[Requirement]
) -> str:
    cloths: Mapping[str, str] = {
        one.item: catalogue.items[one.item].title for one in needed if catalogue.items[one.item].kind == "cloth"
    }
    takes = f"It takes {listed(cloths.values())}." if cloths else "It takes no cloth at all."
    return f"Line {line} of order {order.number} takes nothing of {swatch.title}. {takes} Look at the swatch's tag."


def _held_words(held_mm: int, lot: str, until: date) -> str:
    if not held_mm:
        return f"Nothing of {lot_name(lot)} is held; the answer is awaited until {until.isoformat()}."
    return f"{show_length(held_mm)} of {lot_name(lot)} is held until {until.isoformat()}."


def _beside_words(tx: Tx, order: KeptOrder, line: KeptLine, swatch: KeptSwatch) -> str:
    """That the car has another lot of the same cloth already, which this one will be seen beside."""
    there = {
        lot
        for (car_id, _, item), lots in bound_lots(tx, order).items()
        if car_id == line.car_id and item == swatch.item
        for lot in lots - {swatch.lot}
    }
    if not there:
        return ""
    return f" This car has {listed(map(lot_name, sorted(there)))} of it already: see them side by side before it goes."


def _what_else(shop: Shop, tx: Tx, sent: KeptSent, stamp: Stamp) -> tuple[str, ...]:
    """After a no: the other lots that have something free, each with its swatch, and what may stand in."""
    told = []
    for lot, free_mm in swatch_hold.free_by_lot(tx, sent.item, stamp).items():
        if lot == sent.lot:
            continue
        here = [one.tag for one in swatches.swatches_of_lot(tx, sent.item, lot) if one.place]
        swatch = f"swatch {listed(here, 'or')}" if here else "no swatch of it yet"
        told.append(f"{sent.title}, {lot_name(lot)}: {show_length(free_mm)} free, {swatch}.")
    if not told:
        told.append(f"No other lot of {sent.title} has anything free.")
    return (*told, *substitutes_of(catalogue_of(shop, tx), tx, sent.item))


def _before(tx: Tx, order: KeptOrder, swatch: KeptSwatch) -> Before:
    watched = (*changed_rows.ORDER, *changed_rows.SWATCHES)
    return changed_rows.look(tx, watched, orders=[order.id], holdings=[swatch.holding_id])
