"""Bundles: the cut panels of one kit are tied and tagged, go out to a stage of the sewing room and come back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import unknown
from stockroom.jobs.lookup import book_of
from stockroom.jobs.pick import open_order
from stockroom.jobs.rail import overdue_days
from stockroom.jobs.ready import MadeOf, key_of, made_of, where
from stockroom.jobs.scanned import bundle_scanned
from stockroom.jobs.ticket import kit_words
from stockroom.jobs.way_back import remember
from stockroom.store import bundles, catalogue, changed_rows, jobs_done, ledger, orders, pieces
from stockroom.store.bundles import Assembly, KeptBundle
from stockroom.store.database import Shop, Tx
from stockroom.store.orders import KeptOrder
from stockroom.store.pieces import KeptPiece


@dataclass(frozen=True, slots=True)
class TiedBundle:
    """One bundle of an order."""

    tag: str
    kit: str
    """Kit path, for people."""
    copy: int
    """Which of the line's kits it is of, from 1."""
    pieces: tuple[tuple[str, str], ...]
    """Tag and title of each piece whose panels are in it."""
    just_tied: bool
    """False: it was tied before."""


@dataclass(frozen=True, slots=True)
class Tied:
    """What tying did."""

    order: str
    bundles: tuple[TiedBundle, ...]
    """Every bundle of the order."""
    not_cut: tuple[str, ...]
    """Kits that cannot be tied yet, and why: sentences."""
    changed_anything: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class BundleMoved:
    """What a scan of a bundle did."""

    tag: str
    order: str
    kit: str
    where: str
    """Where it is now, in words."""
    changed_anything: bool
    """False: it was there already."""
    sentence: str


@dataclass(frozen=True, slots=True)
class BenchBundle:
    """One bundle as the bench sees it."""

    tag: str
    order: str
    customer: str
    kit: str
    where: str
    """'at the bench', or 'out: ' and the stage with who has it."""
    stage: str
    """Code of the stage; '' at the bench."""
    holder: str
    since: datetime
    days: int
    """Whole days since then."""
    by: str
    """Who scanned it last."""
    pieces: int
    wanted: date | None
    overdue_days: int
    assemblies: tuple[Assembly, ...] = ()
    """The pieces that several of its panels are sewn into."""
    is_left_over: bool = False
    """Its order is cancelled: it is kept or scrapped."""


def tie(shop: Shop, number: str, stamp: Stamp) -> Tied:
    """Ties every kit of an order all of whose panels are cut, and names those that are not.

    What was tied before stays. Raises Refusal where nothing is tied and nothing can be.
    """
    with shop.write() as tx:
        order = open_order(tx, number)
        made = pieces.pieces_of(tx, order.id)
        of = made_of(tx, order, made)
        book = book_of(shop, tx, order.book_id)
        there = {(one.line, one.path, one.copy): one for one in bundles.bundles_of(tx, order.id)}
        before = changed_rows.look(tx, changed_rows.BUNDLES, orders=[order.id])
        fresh: dict[str, None] = {}
        not_cut: list[str] = []
        for kit, some in _kits(order, made):
            panels = [one for one in some if of[key_of(one)].has_panels(one.piece.copy)]
            why = _why_not(some, of)
            if kit in there or not (panels or why):
                continue
            if why:
                nth = f", number {kit[2]}" if _of_line(order, kit[0]) > 1 else ""
                not_cut.append(f"{kit_words(book, kit[1])}{nth} (line {kit[0]}): {'; '.join(why)}.")
            else:
                fresh[bundles.keep_bundle(tx, order.id, kit, [one.id for one in panels], stamp)[1]] = None
        if not fresh and not there:
            why_none = not_cut[0] if not_cut else "It has no panels to tie."
            raise Refusal(f"Nothing of order {order.number} can be tied yet. {why_none}", faults=tuple(not_cut[1:]))
        if fresh:
            bundles.mark_packed(tx, order.id)  # its pieces may have been packed before it was tied
            job = ledger.begin_job(tx, f"tie order {order.number}", stamp)
            remember(tx, job, before)
            jobs_done.keep_printed(tx, job, [f"tag {tag}" for tag in fresh], stamp)
        return Tied(
            order.number,
            tuple(_tied(tx, order, kit_words(book, one.path), one, made, one.tag in fresh)
                  for one in bundles.bundles_of(tx, order.id)),
            tuple(not_cut),
            bool(fresh),
            _tied_sentence(order, list(fresh), [one.tag for one in there.values()]),
        )  # fmt: skip


