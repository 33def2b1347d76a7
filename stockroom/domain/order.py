"""What a customer asks for, as it arrives: often incomplete."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal

from stockroom.domain.facts import Overruling
from stockroom.domain.kitbook import HoleAs, Shape

ChangeWhat = Literal[
    "hole", "overlong", "outline", "cloth", "colour", "hardware", "count", "leave-out", "add", "not-on-car"
]


@dataclass(frozen=True, slots=True)
class Change:
    """One thing asked for differently on this car.

    | what       | names                      | to                                      |
    |------------|----------------------------|-----------------------------------------|
    | hole       | piece, panel, part = hole  | made; a new hole also x_mm, y_mm, diameter_mm |
    | overlong   | piece, panel, part = edge  | mm                                      |
    | outline    | piece, panel               | shape                                   |
    | cloth      | piece, panel ('' = all)    | to = cloth code                         |
    | colour     | piece, panel ('' = all)    | to = colour code                        |
    | hardware   | piece, part = item code    | to = item code                          |
    | count      | piece, part = item code    | mm = the count                          |
    | leave-out  | piece                      |                                         |
    | add        | piece (any of the book)    |                                         |
    | not-on-car | piece, part = item code    | hardware usually on the car is missing  |
    """

    what: ChangeWhat
    piece: str
    because: str
    by: str
    """Initials."""
    panel: str = ""
    part: str = ""
    to: str = ""
    mm: int = 0
    made: HoleAs | None = None
    x_mm: int = 0
    y_mm: int = 0
    diameter_mm: int = 0
    shape: Shape | None = None
    proved: bool = False
    """Proved on the car: kept with the car for later orders."""


@dataclass(frozen=True, slots=True)
class CarRequest:
    """A car as an order tells of it. Empty or `None`: not said."""

    key: str
    """How the order's lines refer to it, and how a later order finds it again.

    The chassis number, or the shop's own name for the car.
    """
    chassis_number: str = ""
    series: str = ""
    works: str = ""
    built: date | None = None
    hand: str = ""
    body_colour: str = ""
    trim_colour: str = ""
    hood_colour: str = ""


@dataclass(frozen=True, slots=True)
class LineRequest:
    """One line: so many of a kit, or single pieces of it, for one car."""

    kit: str
    quantity: int
    car: str
    """`CarRequest.key`."""
    pieces: tuple[str, ...] = ()
    """Single pieces of the kit; empty for the whole kit."""
    choices: Mapping[str, str] = field(default_factory=dict)
    changes: tuple[Change, ...] = ()
    overruled: Mapping[str, Overruling] = field(default_factory=dict)
    swatches: tuple[str, ...] = ()
    """What a swatch was sent for, each awaited by name ('hood cloth in fawn')."""
    measurements: Mapping[str, str] = field(default_factory=dict)
    """Measurements that came with the order: question → answer."""
    match: str = ""
    """What went out that its cloth is to match: an earlier order's number, a kit's tag, a car; '' for nothing."""


FOR_STOCK = "for stock"
"""Stands in the customer's place of an order that nobody gave."""


@dataclass(frozen=True, slots=True)
class OrderRequest:
    """An order as it arrives."""

    number: str
    """The shop's own number, or empty to be given the next."""
    customer: str
    wanted: date | None
    """`None`: open."""
    fitted_here: bool
    book: str
    """Kit-book code; empty where the shop has one book only."""
    cars: tuple[CarRequest, ...]
    lines: tuple[LineRequest, ...]
    note: str = ""
    for_stock: bool = False
    """Nobody ordered it: what is made is kept as stock. It needs no customer."""


@dataclass(frozen=True, slots=True)
class Wait:
    """A named answer that a line waits for."""

    kind: Literal["option", "fact", "swatch", "measurement", "rule", "material"]
    name: str
    """What the answer is called.

    Option code, fact ('series', 'trim colour'), what the swatch was of, the measurement's question, or the rule list
    that answers for no such car.
    """
    question: str
    choices: tuple[str, ...] = ()
    """What may be answered, where that is a list."""
    holds_up: tuple[str, ...] = ()
    """Pieces that hang on it; empty: the whole line."""


@dataclass(frozen=True, slots=True)
class CarriedOrder:
    """The marks that an order bears already, where it comes from another shop's files."""

    tag: str
    version: str
    """Of the kit book: the one it was taken under."""
    by: str
    """Who took it."""
    at: datetime
    digest: str
    """Of the request as it once came, so that its own file is known again."""
    pieces: tuple[tuple[int, str, str, int, str], ...] = ()
    """Line, path, piece, copy and the tag that is on it."""


@dataclass(frozen=True, slots=True)
class CarriedCar:
    """A car that comes from another shop's files: what is known of it, its tag, what was proved on it."""

    told: CarRequest
    tag: str
    """Empty: it gets the next."""
    proved: tuple[Change, ...] = ()
