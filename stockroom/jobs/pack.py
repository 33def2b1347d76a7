"""Packing: the pieces of an order go into parcels, one scan at a time, and the order is sent when it is complete.

A kit that is fitted in the house is issued to the car: the same job, with the car in the place of a box.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import Tag, is_tag
from stockroom.domain.wording import listed, quoted
from stockroom.jobs.lookup import book_of
from stockroom.jobs.parts import still_here
from stockroom.jobs.ready import OrderState, PieceState, order_state
from stockroom.jobs.scanned import bundle_scanned, piece_scanned
from stockroom.jobs.swatch_hold import end_all
from stockroom.jobs.ticket import kit_words
from stockroom.jobs.use import let_go_all
from stockroom.jobs.way_back import remember
from stockroom.store import (
    bill,
    bundles,
    cars,
    changed_rows,
    customer_parts,
    holds,
    ledger,
    margins,
    orders,
    packing,
    sewing,
    swatches,
    waits,
)
from stockroom.store.changed_rows import Before
from stockroom.store.database import Shop, Tx
from stockroom.store.orders import KeptOrder
from stockroom.store.packing import KeptParcel, Owner
from stockroom.store.replaced_tags import scanned_tag

TO_THE_CAR = "to the car"
PARCELS = ("box", "long parcel")
"""What an order that is sent goes in."""


@dataclass(frozen=True, slots=True)
class PackPiece:
    """One piece on the packing list."""

    tag: str
    piece: str
    """Its code in the kit book; '' for a packet of hardware."""
    title: str
    hand: str
    copy: int
    line: int
    kit: str
    car: str
    state: str
    """'packed', 'ready' or 'not ready'."""
    parcel: int
    """Number of the parcel it is in; 0 where it is not packed."""
    by: str
    """Who packed it."""
    must_scan: bool
    """It is packed by its tag only; the others may be ticked."""
    lacks: tuple[str, ...]
    """What of it is not there yet."""
    bundle: str
    """Tag of the bundle that its panels are in, or ''."""
    panels: tuple[str, ...] = ()
    """Codes of the panels that it is made from."""
    sewing: str = ""
    """Whether its panels are one piece yet, in words; '' where there are not several."""


@dataclass(frozen=True, slots=True)
class PackParcel:
    """One parcel."""

    number: int
    tag: str
    what: str
    """'box', 'long parcel' or 'to the car'."""
    state: str
    """'open' or 'closed'."""
    pieces: tuple[tuple[str, str], ...]
    """Tag and title of what is in it."""


@dataclass(frozen=True, slots=True)
class PackingList:
    """What of an order is packed, and what is not."""

    order: str
    tag: str
    customer: str
    wanted: date | None
    fitted_here: bool
    state: str
    """Of the order: 'open', 'sent' or 'cancelled'."""
    bundle: str
    """Tag of the bundle whose scan asked for the list, or ''."""
    pieces: tuple[PackPiece, ...]
    parcels: tuple[PackParcel, ...]
    owed: tuple[str, ...]
    """What is not packed, with why; of an order that was sent, what went out owing. Nothing: it is complete."""
    short_because: str
    """Why it was sent incomplete, with initials; '' where it was not."""
    customers_parts: tuple[str, ...] = ()
    """Customer's parts that are not given back yet: sentences. They do not make the kit incomplete."""

    @property
    def is_complete(self) -> bool:
        """Whether nothing is owed."""
        return not self.owed


@dataclass(frozen=True, slots=True)
class PieceMoved:
    """What packing or unpacking one piece did."""

    order: str
    tag: str
    title: str
    parcel: int
    """Number of the parcel it is in now; 0: in none."""
    changed_anything: bool
    """False: it was so before."""
    left: int
    """Pieces of the order that are not packed."""
    sentence: str


@dataclass(frozen=True, slots=True)
class Sent:
    """An order that was sent or issued to the car: what is printed then."""

    order: str
    tag: str
    customer: str
    wanted: date | None
    fitted_here: bool
    cars: tuple[str, ...]
    kits: tuple[str, ...]
    """Title of each line's kit."""
    parcels: tuple[PackParcel, ...]
    """Each with its kit tag and its list."""
    owed: tuple[str, ...]
    """What is owed, in words: what was not packed, and the customer's parts that are still here."""
    because: str
    by: str


