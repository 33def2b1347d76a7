"""An order's ticket: what it is for, what it needs, what is held for it, what it waits for, and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class TicketHold:
    """Where one requirement is held."""

    tag: str
    """Tag of the roll or bin."""
    place: str
    lot: str
    amount: str
    """'from 2.10 m to 3.40 m' of a roll, '1.25 m' of a reel, '8' of a bin."""
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TicketNeed:
    """One requirement as the ticket shows it."""

    line: int
    kit: str
    """Kit path, for people ('Touring set / Full boot set')."""
    piece: str
    part: str
    hand: str
    item: str
    title: str
    """Title of the item."""
    colour: str
    amount: str
    """'1 panel', '3.20 m', '12'."""
    held: str
    """'held', 'part held', 'short' or 'not held yet'."""
    holds: tuple[TicketHold, ...]
    reasons: tuple[str, ...]
    changed: bool


@dataclass(frozen=True, slots=True)
class TicketWait:
    """One answer awaited."""

    line: int
    kind: str
    name: str
    question: str
    choices: tuple[str, ...]
    holds_up: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TicketLine:
    """One line of the order."""

    number: int
    kit: str
    title: str
    quantity: int
    car: str
    car_words: str
    """The car in words: 'RP 2417, Series 1, Ashgate, trim red, body green, hood black'."""
    changes: tuple[str, ...]
    on_car: tuple[str, ...]
    advice: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ticket:
    """One order, whole."""

    number: str
    tag: str
    customer: str
    state: str
    wanted: date | None
    overdue_days: int
    fitted_here: bool
    note: str
    book: str
    """Kit book and version it was taken under."""
    taken_by: str
    taken_at: datetime
    lines: tuple[TicketLine, ...]
    needs: tuple[TicketNeed, ...]
    waits: tuple[TicketWait, ...]
    shortages: tuple[str, ...]
    """What is short, one sentence each, with the reason."""
    history: tuple[str, ...]
    """What was changed since it was taken, with who and when."""
