"""What a row that is kept looks like, for whoever carries rows from one shop to another without knowing its tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal, TypeAlias

CellKind: TypeAlias = Literal["words", "whole", "real", "yes or no", "moment", "day", "json"]
KeptRow: TypeAlias = Mapping[str, Any]
"""Column → its value as Python has it: `str`, `int`, `float`, `bool`, aware `datetime`, `date`, or plain JSON."""

MOST_WHOLE = 2**63 - 1
"""The largest whole number that both databases keep."""


@dataclass(frozen=True, slots=True)
class KeptColumn:
    """One column: its name, what a value of it is, and whether there may be none."""

    name: str
    kind: CellKind
    may_be_none: bool


@dataclass(frozen=True, slots=True)
class KeptTable:
    """One table and its columns, in their order."""

    name: str
    columns: tuple[KeptColumn, ...]


def to_plain(value: Any) -> Any:
    """A value as JSON has it: a moment in UTC to the microsecond, a day as ISO 8601 writes it.

    >>> to_plain(date(2026, 11, 25))
    '2026-11-25'
    """
    if isinstance(value, datetime):
        return value.isoformat(timespec="microseconds").replace("+00:00", "Z")
    return value.isoformat() if isinstance(value, date) else value


def from_plain(column: KeptColumn, value: Any) -> Any:
    """The value that `to_plain` wrote. Raises ValueError where it is none of the column's kind.

    >>> from_plain(KeptColumn("wanted", "day", True), "2026-11-25")
    datetime.date(2026, 11, 25)
    """
    if value is None:
        if not column.may_be_none:
            raise ValueError("a value is missing")
        return None
    if column.kind == "json":
        return value
    # JSON's true is no number, though Python's is.
    good = isinstance(value, _WRITTEN_AS[column.kind]) and isinstance(value, bool) == (column.kind == "yes or no")
    if not good or (column.kind == "whole" and abs(value) > MOST_WHOLE):
        raise ValueError(f"{value!r} is not of the kind '{column.kind}'")
    if column.kind == "day":
        return date.fromisoformat(value)
    if column.kind == "moment":
        moment = datetime.fromisoformat(value)
        if moment.tzinfo is None:
            raise ValueError(f"{value!r} has no time zone")
        return moment
    return float(value) if column.kind == "real" else value


_WRITTEN_AS: dict[CellKind, type | tuple[type, ...]] = {
    "words": str,
    "whole": int,
    "real": (int, float),
    "yes or no": bool,
    "moment": str,
    "day": str,
}