def packing_list(shop: Shop, number_or_tag: str) -> PackingList:
    """The packing list of an order, by its number or the tag of the order, a bundle, a piece or a parcel of it."""
    with shop.read() as tx:
        number, bundle = _meant(tx, number_or_tag)
        order = orders.order_by(tx, number)
        state = order_state(shop, tx, order)
        book = book_of(shop, tx, order.book_id)
        known = cars.cars_by_id(tx, [line.car_id for line in order.lines])
        car_of = {line.number: known[line.car_id].key for line in order.lines}
        shown = tuple(
            PackPiece(
                one.piece.tag,
                one.piece.piece.piece,
                one.piece.piece.title,
                one.piece.piece.hand,
                one.piece.piece.copy,
                one.piece.piece.line,
                kit_words(book, one.piece.piece.path),
                car_of[one.piece.piece.line],
                one.state,
                one.packed.parcel if one.packed else 0,
                one.packed.by if one.packed else "",
                one.must_scan,
                one.lacks,
                one.bundle.tag if one.bundle else "",
                one.panels,
                one.sewing_words,
            )
            for one in state.pieces
        )
        short = packing.sent_short(tx, order.id)
        owed, because = (short[0], f"{short[1]} ({short[2]})") if short else (_owed(tx, order, state), "")
        return PackingList(
            order.number,
            order.tag,
            order.customer,
            order.wanted,
            order.fitted_here,
            order.state,
            bundle,
            shown,
            _parcels(tx, order, state),
            owed,
            because,
            still_here(tx, order.id),
        )


def _meant(tx: Tx, text: str) -> tuple[str, str]:
    """The order that a number or a tag is of, and the bundle where it is one."""
    if orders.number_is_taken(tx, text.strip()) or not is_tag(text):
        return text, ""
    tag = scanned_tag(tx, text)
    if tag.kind == "T":
        bundle = bundle_scanned(tx, text)
        return bundle.order, bundle.tag
    if tag.kind == "P":
        return piece_scanned(tx, text).order, ""
    if tag.kind == "G":
        part = customer_parts.part_by_tag(tx, str(tag))
        return (part.order if part else _order_tag(tag)), ""
    return (packing.order_of_parcel(tx, str(tag)) if tag.kind == "K" else None) or _order_tag(tag), ""


def _order_tag(tag: Tag) -> str:
    if tag.kind != "O":
        raise Refusal(f"{tag} is nothing of an order. Scan the tag of a bundle, a piece, a parcel or an order.")
    return str(tag)


def _parcels(tx: Tx, order: KeptOrder, state: OrderState) -> tuple[PackParcel, ...]:
    return tuple(
        PackParcel(
            one.number,
            one.tag,
            one.what,
            one.state,
            tuple(
                (piece.piece.tag, piece.piece.piece.title)
                for piece in state.pieces
                if piece.packed is not None and piece.packed.parcel == one.number
            ),
        )
        for one in packing.parcels_of(tx, order.id)
    )


def _owed(tx: Tx, order: KeptOrder, state: OrderState) -> tuple[str, ...]:
    """What is not packed of an order, with why, and what waits for an answer."""
    pieces = [
        f"{one.name}: {'; '.join(one.lacks) or 'not packed'}."
        for one in state.pieces
        if one.packed is None or one.lacks
    ]
    loose = [f"{sentence}." for sentence in state.loose]
    waiting = [
        f"Line {one.line} waits for {one.wait.name}: {one.wait.question}" for one in waits.waits_of(tx, order.id)
    ]
    return (*pieces, *loose, *waiting)


# --- piece by piece ------------------------------------------------------------------------------------------------


def pack(shop: Shop, number: str, piece_tag: str, stamp: Stamp, parcel: int = 1) -> PieceMoved:
    """A scan of a piece while packing an order: it goes into the parcel.

    Raises Refusal for a piece of another order, one that is not ready, and a parcel that there is not.
    """
    return _pack(shop, number, piece_tag, "scanned", parcel, stamp)


def tick(shop: Shop, number: str, piece_tag: str, stamp: Stamp, parcel: int = 1) -> PieceMoved:
    """A piece is packed by a tick on the list. Raises Refusal, besides, for one that must be scanned."""
    return _pack(shop, number, piece_tag, "ticked", parcel, stamp)


