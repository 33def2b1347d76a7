"""The tables of an order as they are written in TOML.

Heavy (pydantic): imported inside functions only.
"""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import Annotated, Any, Literal, get_args

from pydantic import AfterValidator, BeforeValidator, Field, PlainValidator, StringConstraints

from stockroom.domain.facts import Overruling
from stockroom.domain.kitbook import HoleAs
from stockroom.domain.order import ChangeWhat
from stockroom.domain.stamp import in_capitals
from stockroom.files.border import (
    MOST,
    Allowance,
    Code,
    Expected,
    ItemCode,
    Length,
    Note,
    PieceCode,
    Point,
    RuleThen,
    Strict,
    Text,
    not_expected,
    rows,
)

OrderNumber = Annotated[
    str,
    StringConstraints(pattern=r"^[A-Za-z0-9]+([ .-][A-Za-z0-9]+)*$", max_length=40),
    Expected("an order number of letters and digits, such as 'L-1042'"),
]
ChassisNumber = Annotated[
    str,
    StringConstraints(pattern=r"^[\p{L}\p{M}\p{N}\p{P}\p{S} ]*$", max_length=60),
    Expected("up to 60 letters, figures and blanks"),
]
Initials = Annotated[
    str,
    StringConstraints(pattern=r"^\p{L}[\p{L}\p{M}.\- ]*$", max_length=12),
    AfterValidator(in_capitals),
    Expected("initials, such as 'HM'"),
]
Quantity = Annotated[int, Field(ge=1, le=MOST), Expected(f"a positive whole number, from 1 to {MOST}")]
Said = Annotated[
    str,
    StringConstraints(pattern=r"^([a-z0-9]+(-[a-z0-9]+)*)?$", max_length=60),
    Expected("a code: lower-case words joined by hyphens (or nothing, where it is not known)"),
]
SaidHand = Annotated[Literal["left", "right", ""], Expected("'left' or 'right' (or nothing, where it is not known)")]


def _built(value: Any) -> date | None:
    """The day built; the first of the month where only that is told, `None` where nothing is."""
    if value == "":
        return None
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}(-[0-9]{2})?", value):
        try:
            return date.fromisoformat(value if len(value) == 10 else f"{value}-01")
        except ValueError:
            raise not_expected() from None
    raise not_expected()


Built = Annotated[
    date | None, PlainValidator(_built), Expected("the day or month it was built, such as 1953-06-30 or '1953-06'")
]


def _figures(value: Any) -> Any:
    return str(value) if type(value) is int else value


Measured = Annotated[Text, BeforeValidator(_figures), Expected("the measurement, as text or whole mm")]


class Top(Strict):
    """The top of the file: cars and lines are checked one by one, so that every fault is found."""

    format: Annotated[Literal[1], Expected("1, the only format of orders there is so far")]
    number: OrderNumber | None = None
    customer: Text | None = None
    wanted: object = "open"
    fitted_here: bool = False
    for_stock: bool = False
    book: Code | None = None
    note: Note = ""
    match: Text | None = None
    cars: dict[Text, object] = Field(default_factory=dict)
    lines: list[object] = rows(least=1)
    carried: object = None


def _marked(value: Any) -> tuple[tuple[int, str, str, int, str], ...]:
    if not isinstance(value, list) or not all(
        isinstance(row, list) and [type(cell) for cell in row] == [int, str, str, int, str] for row in value
    ):
        raise not_expected()
    return tuple((row[0], row[1], row[2], row[3], row[4]) for row in value)


Marked = Annotated[
    tuple[tuple[int, str, str, int, str], ...],
    PlainValidator(_marked),
    Expected("rows of line, path, piece, copy and tag"),
]


class Carried(Strict):
    """[carried]: the marks an order bears already"""

    tag: Annotated[str, StringConstraints(pattern=r"^O[0-9]+[0-9A-Z]$", max_length=30), Expected("the tag of an order")]
    version: Text
    by: Text
    at: Annotated[datetime, Expected("a moment with its zone, such as 2026-11-25T08:30:00Z")]
    digest: Annotated[str, StringConstraints(max_length=100), Expected("a digest")] = ""
    pieces: Marked = ()


class Car(Strict):
    """[cars.NAME]"""

    key: Annotated[str, StringConstraints(max_length=300), Expected("how the shop speaks of it")] = ""
    chassis: Annotated[str, StringConstraints(max_length=60), Expected("the chassis number as text")] = ""
    series: Said = ""
    works: Said = ""
    built: Built = None
    hand: SaidHand = ""
    body: Said = ""
    trim: Said = ""
    hood: Said = ""


class Overruled(Strict):
    """[lines.overruled.CODE]"""

    then: RuleThen
    by: Initials
    because: Text

    def overruling(self) -> Overruling:
        then = {True: "true", False: "false"}[self.then] if isinstance(self.then, bool) else str(self.then)
        return Overruling(then, self.by, self.because)


class Change(Strict):
    """[[lines.changes]]: which keys go with which `what` is checked beside it."""

    what: Annotated[ChangeWhat, Expected(f"one of {', '.join(get_args(ChangeWhat))}")]
    because: Text
    by: Initials
    piece: PieceCode = ""
    panel: Code = ""
    part: Text = ""
    to: ItemCode = ""
    mm: Allowance = 0
    count: Annotated[int, Field(ge=0, le=MOST), Expected(f"a whole number from 0 to {MOST}")] = 0
    made: HoleAs | None = None
    at: Point | None = None
    diameter: Length | None = None
    outline: Code | None = None
    points: object = None
    edges: object = None
    notches: object = None
    card: object = None
    set_length: object = None
    proved: bool = False


class Line(Strict):
    """[[lines]]"""

    kit: Code
    quantity: Quantity
    car: Text | None = None
    pieces: list[PieceCode] = rows()
    swatches: list[Text] = rows()
    match: Text | None = None
    choices: dict[Code, Code] = Field(default_factory=dict)
    measurements: dict[Text, Measured] = Field(default_factory=dict)
    changes: list[Change] = rows()
    overruled: dict[Code, Overruled] = Field(default_factory=dict)


class KeptCar(Car):
    """[[cars]] of the file of cars"""

    key: Text
    tag: Annotated[str, StringConstraints(max_length=30), Expected("the tag of a car")] = ""
    changes: list[Change] = rows()


class KeptCars(Strict):
    """The top of the file of cars: they are checked one by one."""

    format: Annotated[Literal[1], Expected("1, the only format of cars there is so far")]
    cars: list[object] = Field(default_factory=list)
