"""The page of colour drift, to be sent to a supplier: one for each cloth in the colour that was read."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from labels import DriftLot, DriftPaper, drift_pdf
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.drift import ItemDrift, LotShown, drift
from stockroom.jobs.printed import printed_by
from stockroom.store import claims
from stockroom.store.about import read_about
from stockroom.store.database import Shop

if TYPE_CHECKING:
    from labels.drifting import Answer


def drift_pages(shop: Shop, name: str, stamp: Stamp, as_of: date | None = None) -> dict[str, bytes]:
    """Item → its page as PDF. `name`: a colour, one cloth in it, or the tag of a roll.

    Raises Refusal for what is no colour, and where no lot of it can be held against its master.
    """
    found = drift(shop, name, as_of)
    items = [one for one in found.items if one.lots]
    if not items:
        left_out = tuple(sentence for one in found.items for sentence in one.left_out)
        raise Refusal(
            f"There is no page of {found.named}: no lot can be held against a master. {found.said}".strip(), left_out
        )
    with shop.read() as tx:
        about = read_about(tx)
        sellers = {one.item: claims.sellers_of(tx, one.item) for one in items}
    shop_name = about.name if about else ""
    printed = printed_by(stamp) if as_of is None else f"{printed_by(stamp)}, as it was on {as_of}"
    return {one.item: drift_pdf(_page(one, shop_name, sellers[one.item], printed)) for one in items}


def _page(one: ItemDrift, shop: str, sellers: list[str], printed: str) -> DriftPaper:
    master = one.master
    assert master is not None  # what has lots was held against it
    since = f"{master.by}, {master.on}" if master.by else f"{master.on}"
    return DriftPaper(
        shop=shop,
        title=one.title,
        item=one.item,
        supplier=sellers[0] if len(sellers) == 1 else "",
        master=f"L* {master.L:g}, a* {master.a:g}, b* {master.b:g} under {master.under}, of {master.of} ({since})",
        matches_to=one.tolerance,
        eye_to=one.eye_limit,
        how=f"CIEDE2000, kL:kC:kH {one.factors}",
        printed=printed,
        lots=tuple(map(_lot, one.lots)),
        said=one.said,
        apart=tuple(roll.sentence for roll in one.apart),
        left_out=one.left_out,
    )


def _lot(one: LotShown) -> DriftLot:
    answers: dict[str, Answer] = {"matches": "matches", "does not match": "no match"}
    return DriftLot(
        one.lot, one.came, one.L, one.a, one.b, one.dL, one.da, one.db, one.dE00, one.readings, one.spread,
        answers.get(one.words, "by eye"),
    )  # fmt: skip