def _pack(shop: Shop, number: str, piece_tag: str, how: str, parcel: int, stamp: Stamp) -> PieceMoved:
    with shop.write() as tx:
        order = _to_pack(tx, number)
        scanned = piece_scanned(tx, piece_tag)
        state = order_state(shop, tx, order, scanned.piece_id)
        if scanned.order != order.number:
            raise Refusal(_stranger(order, scanned, state))
        one = next(one for one in state.pieces if one.piece.id == scanned.piece_id)
        if one.packed is not None:
            return _moved(order, state, one, one.packed.parcel, 0, _packed_already(one, state))
        if how == "ticked" and one.must_scan:
            raise Refusal(f"{one.name} is not ticked but scanned: it is a handed piece, a bag or a packet of hardware.")
        if one.lacks:
            raise Refusal(f"{one.name} is not ready: {'; '.join(one.lacks)}.")
        before = changed_rows.look(tx, changed_rows.PACKING, orders=[order.id])
        into = _parcel_to_fill(tx, order, parcel, stamp)
        done = "pack" if how == "scanned" else "tick"
        job = ledger.begin_job(tx, f"{done} piece {one.piece.tag} of order {order.number}, parcel {into.number}", stamp)
        packing.put_in(tx, into, one.piece.id, how, stamp)
        unsewn = one.is_assembly and one.sewn is None
        sewing.keep_sewn(tx, [one.piece.id] if unsewn else [], stamp)
        bundles.mark_packed(tx, order.id)
        remember(tx, job, before)
        place = "issued to the car" if into.what == TO_THE_CAR else f"in parcel {into.number} ({into.what})"
        return _moved(order, state, one, into.number, 1, f"{one.name} is {place}{', and so sewn' if unsewn else ''}.")


def unpack(shop: Shop, number: str, piece_tag: str, stamp: Stamp) -> PieceMoved:
    """A piece comes out of its parcel again. Where it is in none, nothing happens."""
    with shop.write() as tx:
        order = _to_pack(tx, number)
        scanned = piece_scanned(tx, piece_tag)
        if scanned.order != order.number:
            raise Refusal(f"{scanned.title} ({scanned.tag}) is of order {scanned.order}, not of {order.number}.")
        state = order_state(shop, tx, order)
        one = next(one for one in state.pieces if one.piece.id == scanned.piece_id)
        if one.packed is None:
            return _moved(order, state, one, 0, 0, f"{one.name} is in no parcel. Nothing is unpacked.")
        job = ledger.begin_job(tx, f"unpack piece {one.piece.tag} of order {order.number}", stamp)
        before = changed_rows.look(tx, changed_rows.PACKING, orders=[order.id])
        packing.take_out(tx, one.piece.id)
        bundles.mark_packed(tx, order.id)
        remember(tx, job, before)
        return _moved(order, state, one, 0, -1, f"{one.name} is out of parcel {one.packed.parcel}.")


def _to_pack(tx: Tx, number: str) -> KeptOrder:
    order = orders.order_to_change(tx, number)
    if order.state != "open":
        raise Refusal(f"Order {order.number} is {order.state}: nothing is packed or unpacked any more.")
    if order.for_stock:
        raise Refusal(
            f"Order {order.number} is for stock: its pieces are not packed but kept: stockroom keep PIECE PLACE"
        )
    return order


def _moved(order: KeptOrder, state: OrderState, one: PieceState, parcel: int, packed: int, said: str) -> PieceMoved:
    """`packed`: how many pieces more are packed now."""
    left = sum(other.packed is None for other in state.pieces) - packed
    return PieceMoved(order.number, one.piece.tag, one.piece.piece.title, parcel, packed != 0, left, said)


def _stranger(order: KeptOrder, scanned: Owner, state: OrderState) -> str:
    """What is said of a piece of another order: whose it is, and which one was meant if this is of the wrong hand."""
    sentence = f"{scanned.title} ({scanned.tag}) is of order {scanned.order}, not of {order.number}. Put it back."
    like = [
        one for one in state.pieces if (one.piece.piece.title, one.piece.piece.hand) == (scanned.title, scanned.hand)
    ]
    if not scanned.hand or not like or any(one.packed is None for one in like):
        return sentence
    missing = _other_hand(like[0], state)
    if not missing:
        return sentence
    return (
        f"That is a second {scanned.hand} one: {sentence} "
        f"The {scanned.hand} of this order is packed; what is missing is {missing}."
    )


def _packed_already(one: PieceState, state: OrderState) -> str:
    assert one.packed is not None
    sentence = f"{one.name} is in parcel {one.packed.parcel} already ({one.packed.by}). Nothing is packed again."
    missing = _other_hand(one, state)
    return f"{sentence} What is missing is {missing}." if missing else sentence


def _other_hand(one: PieceState, state: OrderState) -> str:
    """The piece of the other hand that belongs to it, if that is not packed; else ''."""
    made = one.piece.piece
    turned = {"left": "right", "right": "left"}
    if made.hand not in turned:
        return ""
    other = turned[made.hand]
    title = made.title.replace(made.hand, other)
    return next(
        (
            another.name
            for another in state.pieces
            if another.packed is None
            and (another.piece.piece.hand, another.piece.piece.title) == (other, title)
            and (another.piece.piece.line, another.piece.piece.path) == (made.line, made.path)
        ),
        "",
    )


# --- parcels -------------------------------------------------------------------------------------------------------


