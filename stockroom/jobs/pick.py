"""Picking: what is held for an order is taken from its shelf, one scan at a time, and booked out.

Cloth is not picked but cut (see `stockroom.jobs.cut`): a scan of its roll says what is to be cut from it, and a scan of
another roll of the same lot has the cut planned on that one. What else will do is decided in
`stockroom.jobs.other_stock`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.figures import read_figure
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import read_tag
from stockroom.jobs import fetch
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.left_over import to_put_back
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.jobs.other_stock import move_cut, move_reservations
from stockroom.jobs.past_day import refuse_past_day
from stockroom.jobs.ready import refuse_unready_packed
from stockroom.jobs.way_back import Undoing, WayBack, put_rows_back, remember, reverse_booked, why_rows_stay
from stockroom.store import (
    changed_rows,
    finished,
    holds,
    jobs_done,
    ledger,
    moving,
    orders,
    pieces,
    promises,
    stops,
    taking,
)
from stockroom.store.changed_rows import Before
from stockroom.store.database import Shop, Tx
from stockroom.store.finished import FromStock
from stockroom.store.holds import KeptHold
from stockroom.store.orders import KeptOrder
from stockroom.store.replaced_tags import scanned_tag
from stockroom.store.stops import Fetched, KeptStop
from stockroom.store.taking import Found, Taken


@dataclass(frozen=True, slots=True)
class WalkStop:
    """One stop of a walk: one holding at one place, for one order."""

    order: str
    place: str
    walk: int
    tag: str
    item: str
    title: str
    colour: str
    kind: str
    """The kind of the item: cloth and narrow goods are measured, everything else is counted."""
    lot: str
    how: str
    """'pick' or 'cut'."""
    amount: str
    from_mm: int
    """Of a cut, from the roll's inner end; 0 otherwise."""
    to_mm: int
    for_what: tuple[str, ...]
    """Pieces, with their hand."""
    changed: bool


@dataclass(frozen=True, slots=True)
class Walk:
    """What is to be fetched for some orders, in walking order."""

    orders: tuple[str, ...]
    stops: tuple[WalkStop, ...]
    done: tuple[str, ...]
    """What was picked and cut already: sentences."""
    waiting: tuple[str, ...]
    """Lines that wait for an answer and are not picked: sentences."""
    short: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Picked:
    """What one scan did."""

    order: str
    tag: str
    sentence: str
    changed_anything: bool
    """False: it was picked before, or it is the planned roll of a cut."""
    left: int
    """Stops that are left for this order."""
    to_cut: bool = False
    """It is a roll that something is to be cut from: nothing is taken before that is done."""


def walk(shop: Shop, numbers: Sequence[str]) -> Walk:
    """The stops for one order or several, in walking order. Raises Refusal where one of them does not exist."""
    with shop.read() as tx:
        catalogue = catalogue_of(shop, tx)
        numbered = orders.ids_of(tx, numbers)
        ids = list(numbered)
        found = [_stop(catalogue, numbered[one.order_id], one) for one in stops.stops_of(tx, ids)]
        for order_id in sorted(stops.with_finished_things(tx, ids)):
            things = fetch.to_fetch(tx, order_id)
            found += [_fetch_stop(tx, order_id, numbered[order_id], tag, some) for tag, some in things.items()]
        done = [(one, "from") for one in stops.picked_for(tx, ids)]
        done += [(one, "cut from") for one in stops.cut_for(tx, ids)]
        waiting, short = stops.waiting_for(tx, ids), stops.short_of(tx, ids)
    turn = {order_id: place for place, order_id in enumerate(ids)}
    found.sort(key=lambda stop: (stop.walk, stop.place, stop.tag, stop.order, -stop.to_mm))
    return Walk(
        tuple(numbered.values()),
        tuple(found),
        tuple(_done(catalogue, one, how) for one, how in sorted(done, key=lambda pair: turn[pair[0].order_id])),
        tuple(
            f"Order {numbered[order_id]}, line {line} waits for {name}: {question}"
            for order_id, line, name, question in sorted(waiting, key=lambda one: turn[one[0]])
        ),
        tuple(
            f"Order {numbered[order_id]}: {sentence}"
            for order_id, sentence in sorted(short, key=lambda one: turn[one[0]])
        ),
    )


