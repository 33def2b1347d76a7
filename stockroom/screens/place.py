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
    """'rail', 'ticket', 'tag', 'pick', 'bench', 'pack', 'help', or a page of `stock_pages`."""
    named: tuple[str, ...] = ()
    """Orders' numbers or a tag; nothing for the rail, the bench, help and the pages of the stock."""

    @property
    def first(self) -> str:
        """The one thing named, or ''."""
        return self.named[0] if self.named else ""


RAIL = Place("rail")
HELP = Place("help")
