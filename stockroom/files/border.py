"""Kinds of values that a shop's own TOML files hold, each with the words that say what was expected.

Heavy (pydantic): imported inside functions only.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainValidator, StringConstraints
from pydantic_core import PydanticCustomError

from stockroom.domain.kitbook import Ask, HoleAs
from stockroom.domain.quantities import need_mm
from stockroom.domain.refusal import Refusal

LARGEST_MM = 20_000
"""No panel, edge or strip of a car's trim is longer; a larger figure is a slip of the pen."""
MOST = 10_000
"""Most of one thing in a piece, kit or order line."""
MOST_ROWS = 1_000
"""Entries of one list: pieces of a kit, holes of a panel, lines of an order."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What a field should hold, in words that follow 'expected'."""

    words: str


class Strict(BaseModel):
    """A table whose keys are all known, and whose values are exactly what they should be."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


def not_expected() -> PydanticCustomError:
    """The fault 'this is not what was expected', in the field's own words."""
    return PydanticCustomError("not_expected", "not what was expected")


def wrong(words: str) -> PydanticCustomError:
    """A fault with words of its own."""
    return PydanticCustomError("wrong", "{words}", {"words": words})


def rows(least: int = 0) -> Any:
    """A list of a bearable length, empty where it is not written and may be."""
    if least:
        return Field(min_length=least, max_length=MOST_ROWS)
    return Field(default_factory=list, max_length=MOST_ROWS)


_HIDDEN = r"\p{Cc}\x{2028}-\x{202E}\x{2066}-\x{2069}\x{FEFF}"
"""Control characters, line separators, and the marks that turn the direction of text: nothing that can be read."""
_LINE = rf"^[^{_HIDDEN}]*[^{_HIDDEN}\s][^{_HIDDEN}]*$"
_LINES = rf"^(?:[^{_HIDDEN}]|[\n\t\r])*$"
_CODE = r"[a-z0-9]+(-[a-z0-9]+)*"
_PIECE_CODE = r"[A-Za-z0-9]+(-[A-Za-z0-9]+)*"
_ITEM = r"[A-Za-z0-9]+([-./][A-Za-z0-9]+)*"
CODE = re.compile(rf"(?=.{{1,60}}\Z){_CODE}")
CODE_WORDS = "a code: lower-case words joined by hyphens, such as 'boot-floor'"
PIECE_CODE = re.compile(rf"(?=.{{1,20}}\Z){_PIECE_CODE}")
PIECE_CODE_WORDS = "a short piece code: letters, digits and hyphens, such as 'BF'"
ITEM_CODE = re.compile(rf"(?=.{{1,120}}\Z){_ITEM}")

Text = Annotated[
    str,
    StringConstraints(pattern=_LINE, max_length=300),
    Expected("text in one line, up to 300 characters and none of them invisible"),
]
Note = Annotated[
    str,
    StringConstraints(pattern=_LINES, max_length=4000),
    Expected("text of up to 4000 characters, none of them control characters"),
]
Code = Annotated[
    str,
    StringConstraints(pattern=f"^{_CODE}$", max_length=60),
    Expected(CODE_WORDS),
]
PieceCode = Annotated[
    str,
    StringConstraints(pattern=f"^{_PIECE_CODE}$", max_length=20),
    Expected(PIECE_CODE_WORDS),
]
ItemCode = Annotated[
    str,
    StringConstraints(pattern=f"^{_ITEM}$", max_length=120),
    Expected("an item code: letters and digits joined by hyphens, such as 'snap-fastener-cap'"),
]
Whole = Annotated[int, Field(ge=0, le=99_999_999), Expected("a whole number, 0 or more")]
Count = Annotated[int, Field(ge=1, le=MOST), Expected(f"a whole number from 1 to {MOST}")]
PointPart = Annotated[int, Field(ge=-LARGEST_MM, le=LARGEST_MM), Expected(f"whole mm, at most {LARGEST_MM} off zero")]
Point = Annotated[list[PointPart], Field(min_length=2, max_length=2), Expected("a point of two whole mm: [x, y]")]
EdgeEnds = Annotated[
    list[Annotated[int, Expected("the number of a point, counted from 0")]],
    Field(min_length=2, max_length=2),
    Expected("the numbers of its first and last point: [first, last]"),
]


