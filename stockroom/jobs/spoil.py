"""A panel that was cut and is spoilt: which, why and who says so, and the cloth for cutting it again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed, quoted
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.pick import open_order
from stockroom.jobs.ready import refuse_unready_packed
from stockroom.jobs.reserve import reserve_in
from stockroom.jobs.scanned import piece_scanned
from stockroom.jobs.way_back import remember
from stockroom.store import bill, changed_rows, holds, ledger, orders, packing, sewing
from stockroom.store.bill import KeptRequirement
from stockroom.store.database import Shop, Tx
from stockroom.store.packing import Owner, SpoiltCut


@dataclass(frozen=True, slots=True)
class SpoiltPanel:
    """What became of a spoilt panel."""

    order: str
    tag: str
    """Tag of its piece."""
    title: str
    panel: str
    item: str
    lot: str
    """The dye lot that it was cut from."""
    planned: tuple[tuple[str, str, str], ...]
    """Where it is to be cut again: tag of the roll, its place, its lot."""
    spoken_for: tuple[str, ...]
    """Numbers of the other orders that hold something of that lot."""
    short: tuple[str, ...]
    """What the order is short of now: sentences."""
    sentence: str
    would_mix: bool = False
    """Whether another lot would do, if somebody approves the mix."""


def spoil(shop: Shop, piece_tag: str, panel: str, because: str, stamp: Stamp) -> SpoiltPanel:
    """A cut panel of a piece is spoilt: it is to be cut again, from the lot that it was of.

    Where nothing of that is free, the order is short of it, and who holds the rest of the lot is named. Another lot is
    taken only where a mix is approved.

    `panel`: its code; '' where the piece has only one. Raises Refusal for one that is not cut yet or is packed.
    """
    if not because.strip():
        raise Refusal("Say how the panel was spoilt, so that the next one is not.")
    with shop.write() as tx:
        piece = piece_scanned(tx, piece_tag)
        order = open_order(tx, piece.order)
        parts = _panels(tx, order.id, piece, panel)
        code = parts[0].requirement.key.part
        before = changed_rows.look(tx, (*changed_rows.TAKING, *changed_rows.SEWN), orders=[order.id])
        cut = _spoil_one(tx, parts, piece, because, stamp)
        if cut is None:
            raise Refusal(
                f"Panel {code} of {piece.title} ({piece.tag}, order {order.number}) is not cut yet: "
                "there is nothing to spoil. Cut it first."
            )
        refuse_unready_packed(shop, tx, order)
        apart = " It was sewn, so it is to be sewn again." if sewing.take_apart(tx, piece.piece_id) else ""
        job = ledger.begin_job(tx, f"panel {code} of piece {piece.tag} of order {order.number} spoilt", stamp)
        orders.log_change(
            tx, order.id, job, f"Panel {code} of {piece.title} ({piece.tag}) was spoilt: {because}", stamp
        )
        reserved = reserve_in(shop, tx, order, stamp)
        remember(tx, job, before)
        ids = {one.id for one in parts}
        planned = tuple(
            (one.tag, one.place, one.lot)
            for one in holds.holds_of(tx, order.id)
            if any(laid[0] in ids for laid in one.panels)
        )
        spoken_for = tuple(packing.lot_spoken_for(tx, cut.item, cut.lot, order.id))
        title = catalogue_of(shop, tx).items[cut.item].title
        again = _from_where(planned, cut, title, spoken_for)
        sentence = f"Panel {code} of {piece.title} ({piece.tag}) is to be cut again{again}{apart}"
        return SpoiltPanel(
            order.number,
            piece.tag,
            piece.title,
            code,
            cut.item,
            cut.lot,
            planned,
            spoken_for,
            reserved.short,
            sentence,
            cut.item in reserved.would_mix,
        )


def _panels(tx: Tx, order_id: int, piece: Owner, panel: str) -> list[KeptRequirement]:
    """The requirements for one panel of a piece: one, or one for each unit that is made."""
    mine = [
        one
        for one in bill.requirements_of(tx, order_id)
        if one.requirement.need == "panel"
        and (one.requirement.key.line, one.requirement.key.piece) == (piece.line, piece.piece)
        and one.requirement.key.path in (piece.path, f"{piece.path}/made")
    ]
    codes = list(dict.fromkeys(one.requirement.key.part for one in mine))
    if not codes:
        raise Refusal(f"{piece.title} ({piece.tag}) has no panels: nothing of it is cut.")
    wanted = panel.strip() or (codes[0] if len(codes) == 1 else "")
    if wanted not in codes:
        asked = f"no panel {quoted(wanted)}" if wanted else "several panels"
        raise Refusal(f"{piece.title} ({piece.tag}) has {asked}. Say which is spoilt: {listed(codes, 'or')}.")
    return [one for one in mine if one.requirement.key.part == wanted]


def _spoil_one(tx: Tx, parts: Sequence[KeptRequirement], piece: Owner, because: str, stamp: Stamp) -> SpoiltCut | None:
    for one in parts:
        cut = packing.spoil_panel(tx, one.id, piece.piece_id, because, stamp)
        if cut is not None:
            return cut
    return None


def _from_where(planned: Sequence[tuple[str, str, str]], cut: SpoiltCut, title: str, spoken_for: Sequence[str]) -> str:
    """The end of the sentence: from which roll, or that there is none, and who holds the rest of the lot."""
    lot = f"dye lot {cut.lot or 'unknown'}"
    held = f"order{'s' if len(spoken_for) > 1 else ''} {listed(spoken_for)}"
    if planned:
        rolls = listed(
            f"roll {tag} in {place}, {f'dye lot {of}' if of else 'of no dye lot'}" for tag, place, of in planned
        )
        others = f" Of {lot}, {held} also hold{'' if len(spoken_for) > 1 else 's'} some." if spoken_for else ""
        return f" from {rolls}.{others}"
    if spoken_for:
        return f", but {title} of {lot} is short. It is spoken for: {held}."
    return f", but {title} of {lot} is short, and nobody else holds any."
