"""One line of an exploded bill of materials, with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple


class Key(NamedTuple):
    """What a requirement is known by within an order, so that a change of the order is a difference by key."""

    line: int
    """Number of the order line, from 1."""
    path: str
    """Kits from the line's kit inwards, joined by '/'."""
    piece: str
    """Piece code; empty for hardware or spare of the kit itself."""
    part: str
    """Panel code, or what narrow goods and hardware are for: 'bound:CODE', 'hardware:CODE', 'strip:CODE:n'."""
    hand: str
    """'left', 'right' or ''."""
    unit: int = 0
    """For what a made-up item is made of: which of the units (from 1) it makes; 0 otherwise."""


Need = Literal["panel", "length", "count", "made"]
"""How it is held: a panel by a planned cut, narrow goods by length, hardware by count; a made-up item by count
too, from stock first."""


@dataclass(frozen=True, slots=True)
class PanelShape:
    """What is cut: the shape on the cloth with its over-long edges included, ready to be laid."""

    points: tuple[tuple[int, int], ...]
    """Closed outline in whole mm, lower left of its box at (0, 0); y along the roll when laid `along`."""
    width_mm: int
    """Extent in x; 0: the whole width of the roll."""
    length_mm: int
    """Extent in y."""
    way: str
    """'along', 'across' or 'any'."""
    holes: tuple[tuple[str, int, int, int, str], ...] = ()
    """name, x, y, diameter (mm, in the shape's own coordinates), 'cut' | 'marked' | 'solid'."""
    notches: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Requirement:
    """So much of one item, for one line of an order, and why."""

    key: Key
    need: Need
    item: str
    """Item code."""
    quantity: int
    """Panels: how many. Length: mm in all. Count and made: how many."""
    each_mm: int
    """Length goods: the longest single run, which must not be pieced from two ends; 0 otherwise."""
    group: str
    """Matching group, or ''."""
    reasons: tuple[str, ...]
    """Why this item, why so much: sentences."""
    shape: PanelShape | None = None
    changed: bool = False
    """Differs from the book because of this car's changes or an overruled rule."""


@dataclass(frozen=True, slots=True)
class PieceMade:
    """One physical piece of an order that gets its own tag."""

    line: int
    path: str
    piece: str
    copy: int
    """From 1, over the line's quantity and the piece's count."""
    title: str
    hand: str
    group: str
    note: str
    steps: tuple[int, ...]
    """Which steps of the car's fitting list it comes up in, from 1."""
    steps_in_all: int
    holes_left: tuple[str, ...]
    """Holes left marked or solid, in words."""
    changed: bool
    changes: tuple[str, ...] = ()
    """This car's changes, in words."""


@dataclass(frozen=True, slots=True)
class FittingStep:
    """One step of the fitting sheet of one car."""

    number: int
    do: str
    pieces: tuple[str, ...]
    kit: str
    unbolt: str = ""
    refit: str = ""
    caution: str = ""


@dataclass(frozen=True, slots=True)
class AlreadyOnCar:
    """Hardware that the kit reckons with but that is on the car already: listed, not required."""

    line: int
    path: str
    piece: str
    item: str
    count: int
    half: str
