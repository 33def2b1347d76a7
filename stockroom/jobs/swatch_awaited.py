"""Swatches that customers have and have not answered to yet: what is held meanwhile, and which are overdue."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from stockroom.domain.quantities import show_length
from stockroom.domain.shortage import lot_name
from stockroom.domain.wording import quoted
from stockroom.store import margins, swatches
from stockroom.store.database import Shop, Tx
from stockroom.store.swatches import KeptSent


@dataclass(frozen=True, slots=True)
class Awaited:
    """A swatch whose answer is awaited."""

    tag: str
    title: str
    lot: str
    order: str
    customer: str
    line: int
    name: str
    sent: date
    until: date
    overdue_days: int
    """Days that `until` is past; 0 where it is not."""
    held: str
    """How much is held: '2.30 m', 'nothing'."""
    sentence: str


def list_awaited(shop: Shop, today: date) -> tuple[Awaited, ...]:
    """Every swatch whose answer is awaited, what is past its day first."""
    with shop.read() as tx:
        return tuple(awaited_as_told(tx, swatches.awaited(tx), today))


def awaited_as_told(tx: Tx, sent: Sequence[KeptSent], today: date) -> Iterator[Awaited]:
    """These, each with what is held for it."""
    for one in sent:
        held_mm = sum(
            hold.to_mm - hold.from_mm
            for hold in margins.held_for_swatches(tx, one.order_id)
            if hold.sent_id == one.id and one.until >= today
        )
        overdue = max(0, (today - one.until).days)
        held = show_length(held_mm) if held_mm else "nothing"
        if overdue:
            late = (
                f"The answer is overdue since {one.until.isoformat()}, and whoever reserves of the lot finds it free."
            )
        else:
            late = f"{held[0].upper()}{held[1:]} is held until {one.until.isoformat()}."
        sentence = (
            f"{one.title}, {lot_name(one.lot)} ({one.tag}), went to {one.customer} on {one.at:%Y-%m-%d} for line "
            f"{one.line} of order {one.order}, {quoted(one.name)}. {late}"
        )
        yield Awaited(
            one.tag, one.title, one.lot, one.order, one.customer, one.line, one.name, one.at.date(), one.until,
            overdue, held, sentence,
        )  # fmt: skip
