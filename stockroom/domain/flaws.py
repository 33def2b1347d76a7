"""Flaws as they are written down of a roll: from, to, and what it is.

>>> read_flaw("3.1 m-3.2 m pulled loops", length_mm=14_200)
Flaw(from_mm=3100, to_mm=3200, what='pulled loops')
"""

from __future__ import annotations

import re

from stockroom.domain.catalogue import Flaw
from stockroom.domain.quantities import need_mm, show_length, stock_mm
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted

_WRITTEN = re.compile(r"([^-]+)-\s*([0-9.,]+\s?(?:mm|cm|m|in|ft|yd)?)\s+(.+)")


def read_flaw(text: str, length_mm: int) -> Flaw:
    """A flaw of a roll of this length, counted from its inner end; rounded such that it covers all of what was said.

    >>> read_flaw("12 yd-13 yd stain", length_mm=stock_mm("13 yd")).to_mm
    11887

    Raises `Refusal` for anything else, and for one that does not lie on the roll.
    """
    match = _WRITTEN.fullmatch(text)
    if match is None:
        raise Refusal(f"{quoted(text)} was found; a flaw was expected, such as '1200-1260 slub'.")
    first, last = stock_mm(match[1]), stock_mm(match[2])
    if not first < last <= length_mm:
        raise Refusal(f"the flaw {quoted(text)} does not lie on a roll of {show_length(length_mm)}.")
    return Flaw(first, min(need_mm(match[2]), length_mm), match[3])
