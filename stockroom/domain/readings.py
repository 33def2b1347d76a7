"""A reading of a colour as somebody types it, and several of one cloth taken together.

Nothing is corrected: a reading that cannot be one is refused, with what it looks like.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import permutations
from statistics import fmean

from stockroom.domain.catalogue import Reading
from stockroom.domain.colour_difference import conditions, delta_e00, why_not_compared
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, quoted

OBSERVERS = ("2", "10")
"""The standard observers of the CIE, in degrees."""
_FIGURE = re.compile(r"[+-]?[0-9]{1,3}([.,][0-9]{1,4})?")
_WHOLE = re.compile(r"[+-]?[0-9]{1,4}")
_ILLUMINANT = re.compile(r"[A-Za-z][A-Za-z0-9.-]{0,9}")
_DAYLIGHT = re.compile(r"D-?[0-9]+")
_DAYLIGHTS = ("D50", "D55", "D65", "D75")
"""The daylight illuminants that are in use (CIE 015:2018, from memory): another is a slip of the fingers."""
_FARTHEST = 128
"""a* and b* lie within so much of 0."""
_MANY = 50
"""From so many readings on, arrays are quicker, though NumPy must be loaded for them."""
FAR, _NEAR = 10.0, 4.0
"""ΔE00: no lot of a colour is so far from its master; one that is read rightly is so near (our own choice)."""


def read_reading(text: str) -> Reading:
    """A reading with all it was taken under: L*, a*, b*, illuminant and observer.

    >>> read_reading("62.1 4.3 17.9 D65 10") == read_reading("62.1,4.3,17.9 D65/10°")
    True

    Raises `Refusal` where one of them is missing: a reading without its light is none.
    """
    example = "Write it as L* a* b* illuminant observer, such as '62.1 4.3 17.9 D65 10'."
    parts = text.replace(";", " ").replace("/", " ").split()
    if len(parts) == 1 or (len(parts) in (1, 2, 3) and parts[0].count(",") >= 2):
        parts = [*parts[0].split(","), *parts[1:]]
    if len(parts) in (6, 7, 8) and all(_WHOLE.fullmatch(part) for part in parts[:6]):
        raise Refusal(f"{quoted(text)} seems to have decimal commas; commas stand between the figures. {example}")
    if len(parts) in (3, 4) and all(_FIGURE.fullmatch(part) for part in parts[:3]):
        lacks = "the observer, 2 or 10 degrees" if len(parts) == 4 else "the light and the observer, as D65 10"
        raise Refusal(f"{quoted(text)} lacks {lacks}. A reading without them is none. {example}")
    if len(parts) != 5:
        raise Refusal(f"{quoted(text)} is not a whole reading. {example}")
    lightness, a, b = _figures(text, parts[:3], example)
    illuminant, observer = read_conditions(parts[3], parts[4])
    return Reading(lightness, a, b, illuminant, observer)


def read_bare(text: str) -> tuple[float, float, float]:
    """L*, a* and b* alone.

    >>> read_bare("38.2,-12.1,6.4"), read_bare("38,2 -12,1 6,4")
    ((38.2, -12.1, 6.4), (38.2, -12.1, 6.4))

    Raises `Refusal` for what is no reading.
    """
    example = "Write L*, a* and b* as 38.2,-12.1,6.4."
    spaced = text.replace(";", " ").split()
    parts = spaced if len(spaced) > 1 else text.strip().split(",")
    if len(spaced) == 1 and len(parts) == 6:
        raise Refusal(f"{quoted(text)} seems to have decimal commas; commas stand between the figures. {example}")
    if len(parts) != 3:
        raise Refusal(f"{quoted(text)} is not three figures. {example}")
    return _figures(text, [part.strip() for part in parts], example)


def read_conditions(illuminant: str, observer: str) -> tuple[str, str]:
    """What a reading was taken under: illuminant, and observer in degrees.

    >>> read_conditions("d65", "10°")
    ('D65', '10')

    Raises `Refusal` for what is neither:

    >>> read_conditions("D56", "10")
    Traceback (most recent call last):
    stockroom.domain.refusal.Refusal: 'D56' is no daylight: that is D50, D55, D65 or D75. D65 is usual in textiles.
    """
    light, degrees = illuminant.strip().upper(), observer.strip().removesuffix("°")
    if not _ILLUMINANT.fullmatch(light):
        raise Refusal(f"{quoted(illuminant)} is not an illuminant. Write it as D65, which is usual in textiles.")
    if _DAYLIGHT.fullmatch(light) and light not in _DAYLIGHTS:
        known = listed(_DAYLIGHTS, "or")
        raise Refusal(f"{quoted(illuminant)} is no daylight: that is {known}. D65 is usual in textiles.")
    if degrees not in OBSERVERS:
        raise Refusal(f"{quoted(observer)} is not an observer: it is 2 or 10 degrees. 10 is usual in textiles.")
    return light, degrees


def read_light(light: str, observer: str) -> tuple[str, str]:
    """Illuminant and observer as somebody says them, each by itself or both in one; '' for what is not said.

    >>> read_light("D65/10°", ""), read_light("D65", "10"), read_light("D65", "")
    (('D65', '10°'), ('D65', '10'), ('D65', ''))

    Raises `Refusal` where they are said twice and differ.
    """
    first, _, degrees = (part.strip() for part in light.partition("/"))
    if degrees and observer.strip() and degrees.removesuffix("°") != observer.strip().removesuffix("°"):
        raise Refusal(f"{quoted(light)} says one observer, and {quoted(observer)} another. Say it once, as D65/10.")
    return first, degrees or observer.strip()


def readings_by_light(readings: Iterable[Reading]) -> dict[str, list[Reading]]:
    """What they were taken under ('D65/10°') → the readings, in their order."""
    by_light: dict[str, list[Reading]] = {}
    for one in readings:
        by_light.setdefault(conditions(one), []).append(one)
    return by_light


def middle(readings: Sequence[Reading]) -> Reading:
    """The middle of readings; of those under other conditions than the first, nothing is taken.

    >>> middle([Reading(38.2, 52.0, 31.0), Reading(38.4, 52.2, 31.0), Reading(60.0, 0.0, 0.0, "A")])
    Reading(lightness=38.3, a=52.1, b=31.0, illuminant='D65', observer='10')
    """
    under = readings[0].illuminant, readings[0].observer
    alike = [one for one in readings if (one.illuminant, one.observer) == under]
    lightness, a, b = (
        round(fmean(figures), 6) for figures in zip(*((one.lightness, one.a, one.b) for one in alike), strict=True)
    )
    return Reading(lightness, a, b, readings[0].illuminant, readings[0].observer)


def spread(readings: Sequence[Reading], factors: str) -> float:
    """How far the farthest of some readings under one light is from their middle, as CIEDE2000."""
    if len(readings) < 2:
        return 0.0
    centre, different = middle(readings), list(dict.fromkeys(readings))
    if len(different) < _MANY:
        return max(delta_e00(one, centre, factors) for one in different)
    import numpy as np

    from stockroom.domain.many_differences import differences

    figures = np.array([(one.lightness, one.a, one.b) for one in different])
    return float(differences(figures, np.array((centre.lightness, centre.a, centre.b)), factors).max())


def read_words(readings: Sequence[Reading], factors: str) -> str:
    """What was read of a roll, in words: under each light the middle of its readings, how many, and their spread.

    >>> read_words([Reading(38.2, 52.0, 31.0), Reading(38.4, 52.2, 31.0), Reading(60.0, 1.5, 0.0, "A")], "1:1:1")
    'L* 38.3, a* 52.1, b* 31 under D65/10°, middle of 2, up to ΔE00 0.09 from it; L* 60, a* 1.5, b* 0 under A/10°'
    """
    return "; ".join(_under(light, some, factors) for light, some in readings_by_light(readings).items())


def _under(light: str, readings: Sequence[Reading], factors: str) -> str:
    one = middle(readings)
    said = f"L* {one.lightness:.4g}, a* {one.a:.4g}, b* {one.b:.4g} under {light}"
    if len(readings) == 1:
        return said
    return f"{said}, middle of {len(readings)}, up to ΔE00 {spread(readings, factors):.2f} from it"


def why_no_reading(reading: Reading) -> str:
    """Why a reading that is kept cannot be one: a few words; '' where it can.

    >>> why_no_reading(Reading(120, 0, 0)), why_no_reading(Reading(50, 0, 0))
    ('L* 120, a* 0, b* 0 is out of range', '')
    """
    if not _is_in_range(reading.lightness, reading.a, reading.b):
        return f"L* {reading.lightness:g}, a* {reading.a:g}, b* {reading.b:g} is out of range"
    if not _ILLUMINANT.fullmatch(reading.illuminant) or reading.observer not in OBSERVERS:
        return f"{quoted(reading.illuminant)}/{quoted(reading.observer)} is no light and observer"
    return ""


def _is_in_range(lightness: float, a: float, b: float) -> bool:
    return 0 <= lightness <= 100 and abs(a) <= _FARTHEST and abs(b) <= _FARTHEST


def refuse_swapped(read: Reading, master: Reading | None) -> None:
    """Raises `Refusal` where the same figures in another order are much nearer to the colour's master.

    L* and b* of a red may be so alike that the swap is no farther off than a bad lot; what tells is that in their right
    order they come at least three times as near.

    >>> refuse_swapped(Reading(38.9, 52.2, 31.0), Reading(38.6, 52.4, 30.7))
    >>> refuse_swapped(Reading(42.0, 52.4, 34.0), Reading(38.6, 52.4, 30.7))
    >>> refuse_swapped(Reading(52.2, 38.9, 31.0), Reading(38.6, 52.4, 30.7))  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    stockroom.domain.refusal.Refusal: L* 52.2, a* 38.9, b* 31 ... Write L*, a* and b* in this order.
    >>> refuse_swapped(Reading(31.0, 52.2, 38.9), Reading(38.6, 52.4, 30.7))  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    stockroom.domain.refusal.Refusal: L* 31, a* 52.2, b* 38.9 ... Write L*, a* and b* in this order.
    """
    if master is None or why_not_compared(read, master):
        return
    apart = delta_e00(read, master)
    if apart <= _NEAR:
        return
    near = min(_NEAR, apart / 3)
    for lightness, a, b in permutations((read.lightness, read.a, read.b)):
        if lightness >= 0 and delta_e00(Reading(lightness, a, b, read.illuminant, read.observer), master) <= near:
            raise Refusal(
                f"L* {read.lightness:g}, a* {read.a:g}, b* {read.b:g} is far from the master of its colour, and near "
                f"it as L* {lightness:g}, a* {a:g}, b* {b:g}. Write L*, a* and b* in this order."
            )


def _figures(text: str, parts: list[str], example: str) -> tuple[float, float, float]:
    if not all(_FIGURE.fullmatch(part) for part in parts):
        raise Refusal(f"{quoted(text)} does not begin with three figures. {example}")
    lightness, a, b = (float(part.replace(",", ".")) for part in parts)
    if not _is_in_range(lightness, a, b):
        swapped = " Are they in another order?" if any(0 <= one <= 100 for one in (a, b)) and lightness < 0 else ""
        raise Refusal(
            f"{quoted(text)} is no reading: L* lies from 0 to 100, a* and b* within {_FARTHEST} of 0.{swapped} "
            f"{example}"
        )
    return lightness, a, b
