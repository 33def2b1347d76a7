"""How the lots of a cloth in a colour drift from their master, and from each other, as they come in one after another.

Each lot is the middle of what was read of it under the master's light and observer; what was read under others is not
compared, and said to be left out. Differences are lot less master: ΔL* above 0 is lighter, Δa* redder, Δb* yellower.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from stockroom.domain.catalogue import Cloth, Reading
from stockroom.domain.colour_difference import USUAL_FACTORS, conditions, why_not_compared
from stockroom.domain.matching import Judged, Lot, Match, judge_lots
from stockroom.domain.readings import middle, spread
from stockroom.domain.shortage import lot_name
from stockroom.domain.wording import listed

_SEEN = 0.3
"""A difference in L*, a* or b* below this is not put in words (our own choice)."""
_WAYS = (("lighter", "darker"), ("redder", "greener"), ("yellower", "bluer"))


@dataclass(frozen=True, slots=True)
class LotRead:
    """A lot and all that was read of it."""

    lot: str
    came: date
    """The day its first roll came in; where that is not known, the day it was first read."""
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True)
class LotDrift:
    """One lot against the master."""

    lot: str
    came: date
    reading: Reading
    """The middle of its readings."""
    number_of_readings: int
    spread: float
    """How far the farthest of them is from their middle, as CIEDE2000."""
    by_lightness: float
    """ΔL*: lot less master; likewise the next two."""
    by_a: float
    by_b: float
    judged: Judged


@dataclass(frozen=True, slots=True)
class OnRack:
    """A roll that is there."""

    tag: str
    lot: str
    place: str
    came: date
    quarantined: bool


@dataclass(frozen=True, slots=True)
class Apart:
    """A roll that does not match some of what lay on the racks before it came."""

    roll: OnRack
    lots: tuple[str, ...]
    """The lots that it does not match."""
    largest: float | None
    """Largest CIEDE2000 difference to them; `None` where an eye said so and nothing was read."""


def drift_of(
    lots: Sequence[LotRead], master: Reading, cloth: Cloth, factors: str = USUAL_FACTORS
) -> tuple[tuple[LotDrift, ...], tuple[str, ...]]:
    """Each lot against the master, the first that came first; and a sentence for whatever was not compared."""
    found, left_out = [], []
    for one in sorted(lots, key=lambda lot: (lot.came, lot.lot)):
        alike = tuple(reading for reading in one.readings if not why_not_compared(master, reading))
        others = [reading for reading in one.readings if why_not_compared(master, reading)]
        if others:
            lights = listed(dict.fromkeys(map(conditions, others)))
            left_out.append(f"{lot_name(one.lot)}, {_times(len(others))} under {lights}: {_not_compared(master)}")
        if not alike:
            continue
        read = middle(alike)
        judged = judge_lots(Lot("", cloth, "master", (master,)), Lot("", cloth, one.lot or "?", alike), None, factors)
        found.append(
            LotDrift(
                one.lot,
                one.came,
                read,
                len(alike),
                spread(alike, factors),
                read.lightness - master.lightness,
                read.a - master.a,
                read.b - master.b,
                judged,
            )
        )
    return tuple(found), tuple(left_out)


def _times(number: int) -> str:
    return "read once" if number == 1 else f"read {number} times"


def _not_compared(master: Reading) -> str:
    return (
        f"the master is under {conditions(master)}, and readings are compared only under the same light and observer."
    )


def direction(by_lightness: float, by_a: float, by_b: float) -> str:
    """Which way a lot is from its master, in words; '' where it is no way to speak of.

    >>> direction(2.4, -0.6, 2.1), direction(0.1, 0, -0.2)
    ('lighter, greener and yellower', '')
    """
    words = [
        ways[0] if difference > 0 else ways[1]
        for difference, ways in zip((by_lightness, by_a, by_b), _WAYS, strict=True)
        if abs(difference) >= _SEEN
    ]
    return listed(words)


def in_words(lots: Sequence[LotDrift]) -> str:
    """Where the lots went: a sentence of the latest, and how many match; '' where there are none."""
    if not lots:
        return ""
    latest = lots[-1]
    way = direction(latest.by_lightness, latest.by_a, latest.by_b)
    matching = sum(one.judged.match is Match.MATCHES for one in lots)
    matches = "matches" if matching == 1 else "match"
    number = f"{matching} of {len(lots)} lots {matches} the master." if len(lots) > 1 else ""
    is_ = f"is {way} than it" if way else "is near it"
    said = f"The latest, {lot_name(latest.lot)}, {is_} (ΔE00 {latest.judged.de00:.2f}: {latest.judged.match.value})."
    return f"{number} {said}".strip()


def apart(rolls: Sequence[OnRack], judge: Callable[[str, str], Judged]) -> tuple[Apart, ...]:
    """The rolls that do not match a lot that lay on the racks, free of quarantine, before they came."""
    racked: dict[str, date] = {}
    for one in rolls:
        if not one.quarantined:
            racked[one.lot] = min(one.came, racked.get(one.lot, one.came))
    found = []
    for one in sorted(rolls, key=lambda roll: (roll.came, roll.lot, roll.tag)):
        came = racked.get(one.lot, one.came)
        before = [lot for lot, day in racked.items() if (day, lot) < (came, one.lot) and lot != one.lot]
        judged = {lot: judge(lot, one.lot) for lot in before}
        far = {lot: told.de00 for lot, told in judged.items() if told.match is Match.NO_MATCH}
        if far:
            known = [number for number in far.values() if number is not None]
            found.append(Apart(one, tuple(far), max(known, default=None)))
    return tuple(found)
