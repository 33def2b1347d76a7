"""How one item stands: what there is of it, what is to come, what orders in hand still need, who sells it.

Quantities in mm or count.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stockroom.domain.catalogue import Item
from stockroom.domain.offer import Offer
from stockroom.domain.substitutes import stand_in_words
from stockroom.domain.weeks import Week


@dataclass(frozen=True, slots=True)
class Due:
    """What is still to come of one purchase."""

    reference: str
    day: date
    quantity: int
    """mm or count, more than 0."""


@dataclass(frozen=True, slots=True)
class OneLot:
    """What one order needs of a cloth for one matching group of one car: all of it in one dye lot."""

    order: str
    quantity: int
    """mm, more than 0."""


@dataclass(frozen=True, slots=True)
class OpenNeed:
    """What orders in hand, or what is to be made here, need of one item in one week and do not hold yet."""

    week: Week | None
    """Week they are wanted in; `None`: with no date."""
    quantity: int
    """mm or count, more than 0. Of cloth: a length never shorter than the panels take."""
    orders: tuple[str, ...]
    """Numbers of the orders; empty where it is needed to make something."""
    out_of_reach: int = 0
    """So much of it that nothing free will serve (no piece long enough, no one lot): only new goods do. More than the
    quantity where what is held already must be of one lot with it, and would come anew."""
    to_make: str = ""
    """What it is needed to make, where that is proposed and not ordered: '3 of tool-bag'."""
    in_one_lot: tuple[OneLot, ...] = ()
    """Of what is out of reach, what must come in one lot each."""
    from_one_lot: tuple[OneLot, ...] = ()
    """What is within reach as far as is known, each of it in one lot: it shares what is free of the lots."""


@dataclass(frozen=True, slots=True)
class HeldFor:
    """What is held for orders that are wanted in one week: it counts as reserved, and as demand that is met."""

    week: Week | None
    quantity: int


@dataclass(frozen=True, slots=True)
class Standing:
    """How one item stands: all that a proposal is made from. Quantities in mm or count."""

    item: Item
    held: int
    """Not in quarantine."""
    reserved: int
    quarantined: int
    """Held besides, in quarantine: not counted."""
    dues: tuple[Due, ...]
    needs: tuple[OpenNeed, ...]
    offers: tuple[Offer, ...]
    """The preferred first; the first whose terms are possible is taken."""
    discontinued: bool = False
    low: str = ""
    """That somebody at the shelf says it runs out: 'low-stock tag scanned by HM on 2026-11-20'."""
    worth_minor: int = 0
    """What is held of it is worth, at what was paid, in the shop's currency."""
    held_for: tuple[HeldFor, ...] = ()
    """Of `reserved`, what orders in hand are known to hold, by the week they are wanted in."""
    stand_ins: tuple[tuple[str, int], ...] = ()
    """What may stand in for it, with the customer's yes: its title, and how much of it is free."""

    lots: tuple[int, ...] = ()
    """What is free of each dye lot, where that matters to a need."""

    @property
    def free(self) -> int:
        """Held and not reserved."""
        return self.held - self.reserved

    @property
    def stand_in_words(self) -> tuple[str, ...]:
        """What may stand in for it, in a few words each."""
        return tuple(stand_in_words(title, self.shown(free)) for title, free in self.stand_ins)

    def shown(self, quantity: int) -> str:
        """A quantity of it, for people."""
        return self.item.shown(quantity)