def _done(catalogue: Catalogue, one: Fetched, how: str) -> str:
    """What was picked or cut, in a sentence."""
    item = catalogue.items[one.item]
    return f"{show_amount(item.kind, one.quantity)} of {item.title} {how} {one.tag} ({one.by})"


def _stop(catalogue: Catalogue, number: str, one: KeptStop) -> WalkStop:
    item = catalogue.items[one.item]
    return WalkStop(
        number,
        one.place,
        one.walk,
        one.tag,
        one.item,
        item.title,
        catalogue.colours[item.colour].name if item.colour in catalogue.colours else "",
        item.kind,
        one.lot,
        "pick" if one.cut_id is None else "cut",
        show_amount(item.kind, one.quantity),
        one.from_mm,
        one.to_mm,
        tuple(dict.fromkeys(f"{piece or 'kit'} {hand}".strip() for piece, hand in one.serves)),
        one.changed,
    )


def _fetch_stop(tx: Tx, order_id: int, number: str, tag: str, some: Sequence[FromStock]) -> WalkStop:
    """The stop for a finished thing that is to be some pieces of the order."""
    thing = finished.finished_by_tag(tx, tag)
    lots = ", ".join(thing.lots) if thing else ""
    names = {one.id: f"{one.piece.piece or 'kit'} {one.piece.hand}".strip() for one in pieces.pieces_of(tx, order_id)}
    return WalkStop(
        number,
        some[0].place,
        some[0].walk,
        tag,
        thing.item if thing else "",
        some[0].title,
        "",
        "",
        lots,
        "pick",
        "1, finished",
        0,
        0,
        tuple(names[one.piece_id] for one in some),
        bool(thing and thing.changes),
    )


def _left(tx: Tx, order: KeptOrder) -> int:
    """How many stops are left for an order."""
    things = fetch.to_fetch(tx, order.id) if stops.with_finished_things(tx, [order.id]) else {}
    return len(stops.stops_of(tx, [order.id])) + len(things)


def pick(shop: Shop, number: str, tag: str, stamp: Stamp) -> Picked:
    """A scan of a reel or bin while picking an order: all that is held there for the order is taken.

    Another holding of the same item and lot will do: the reservation moves to it. A scan of a roll finds what is to be
    cut from it; of another roll of the same item and lot, the planned cut moves to it. Raises Refusal for anything
    else, `AnotherLot` where it is only the lot that is another.
    """
    return _pick(shop, number, tag, "", stamp)


def pick_mixed(shop: Shop, number: str, tag: str, because: str, stamp: Stamp) -> Picked:
    """`pick`, with somebody's word that another dye lot of the same item may be used in this order, and why.

    Where the lot is the one that is held, no mix is needed and none is written down.
    """
    if not because.strip():
        raise Refusal("A mix of lots is approved with a reason: say why the difference will not be seen.")
    return _pick(shop, number, tag, because, stamp)


def pick_short(shop: Shop, number: str, tag: str, there: int, stamp: Stamp) -> Picked:
    """Only so much (mm or count) is really there: it is taken, the rest is let go, and the order is short of it.

    What the books say beyond that is put right by counting the place.
    """
    if there < 0:
        raise Refusal(f"There cannot be {there} of anything. Say how much is there: 0 or more.")
    with shop.write() as tx:
        order = open_order(tx, number)
        scanned, held = _scanned_for(tx, order, tag)
        here = [one for one in held if one.cut_id is None and one.holding_id == scanned.id]
        if not here:
            already = _taken_already(tx, order, scanned, held)
            if already is not None:
                return already
            to_cut = any(one.cut_id is not None and one.holding_id == scanned.id for one in held)
            what = "It is to be cut: measure it instead." if to_cut else "Scan it without an amount."
            raise Refusal(f"Nothing is to be picked from {scanned.tag} for order {order.number}. {what}")
        before = changed_rows.look(tx, changed_rows.TAKING, orders=[order.id])
        return _taken(shop, tx, order, scanned, here, there, before, stamp)


