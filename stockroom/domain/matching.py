"""Whether two cloths may be seen side by side, in the words of a trimmer.

Within one cloth two readings match up to the cloth's own tolerance (a carpet forgives more than a smooth leathercloth),
are to be looked at a little beyond it, and do not match beyond that. Across cloths no number ever says that they match:
grain and pile change what the eye sees, and an instrument does not know it.

What somebody saw of two lots side by side stands above a number, and where there is neither, the eye is asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import Enum
from functools import lru_cache
from typing import Literal, NamedTuple

from stockroom.domain.catalogue import Cloth, Reading
from stockroom.domain.colour_difference import USUAL_FACTORS, delta_e00, why_not_compared
from stockroom.domain.readings import middle, readings_by_light, spread
from stockroom.domain.shortage import lot_name

BEYOND = 1.5
"""Up to so many tolerances the eye decides; beyond, it does not match (our own choice: no standard names one)."""


_USUAL_LIGHT = "D65/10°"


class Match(Enum):
    """The answer, best first."""

    SAME_LOT = "same lot"
    MATCHES = "matches"
    BY_EYE = "check by eye in daylight"
    NO_MATCH = "does not match"


Verdict = Literal["match", "near", "no-match"]
_SAID = {"match": Match.MATCHES, "near": Match.BY_EYE, "no-match": Match.NO_MATCH}


@dataclass(frozen=True, slots=True)
class EyeVerdict:
    """What somebody saw of two lots side by side."""

    verdict: Verdict
    eyes: str
    """Initials."""
    light: str
    on: date


@dataclass(frozen=True, slots=True)
class Judged:
    """How two cloths match, and why."""

    match: Match
    de00: float | None
    """CIEDE2000 difference; `None` where there is nothing to compare."""
    why: str
    """A sentence."""
    seen: EyeVerdict | None = None
    """What an eye said, where it decided."""


@dataclass(frozen=True, slots=True)
class Lot:
    """A dye lot of one item, with all that was read of it."""

    item: str
    cloth: Cloth
    lot: str
    """Empty where it is not known."""
    readings: tuple[Reading, ...]


def judge_lots(one: Lot, other: Lot, seen: EyeVerdict | None, factors: str = USUAL_FACTORS) -> Judged:
    """How two lots match: they are one, somebody saw them, or their readings say; else the eye is asked."""
    if one.lot and (one.item, one.lot) == (other.item, other.lot):
        return Judged(Match.SAME_LOT, None, f"Both are of {lot_name(one.lot)}.")
    by_number = _judge_by_readings(one, other, factors)
    if seen is None:
        return by_number
    number = "" if by_number.de00 is None else f" ΔE00 is {by_number.de00:.2f}; the eye stands above it."
    why = f"{seen.eyes} saw them side by side on {seen.on}, light: {seen.light}: {seen.verdict}.{number}"
    return Judged(_SAID[seen.verdict], by_number.de00, why, seen)


def _judge_by_readings(one: Lot, other: Lot, factors: str) -> Judged:
    unread = [lot_name(each.lot) for each in (one, other) if not each.readings]
    if unread:
        return Judged(Match.BY_EYE, None, f"There is no reading of {' and none of '.join(dict.fromkeys(unread))}.")
    mine, others = taken_together(one.readings, factors), taken_together(other.readings, factors)
    light = next((light for light in lights_in_order(mine) if light in others), None)
    if light is None:
        return judge_readings(one.readings[0], other.readings[0], (one.cloth, other.cloth), factors)
    ours, theirs = mine[light], others[light]
    apart = max(ours.spread, theirs.spread)
    return judge_readings(ours.middle, theirs.middle, (one.cloth, other.cloth), factors, apart)


class Together(NamedTuple):
    """Readings of one lot under one light."""

    middle: Reading
    spread: float
    """How far the farthest is from it, as CIEDE2000."""
    readings: int
    """How many."""


@lru_cache(maxsize=1024)
def taken_together(readings: tuple[Reading, ...], factors: str) -> Mapping[str, Together]:
    """What readings were taken under → all of those together. It is kept: one lot is held against many others."""
    by_light = readings_by_light(readings)
    return {light: Together(middle(some), spread(some, factors), len(some)) for light, some in by_light.items()}


def lights_in_order(lights: Iterable[str]) -> list[str]:
    """Lights and observers in the order in which they are chosen, so that two lots are compared alike from either side.

    That which is usual in textiles comes first.
    """
    return sorted(lights, key=lambda light: (light != _USUAL_LIGHT, light))


def judge_readings(
    one: Reading,
    other: Reading,
    cloths: tuple[Cloth | None, Cloth | None],
    factors: str = USUAL_FACTORS,
    apart: float = 0.0,
) -> Judged:
    """How two readings match, of one cloth or of two; `None` for a cloth that nobody named.

    `apart`: how far readings of one and the same lot lie from their middle, so that no more is said than they bear.
    """
    why = why_not_compared(one, other)
    if why:
        return Judged(Match.BY_EYE, None, why)
    difference = delta_e00(one, other, factors)
    said = f"ΔE00 is {difference:.2f}"
    first, second = cloths
    if first is None or second is None:
        return Judged(
            Match.BY_EYE, difference, f"{said}; no cloth is named, so there is no tolerance to hold it against."
        )
    if first.code != second.code:
        return Judged(
            Match.BY_EYE, difference, f"{said}, but {first.title} and {second.title} are two cloths: the eye decides."
        )
    return _judge_number(difference, first, apart)


def limits(cloth: Cloth) -> tuple[float, float]:
    """ΔE00 up to which a cloth matches, and up to which the eye decides.

    >>> limits(Cloth("felt", "", "cloth", "", "", 1400, 0, False, 0, 2.0))
    (2.0, 3.0)
    """
    return cloth.colour_tolerance, BEYOND * cloth.colour_tolerance


def _judge_number(difference: float, cloth: Cloth, apart: float) -> Judged:
    """How a difference within one cloth is judged."""
    tolerance, limit = limits(cloth)
    said = f"ΔE00 is {difference:.2f}; {cloth.title} matches up to {tolerance:g}"
    if apart:
        said = f"{said} (readings of one lot lie up to {apart:.2f} from their middle)"
    if difference + apart <= tolerance:
        return Judged(Match.MATCHES, difference, f"{said}.")
    if difference - apart <= limit:
        return Judged(Match.BY_EYE, difference, f"{said}, and up to {limit:g} the eye decides.")
    return Judged(Match.NO_MATCH, difference, f"{said}.")
