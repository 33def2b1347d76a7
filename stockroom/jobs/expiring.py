"""What is past its day, or will be soon: adhesive, solvent and whatever else carries a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from stockroom.domain.refusal import Refusal
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.printed import cautions
from stockroom.store.database import Shop
from stockroom.store.expiring import expiring_until

MOST_DAYS = 3650


@dataclass(frozen=True, slots=True)
class Expiring:
    """One roll or bin with its day."""

    tag: str
    item: str
    title: str
    place: str
    lot: str
    amount: str
    expires: date
    days_left: int
    """Below nothing where the day is past."""
    cautions: tuple[tuple[str, str], ...] = ()
    """Label and words: its hazards, how it is stored and posted, and whose rules come first."""

    @property
    def words(self) -> str:
        """What its day means today."""
        if self.days_left < 0:
            return f"expired on {self.expires}: do not use it; dispose of it as its data sheet and local rules say"
        return f"not to be used after {self.expires} ({'today' if not self.days_left else f'{self.days_left} days'})"


def expiring(shop: Shop, within_days: int, today: date) -> tuple[Expiring, ...]:
    """What is past its day, and what will be within so many days; the earliest first."""
    if not 0 <= within_days <= MOST_DAYS:
        raise Refusal(f"Say within how many days: 0 to {MOST_DAYS}; {within_days} is not.")
    with shop.read() as tx:
        return tuple(
            Expiring(
                one.tag, one.item, one.title, one.place, one.lot, show_amount(one.item_kind, one.held), one.expires,
                (one.expires - today).days, cautions(one.hazards, one.storage, one.posting),
            )
            for one in expiring_until(tx, today + timedelta(days=within_days))
        )  # fmt: skip