def _kits(order: KeptOrder, made: list[KeptPiece]) -> Iterator[tuple[tuple[int, str, int], list[KeptPiece]]]:
    """The pieces of each kit: of each of a line's kits, kit within kit."""
    copies: defaultdict[tuple[int, str, str], int] = defaultdict(int)
    for one in made:
        copies[key_of(one)] += 1
    kits: defaultdict[tuple[int, str, int], list[KeptPiece]] = defaultdict(list)
    for one in made:
        in_a_set = max(1, copies[key_of(one)] // _of_line(order, one.piece.line))
        kits[one.piece.line, one.piece.path, (one.piece.copy - 1) // in_a_set + 1].append(one)
    yield from sorted(kits.items(), key=lambda kit: kit[0])


def _of_line(order: KeptOrder, number: int) -> int:
    return next(line.request.quantity for line in order.lines if line.number == number)


def _why_not(some: list[KeptPiece], of: dict[tuple[int, str, str], MadeOf]) -> list[str]:
    """Why the panels of these pieces cannot be tied yet."""
    why = []
    for one in some:
        mine = of[key_of(one)]
        uncut = mine.uncut(one.piece.copy)
        if not mine.is_settled(one.piece.copy):
            why.append(f"{one.piece.title} ({one.tag}) is not held yet")
        elif uncut:
            panels = "1 panel" if uncut == 1 else f"{uncut} panels"
            why.append(f"{panels} of {one.piece.title} ({one.tag}) not cut")
    return why


def _tied(tx: Tx, order: KeptOrder, kit: str, bundle: KeptBundle, made: list[KeptPiece], just_tied: bool) -> TiedBundle:
    mine = {piece for piece, its in bundles.bundled_of(tx, order.id).items() if its == bundle.id}
    there = tuple((one.tag, one.piece.title) for one in made if one.id in mine)
    return TiedBundle(bundle.tag, kit, bundle.copy, there, just_tied)


def _tied_sentence(order: KeptOrder, fresh: list[str], before: list[str]) -> str:
    if fresh:
        return f"Order {order.number}: {len(fresh)} tied, {', '.join(fresh)}. Print the tags and tie them on."
    return f"Order {order.number} was tied before, {', '.join(before)}. Nothing is tied again."


def out(shop: Shop, bundle_tag: str, stage: str, holder: str, stamp: Stamp) -> BundleMoved:
    """A bundle goes out to a stage (by its code), to a person where the stage does not say who.

    Scanned out to where it is already, nothing happens. Raises Refusal for an unknown stage or a packed bundle.
    """
    with shop.write() as tx:
        bundle = _to_move(tx, bundle_tag)
        stages = catalogue.read_stages(tx)
        if not stages:
            raise Refusal("This shop has named no stages of its sewing room yet. Load a table of stages first.")
        said = stage.strip().casefold()
        stage = next(
            (one.code for one in stages.values() if said in (one.code.casefold(), one.title.casefold())), stage
        )
        if stage not in stages:
            raise Refusal(unknown("stage", stage, stages))
        if bundle.state == "left over":
            raise Refusal(f"Bundle {bundle.tag} is of order {bundle.order}, which is cancelled: keep it, or scrap it.")
        if bundle.state == "packed":
            raise Refusal(f"Bundle {bundle.tag} is packed. Unpack a piece of it before it goes out again.")
        who = holder.strip()
        if (bundle.stage, bundle.holder) == (stage, who):
            return _moved(shop, tx, bundle, False, f"Bundle {bundle.tag} is {where(bundle)} already.")
        to_whom = f" ({who})" if who else ""
        job = ledger.begin_job(tx, f"bundle {bundle.tag} of order {bundle.order} out to {stage}{to_whom}", stamp)
        before = changed_rows.look(tx, changed_rows.BUNDLES, orders=[bundle.order_id])
        bundles.move_bundle(tx, bundle.id, stage, who, stamp)
        remember(tx, job, before)
        now = bundle_scanned(tx, bundle.tag)
        return _moved(shop, tx, now, True, f"Bundle {now.tag} of order {now.order} is {where(now)}.")


def back(shop: Shop, bundle_tag: str, stamp: Stamp) -> BundleMoved:
    """A bundle is back at the bench. Scanned in when it is there already, nothing happens."""
    with shop.write() as tx:
        bundle = _to_move(tx, bundle_tag)
        if not bundle.stage:
            return _moved(shop, tx, bundle, False, f"Bundle {bundle.tag} is at the bench already.")
        job = ledger.begin_job(tx, f"bundle {bundle.tag} of order {bundle.order} back at the bench", stamp)
        before = changed_rows.look(tx, changed_rows.BUNDLES, orders=[bundle.order_id])
        bundles.move_bundle(tx, bundle.id, None, "", stamp)
        remember(tx, job, before)
        now = bundle_scanned(tx, bundle.tag)
        return _moved(shop, tx, now, True, f"Bundle {now.tag} of order {now.order} is back at the bench.")


def _to_move(tx: Tx, tag: str) -> KeptBundle:
    """The bundle, whose order nobody else changes until the job is done (a piece of it may be packed meanwhile)."""
    orders.order_to_change(tx, bundle_scanned(tx, tag).order)
    return bundle_scanned(tx, tag)


def _moved(shop: Shop, tx: Tx, bundle: KeptBundle, changed_anything: bool, sentence: str) -> BundleMoved:
    kit = kit_words(book_of(shop, tx, bundle.book_id), bundle.path)
    return BundleMoved(bundle.tag, bundle.order, kit, where(bundle), changed_anything, sentence)


def stages(shop: Shop) -> tuple[tuple[str, str], ...]:
    """Code and title of the shop's stages, in their turn."""
    with shop.read() as tx:
        return tuple((one.code, one.title) for one in catalogue.read_stages(tx).values())


def bench(shop: Shop, now: datetime) -> tuple[BenchBundle, ...]:
    """Every bundle that is not packed yet, the earliest wanted first."""
    with shop.read() as tx:
        sewn = bundles.assemblies_of_tied(tx)
        return tuple(_on_bench(shop, tx, one, now, sewn.get(one.id, ())) for one in bundles.bundles_tied(tx))


def _on_bench(shop: Shop, tx: Tx, one: KeptBundle, now: datetime, sewn: Sequence[Assembly]) -> BenchBundle:
    return BenchBundle(
        one.tag,
        one.order,
        one.customer,
        kit_words(book_of(shop, tx, one.book_id), one.path),
        where(one),
        one.stage,
        one.holder,
        one.since,
        max(0, (now - one.since).days),
        one.by,
        one.pieces,
        one.wanted,
        overdue_days(one.wanted, now.date()),
        tuple(sewn),
        one.state == "left over",
    )
