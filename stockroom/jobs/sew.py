"""Sewing: the panels of an assembly become one piece, which is known by its own tag from then on.

A shop that does not book it need not: what is packed is sewn, whoever said so or not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag, read_tag
from stockroom.domain.wording import listed, unknown
from stockroom.jobs.ready import PieceState, order_state, panel_words, where
from stockroom.jobs.scanned import bundle_scanned, piece_scanned
from stockroom.jobs.way_back import remember
from stockroom.store import catalogue, changed_rows, ledger, orders, sewing
from stockroom.store.database import Shop, Tx
from stockroom.store.orders import KeptOrder


@dataclass(frozen=True, slots=True)
class Sewn:
    """What became one piece each."""

    order: str
    pieces: tuple[tuple[str, str], ...]
    """Tag and title of each piece that is sewn now and was not before."""
    changed_anything: bool
    """False: all of it was sewn before."""
    sentence: str


def sew(shop: Shop, tag: str, stamp: Stamp, at: str = "") -> Sewn:
    """The panels of a piece are sewn together; with the tag of a bundle, those of every piece in it.

    `at`: the stage (code or title) at which that was done, where the bundle has not come back from there yet. Raises
    Refusal for a piece of one panel, where a panel is not cut, and where the bundle is at a stage that nobody named.
    """
    with shop.write() as tx:
        order = _to_sew(tx, tag)
        there = _meant(shop, tx, order, tag)
        fresh = [one for one in there if one.sewn is None]
        if not fresh:
            return Sewn(order.number, (), False, _sewn_already(there))
        _refuse_elsewhere(tx, fresh, at)
        for one in fresh:
            if one.uncut:
                panels = "1 panel" if one.uncut == 1 else f"{one.uncut} panels"
                raise Refusal(f"{one.name} cannot be sewn yet: {panels} of it not cut. Cut first.")
        job = ledger.begin_job(tx, f"sew {listed(one.piece.tag for one in fresh)} of order {order.number}", stamp)
        before = changed_rows.look(tx, changed_rows.SEWN, orders=[order.id])
        sewing.keep_sewn(tx, [one.piece.id for one in fresh], stamp)
        remember(tx, job, before)
        return Sewn(
            order.number, tuple((one.piece.tag, one.piece.piece.title) for one in fresh), True, _sewn_words(fresh)
        )


def _to_sew(tx: Tx, tag: str) -> KeptOrder:
    """The order of a bundle or a piece, which nobody else changes until the job is done."""
    is_bundle = is_tag(tag) and read_tag(tag).kind == "T"
    order = orders.order_to_change(tx, (bundle_scanned(tx, tag) if is_bundle else piece_scanned(tx, tag)).order)
    if order.state != "open":
        raise Refusal(f"Order {order.number} is {order.state}: nothing of it is sewn any more.")
    return order


def _meant(shop: Shop, tx: Tx, order: KeptOrder, tag: str) -> list[PieceState]:
    """The assembly of a piece's tag, or all those in a bundle. Raises Refusal where there is none."""
    if read_tag(tag).kind == "T":
        bundle = bundle_scanned(tx, tag)
        state = order_state(shop, tx, order)
        found = [one for one in state.pieces if one.bundle and one.bundle.id == bundle.id and one.is_assembly]
        if not found:
            raise Refusal(f"In bundle {bundle.tag} no piece has several panels, so nothing of it is sewn together.")
        return found
    scanned = piece_scanned(tx, tag)
    (one,) = (one for one in order_state(shop, tx, order, scanned.piece_id).pieces if one.piece.id == scanned.piece_id)
    if one.from_stock is not None:
        raise Refusal(f"{one.name} is the finished {one.from_stock.tag} of the stock: it is sewn already.")
    if not one.is_assembly:
        raise Refusal(f"{one.name} is not made of several panels, so nothing of it is sewn together.")
    return [one]


def _refuse_elsewhere(tx: Tx, some: Sequence[PieceState], at: str) -> None:
    """Raises Refusal where the bundle is out at another stage than the one that was named."""
    stages = catalogue.read_stages(tx)
    said = at.strip().casefold()
    code = next((one.code for one in stages.values() if said in (one.code.casefold(), one.title.casefold())), "")
    if said and not code:
        raise Refusal(unknown("stage", at.strip(), stages))
    for one in some:
        if one.bundle is not None and one.bundle.stage and one.bundle.stage != code:
            raise Refusal(
                f"{one.name} is in bundle {one.bundle.tag}, which is {where(one.bundle)}. If it was sewn there, say "
                f"so: stockroom sew {one.piece.tag} --at {one.bundle.stage}. Else scan the bundle back in first."
            )


def _sewn_words(fresh: Sequence[PieceState]) -> str:
    if len(fresh) > 1:
        return f"{len(fresh)} pieces are sewn, each one piece from now on: {listed(one.name for one in fresh)}."
    (one,) = fresh
    return f"{one.name} is sewn from {panel_words(one.panels, one.panel_count)}: one piece from now on."


def _sewn_already(there: Sequence[PieceState]) -> str:
    said = listed(f"{one.name} ({one.sewn.by}, {one.sewn.at:%Y-%m-%d})" for one in there if one.sewn is not None)
    return f"Sewn already: {said}. Nothing is booked again."