def new_parcel(shop: Shop, number: str, what: str, stamp: Stamp) -> PackParcel:
    """Another parcel for an order: a 'box' or a 'long parcel', or 'to the car' for one that is fitted here."""
    with shop.write() as tx:
        order = _to_pack(tx, number)
        allowed = (TO_THE_CAR,) if order.fitted_here else PARCELS
        if what not in allowed:
            where = "is to be fitted here" if order.fitted_here else "is to be sent"
            raise Refusal(
                f"Order {order.number} {where}: a parcel of it is {listed(map(quoted, allowed), 'or')}, "
                f"not {quoted(what)}."
            )
        number_now = max((one.number for one in packing.parcels_of(tx, order.id)), default=0) + 1
        job = ledger.begin_job(tx, f"begin parcel {number_now} of order {order.number}: {what}", stamp)
        before = changed_rows.look(tx, changed_rows.PACKING, orders=[order.id])
        made = packing.open_parcel(tx, order.id, number_now, what, stamp)
        remember(tx, job, before)
        return PackParcel(made.number, made.tag, made.what, made.state, ())


def _parcel_to_fill(tx: Tx, order: KeptOrder, number: int, stamp: Stamp) -> KeptParcel:
    """The parcel of this number; the first one is begun by the first piece."""
    there = packing.parcels_of(tx, order.id)
    found = next((one for one in there if one.number == number), None)
    if found is not None:
        return found
    if number == 1 and not there:
        return packing.open_parcel(tx, order.id, 1, TO_THE_CAR if order.fitted_here else PARCELS[0], stamp)
    has = f"It has {listed(str(one.number) for one in there)}." if there else "It has none yet."
    raise Refusal(f"Order {order.number} has no parcel {number}. {has} Begin a new parcel first.")


# --- sending -------------------------------------------------------------------------------------------------------


def close(shop: Shop, number: str, stamp: Stamp) -> Sent:
    """The order is complete and goes out. Raises Refusal, naming what is missing, where it is not."""
    with shop.write() as tx:
        order = _to_pack(tx, number)
        state = order_state(shop, tx, order)
        owed = _owed(tx, order, state)
        if owed:
            more = f" (and {len(owed) - 1} more)" if len(owed) > 1 else ""
            raise Refusal(f"Order {order.number} is not complete: {owed[0]}{more}", faults=owed[1:])
        before = changed_rows.look(tx, changed_rows.ORDER, orders=[order.id])
        return _send(tx, order, state, (), "", before, stamp)


def close_incomplete(shop: Shop, number: str, because: str, stamp: Stamp) -> Sent:
    """The order goes out incomplete on somebody's word: what is owed is written down, and what is held is let go."""
    if not because.strip():
        raise Refusal("An order is sent incomplete with a reason: say why it does not wait.")
    if not stamp.by.strip():
        raise Refusal("An order is sent incomplete with initials: say who takes it on.")
    with shop.write() as tx:
        order = _to_pack(tx, number)
        state = order_state(shop, tx, order)
        owed = _owed(tx, order, state)
        if not owed:
            raise Refusal(f"Order {order.number} is complete. Send it as complete.")
        if not any(one.packed is not None for one in state.pieces):
            raise Refusal(f"Nothing of order {order.number} is packed, so there is nothing to send.")
        before = changed_rows.look(tx, changed_rows.ORDER, orders=[order.id])
        packing.keep_sent_short(tx, order.id, owed, because, stamp)
        holds.release(tx, [one.id for one in bill.requirements_of(tx, order.id) if one.held])
        return _send(tx, order, state, owed, because, before, stamp)


def _send(
    tx: Tx, order: KeptOrder, state: OrderState, owed: Sequence[str], because: str, before: Before, stamp: Stamp
) -> Sent:
    packing.close_parcels(tx, order.id, stamp)
    end_all(tx, swatches.awaited_of_order(tx, order.id), stamp)
    margins.let_go(tx, order.id)
    let_go_all(tx, order)
    holds.rewrite_shortages(tx, order.id, [])
    orders.set_state(tx, order.id, "sent")
    job = ledger.begin_job(tx, f"send order {order.number}", stamp)
    done = "Issued to the car" if order.fitted_here else "Sent"
    short = f", incomplete ({len(owed)} owed), because {because}" if owed else ""
    orders.log_change(tx, order.id, job, f"{done}{short}", stamp)
    remember(tx, job, before)
    known = cars.cars_by_id(tx, [line.car_id for line in order.lines])
    return Sent(
        order.number,
        order.tag,
        order.customer,
        order.wanted,
        order.fitted_here,
        tuple(dict.fromkeys(known[line.car_id].key for line in order.lines)),
        tuple(f"{line.request.quantity} × {line.title}" for line in order.lines),
        _parcels(tx, order, state),
        (*owed, *still_here(tx, order.id)),
        because,
        stamp.by,
    )
