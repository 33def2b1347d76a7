"""Goods in: what somebody says came in is said back first, and booked once nothing about it is left to ask.

A supplier's length is a claim until it is measured. What is only unlikely is asked about, by name; each confirmation
stands in the job's own sentence. Nothing is reserved here: the orders that waited for such goods are named.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from stockroom.domain.arrival import Arrival, read_arrival, worth_minor
from stockroom.domain.arrival_questions import QUESTIONS, Bought, CameBefore, Goods, questions
from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.new_shade import SHADE_WARNINGS
from stockroom.domain.questions import Question, open_of, refuse_open, refuse_strange
from stockroom.domain.readings import refuse_swapped
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag
from stockroom.domain.wording import listed, quoted, unknown
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.arrival_words import Against, ArrivalKnown, cautions, lines, price_minor
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.jobs.new_shade import SET_APART, new_shade, shade_hints
from stockroom.jobs.read_order import said_in_a_line
from stockroom.jobs.scanned import place_scanned
from stockroom.jobs.way_back import Undoing, WayBack, put_rows_back, remember, reverse_all, why_rows_stay
from stockroom.store import (
    arrivals,
    catalogue,
    changed_rows,
    jobs_done,
    ledger,
    low_stock,
    purchases,
    racks,
    readings,
    tagged,
)
from stockroom.store.about import read_about
from stockroom.store.arrivals import NewRolls, Stowed
from stockroom.store.database import Shop, Tx
from stockroom.store.jobs_done import KeptJob
from stockroom.store.ledger import Entry
from stockroom.store.purchases import PurchaseLine
from stockroom.store.replaced_tags import scanned_tag

RECEIVED = frozenset({"cloth", "narrow", "hardware", "blank", "kit", "consumable"})
"""Kinds of items that come in. A made piece becomes stock out of an order."""
MOST_NAMED = 12
"""So many items are named to somebody who typed words that they are called by."""


@dataclass(frozen=True, slots=True)
class SaidBack:
    """What would be booked, before it is: to be read by whoever has the goods before them."""

    item: str
    title: str
    lines: tuple[str, ...]
    """Each length as typed and as booked, and what else is booked with it: sentences."""
    cautions: tuple[str, ...]
    """What can hurt somebody, and how it is stored."""
    questions: tuple[Question, ...]
    """What is to be confirmed by name first."""


@dataclass(frozen=True, slots=True)
class GoodsIn:
    """What was put into one roll or bin."""

    tag: str
    quantity: int
    """mm or count."""
    amount: str
    """The same for people."""
    holds: int
    """What it holds now."""
    is_new: bool
    """Its tag is new: it is to be printed."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """An order that was found short of such goods, and still is."""

    order: str
    customer: str
    wanted: date | None
    sentence: str
    """What the last attempt to reserve found."""


@dataclass(frozen=True, slots=True)
class Received:
    """What receiving did."""

    item: str
    title: str
    lot: str
    place: str
    purchase: str
    """Reference of the purchase, or ''."""
    goods: tuple[GoodsIn, ...]
    lines: tuple[str, ...]
    """What was booked: sentences."""
    cautions: tuple[str, ...]
    waiting: tuple[Waiting, ...]
    """Orders that these goods may serve now, the earliest wanted first. Reserve for them."""
    hints: tuple[str, ...] = ()
    """What there is to do about its shade: sentences. Nothing is to be answered."""

    @property
    def new_tags(self) -> tuple[str, ...]:
        """Tags to be printed."""
        return tuple(one.tag for one in self.goods if one.is_new)


def receive_check(shop: Shop, said: Arrival, stamp: Stamp) -> SaidBack:
    """What would be booked, and what is asked first. Writes nothing.

    Raises Refusal for what cannot be: an item, a place, a purchase, a supplier that there is not, an impossible length.
    """
    with shop.read() as tx:
        one = _read(shop, tx, said)
        against = _against(one, purchases.lines_of(tx, one.said.purchase))
        return SaidBack(
            one.said.item, one.goods.item.title, lines(one, against), cautions(one), _asked(tx, one, against, stamp)
        )


def receive(shop: Shop, said: Arrival, stamp: Stamp, sure: Collection[str] = ()) -> Received:
    """Books goods in. `sure`: the names of the questions (`QUESTIONS`) that were confirmed.

    Raises Refusal as `receive_check` does, and where something is asked that was not confirmed.
    """
    refuse_strange(sure, QUESTIONS)
    with shop.write() as tx:
        one = _read(shop, tx, said)
        known = _known_bin(tx, one)
        before = changed_rows.look(tx, changed_rows.ROLLS, holdings=[] if known is None else [known])
        stowed = _stow(tx, one, known, stamp)
        against = _against(one, purchases.lines_to_change(tx, one.said.purchase))
        confirmed = _confirmed(_asked(tx, one, against, stamp), sure)
        job = ledger.begin_job(tx, _job_words(one, stowed, confirmed), stamp)
        low = _book(tx, job, one, stowed, against, stamp)
        line = against.line
        read = readings.numbers_of(tx, [bin_.id for bin_ in stowed if bin_.is_new])
        knows = {"purchase": line.id if line else None, "quantity": one.read.quantity, "low": low, "readings": read}
        remember(tx, job, before, touched=[f"purchase {line.id}"] if line else [], way="receive", knows=knows)
        jobs_done.keep_printed(tx, job, [f"tag {bin_.tag}" for bin_ in stowed if bin_.is_new], stamp)
        waiting = () if one.said.quarantine else arrivals.still_short_of(tx, one.said.item)
        kind = one.goods.item.kind
        return Received(
            item=one.said.item,
            title=one.goods.item.title,
            lot=one.said.lot,
            place=one.said.place,
            purchase=one.said.purchase,
            goods=tuple(
                GoodsIn(bin_.tag, quantity, show_amount(kind, quantity), bin_.held + quantity, bin_.is_new)
                for bin_, quantity in zip(stowed, one.read.quantities, strict=True)
            ),
            lines=lines(one, against),
            cautions=cautions(one),
            waiting=tuple(Waiting(short.order, short.customer, short.wanted, short.sentence) for short in waiting),
            hints=_hints(one),
        )


def _hints(one: ArrivalKnown) -> tuple[str, ...]:
    """What is to be looked at of a lot that is new, or was read as it came."""
    is_new = one.said.lot not in one.goods.lots or one.read.reading is not None
    return shade_hints(one.shade) if is_new and not one.said.quarantine else ()


def _read(shop: Shop, tx: Tx, said: Arrival) -> ArrivalKnown:
    """What was said, with everything that it names looked up."""
    said_in_a_line(lot=said.lot, delivery_note=said.delivery, quarantine=said.quarantine)
    stocked = catalogue_of(shop, tx)
    code = _item(tx, stocked, said.item)
    item = stocked.items[code]
    if item.kind not in RECEIVED:
        raise Refusal(f"{code} is a made piece: it becomes stock out of an order, and is not received.")
    if not said.place.strip():
        raise Refusal("Say where the goods are put: scan the place, or type its code.")
    about = read_about(tx)
    currency = about.currency if about else ""
    cloth = stocked.cloths.get(item.cloth) if item.kind in BY_LENGTH else None
    trimmed = replace(
        said,
        item=code,
        place=place_scanned(tx, said.place),
        purchase=_reference(tx, said.purchase),
        supplier=_supplier(tx, said.supplier),
        lot=" ".join(said.lot.split()),
        delivery=" ".join(said.delivery.split()),
        quarantine=said.quarantine.strip(),
    )
    read = read_arrival(trimmed, item, cloth, currency)
    if read.reading is not None:
        refuse_swapped(read.reading, stocked.masters.get(code))
    new = () if read.reading is None else (read.reading,)
    return ArrivalKnown(
        trimmed,
        read,
        Goods(item, cloth, arrivals.lots_of(tx, code)),
        currency,
        new_shade(tx, stocked, code, trimmed.lot, new) if cloth is not None else None,
    )


def _item(tx: Tx, stocked: Catalogue, text: str) -> str:
    """The code of what was typed, in capitals or not; or of what is in the roll or bin whose tag was scanned."""
    typed = text.strip()
    if typed in stocked.items:
        return typed
    alike = [code for code in stocked.items if code.casefold() == typed.casefold()]
    if len(alike) == 1:
        return alike[0]
    if is_tag(typed):
        found = tagged.holdings_by_tag(tx, [str(scanned_tag(tx, typed))])
        if found:
            return found[0].item
    raise Refusal(_no_item(tx, stocked, typed))


def _no_item(tx: Tx, stocked: Catalogue, typed: str) -> str:
    """That there is no such item, and what somebody who typed it may have meant."""
    bought = next((one for one in purchases.references(tx) if one.casefold() == typed.casefold()), "")
    if bought:
        items = listed(one.item for one in purchases.lines_of(tx, bought))
        return f"{quoted(bought)} is a purchase, of {items}. Name the item that came, and the purchase beside it."
    called = [code for code in racks.items_like(tx, typed) if stocked.items[code].kind in RECEIVED]
    if 0 < len(called) <= MOST_NAMED:
        return f"There is no item {quoted(typed)}. Called so: {listed(map(quoted, called))}."
    return unknown("item", typed, stocked.items)


def _reference(tx: Tx, text: str) -> str:
    typed = text.strip()
    if not typed:
        return ""
    known = purchases.references(tx)
    alike = [one for one in known if one == typed] or [one for one in known if one.casefold() == typed.casefold()]
    if len(alike) != 1:
        raise Refusal(f"{unknown('purchase', typed, known)} Without one, the goods are received all the same.")
    return alike[0]


def _supplier(tx: Tx, text: str) -> str:
    typed = text.strip().casefold()
    if not typed:
        return ""
    known = catalogue.read_suppliers(tx)
    alike = [code for code, one in known.items() if typed in (code.casefold(), one.name.casefold())]
    if len(alike) != 1:
        raise Refusal(unknown("supplier", text.strip(), known))
    return alike[0]


def _against(one: ArrivalKnown, bought_lines: Sequence[PurchaseLine]) -> Against:
    if not bought_lines:
        return Against(None, None, None, one.said.supplier or None)
    mine = next((line for line in bought_lines if line.item == one.said.item), None)
    purchase = mine or bought_lines[0]
    if one.said.supplier not in ("", purchase.supplier):
        raise Refusal(
            f"Purchase {purchase.reference} is of {purchase.supplier_name}, not of {quoted(one.said.supplier)}. "
            "Leave the supplier out, or receive it without the purchase."
        )
    closed = ""
    if purchase.closed_because:
        when = f", {purchase.closed_at:%Y-%m-%d}" if purchase.closed_at else ""
        closed = f"{purchase.closed_because} ({purchase.closed_by}{when})"
    bought = Bought(
        purchase.reference,
        tuple(line.item for line in bought_lines),
        mine is not None,
        max(0, purchase.quantity - purchase.received),
        closed,
    )
    return Against(mine, purchase, bought, purchase.supplier)


def _asked(tx: Tx, one: ArrivalKnown, against: Against, stamp: Stamp) -> tuple[Question, ...]:
    before, today = _before(tx, one, stamp), stamp.at.date()
    return questions(one.said, one.read, one.goods, before, against.bought, today, one.shade)


def _before(tx: Tx, one: ArrivalKnown, stamp: Stamp) -> list[CameBefore]:
    """What came in today of the same, or ever with the same delivery note."""
    morning = datetime.combine(stamp.at.date(), time(), stamp.at.tzinfo)
    return arrivals.came_before(tx, one.said.item, one.said.lot, one.said.delivery, morning)


def _confirmed(asked: Sequence[Question], sure: Collection[str]) -> tuple[Question, ...]:
    """What was asked, once all of it is confirmed. Raises Refusal for what is not."""
    unconfirmed = open_of(asked, sure)
    is_shade = any(one.name in SHADE_WARNINGS for one in unconfirmed)
    apart = f'; or set it apart: --quarantine "{SET_APART}"' if is_shade else ""
    refuse_open(unconfirmed, "Nothing was received yet", apart)
    return tuple(asked)


def _job_words(one: ArrivalKnown, stowed: Sequence[Stowed], confirmed: Sequence[Question]) -> str:
    amount = show_amount(one.goods.item.kind, one.read.quantity)
    words = f"receive {amount} of {one.said.item} ({', '.join(bin_.tag for bin_ in stowed)})"
    words += f" with purchase {one.said.purchase}" if one.said.purchase else ""
    words += (
        f"; confirmed: {', '.join(dict.fromkeys(QUESTIONS[asked.name] for asked in confirmed))}" if confirmed else ""
    )
    return words


def _stow(tx: Tx, one: ArrivalKnown, known_bin: int | None, stamp: Stamp) -> list[Stowed]:
    """The rolls or the bin that the goods go into."""
    said, read = one.said, one.read
    if known_bin is not None:
        return [arrivals.open_bin(tx, known_bin, read.expires)]
    if one.goods.item.kind not in BY_LENGTH:
        return [arrivals.add_bin(tx, said.item, said.place, said.lot, said.quarantine, read.expires)]
    rolls = NewRolls(
        said.item, said.lot, said.place, read.width_mm, said.measured, read.flaws, read.reading, said.quarantine,
        read.expires, stamp.at.date(),
    )  # fmt: skip
    return arrivals.add_rolls(tx, rolls, len(read.quantities), stamp)


def _known_bin(tx: Tx, one: ArrivalKnown) -> int | None:
    """The bin there is for counted goods."""
    said = one.said
    if one.goods.item.kind in BY_LENGTH:
        return None
    return arrivals.bin_for(tx, said.item, said.place, said.lot, is_quarantined=bool(said.quarantine))


def _book(tx: Tx, job: int, one: ArrivalKnown, stowed: Sequence[Stowed], against: Against, stamp: Stamp) -> list[int]:
    """The movements, the receipts, what has come of the purchase. Gives what was scanned as running out until now."""
    price = price_minor(one, against)
    note = f"purchase {one.said.purchase}" if one.said.purchase else ""
    note += f"{', ' if note else ''}delivery note {one.said.delivery}" if one.said.delivery else ""
    into = list(zip(stowed, one.read.quantities, strict=True))
    entries = [
        Entry(bin_.id, "received", quantity, worth_minor(price, quantity, one.goods.item), note)
        for bin_, quantity in into
    ]
    movements = ledger.append(tx, job, stamp, entries)
    booked = [(bin_.id, movement, quantity) for (bin_, quantity), movement in zip(into, movements, strict=True)]
    purchase_id = against.purchase.id if against.purchase else None
    arrivals.keep_receipts(tx, job, stamp, booked, purchase_id, against.supplier, one.said.delivery)
    if against.line is not None:
        purchases.add_received(tx, against.line.id, one.read.quantity)
    return low_stock.end_low_stock(tx, one.said.item, "received", stamp)


def _take_back(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:
    return put_rows_back(shop, tx, undoing, _unbook)


def _unbook(tx: Tx, undoing: Undoing) -> tuple[str, ...]:
    """What came in is taken out again, and is still due of its purchase."""
    if used := _used(tx, undoing.job):
        raise Refusal(used)
    told = reverse_all(tx, undoing)
    knows = undoing.data
    low_stock.reopen_low_stock(tx, knows["low"], "received")
    told = (*told, *_without_readings(tx, undoing))
    if knows["purchase"] is None:
        return told
    purchases.add_received(tx, knows["purchase"], -knows["quantity"])
    return (*told, "Its purchase is due again by so much.")


def _without_readings(tx: Tx, undoing: Undoing) -> tuple[str, ...]:
    """What was read as the goods came in is gone with them. What was read of them later stays: tells of it."""
    readings.drop_readings(tx, undoing.data.get("readings", ()))
    holdings = {one.holding_id: one.tag for one in jobs_done.movements_of(tx, undoing.job.id)}
    return tuple(
        f"{holdings[one]} was read since: that reading of its lot stays until it is undone itself."
        for one in sorted(readings.readings_by_roll(tx, *holdings))
    )


def _why_it_stays(shop: Shop, tx: Tx, job: KeptJob) -> str:
    return _used(tx, job) or why_rows_stay(shop, tx, job)


def _used(tx: Tx, job: KeptJob) -> str:
    """What of the goods is not free any more: a sentence, or ''."""
    used = arrivals.used_since(tx, job.id)
    if used is None:
        return ""
    holding_id, tag = used
    promised = list(dict.fromkeys(number for number, *_ in tagged.promised_from(tx, holding_id)))
    whom = f", for order {listed(promised)}" if promised else ""
    return f"Of {tag}, something is reserved or used by now{whom}."


WAYS_BACK = {"receive": WayBack(_take_back, _why_it_stays)}
