"""The group rule: all pieces that are seen side by side in one car match each other, pair by pair.

A chain does not do: where lot A matches lot B and lot B matches lot C, A and C may still not match. So a mix of lots is
judged by every pair of it, and so is every lot beside those that the car's matching group has already, from whichever
of its orders.

A pair is one of three things:

- it matches: an eye saw that it does, or the readings say so;
- it is at the limit, and whoever approves the mix must look at it: an eye saw the two near, their readings are a little
  beyond the tolerance, or nobody has read or seen them;
- it does not match: no mix ever has it, and nobody can approve one.

How far a pair lies apart is its ΔE00, to four decimals. What an eye saw stands above the number: a match counts for no
more than the cloth's tolerance, and what is near for no less than that and no more than the limit. Where an eye decided
and there is no number, the pair counts as far as its answer lets it; where there is neither, it counts as farther than
any number.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import TYPE_CHECKING

from stockroom.domain.catalogue import Cloth, Reading
from stockroom.domain.colour_difference import USUAL_FACTORS
from stockroom.domain.matching import (
    EyeVerdict,
    Judged,
    Lot,
    Match,
    judge_lots,
    lights_in_order,
    limits,
)
from stockroom.domain.readings import middle, readings_by_light

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_LOTS = 3
"""More lots than this are never mixed in one matching group."""
_NO_CLOTH = Cloth("", "", "cloth", "", "", 0, 0, False, 0, 0.0)


@dataclass(frozen=True, slots=True)
class LotColours:
    """What is known of how the lots of one item look."""

    item: str = ""
    cloth: Cloth = _NO_CLOTH
    readings: Mapping[str, Sequence[Reading]] = field(default_factory=dict)
    """Lot → what was read of its rolls."""
    seen: Mapping[frozenset[str], EyeVerdict] = field(default_factory=dict)
    """Two lots → what stands of them."""
    factors: str = USUAL_FACTORS

    def judged(self, one: str, other: str) -> Judged:
        """How two lots match, and why."""
        first, second = (Lot(self.item, self.cloth, lot, tuple(self.readings.get(lot, ()))) for lot in (one, other))
        return judge_lots(first, second, self.seen.get(frozenset((one, other))), self.factors)


@dataclass(frozen=True, slots=True)
class MatchingGroup:
    """What binds the choice of the lots of one item for one matching group of one car."""

    bound_to: frozenset[str] = frozenset()
    """The lots that it has already: held, or gone into any order of the car. Empty: the choice is free."""
    to_match: frozenset[str] = frozenset()
    """Lots that went out before and that the order asks to match, as a bag that is to match the trim of two years ago.

    Where the group has no lot yet, stock of these comes first, then the lot nearest to them of those that match them
    all, else it is short and says how far the nearest is. They need not be in stock, nor in this car.
    """
    approved: tuple[frozenset[str], ...] = ()
    """Mixes that somebody approved: of each, all the lots that the group would then have."""
    colours: Callable[[], LotColours] = LotColours
    """What is known of the item's lots. It is asked for only where one lot is not enough."""
    is_seen_together: bool = True
    """Whether its pieces are seen side by side. What is seen beside nothing need match nothing."""

    @property
    def beside(self) -> frozenset[str]:
        """All lots that a new one must match."""
        return self.bound_to | self.to_match

    @property
    def is_free(self) -> bool:
        """Whether any lots may be used for it, as they come."""
        return not self.is_seen_together and not self.bound_to

    def allows(self, lots: frozenset[str]) -> bool:
        """Whether the group may be of these lots, besides those it has, without anybody's further word."""
        if self.is_free:
            return True
        group = lots | self.bound_to
        return any(group <= mix for mix in self.approved) and not self.failing(lots)

    def may_begin_with(self, lot: str) -> bool:
        """Whether pieces of it may be of this one lot without anybody's further word."""
        if lot in self.bound_to or self.is_free or not self.beside:
            return True
        return (not self.bound_to and self.is_matched_by(lot)) or self.allows(frozenset((lot,)))

    def is_matched_by(self, lot: str) -> bool:
        """Whether a lot matches all that it is to be seen beside, without an eye's having to look."""
        return all(self.colours().judged(lot, one).match in _MATCHING for one in self.beside if one != lot)

    def failing(self, lots: frozenset[str]) -> list[tuple[str, str, Judged]]:
        """The pairs that these lots would make and that do not match."""
        return [one for one in self.judged(lots) if one[2].match is Match.NO_MATCH]

    def judged(self, lots: frozenset[str]) -> list[tuple[str, str, Judged]]:
        """How every new pair that these lots would make matches; none where its pieces are seen beside nothing."""
        if not self.is_seen_together:
            return []
        colours = self.colours()
        return [(one, other, colours.judged(one, other)) for one, other in new_pairs(lots, self.beside)]

    def pairs(self, lots: Sequence[str]) -> Pairs:
        """Every pair of these lots and those that it is to be seen beside."""
        every = [*lots, *sorted(self.beside - set(lots))]
        return pairs_of(self.colours(), every) if self.is_seen_together else all_alike(every)


