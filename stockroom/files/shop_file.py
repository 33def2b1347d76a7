"""shop.toml: what a shop says of itself."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from datetime import date, datetime
from zoneinfo import ZoneInfo

from stockroom.domain.about import About
from stockroom.domain.colour_difference import FACTORS, USUAL_FACTORS
from stockroom.domain.counting import USUAL_PERCENT
from stockroom.domain.four_point import USUAL_LEVEL
from stockroom.domain.quantities import money_minor
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import KINDS
from stockroom.domain.wording import nearest, quoted
from stockroom.files.faults import Faults
from stockroom.files.toml_text import Document, shown

_KEYS = (
    "format", "name", "time_zone", "currency", "opening", "most_points", "recount_length", "recount_count",
    "colour_factors", "order_cost", "keeping_percent", "last_tags", "last_order",
)  # fmt: skip
_LONGEST_NAME = 120
_MOST_POINTS = 1000
_ALL = 100
_MOST_SERIALS = 10**12
_FIRST_YEAR, _LAST_YEAR = 1900, 2199
"""Years of opening days: days well before and after them can still be reckoned."""


def read_about(document: Document, faults: Faults) -> About | None:
    """What shop.toml says; `None` where it has faults, each of which is named."""
    before = faults.count
    data = document.data

    def fault(key: str, sentence: str) -> None:
        faults.add(f"{document.place((key,))}: {sentence}")

    for key in data:
        if key not in _KEYS:
            near = nearest(key, _KEYS)
            fault(key, f"the key is not known.{f' The nearest name is {near!r}.' if near else ''}")
    if data.get("format") != 1 or isinstance(data.get("format"), bool):
        fault("format", f"{_found(data.get('format'))}; format = 1 was expected.")
    name = data.get("name")
    if not isinstance(name, str) or not _is_name(name):
        fault("name", f"{_found(name)}; the shop's name in one line was expected.")
    zone = data.get("time_zone")
    if not isinstance(zone, str) or not _is_zone(zone):
        fault("time_zone", f"{_found(zone)}; a time zone such as 'Europe/London' was expected.")
    currency = data.get("currency")
    if not isinstance(currency, str) or not re.fullmatch(r"[A-Z]{3}", currency):
        fault("currency", f"{_found(currency)}; a currency of three capitals such as 'GBP' was expected.")
    opening = _day(data.get("opening"))
    if opening is None and data.get("opening") is not None:
        years = f"of the years {_FIRST_YEAR} to {_LAST_YEAR}"
        fault("opening", f"{_found(data['opening'])}; a day such as 2026-11-23 was expected, {years}.")
    most = data.get("most_points", USUAL_LEVEL)
    if not isinstance(most, int) or isinstance(most, bool) or not 0 < most <= _MOST_POINTS:
        fault("most_points", f"{_found(most)}; points per 100 yd² were expected, a whole number up to {_MOST_POINTS}.")
    again = [data.get(key, USUAL_PERCENT) for key in ("recount_length", "recount_count")]
    for key, percent in zip(("recount_length", "recount_count"), again, strict=True):
        if not isinstance(percent, int) or isinstance(percent, bool) or not 0 <= percent <= _ALL:
            fault(key, f"{_found(percent)}; whole per cent were expected, 0 to {_ALL}.")
    factors = data.get("colour_factors", USUAL_FACTORS)
    if not isinstance(factors, str) or factors not in FACTORS:
        fault("colour_factors", f"{_found(factors)}; {' or '.join(map(repr, FACTORS))} was expected.")
    keeping = data.get("keeping_percent", 0)
    if not isinstance(keeping, int) or isinstance(keeping, bool) or not 0 <= keeping <= _ALL:
        fault("keeping_percent", f"{_found(keeping)}; whole per cent a year were expected, 0 to {_ALL}.")
    order_cost = _order_cost(data.get("order_cost", 0), str(currency), fault)
    if faults.count != before:
        return None
    return About(
        name=str(name),
        time_zone=str(zone),
        currency=str(currency),
        opening=opening,
        most_points=int(most),
        recount_length=int(again[0]),
        recount_count=int(again[1]),
        colour_factors=str(factors),
        order_cost_minor=order_cost,
        keeping_percent=int(keeping),
    )


def _order_cost(value: object, currency: str, fault: Callable[[str, str], None]) -> int:
    """What one order line costs, in minor units: a number, or text such as '8.00'."""
    if isinstance(value, str | int | float) and not isinstance(value, bool):
        try:
            return money_minor(str(value), currency)
        except Refusal:
            pass
    fault("order_cost", f"{_found(value)}; a sum of money such as 8.00 was expected, 0 or more.")
    return 0


def read_last_given(document: Document, faults: Faults) -> tuple[dict[str, int], int]:
    """The last serial of each kind letter and the last order number that were given where the files come from."""
    tags, order = document.data.get("last_tags", {}), document.data.get("last_order", 0)
    if not isinstance(tags, dict) or not all(kind in KINDS and _is_serial(last) for kind, last in tags.items()):
        expected = f"whole numbers for some of {', '.join(KINDS)} were expected"
        faults.add(f"{document.place(('last_tags',))}: {_found(tags)}; {expected}.")
        tags = {}
    if not _is_serial(order):
        faults.add(f"{document.place(('last_order',))}: {_found(order)}; a whole number was expected.")
        order = 0
    return tags, order


def _is_serial(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < _MOST_SERIALS


def _is_name(text: str) -> bool:
    hidden = any(unicodedata.category(mark) in ("Cc", "Cs", "Zl", "Zp") for mark in text)
    return bool(text.strip()) and len(text) <= _LONGEST_NAME and not hidden


def _is_zone(text: str) -> bool:
    try:
        ZoneInfo(text)
    except (ValueError, KeyError, OSError):
        return False
    return True


def _day(value: object) -> date | None:
    day = _any_day(value)
    return day if day is not None and _FIRST_YEAR <= day.year <= _LAST_YEAR else None


def _any_day(value: object) -> date | None:
    if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            return None
    return value if isinstance(value, date) and not isinstance(value, datetime) else None


def _found(value: object) -> str:
    if value is None:
        return "nothing was found"
    return f"{quoted(value) if isinstance(value, str) else shown(value)} was found"
