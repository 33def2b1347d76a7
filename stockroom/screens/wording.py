"""How the screens put things into words and into cells. No widget here."""

from __future__ import annotations

import unicodedata
from datetime import date

from rich.cells import cell_len, set_cell_size

ELLIPSIS = "…"
_EIGHTHS = " ▏▎▍▌▋▊▉█"


def plain(text: str) -> str:
    r"""`text` on one line, with everything a terminal would obey instead of show written out as an escape.

    >>> plain("a\x1b[31mb\nc")
    'a\\x1b[31mb\\nc'
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        repr(character)[1:-1] if unicodedata.category(character) in {"Cc", "Cf", "Cs", "Zl", "Zp"} else character
        for character in text
    )


def fitted(text: str, width: int) -> str:
    """`text` in exactly `width` cells: padded with blanks, or cut with an ellipsis.

    >>> fitted("side curtains", 8)
    'side cu…'
    """
    if width <= 0:
        return ""
    if cell_len(text) <= width:
        return set_cell_size(text, width)
    return set_cell_size(set_cell_size(text, width - 1).rstrip() + ELLIPSIS, width)


def day(value: date) -> str:
    """A date as people read it, always as wide.

    >>> day(date(2026, 12, 4))
    ' 4 Dec 2026'
    """
    return f"{value.day:2d} {_MONTHS[value.month - 1]} {value.year}"


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def long_day(value: date) -> str:
    """A date with the day of its week.

    >>> long_day(date(2026, 11, 25))
    'Wednesday 25 Nov 2026'
    """
    return f"{_DAYS[value.weekday()]} {day(value).strip()}"


def counted(count: int, one: str, many: str = "") -> str:
    """A count with its noun.

    >>> counted(1, "order"), counted(5000, "order"), counted(2, "says", "say")
    ('1 order', '5,000 orders', '2 say')
    """
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def overdue(days: int) -> str:
    """The words for an order that many days past its date."""
    return f"OVERDUE {counted(days, 'day')}"


def wanted(wanted_on: date | None, overdue_days: int) -> str:
    """When an order is wanted, and how late it is.

    >>> wanted(date(2026, 11, 20), 5), wanted(None, 0)
    ('wanted 20 Nov 2026, OVERDUE 5 days', 'wanted date open')
    """
    if wanted_on is None:
        return "wanted date open"
    date_words = f"wanted {day(wanted_on).strip()}"
    return f"{date_words}, {overdue(overdue_days)}" if overdue_days else date_words


def bar(part: int, whole: int, width: int) -> str:
    """A bar `width` cells long, filled as far as `part` of `whole`; full only when nothing is missing.

    >>> bar(31, 40, 4), bar(999, 1000, 4), bar(4, 4, 4)
    ('███·', '███▉', '████')
    """
    eighths = width * 8 * max(0, min(part, whole)) // max(whole, 1)
    filled, rest = divmod(eighths, 8)
    if part > 0 and whole > 0 and not eighths:
        rest = 1
    partly = _EIGHTHS[rest] if rest else ""
    return ("█" * filled + partly).ljust(width, "·")
