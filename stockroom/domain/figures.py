"""A figure that somebody typed of a thing in stock: a length in any unit, or a whole count.

>>> read_figure("12.5 m", by_length=True, name="R18L"), read_figure("40", by_length=False, name="B6I")
(12500, 40)
"""

from __future__ import annotations

from stockroom.domain.quantities import show_length, stock_mm
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted

LONGEST_ROLL_MM = 1_000_000
"""Nothing on a roll or a reel is longer than 1 km (common practice, no source): a metre was typed as something else."""
MOST_COUNTED = 1_000_000
"""More than this in one bin is a slip of the pen."""
_BARE = 2
"""So few bare digits would be less than 100 mm, and were meant as metres."""


def read_figure(text: str, *, by_length: bool, name: str) -> int:
    """What was typed, in mm (rounded down) or as a count. `name` is what it was typed of.

    Raises `Refusal` for what is neither, and for a length or count that cannot be meant.
    """
    typed = " ".join(text.split())
    if not by_length:
        if not (typed.isascii() and typed.isdecimal()):
            raise Refusal(
                f"{name} is counted, in whole ones: {quoted(text)} is no count. Type it in digits, such as 40."
            )
        if len(typed) > len(str(MOST_COUNTED)) or int(typed) > MOST_COUNTED:
            raise Refusal(f"{quoted(text)} is too many to be in one bin. Check the figures.")
        return int(typed)
    if typed.isascii() and typed.isdecimal() and len(typed) <= _BARE and int(typed):
        raise Refusal(f"{quoted(text)} would be {typed} mm. Say the unit: {typed} m, {typed} yd or {typed} mm.")
    length_mm = stock_mm(typed)
    if length_mm > LONGEST_ROLL_MM:
        raise Refusal(
            f"{show_length(length_mm)} is too long for a roll or a reel ({name}). Check the figures and the unit."
        )
    return length_mm