def amount_there(shop: Shop, number: str, tag: str, text: str) -> int:
    """How much is there of what an order holds under a tag, as it was typed: mm or a count, as it is measured.

    Raises Refusal for what is no such amount.
    """
    read = str(read_tag(tag))
    kind = next((one.kind for one in walk(shop, [number]).stops if one.tag == read), "")
    return read_figure(text, by_length=kind in BY_LENGTH, name=read)


def _pick(shop: Shop, number: str, tag: str, mix: str, stamp: Stamp) -> Picked:
    with shop.write() as tx:
        order = open_order(tx, number)
        scanned, held = _scanned_for(tx, order, tag)
        if scanned.kind == "made":
            changed, said = fetch.fetch(tx, order, scanned, stamp)
            return Picked(order.number, scanned.tag, said, changed, _left(tx, order))
        if any(one.cut_id is not None and one.holding_id == scanned.id for one in held):
            refuse_past_day(scanned, stamp.at.date())
            return _to_be_cut(order, scanned, held)
        here = [one for one in held if one.cut_id is None and one.holding_id == scanned.id]
        if here:
            # The common scan: no more is looked at, before and after, than it can change.
            served = [one.requirement_id for one in here if one.requirement_id is not None]
            before = changed_rows.look(tx, changed_rows.PICKING, orders=[order.id], requirements=served)
        else:
            before = changed_rows.look(tx, changed_rows.TAKING, orders=[order.id])
            already = _taken_already(tx, order, scanned, held)
            if already is not None:
                return already
            if any(one.cut_id is not None and one.item == scanned.item for one in held):
                moved = move_cut(catalogue_of(shop, tx), tx, order, scanned, held, mix, stamp)
                return _to_be_cut(order, scanned, holds.holds_of(tx, order.id), moved)
            here = move_reservations(catalogue_of(shop, tx), tx, order, scanned, held, mix, stamp)
        return _taken(shop, tx, order, scanned, here, None, before, stamp)


def _taken(
    shop: Shop,
    tx: Tx,
    order: KeptOrder,
    scanned: Found,
    here: Sequence[KeptHold],
    there: int | None,
    before: Before,
    stamp: Stamp,
) -> Picked:
    """Takes what is held in a holding, or as much as is there."""
    refuse_past_day(scanned, stamp.at.date())
    taken, let_go = _shared_out(here, there)
    job = ledger.begin_job(tx, f"pick from {scanned.tag} for order {order.number}", stamp)
    taking.end_reservations(tx, scanned.id, taken, let_go)
    if taken:
        movements = ledger.append(
            tx,
            job,
            stamp,
            [
                ledger.Entry(scanned.id, "issued", -quantity, None, f"order {order.number}", order.id)
                for _, quantity in taken
            ],
        )
        taking.keep_picks(tx, scanned.id, taken, movements, stamp)
    lacking = sum(quantity for _, quantity in let_go)
    if lacking:
        _keep_shortage(shop, tx, order, scanned, lacking)
    remember(tx, job, before, touched=[f"holding {scanned.id}"], way="pick")
    left = _left(tx, order)
    amount = show_amount(scanned.item_kind, sum(quantity for _, quantity in taken))
    sentence = f"{amount} of {scanned.title} taken from {scanned.tag}."
    if here[0].holding_id != scanned.id:
        sentence += f" It was held in {here[0].tag} ({here[0].place})."
    if lacking:
        sentence += f" {show_amount(scanned.item_kind, lacking)} short: count {scanned.place or 'the place'}."
    return Picked(order.number, scanned.tag, sentence, True, left)


def open_order(tx: Tx, number: str) -> KeptOrder:
    """The order, for a job that takes stock for it. Raises Refusal where it is not open."""
    order = orders.order_to_change(tx, number)
    if order.state != "open":
        raise Refusal(f"Order {order.number} is {order.state}: nothing is picked or cut for it any more.")
    return order


def _scanned_for(tx: Tx, order: KeptOrder, tag: str) -> tuple[Found, list[KeptHold]]:
    """What was scanned, locked, and all that is held for the order.

    Where nothing is held there for the order, what is held elsewhere may move to it: all of the item is locked then.
    """
    held = holds.holds_of(tx, order.id)
    read = str(read_tag(tag))
    if not any(one.tag == read for one in held):
        there = moving.holding_of(tx, read)
        promises.lock_of_same_items(tx, [] if there is None else [there])
    return _scanned(tx, read), held


