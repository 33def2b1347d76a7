"""Code 128 (ISO/IEC 15417): from a text to bars in whole modules, and to whole dots of a printer.

python-barcode chooses the code sets and knows the patterns; its image writers are not used, because a bar must end on
a dot of the printer and only the page knows where the dots are.

>>> check_value((103, 48, 42, 42, 17, 18, 19, 35))
54
>>> bars("A1").modules
57
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from labels.errors import PaperError

LEAST_MODULE_MM = 0.25
"""A narrower module was seen not to read."""
MOST_MODULE_MM = 0.5
"""A wider module gains nothing for a hand scanner and takes room."""
QUIET_MODULES = 10
"""Modules kept white at each side (ISO/IEC 15417)."""
MOST_CHARACTERS = 48
"""Our own limit: a longer one is wider than any label here at the least module."""


@dataclass(frozen=True, slots=True)
class Bars:
    """A text as bars: `bars` holds (first module, width in modules), from the first bar on, without quiet zones."""

    text: str
    modules: int
    bars: tuple[tuple[int, int], ...]

    @property
    def modules_with_quiet(self) -> int:
        """Width in modules with both quiet zones."""
        return self.modules + 2 * QUIET_MODULES


def check_value(values: Sequence[int]) -> int:
    """The symbol check value: start value plus each value times its position, modulo 103 (ISO/IEC 15417).

    `values` begins with the start value (103, 104 or 105) and holds neither check value nor stop.
    """
    return (values[0] + sum(position * value for position, value in enumerate(values[1:], start=1))) % 103


@lru_cache(maxsize=1024)
def code_values(text: str) -> tuple[int, ...]:
    """The symbol values of `text`, start value first, without check value and stop. Raises PaperError."""
    if not text or len(text) > MOST_CHARACTERS or not all(" " <= character <= "~" for character in text):
        raise PaperError(
            f"{text!r} cannot be printed as a barcode: "
            f"it must be 1 to {MOST_CHARACTERS} plain letters, digits and signs."
        )
    from barcode.codex import Code128

    # The library starts in set C and drops its first value where that looks like a switch of sets. With '99' in front
    # that value is two digits of the text, so those texts are given a letter in front, which is taken off again.
    if text.startswith("99"):
        lettered = tuple(Code128("A" + text, writer=object()).encoded)
        return (lettered[0], *lettered[2:])
    return tuple(Code128(text, writer=object()).encoded)


@lru_cache(maxsize=1024)
def bars(text: str) -> Bars:
    """The bars of `text`. Raises PaperError where Code 128, or a hand scanner, cannot hold it."""
    from barcode.charsets import code128

    values = code_values(text)
    pattern = "".join(code128.CODES[value] for value in (*values, check_value(values))) + code128.STOP + "11"
    found: list[tuple[int, int]] = []
    at = 0
    for ink, run in groupby(pattern):
        width = len(list(run))
        if ink == "1":
            found.append((at, width))
        at += width
    return Bars(text, at, tuple(found))


def least_dots(resolution_dpi: int) -> int:
    """Fewest dots a module may have: 2 at 203 dpi, 3 at 300."""
    return math.ceil(LEAST_MODULE_MM * resolution_dpi / 25.4)


def dots_a_module(symbol: Bars, room_mm: float, resolution_dpi: int) -> int:
    """Most whole dots a module may have so that bars and quiet zones fit `room_mm`. Raises PaperError if none do."""
    room_dots = math.floor(room_mm * resolution_dpi / 25.4 + 1e-6)
    widest = math.floor(MOST_MODULE_MM * resolution_dpi / 25.4)
    dots = min(room_dots // symbol.modules_with_quiet, max(widest, least_dots(resolution_dpi)))
    if dots < least_dots(resolution_dpi):
        needed_mm = math.ceil(symbol.modules_with_quiet * least_dots(resolution_dpi) * 25.4 / resolution_dpi)
        raise PaperError(
            f"The barcode of {symbol.text!r} needs {needed_mm} mm and has {math.floor(room_mm)} mm: "
            "choose a wider label or a shorter code."
        )
    return dots