SEEN_BESIDE_NOTHING = MatchingGroup(is_seen_together=False)
_MATCHING = (Match.SAME_LOT, Match.MATCHES)


@dataclass(frozen=True, slots=True)
class Pairs:
    """Every pair of some lots, in arrays of lots × lots that are alike in both directions; a lot matches itself."""

    lots: tuple[str, ...]
    never: NDArray[np.bool_]
    """The pair does not match."""
    at_limit: NDArray[np.bool_]
    """The eye must check the pair."""
    apart: NDArray[np.float64]
    """How far the pair counts as lying apart (see above)."""


def all_alike(lots: Sequence[str]) -> Pairs:
    """Lots of which every two go together."""
    import numpy as np

    none = np.zeros((len(lots), len(lots)), dtype=np.bool_)
    return Pairs(tuple(lots), none, none, np.zeros(none.shape))


def pairs_of(colours: LotColours, lots: Sequence[str]) -> Pairs:
    """How every two of these lots match: what `LotColours.judged` says of each, reckoned at once."""
    import numpy as np

    number, spread = _by_readings(colours, lots)
    known = ~np.isnan(number)
    tolerance, limit = limits(colours.cloth)
    never = known & (np.nan_to_num(number) - spread > limit)
    at_limit = ~known | ((np.nan_to_num(number) + spread > tolerance) & ~never)
    apart = np.where(known, np.round(number, 4), np.inf)
    at = {lot: index for index, lot in enumerate(lots)}
    for pair, seen in colours.seen.items():
        if len(pair) == 2 and pair <= at.keys():
            one, other = (at[lot] for lot in pair)
            match, far = _as_seen(seen, float(apart[one, other]), tolerance, limit)
            for here in ((one, other), (other, one)):
                never[here], at_limit[here], apart[here] = match is Match.NO_MATCH, match is Match.BY_EYE, far
    for array, itself in ((never, False), (at_limit, False), (apart, 0.0)):
        np.fill_diagonal(array, itself)
    return Pairs(tuple(lots), never, at_limit, apart)


def _as_seen(seen: EyeVerdict, number: float, tolerance: float, limit: float) -> tuple[Match, float]:
    """What an eye's word makes of a pair, and how far it counts as lying apart."""
    if seen.verdict == "match":
        return Match.MATCHES, min(number, tolerance)
    if seen.verdict == "near":
        return Match.BY_EYE, max(tolerance, min(number, limit))
    return Match.NO_MATCH, number


def _by_readings(colours: LotColours, lots: Sequence[str]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The ΔE00 of every two lots, NaN where nothing can be compared, and how far readings of one of them scatter."""
    import numpy as np

    from stockroom.domain.many_differences import differences

    number, scatter = np.full((len(lots), len(lots)), np.nan), np.zeros((len(lots), len(lots)))
    by_light: dict[str, dict[int, list[Reading]]] = {}
    for index, lot in enumerate(lots):
        for light, some in readings_by_light(colours.readings.get(lot, ())).items():
            by_light.setdefault(light, {})[index] = some
    for light in reversed(lights_in_order(by_light)):  # the first in order has the last word
        read = by_light[light]
        middles = {index: _figures(middle(some)) for index, some in read.items()}
        every = [(index, _figures(one)) for index, some in read.items() if len(some) > 1 for one in some]
        spread = np.zeros(len(lots))
        if every:
            from_middle = differences(
                np.array([one for _, one in every]), np.array([middles[index] for index, _ in every]), colours.factors
            )
            np.maximum.at(spread, [index for index, _ in every], from_middle)
        here = np.fromiter(read, dtype=np.intp)
        points = np.array(list(middles.values()))
        one, other = np.triu_indices(len(here), 1)
        apart = differences(points[one], points[other], colours.factors)
        number[here[one], here[other]] = number[here[other], here[one]] = apart
        scatter[np.ix_(here, here)] = np.maximum(spread[here][:, None], spread[here][None, :])
    return number, scatter


def _figures(one: Reading) -> tuple[float, float, float]:
    return one.lightness, one.a, one.b


def new_pairs(lots: frozenset[str], beside: frozenset[str]) -> list[tuple[str, str]]:
    """The pairs that a group gets by new lots: among them, and of each with those it has to be seen beside."""
    new = sorted(lots - beside)
    return [*combinations(new, 2), *((one, other) for one in new for other in sorted(beside))]