def _scanned(tx: Tx, tag: str) -> Found:
    read = scanned_tag(tx, tag)
    found = taking.found_by_tag(tx, str(read))
    if found is None:
        raise Refusal(f"{read} is no roll, reel or bin of this shop. Scan the tag of what you take.")
    if found.quarantined_because:
        raise Refusal(
            f"{found.tag} ({found.title}) is in quarantine: {found.quarantined_because}. "
            "Leave it; nothing is taken from it."
        )
    return found


def _to_be_cut(order: KeptOrder, scanned: Found, held: Sequence[KeptHold], moved: str = "") -> Picked:
    """What a scan of a roll says. `moved`: that the cut was planned on another roll until now; '' where it was not."""
    mine = [one for one in held if one.cut_id is not None and one.holding_id == scanned.id]
    lengths = ", ".join(show_amount(scanned.item_kind, one.quantity) for one in mine)
    what = f"take it to the table and cut {lengths} for order {order.number}."
    sentence = f"{scanned.tag} will do too: {moved}. " if moved else f"{scanned.tag} is the right roll: "
    return Picked(
        order.number,
        scanned.tag,
        sentence + (what.capitalize() if moved else what),
        bool(moved),
        len({(one.holding_id, one.cut_id) for one in held}),
        to_cut=True,
    )


def _taken_already(tx: Tx, order: KeptOrder, scanned: Found, held: Sequence[KeptHold]) -> Picked | None:
    """What a second scan of the same thing says: nothing is held there any more, and what was was picked or cut."""
    picked = [(one.quantity, one.by) for one in taking.picks_of(tx, order.id) if one.holding_id == scanned.id]
    was_cut = [(one.cut_mm, one.by) for one in taking.cuts_of(tx, order.id) if one.holding_id == scanned.id]
    before = picked or was_cut
    if not before:
        return None
    amount = show_amount(scanned.item_kind, sum(quantity for quantity, _ in before))
    sentence = (
        f"{amount} of {scanned.title} was {'taken' if picked else 'cut'} from {scanned.tag} already ({before[-1][1]}). "
        f"Nothing is taken again."
    )
    more = next((one for one in held if one.item == scanned.item), None)
    if more is not None:
        sentence += f" {show_amount(scanned.item_kind, more.quantity)} more of it is held in {more.tag} ({more.place})."
    return Picked(order.number, scanned.tag, sentence, False, len({(one.holding_id, one.cut_id) for one in held}))


def _shared_out(here: Sequence[KeptHold], there: int | None) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
    """(requirement, quantity) that is taken, and that is let go for want of it."""
    left = sum(one.quantity for one in here) if there is None else there
    taken: list[tuple[int, int]] = []
    let_go: list[tuple[int, int]] = []
    for one in here:
        if one.requirement_id is None:
            continue
        part = min(left, one.quantity)
        left -= part
        if part:
            taken.append((one.requirement_id, part))
        if part < one.quantity:
            let_go.append((one.requirement_id, one.quantity - part))
    if left > 0:
        raise Refusal(f"The order holds less than that in {here[0].tag}. Take what is held there, not more.")
    return taken, let_go


def _keep_shortage(shop: Shop, tx: Tx, order: KeptOrder, scanned: Found, lacking: int) -> None:
    known = holds.shortages_of(tx, order.id)
    title = catalogue_of(shop, tx).items[scanned.item].title
    amount = show_amount(scanned.item_kind, lacking)
    sentence = f"{title}: {amount} was not in {scanned.tag} when it was picked. Reserve the order again, or buy it."
    holds.rewrite_shortages(tx, order.id, [*known, holds.KeptShortage(scanned.item, "", None, lacking, sentence, ())])


