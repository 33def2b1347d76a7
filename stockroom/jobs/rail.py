"""The rail: the orders in hand as job tickets, hung by the date they are wanted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class RailEntry:
    """One order on the rail."""

    number: str
    tag: str
    customer: str
    wanted: date | None
    """`None`: open."""
    overdue_days: int
    """Days past the wanted date; 0 where it is not overdue."""
    fitted_here: bool
    kits: tuple[str, ...]
    """Titles of what was ordered, with their quantity ('2 × Full boot set')."""
    cars: tuple[str, ...]
    needed: int
    """How many requirements the order has now."""
    held: int
    """How many of them are wholly held."""
    waits: int
    """How many answers it waits for."""
    short: tuple[str, ...]
    """What is short, a few words each ('hood cloth, fawn: 1.20 m')."""

    @property
    def ready(self) -> str:
        """How ready it is, in a word: 'held', 'short', 'waits' or 'not held yet'."""
        if self.short:
            return "short"
        if self.waits:
            return "waits"
        return "held" if self.held == self.needed else "not held yet"
