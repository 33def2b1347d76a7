"""The claim on a supplier: for a roll that was shorter than it was received with, or that has flaws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from labels import ClaimPaper, Flaw, ShortLength, claim_pdf
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed
from stockroom.jobs.inspect_words import inspected_words
from stockroom.jobs.printed import printed_by
from stockroom.store import arrivals, claims, inspections, tagged
from stockroom.store.about import read_about
from stockroom.store.claims import Counted, RollOrigin
from stockroom.store.database import Shop, Tx
from stockroom.store.replaced_tags import scanned_tag


@dataclass(frozen=True, slots=True)
class _Sold:
    """By whom a roll was sold, as far as the books say."""

    supplier: str
    purchase: str
    remark: str
    delivery: str = ""


def claim(shop: Shop, roll_tag: str, stamp: Stamp) -> bytes:
    """The claim for a roll as PDF.

    Raises Refusal for anything but a roll, and for one that is as long as it came and has no flaw written down.
    """
    with shop.read() as tx:
        tag = str(scanned_tag(tx, roll_tag))
        held = next((one for one in tagged.holdings_by_tag(tx, [tag]) if one.kind == "roll"), None)
        if held is None:
            raise Refusal(f"{tag} is no roll of this shop. Scan the tag of the roll that is claimed for.")
        origin = claims.origin_of(tx, held.id)
        # A remnant is as long as we cut it: only the roll it comes from was sold with a length.
        short = None if held.remnant else _short(claims.received_mm(tx, held.id), claims.counts_of(tx, held.id))
        if short is None and not held.flaws:
            raise Refusal(_nothing(tag, held.remnant, origin.tag))
        sold = _sold(tx, held.item, origin)
        inspected = inspections.latest_of(tx, held.id)
        about = read_about(tx)
    remnant = f"{tag} is a remnant of roll {origin.tag}." if origin.tag != tag else ""
    return claim_pdf(
        ClaimPaper(
            shop=about.name if about else "",
            supplier=sold.supplier,
            roll_code=tag,
            item=held.item,
            title=held.title,
            printed=printed_by(stamp),
            purchase=sold.purchase,
            delivery=sold.delivery,
            label=origin.label,
            colour=held.colour,
            dye_lot=held.lot,
            width=show_length(held.width_mm),
            received=origin.received_on.isoformat() if origin.received_on else "",
            remark=" ".join(filter(None, (remnant, sold.remark, inspected_words(inspected) if inspected else ""))),
            short=short,
            flaws=tuple(Flaw(f"{show_length(a)} to {show_length(b)}", what) for a, b, what in sorted(held.flaws)),
            flawed=f"{show_length(_covered(held.flaws))} in all." if held.flaws else "",
        )
    )


def _nothing(tag: str, remnant: bool, origin: str) -> str:
    if remnant and origin != tag:
        return f"{tag} is a remnant of roll {origin} and has no flaw written down. Claim a short length for that roll."
    if remnant:
        return f"{tag} is a remnant and has no flaw written down: what it was cut from is not known."
    return (
        f"There is nothing to claim for roll {tag}: it was found no shorter than it came, and no flaw of it is "
        "written down. Measure it, or write its flaw down, first."
    )


def _short(received_mm: int, counts: Sequence[Counted]) -> ShortLength | None:
    """How much shorter a roll was than it came; `None` where it was not."""
    missing_mm = -sum(one.by_mm for one in counts)
    if missing_mm <= 0:
        return None
    return ShortLength(
        show_length(received_mm),
        show_length(received_mm - missing_mm),
        f"{show_length(missing_mm)} less than it came in with.",
        tuple(
            f"{show_length(abs(one.by_mm))} {'less' if one.by_mm < 0 else 'more'} than the books said, "
            f"found by {one.by} on {one.at:%Y-%m-%d}."
            for one in counts
        ),
    )


def _covered(flaws: Sequence[tuple[int, int, str]]) -> int:
    """Length that flaws take together, mm; where two overlap, once."""
    covered = end = 0
    for first, last, _ in sorted(flaws):
        covered += max(0, last - max(first, end))
        end = max(end, last)
    return covered


def _sold(tx: Tx, item: str, origin: RollOrigin) -> _Sold:
    """Whose roll it was: as it was received, else the purchase that its label begins with, else its one seller."""
    came, label = arrivals.came_with(tx, origin.holding_id), origin.label
    if came is not None and came.supplier:
        return _Sold(came.supplier, came.purchase, "", came.delivery)
    purchases = claims.purchases_of(tx, item)
    named = [one for one in purchases if label == one[0] or label.startswith(f"{one[0]} ")]
    if len(named) == 1:
        return _Sold(named[0][1], named[0][0], "")
    sellers = list(dict.fromkeys([*claims.sellers_of(tx, item), *(name for _, name in purchases)]))
    if len(sellers) == 1:
        return _Sold(sellers[0], "", "The supplier is the only one in the books who sells it.")
    if not sellers:
        return _Sold("", "", "The books name no supplier of it.")
    return _Sold("", "", f"Suppliers of it in the books: {listed(sellers)}. Which of them sold this roll is not kept.")