def _mm(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    try:
        return need_mm(value)
    except Refusal:
        raise not_expected() from None


Length = Annotated[
    int,
    BeforeValidator(_mm),
    Field(ge=1, le=LARGEST_MM),
    Expected(f"a length from 1 to {LARGEST_MM} in whole mm, or text with a unit, such as '1.2 m'"),
]
Allowance = Annotated[
    int,
    BeforeValidator(_mm),
    Field(ge=0, le=LARGEST_MM),
    Expected(f"an allowance from 0 to {LARGEST_MM} in whole mm, or text with a unit, such as '20 mm'"),
]


def _ask(value: Any) -> Ask | None:
    """The rule list that `{ rule = ".." }` names; `None` where the value is no such table."""
    if not isinstance(value, dict):
        return None
    if set(value) != {"rule"} or not (isinstance(value["rule"], str) and CODE.fullmatch(value["rule"])):
        raise not_expected()
    return Ask(value["rule"])


def _code_or_rule(value: Any) -> str | Ask:
    asked = _ask(value)
    if asked is not None:
        return asked
    if isinstance(value, str) and ITEM_CODE.fullmatch(value):
        return value
    raise not_expected()


def _colour_or_rule(value: Any) -> str | Ask:
    return value if value in ("@trim", "@body", "@hood") else _code_or_rule(value)


def _count_or_rule(value: Any) -> int | Ask:
    asked = _ask(value)
    if asked is not None:
        return asked
    if type(value) is int and 1 <= value <= MOST:
        return value
    raise not_expected()


def _bool_or_rule(value: Any) -> bool | Ask:
    asked = _ask(value)
    if asked is not None:
        return asked
    if isinstance(value, bool):
        return value
    raise not_expected()


def _hole_or_rule(value: Any) -> HoleAs | Ask:
    asked = _ask(value)
    if asked is not None:
        return asked
    done: dict[object, HoleAs] = {"cut": "cut", "marked": "marked", "solid": "solid"}
    if isinstance(value, str) and value in done:
        return done[value]
    raise not_expected()


def _then(value: Any) -> str | int | bool:
    if isinstance(value, bool) or (type(value) is int and 0 <= value <= MOST):
        return value
    if isinstance(value, str) and ITEM_CODE.fullmatch(value.removeprefix("@")):
        return value
    raise not_expected()


_RULE = '{ rule = "name of a rule list" }'
CodeOrRule = Annotated[str | Ask, PlainValidator(_code_or_rule), Expected(f"a code, or {_RULE}")]
ColourOrRule = Annotated[
    str | Ask,
    PlainValidator(_colour_or_rule),
    Expected(f"'@trim', '@body' or '@hood' (the car's own colour), a colour code, or {_RULE}"),
]
CountOrRule = Annotated[
    int | Ask, PlainValidator(_count_or_rule), Expected(f"a whole number from 1 to {MOST}, or {_RULE}")
]
BoolOrRule = Annotated[bool | Ask, PlainValidator(_bool_or_rule), Expected(f"true or false, or {_RULE}")]
HoleOrRule = Annotated[HoleAs | Ask, PlainValidator(_hole_or_rule), Expected(f"'cut', 'marked' or 'solid', or {_RULE}")]
RuleThen = Annotated[
    str | int | bool,
    PlainValidator(_then),
    Expected(f"a code, a whole number from 0 to {MOST}, or true or false"),
]


def _one_or_more(value: Any) -> tuple[str, ...]:
    values = value if isinstance(value, list) else [value]
    if not values or not all(isinstance(word, str) and CODE.fullmatch(word) for word in values):
        raise not_expected()
    return tuple(dict.fromkeys(values))


OneOrMore = Annotated[
    tuple[str, ...], PlainValidator(_one_or_more), Expected('a code, or a list of codes: ["s1", "s2"]')
]
Hand = Literal["left", "right"]


def _day(value: Any) -> date:
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise not_expected() from None
    raise not_expected()


Day = Annotated[date, PlainValidator(_day), Expected("a day, such as 1953-06-30")]
