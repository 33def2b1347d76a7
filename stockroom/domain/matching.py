"""Whether two cloths may be seen side by side, in the words of a trimmer.

Within one cloth two readings match up to the cloth's own tolerance (a carpet forgives more than a smooth leathercloth),
are to be looked at a little beyond it, and do not match beyond that. Across cloths no number ever says that they match:
grain and pile change what the eye sees, and an instrument does not know it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from stockroom.domain.catalogue import Cloth, Reading
from stockroom.domain.colour_difference import USUAL_FACTORS, delta_e00, why_not_compared

BEYOND = 1.5
"""Up to so many tolerances the eye decides; beyond, it does not match (our own choice: no standard names one)."""


class Match(Enum):
    """The answer, best first."""

    MATCHES = "matches"
    BY_EYE = "check by eye in daylight"
    NO_MATCH = "does not match"


@dataclass(frozen=True, slots=True)
class Judged:
    """How two cloths match, and why."""

    match: Match
    de00: float | None
    """CIEDE2000 difference; `None` where there is nothing to compare."""
    why: str
    """A sentence."""


def judge_readings(
    one: Reading, other: Reading, cloths: tuple[Cloth | None, Cloth | None], factors: str = USUAL_FACTORS
) -> Judged:
    """How two readings match, of one cloth or of two; `None` for a cloth that nobody named."""
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
    return judge_number(difference, first)


def judge_number(difference: float, cloth: Cloth) -> Judged:
    """How a difference within one cloth is judged."""
    tolerance = cloth.colour_tolerance
    said = f"ΔE00 is {difference:.2f}; {cloth.title} matches up to {tolerance:g}"
    if difference <= tolerance:
        return Judged(Match.MATCHES, difference, f"{said}.")
    if difference <= BEYOND * tolerance:
        return Judged(Match.BY_EYE, difference, f"{said}, and up to {BEYOND * tolerance:g} the eye decides.")
    return Judged(Match.NO_MATCH, difference, f"{said}.")
