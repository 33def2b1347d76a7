"""The best mix of lots for one matching group, found among all of them.

The best has, in this order: the fewest lots; the fewest pairs at the limit, which the eye must check; the least largest
difference of a pair; the least waste; and of what is then alike, lots that stand first in the order they are given in.
No pair of it ever fails to match (see `stockroom.domain.group_rule`), the group has at most three lots in all, and each
piece is wholly of one of them.

Mixes are looked at in the order of their colours, the best first, so that only those that might win are shared out.
What is guaranteed: of all the mixes that can be shared out (which `Shares` tells), the first three points are always
the best. Waste is compared among all that are alike in these, up to `WEIGHED` of them; of more, among the first ones;
where there are many pieces, among fewer, and not every way of sharing them out over the same lots is weighed. Where
`TRIED` mixes would have room enough by their sizes alone and cannot be shared out in whole pieces, no more are tried.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, combinations_with_replacement, groupby, islice
from typing import TYPE_CHECKING, Protocol

from stockroom.domain.group_rule import MOST_LOTS, MatchingGroup, Pairs
from stockroom.domain.portions import Portions, members

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

WEIGHED = 120
TRIED = 20_000
_FEW = 64
"""Up to so many portions every sharing out over some lots is weighed; of more, only some."""
_MOST_KINDS = 12
"""Lots by what they can take: of up to so many kinds that outdo each other it is asked first whether any would do."""


class Shares(Protocol):
    """What each lot can take of what is needed."""

    @property
    def portions(self) -> Portions:
        """What is needed, in portions."""

    @property
    def needed(self) -> int:
        """How much that is."""

    def room(self, lot: str) -> int:
        """At least as much as the lot can take, measured as `needed` is."""

    def takes(self, lot: str) -> int:
        """The set of portions that the lot can take; nothing is always among them."""

    def waste(self, lot: str, portion: int) -> int:
        """What is wasted where the lot takes this portion."""

    @property
    def is_told_soon(self) -> bool:
        """Whether it takes no time to ask what each of very many lots takes."""


@dataclass(frozen=True, slots=True)
class Mix:
    """Lots that together take all that is needed."""

    shares: tuple[tuple[str, int], ...]
    """Each lot with its portion; no lot without one."""
    group: frozenset[str]
    """All the lots that the matching group then has."""
    waste: int

    @property
    def lots(self) -> tuple[str, ...]:
        """The lots that are taken from."""
        return tuple(lot for lot, _ in self.shares)


def best_mix(lots: Sequence[str], group: MatchingGroup, shares: Shares, pairs: Pairs) -> Mix | None:
    """The best mix of these lots, or nothing where none would do.

    `lots` are those of which anything is free, in the order in which equals are preferred; `pairs` are of these and of
    those that the group is to be seen beside. What the group has already stays in it: a new lot must match all that.
    """
    own = [lot for lot in lots if lot in group.bound_to]
    new = [lot for lot in lots if lot not in group.bound_to]
    sharing = _Sharing(own, group, shares)
    weighed = WEIGHED if shares.portions.whole < _FEW else WEIGHED // 4
    if len(own) > 1 and (mix := sharing.over(())) is not None:
        return mix
    most = MOST_LOTS - len(group.bound_to)
    if most <= 0 or not new:
        return None
    room = {lot: shares.room(lot) for lot in lots}
    lacking = shares.needed - sum(room[lot] for lot in own)
    choice = _Choice.of(new, group, pairs, [room[lot] for lot in new], lacking)
    for count, ways in enumerate((choice.ones, choice.twos, choice.threes)[:most], start=1):
        if sharing.might_go(new, count):
            found = _best_of(ways(), weighed, lambda some: sharing.over([new[at] for at in some]))
            if found is not None:
                return found
    return None


_Ranked = tuple[tuple[int, float], tuple[int, ...]]
"""How good the colours of some lots are (pairs at the limit, then the largest difference), and which they are."""


def _best_of(ranked: Iterable[_Ranked], most: int, shared_out: Callable[[tuple[int, ...]], Mix | None]) -> Mix | None:
    """The least wasteful of those that are first alike in colour and can be shared out, of so many at the most."""
    left = TRIED
    for _, alike in groupby(ranked, key=lambda one: one[0]):
        best: Mix | None = None
        weighed = 0
        for _, some in alike:
            mix = shared_out(some)
            if mix is None:
                left -= 1
            else:
                weighed += 1
                if best is None or mix.waste < best.waste:
                    best = mix
            if weighed == most or left == 0:
                break
        if best is not None or left == 0:
            return best
    return None


class _Sharing:
    """Sharing out what is needed over new lots, each with a portion, and those that the group has."""

    def __init__(self, own: Sequence[str], group: MatchingGroup, shares: Shares) -> None:
        self._own, self._group, self._shares = own, group, shares
        self._portions = shares.portions
        self._after: dict[tuple[int, ...], int] = {(): 1}
        self._goes: dict[tuple[int, ...], bool] = {}

    def over(self, new: Sequence[str]) -> Mix | None:
        """The least wasteful over these new lots; nothing where it does not go."""
        can = tuple([self._shares.takes(lot) & ~1 for lot in new] + [self._shares.takes(lot) for lot in self._own])
        return self._least(can, [*new, *self._own]) if self._go(tuple(sorted(can))) else None

    def might_go(self, new: Sequence[str], count: int) -> bool:
        """Whether so many lots that each take the most that any of the new ones takes would do. Where not, none do."""
        if not self._shares.is_told_soon:
            return True
        most: list[int] = []
        for takes in sorted({self._shares.takes(lot) & ~1 for lot in new}, key=int.bit_count, reverse=True):
            if all(takes | more != more for more in most):
                most.append(takes)
        if len(most) > _MOST_KINDS:
            return True
        own = [self._shares.takes(lot) for lot in self._own]
        return any(self._go(tuple(sorted([*some, *own]))) for some in combinations_with_replacement(most, count))

    def _go(self, alike: tuple[int, ...]) -> bool:
        """Whether lots that can take this can be shared out over; lots of which as much goes share the answer."""
        if alike not in self._goes:
            self._goes[alike] = bool(alike[0] & self._portions.rest_of(self._together(alike[1:]), self._portions.whole))
        return self._goes[alike]

    def _together(self, can: tuple[int, ...]) -> int:
        """The set of portions that lots can take together, by what each can take."""
        found = self._after.get(can)
        if found is None:
            found = self._after[can] = self._portions.together(can[0], self._together(can[1:]))
        return found

    def _least(self, can: tuple[int, ...], lots: Sequence[str]) -> Mix:
        portions, shares = self._portions, self._shares
        ways = WEIGHED if portions.whole < _FEW else _FEW // len(lots) ** 2
        known: dict[tuple[int, int], tuple[int, tuple[int, ...]]] = {}

        def least(at: int, left: int) -> tuple[int, tuple[int, ...]]:
            """The least waste of taking `left` from the lots from `at` on, and the portion of each."""
            if at == len(lots) - 1:
                return shares.waste(lots[at], left), (left,)
            if (at, left) not in known:
                possible = can[at] & portions.rest_of(self._together(can[at + 1 :]), left)
                known[at, left] = min(
                    (shares.waste(lots[at], mine) + rest[0], (mine, *rest[1]))
                    for mine in islice(members(possible), ways)
                    for rest in [least(at + 1, left - mine)]
                )
            return known[at, left]

        waste, taken = least(0, portions.whole)
        split = tuple((lot, portion) for lot, portion in zip(lots, taken, strict=True) if portion)
        return Mix(split, self._group.bound_to | {lot for lot, _ in split}, waste)


@dataclass(frozen=True, slots=True)
class _Choice:
    """The new lots, and how well every two of them go together beside what the group has."""

    at_limit: NDArray[np.int_]
    """Lots × lots: whether the pair is at the limit."""
    beside: NDArray[np.int_]
    """How many pairs each lot by itself makes at the limit with those that it is to be seen beside."""
    apart: NDArray[np.float64]
    """Lots × lots, and each alone on the diagonal: the largest difference, of those that they are seen beside too."""
    possible: NDArray[np.bool_]
    """Lots × lots, and each alone on the diagonal: whether none of these fails to match."""
    room: NDArray[np.int_]
    lacking: int

    @classmethod
    def of(cls, new: Sequence[str], group: MatchingGroup, pairs: Pairs, room: Sequence[int], lacking: int) -> _Choice:
        """Of new lots, each with so much room; `lacking`: so much must they have room for together."""
        import numpy as np

        at = {lot: index for index, lot in enumerate(pairs.lots)}
        mine = [at[lot] for lot in new]
        each, beside = np.ix_(mine, mine), np.ix_(mine, [at[lot] for lot in sorted(group.beside)])
        apart = pairs.apart[beside].max(axis=1, initial=0.0)
        fails = pairs.never[beside].any(axis=1, keepdims=True)
        # A new lot that is one of those to match is told already of every other that is beside it.
        told = np.array([lot in group.beside for lot in new], dtype=int)
        return cls(
            pairs.at_limit[each] * (1 - told[:, None] - told[None, :]),
            pairs.at_limit[beside].sum(axis=1),
            np.maximum(pairs.apart[each], np.maximum(apart[:, None], apart[None, :])),
            np.logical_not(pairs.never[each] | fails | fails.T),
            np.array(room, dtype=np.int64),
            lacking,
        )

    def ones(self) -> Iterator[_Ranked]:
        """Each lot by itself, the best colours first."""
        import numpy as np

        apart = self.apart.diagonal()
        order = np.lexsort((apart, self.beside))
        for at in order[self.possible.diagonal()[order] & (self.room[order] >= self.lacking)].tolist():
            yield (int(self.beside[at]), float(apart[at])), (at,)

    def _edges(self, limit: NDArray[np.int_], least_room: int) -> list[tuple[int, float, int, int]]:
        """Every two that may go together and have so much room: limit, apart and the two, in the order of these."""
        import numpy as np

        one, other = np.triu_indices(len(self.room), 1)
        kept = self.possible[one, other] & (self.room[one] + self.room[other] >= least_room)
        one, other = one[kept], other[kept]
        limits, apart = limit[one, other], self.apart[one, other]
        order = np.lexsort((apart, limits))  # of equals, the first ones stay first
        columns = (limits[order], apart[order], one[order], other[order])
        return list(zip(*(column.tolist() for column in columns), strict=True))

    def twos(self) -> Iterator[_Ranked]:
        """Every two lots, the best colours first."""
        limit = self.at_limit + self.beside[:, None] + self.beside[None, :]
        for limits, apart, one, other in self._edges(limit, self.lacking):
            yield (limits, apart), (one, other)

    def threes(self) -> Iterator[_Ranked]:
        """Every three lots, the best colours first.

        For each sum of their pairs' limits the pairs are joined on in the order of their differences: three lots are
        found with their farthest pair, so that they come in the order of that. What a lot makes with those that it is
        to be seen beside is told half in each of its two pairs, so that all is told twice.
        """
        twice = 2 * self.at_limit + self.beside[:, None] + self.beside[None, :]
        edges = self._edges(twice, self.lacking - int(self.room.max(initial=0)))
        limits = sorted({limit for limit, _, _, _ in edges})
        edges.sort(key=lambda edge: edge[1:])
        roomy = _Roomy(self.room.tolist())
        for total in sorted({a + b + c for a in limits for b in limits for c in limits}):
            splits = {
                one: [(two, total - one - two) for two in limits if total - one - two in limits] for one in limits
            }
            joined = {limit: [0] * len(self.room) for limit in limits}
            for limit, apart, one, other in edges:
                third = 0
                for two, three in splits[limit]:
                    third |= joined[two][one] & joined[three][other]
                if third:
                    third &= roomy.with_at_least(self.lacking - roomy.room[one] - roomy.room[other])
                for last in members(third):
                    yield (total, apart), tuple(sorted((one, other, last)))
                joined[limit][one] |= 1 << other
                joined[limit][other] |= 1 << one


class _Roomy:
    """Which lots have so much room, as a set of their places."""

    def __init__(self, room: list[int]) -> None:
        self.room = room
        order = sorted(range(len(room)), key=lambda at: -room[at])
        self._less = [-room[at] for at in order]
        self._first = [0, *accumulate((1 << at for at in order), int.__or__)]

    def with_at_least(self, least: int) -> int:
        """The set of lots with at least so much room."""
        return self._first[bisect_right(self._less, -least)]
