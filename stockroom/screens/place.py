"""Where somebody is: a page, and what it shows."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """A page, and what it shows.

    >>> Place("ticket", ("L-1042",)).first
    'L-1042'
    """

    page: str
    """'rail', 'ticket', 'tag', 'pick', 'bench', 'pack', 'help', a page of `stock_pages`, 'contents' or 'sheet'."""
    named: tuple[str, ...] = ()
    """Orders' numbers, a tag, a place or an item, a sheet's number; nothing where there is only one of the page."""

    @property
    def first(self) -> str:
        """The one thing named, or ''."""
        return self.named[0] if self.named else ""


RAIL = Place("rail")
HELP = Place("help")