def put_back(shop: Shop, number: str, tag: str, stamp: Stamp) -> Picked:
    """Takes back what was picked from a holding for an order: it lies there again.

    For an open order it is still held there; for one that is cancelled it is free. What is in a piece that was kept or
    scrapped stays out. A finished thing is put back by its own tag.
    """
    with shop.write() as tx:
        order = _order_to_put_back(tx, number)
        scanned = _scanned(tx, tag)
        if scanned.kind == "made":
            said = fetch.bring_back(tx, order, scanned, stamp)
            return Picked(order.number, scanned.tag, said, True, _left(tx, order))
        mine = [(one, back) for one, back in to_put_back(tx, order) if one.holding_id == scanned.id]
        if not mine:
            raise Refusal(f"Nothing was picked from {scanned.tag} for order {order.number}, so nothing is put back.")
        if not any(back for _, back in mine):
            raise Refusal(
                f"What was picked from {scanned.tag} for order {order.number} is in pieces that were kept or scrapped: "
                "it stays in them."
            )
        job = ledger.begin_job(tx, f"put back into {scanned.tag} from order {order.number}", stamp)
        before = changed_rows.look(tx, changed_rows.TAKING, orders=[order.id])
        for one, back in mine:
            if back:
                _take_back(tx, job, order, one, back, stamp)
        refuse_unready_packed(shop, tx, order)
        if order.state == "open" and all(back == one.quantity for one, back in mine):
            remember(
                tx,
                job,
                before,
                touched=[f"holding {scanned.id}"],
                way="put back",
                knows={"number": order.number},
            )
        else:
            met = [f"order {order.id}", f"holding {scanned.id}"]
            ledger.keep_no_way_back(
                tx, job, f"Order {order.number} wants it no more.", "It lies where it belongs.", met
            )
        amount = show_amount(scanned.item_kind, sum(back for _, back in mine))
        said = f"{amount} of {scanned.title} is back in {scanned.tag}."
        return Picked(order.number, scanned.tag, said, True, _left(tx, order))


def _order_to_put_back(tx: Tx, number: str) -> KeptOrder:
    order = orders.order_to_change(tx, number)
    if order.state not in ("open", "cancelled"):
        raise Refusal(f"Order {order.number} is {order.state}: nothing of it is put back any more.")
    return order


def _take_back(tx: Tx, job: int, order: KeptOrder, pick: Taken, back: int, stamp: Stamp) -> None:
    """So much of a pick lies in its holding again; what stays out is booked out anew."""
    ledger.reverse(tx, job, stamp, pick.movement_id, f"put back from order {order.number}")
    taking.drop_pick(tx, pick)
    if order.state == "open":
        holds.reserve_again(tx, pick.requirement_id, pick.holding_id, back, stamp)
    else:
        taking.hold_no_longer(tx, [(pick.requirement_id, back)])
    stays = pick.quantity - back
    if stays:
        note = f"order {order.number}, stays in a piece of it"
        movements = ledger.append(
            tx, job, stamp, [ledger.Entry(pick.holding_id, "issued", -stays, None, note, order.id)]
        )
        taking.take_again(tx, pick.requirement_id, stays)
        taking.keep_picks(tx, pick.holding_id, [(pick.requirement_id, stays)], movements, stamp)


def _take_pick_back(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:
    """What was picked is back where it was taken from."""
    picks = [row["id"] for row in undoing.data["rows"].get("pick", {}).get("came", ())]
    # A pick that was put back and taken again since has another movement by now.
    movements = jobs_done.movements(tx, taking.movements_of_picks(tx, picks))
    return put_rows_back(shop, tx, undoing, lambda tx, undoing: reverse_booked(tx, undoing, movements))


def _pick_again(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:
    """What was put back is taken again."""
    now: dict[int, int] = {}

    def take_again(tx: Tx, undoing: Undoing) -> tuple[str, ...]:
        told = []
        note, (order_id,) = f"order {undoing.data['number']}", undoing.data["orders"]
        for one in reversed(jobs_done.movements_of(tx, undoing.job.id)):
            entry = ledger.Entry(one.holding_id, "issued", -one.quantity, None, note, order_id)
            (movement,) = ledger.append(tx, undoing.undo_id, undoing.stamp, [entry])
            now[one.reverses or 0] = movement
            told.append(f"{show_amount(one.item_kind, one.quantity)} of {one.title} is taken from {one.tag} again.")
        return tuple(told)

    told = put_rows_back(shop, tx, undoing, take_again)
    taking.name_movements(tx, now)
    return told


WAYS_BACK = {"pick": WayBack(_take_pick_back, why_rows_stay), "put back": WayBack(_pick_again, why_rows_stay)}
