"""What may stand in for a cloth that is discontinued or short, and what was taken instead with the customer's yes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from stockroom.domain.catalogue import Cloth, Item
from stockroom.domain.wording import literal


@dataclass(frozen=True, slots=True)
class Substituted:
    """One item that is taken instead of another, since the customer said yes to it."""

    item: str
    """As the kit book has it."""
    instead: str
    """What is taken."""
    yes_from: str
    """Who of the customer's said yes."""
    by: str
    on: date
    note: str = ""

    def sentence(self, titles: Mapping[str, Item]) -> str:
        """It in words, for every paper."""
        note = f", {literal(self.note)}" if self.note else ""
        return (
            f"{_title(titles, self.instead)} instead of {_title(titles, self.item)}: {literal(self.yes_from)} said yes"
            f"{note} ({self.by}, {self.on.isoformat()})."
        )


def permitted(item: Item, items: Mapping[str, Item], cloths: Mapping[str, Cloth]) -> tuple[str, ...]:
    """Codes of the items that may stand in for one: its own, then those of its cloth in the same colour."""
    cloth = cloths.get(item.cloth)
    of_cloth = (f"{one}/{item.colour}" for one in cloth.substitutes) if cloth and item.colour else ()
    known = dict.fromkeys((*item.substitutes, *of_cloth))
    return tuple(code for code in known if code in items and code != item.code and items[code].kind == item.kind)


def stand_in_words(title: str, free: str) -> str:
    """What may stand in, and what is free of it, without a full stop."""
    return f"{title} may stand in, with the customer's yes: {free} free"


def is_discontinued(item: Item, cloths: Mapping[str, Cloth]) -> bool:
    """Whether an item is no more made: its cloth is not, or not in this colour."""
    return item.discontinued or (item.cloth in cloths and cloths[item.cloth].discontinued)


def _title(items: Mapping[str, Item], code: str) -> str:
    return items[code].title if code in items and items[code].title else code
