"""Keeping what was made: a piece, or a whole kit, that no order takes becomes stock with a tag and a place of its own.

It is left over from an order that was cancelled, or the order was for stock from the first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stockroom.domain.finished import Cover, lacking
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag, read_tag
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.left_over import lying_about, of_kit, refuse_what_became, shares_of_order
from stockroom.jobs.lookup import Catalogue, book_of, catalogue_of
from stockroom.jobs.offer import within
from stockroom.jobs.ready import order_state
from stockroom.jobs.scanned import bundle_scanned, piece_scanned, place_scanned
from stockroom.jobs.share import Share, amounts_of
from stockroom.jobs.way_back import Undoing, WayBack, remember, reverse_all
from stockroom.store import changed_rows, finished, jobs_done, ledger, margins, orders, packing, pieces
from stockroom.store.database import Shop, Tx
from stockroom.store.finished import NewFinished, TakenOf
from stockroom.store.jobs_done import KeptJob
from stockroom.store.ledger import Entry
from stockroom.store.orders import KeptOrder
from stockroom.store.pieces import KeptPiece


@dataclass(frozen=True, slots=True)
class Kept:
    """A piece, or a whole kit, that became stock."""

    order: str
    """Number of the order that it was made for."""
    tag: str
    """Its new tag: of a piece (P) or of a kit (K)."""
    title: str
    place: str
    pieces: tuple[str, ...]
    """Tags that its pieces had in the order."""
    lacks: tuple[str, ...]
    """What of it is not there: a few words each."""
    worth_minor: int
    """What was taken for it was worth."""
    still: tuple[str, ...]
    """What of that order still lies about, or is still to be kept: sentences."""
    sentence: str


@dataclass(frozen=True, slots=True)
class _Thing:
    """What is to be kept, together."""

    kit: str
    """Code of the kit that it is; '' for a piece."""
    path: str
    """Of the kit that it is, or that the piece is in."""
    title: str
    pieces: tuple[KeptPiece, ...]


def keep(shop: Shop, text: str, place: str, stamp: Stamp, line: int = 1, nth: int = 1) -> Kept:
    """Keeps a piece by its tag, the kit of a bundle by the bundle's tag, or a whole kit of an order by its number.

    Of an order it is the `nth` kit of a line. Its panels must all be cut; of an order for stock, which is made to be
    kept, nothing at all may lack. Raises Refusal otherwise, and where the order is neither cancelled nor for stock.
    """
    with shop.write() as tx:
        order = orders.order_to_change(tx, _order_meant(tx, text))
        where = place_scanned(tx, place)
        _refuse_order_in_hand(order)
        thing = _meant(shop, tx, order, text, line, nth)
        for one in thing.pieces:
            refuse_what_became(tx, order, one.id, f"{one.piece.title} ({one.tag})")
        shares = shares_of_order(tx, order, [*thing.pieces, *_others(tx, order, thing)])
        mine = {one.id: shares[one.id] for one in thing.pieces}
        _refuse_unmade(shop, tx, order, thing, mine)
        return _keep(shop, tx, order, thing, mine, where, stamp)


def _order_meant(tx: Tx, text: str) -> str:
    if orders.number_is_taken(tx, text.strip()) or not is_tag(text):
        return text
    kind = read_tag(text).kind
    if kind == "P":
        if finished.finished_by_tag(tx, str(read_tag(text))) is not None:
            raise Refusal(f"{read_tag(text)} is stock already: it was kept under that tag.")
        return piece_scanned(tx, text).order
    if kind == "T":
        return bundle_scanned(tx, text).order
    return text


def _refuse_order_in_hand(order: KeptOrder) -> None:
    if order.state == "cancelled" or (order.state == "open" and order.for_stock):
        return
    if order.state == "open":
        raise Refusal(
            f"Order {order.number} is in hand, and its pieces are packed for {order.customer}. "
            "If nobody wants it any more, cancel it first; then its pieces are kept."
        )
    raise Refusal(f"Order {order.number} is {order.state}: nothing of it is left over.")


def _meant(shop: Shop, tx: Tx, order: KeptOrder, text: str, line: int, nth: int) -> _Thing:
    book = book_of(shop, tx, order.book_id)
    made = pieces.pieces_of(tx, order.id)
    by_number = orders.number_is_taken(tx, text.strip())
    kind = read_tag(text).kind if not by_number else "O"
    if kind == "P":
        scanned = piece_scanned(tx, text)
        one = next(one for one in made if one.id == scanned.piece_id)
        if not one.piece.piece:
            raise Refusal(f"{one.piece.title} ({one.tag}) is no piece by itself: put back what was picked for it.")
        return _Thing("", one.piece.path, one.piece.title, (one,))
    path = ""
    if kind == "T":
        bundle = bundle_scanned(tx, text)
        line, path, nth = bundle.line, bundle.path, bundle.copy
    wanted = next((one for one in order.lines if one.number == line), None)
    if wanted is None:
        raise Refusal(f"Order {order.number} has no line {line}.")
    if not 1 <= nth <= wanted.request.quantity:
        raise Refusal(f"Line {line} of order {order.number} is {wanted.request.quantity} × {wanted.title}, not {nth}.")
    path = path or wanted.request.kit
    some = of_kit(made, line, path, wanted.request.quantity).get(nth, ())
    if not some:
        raise Refusal(f"Line {line} of order {order.number} has no pieces: it waits for answers.")
    kit = path.rsplit("/", 1)[-1]
    return _Thing(kit, path, book.kits[kit].title if kit in book.kits else kit, some)


def _others(tx: Tx, order: KeptOrder, thing: _Thing) -> list[KeptPiece]:
    mine = {one.id for one in thing.pieces}
    return [one for one in pieces.pieces_of(tx, order.id) if one.id not in mine]


def _refuse_unmade(shop: Shop, tx: Tx, order: KeptOrder, thing: _Thing, mine: Mapping[int, Sequence[Share]]) -> None:
    """Raises Refusal where a panel is not cut, a bundle is out or nothing is there; for stock, where anything lacks."""
    states = {one.piece.id: one for one in order_state(shop, tx, order).pieces}
    for one in thing.pieces:
        name = f"{one.piece.title} ({one.tag})"
        bundle = states[one.id].bundle
        if bundle is not None and bundle.stage:
            raise Refusal(f"{name} is not here: bundle {bundle.tag} is out. Scan it back to the bench first.")
        if order.for_stock and order.state == "open" and states[one.id].lacks:
            raise Refusal(f"{name} is not ready: {'; '.join(states[one.id].lacks)}.")
        uncut = [share for share in mine[one.id] if not share.is_cut]
        if uncut:
            part = uncut[0].requirement.requirement.key.part
            raise Refusal(
                f"{name} is not made: {part} is not cut or there. Put back what was picked for it, and scrap the rest."
            )
    if not any(share.there for shares in mine.values() for share in shares):
        raise Refusal(f"Nothing was taken for {thing.title}, so there is nothing to keep.")


def _keep(
    shop: Shop,
    tx: Tx,
    order: KeptOrder,
    thing: _Thing,
    mine: Mapping[int, Sequence[Share]],
    place: str,
    stamp: Stamp,
) -> Kept:
    taken = finished.taken_for(tx, order.id)
    covers = _covers(thing, mine, taken)
    lacks = _lacks(catalogue_of(shop, tx), covers)
    amounts = {piece_id: amounts_of(shares) for piece_id, shares in mine.items()}
    worth = _worth(tx, order, amounts, taken)
    of = thing.pieces[0].piece
    before = changed_rows.look(tx, changed_rows.KEPT, orders=[order.id])
    new = NewFinished(
        thing.title,
        of.path.rsplit("/", 1)[-1] if not thing.kit else thing.kit,
        "" if thing.kit else of.piece,
        "" if thing.kit else of.hand,
        order.book_id,
        order.id,
        covers,
        lacks,
        tuple(dict.fromkeys(sentence for one in thing.pieces for sentence in one.piece.changes)),
    )
    holding_id, tag = finished.add_finished(tx, new, place)
    job = ledger.begin_job(tx, f"keep {tag} of order {order.number} in {place}", stamp)
    ledger.append(tx, job, stamp, [Entry(holding_id, "made", 1, worth, f"order {order.number}", order.id)])
    finished.keep_became(tx, amounts, holding_id, "", stamp)
    said = f"{thing.title} was kept for stock, as {tag} in {place}"
    orders.log_change(tx, order.id, job, said, stamp)
    still = _still(shop, tx, order, job, stamp)
    jobs_done.keep_printed(tx, job, [f"tag {tag}"], stamp)
    remember(tx, job, before, touched=[f"holding {holding_id}"], way="keep", knows={"tag": tag, "order": order.number})
    lacking_words = f" It lacks {', '.join(lacks)}." if lacks else ""
    return Kept(
        order.number,
        tag,
        thing.title,
        place,
        tuple(one.tag for one in thing.pieces),
        lacks,
        worth,
        still,
        f"{thing.title} is stock now, as {tag} in {place}.{lacking_words} Print its tag: "
        f"stockroom paper stock-tags {tag}",
    )


def _why_stays_kept(shop: Shop, tx: Tx, job: KeptJob) -> str:  # noqa: ARG001 - the signature of every `why_not`
    """Why a thing that was kept stays stock: a sentence, or ''."""
    thing = finished.finished_by_tag(tx, job.data["tag"])
    if thing is None or not thing.held:
        return f"{job.data['tag']} is not there any more."
    used = finished.used_for(tx, thing.holding_id)
    if used is not None:
        return f"{thing.tag} is promised to order {used[0]}. Let it go first: stockroom unuse {thing.tag}"
    if not thing.is_free:
        return f"{thing.tag} is in quarantine: {thing.quarantined_because}."
    return "" if changed_rows.is_as_left(tx, job.data["rows"]) else "What became of its pieces was changed since."


def _take_back(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:
    """What was kept is no stock any more: it is left over again, or still to be kept."""
    order = orders.order_to_change(tx, undoing.data["order"])
    rows = undoing.data["rows"]
    thing = finished.finished_by_tag(tx, undoing.data["tag"])
    if thing is not None:
        changed_rows.lock(tx, [thing.holding_id])
    if why := _why_stays_kept(shop, tx, undoing.job):
        raise Refusal(why)
    changed_rows.take_away(tx, rows)
    told = reverse_all(tx, undoing)
    changed_rows.bring_again(tx, rows)
    orders.log_change(tx, order.id, undoing.undo_id, f"Undone: {undoing.job.what}", undoing.stamp)
    again = orders.order_by(tx, order.number)
    return (*told, *lying_about(shop, tx, again).sentences)


WAYS_BACK = {"keep": WayBack(_take_back, _why_stays_kept)}


def _still(shop: Shop, tx: Tx, order: KeptOrder, job: int, stamp: Stamp) -> tuple[str, ...]:
    """What is still to be done about the order; one for stock that is kept whole is done with."""
    if order.state == "cancelled":
        return lying_about(shop, tx, order).sentences
    became = finished.became_of(tx, order.id)
    left = [one for one in pieces.pieces_of(tx, order.id) if one.id not in became]
    if not left:
        margins.let_go(tx, order.id)
        orders.set_state(tx, order.id, "kept")
        orders.log_change(tx, order.id, job, "All of it is kept", stamp)
    return tuple(f"{one.piece.title} ({one.tag}) is still to be kept." for one in left)


def _covers(thing: _Thing, mine: Mapping[int, Sequence[Share]], taken: TakenOf) -> tuple[Cover, ...]:
    """What the bill asked for in these pieces, and what of it is there."""
    found: dict[tuple[str, str, str, str], Cover] = {}
    asked: defaultdict[tuple[str, str, str, str], int] = defaultdict(int)
    there: defaultdict[tuple[str, str, str, str], int] = defaultdict(int)
    for one in thing.pieces:
        for share in mine[one.id]:
            requirement = share.requirement.requirement
            inside = "" if not thing.kit else within(thing.path, one.piece.path)
            where = inside, one.piece.piece, requirement.key.part, requirement.key.hand
            asked[where] += share.asked
            there[where] += share.there
            found[where] = Cover(
                *where,
                requirement.need,
                requirement.item,
                asked[where],
                requirement.each_mm,
                requirement.shape,
                there[where],
                taken.lots.get(share.requirement.id, ()),
            )
    return tuple(found.values())


def _lacks(catalogue: Catalogue, covers: Sequence[Cover]) -> tuple[str, ...]:
    return tuple(
        f"{show_amount(catalogue.items[one.item].kind, one.amount - one.there)} of {catalogue.items[one.item].title}"
        for one in lacking(covers)
    )


def _worth(tx: Tx, order: KeptOrder, amounts: Mapping[int, Mapping[int, int]], taken: TakenOf) -> int:
    """What was taken for these pieces was worth: their share of each requirement's, rounded down."""
    in_all = packing.taken_of(tx, order.id)
    return sum(
        taken.worth_minor.get(requirement_id, 0) * amount // in_all[requirement_id]
        for mine in amounts.values()
        for requirement_id, amount in mine.items()
    )
