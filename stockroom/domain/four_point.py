"""The four-point system: a roll of cloth is looked over, and each fault gets 1 to 4 points by its length.

    points of a fault: 1 up to 3 in, 2 up to 6 in, 3 up to 9 in, 4 beyond
    points per 100 yd² = points × 3600 / (width in inches × length in yards)

Source: ASTM D5430 (visual inspection and grading of fabrics), from memory; this is the way of the four points in it.
The standard also caps the points of any one yard at 4.

>>> [points_of(length_mm) for length_mm in (76, 77, 152, 153, 228, 229)]
[1, 2, 2, 3, 3, 4]
>>> fifty_yards, sixty_inches = 45_720, 1_524
>>> per_100_yd2(24, fifty_yards, sixty_inches)
Fraction(144, 5)
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from stockroom.domain.quantities import MM_IN, need_mm, stock_mm
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted

MOST_A_YARD = 4
"""Points of any one yard, whatever lies in it."""
USUAL_LEVEL = 40
"""Points per 100 yd² above which a roll is looked at again: common practice, no source. A shop may set its own."""
_UP_TO_IN = (3, 6, 9)
"""A fault of up to so many inches has 1, 2, 3 points; a longer one 4."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault met on a roll."""

    at_mm: int
    """Where it begins, from the inner end."""
    length_mm: int
    """How long it is, in whichever direction it is longest; rounded down, so that 3 in are not more than 3 in."""
    what: str


def read_fault(text: str) -> Fault:
    """A fault as it is typed: where it begins, how long it is, what it is.

    >>> read_fault("2.4 m:5 in:slub")
    Fault(at_mm=2400, length_mm=127, what='slub')

    Raises `Refusal` for anything else.
    """
    parts = [part.strip() for part in text.split(":", 2)]
    if len(parts) != 3 or not all(parts):
        raise Refusal(f"{quoted(text)} is not a fault. Write where it begins, how long and what, as 2.4 m:5 in:slub.")
    if not need_mm(parts[1]):
        raise Refusal(f"The fault {quoted(text)} has no length. Write it as 2.4 m:5 in:slub.")
    return Fault(stock_mm(parts[0]), max(1, stock_mm(parts[1])), parts[2])


def points_of(length_mm: int) -> int:
    """The points of one fault, 1 to 4, by its length."""
    return 1 + sum(length_mm > inches * MM_IN["in"] for inches in _UP_TO_IN)


def points(faults: Iterable[Fault]) -> int:
    """The points of all faults, each yard of the roll (counted from its inner end) having four at most.

    >>> points([Fault(100, 300, "slub"), Fault(200, 300, "slub"), Fault(1_000, 20, "knot")])
    5
    """
    by_yard: defaultdict[int, int] = defaultdict(int)
    for fault in faults:
        by_yard[int(fault.at_mm / MM_IN["yd"])] += points_of(fault.length_mm)
    return sum(min(MOST_A_YARD, so_many) for so_many in by_yard.values())


def per_100_yd2(points: int, length_mm: int, width_mm: int) -> Fraction:
    """Points per 100 yd², exactly. `length_mm` and `width_mm` are what was looked over; neither is 0."""
    return points * 3600 / ((width_mm / MM_IN["in"]) * (length_mm / MM_IN["yd"]))
