"""The pages of the stock itself, and how each is reached from wherever one is: by its key, or its name typed.

A page that is reached so has one line in `STOCK_PAGES`; the screen's keys, the key line and the help page follow.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from stockroom.screens.key_line import Key
from stockroom.screens.place import Place


@dataclass(frozen=True, slots=True)
class StockPage:
    """One page and its ways in."""

    page: str
    """As `Place` names it: 'goods'."""
    pressed: str
    """Its key as the toolkit calls it: 'ctrl+g'; '' where it is only typed."""
    shown: str
    """Its key as people read it: '^G'."""
    name: str
    """What it is called in the key line."""
    words: tuple[str, ...]
    """What may be typed for it, in small letters."""
    takes_words: bool = False
    """Whether what can be typed on it may stand right behind its name: 'match red'."""

    @property
    def key(self) -> Key:
        """Its key, for the key line; the help page lists all of these in one line of its own."""
        return Key(self.shown, self.name, f"open_page('{self.page}')", "")


STOCK_PAGES = (
    StockPage("goods", "ctrl+g", "^G", "Goods in", ("goods in",), takes_words=True),
    StockPage("racks", "f10", "F10", "Racks", ("racks",), takes_words=True),
    StockPage("counts", "ctrl+e", "^E", "Counts", ("counts",), takes_words=True),
    StockPage("undo", "ctrl+y", "^Y", "Undo", ("undo",)),
    StockPage("match", "ctrl+d", "^D", "Match", ("match", "matching"), takes_words=True),
    StockPage("low", "", "", "Low", ("low", "running low")),
    StockPage("buying", "", "", "Buying", ("buying", "buy")),
)
"""Every page of the stock, in the order of the key line."""


def keys_in_line(shown: str) -> tuple[Key, ...]:
    """The keys of these pages one by one, for the key line; that of the page that is shown leads nowhere else."""
    return tuple(one.key for one in STOCK_PAGES if one.pressed and one.page != shown)


def keys_in_help() -> Key:
    """The keys of these pages together, for the help page."""
    first, *others = (one for one in STOCK_PAGES if one.pressed)
    names = "; ".join(f"{one.shown} {one.name.lower()}" for one in others)
    typed = ", ".join(one.name.lower() for one in STOCK_PAGES if not one.pressed)
    return Key(first.shown, "", "", f"{first.name.lower()}; {names}; type {typed}")


def page_called(text: str) -> tuple[Place, str] | None:
    """The page whose name was typed, in small letters or large, and what is to be typed there.

    >>> page_called("Goods-In")
    (Place(page='goods', named=()), '')
    >>> page_called("match L-1043")
    (Place(page='match', named=()), 'L-1043')
    >>> page_called("low tide")
    """
    for one in STOCK_PAGES:
        for words in one.words:
            name = words.replace(" ", r"[\s-]+")
            typed = re.fullmatch(rf"{name}(?:\s+(.+))?", text.strip(), re.IGNORECASE)
            if typed and (one.takes_words or not typed[1]):
                return Place(one.page), typed[1] or ""
    return None
