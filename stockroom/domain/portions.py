"""Portions of what a matching group needs: every way in which whole pieces of it can be taken by one lot.

Pieces that are alike are counted, not told apart. A portion is a whole number, so many of each kind in a mixed radix;
a set of portions is a whole number too, with a bit for each, so that what two lots can take together is asked of all
ways at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import reduce
from math import prod
from operator import or_

MOST_PORTIONS = 1024
"""Where there would be more, the smallest pieces are taken together until there are not."""


@dataclass(slots=True)
class Portions:
    """All portions of so many pieces of each kind."""

    counts: tuple[int, ...]
    strides: tuple[int, ...] = ()
    whole: int = 0
    """The portion that is everything; 0 is the one that is nothing."""
    _below: dict[int, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Works out what stands for one piece of each kind."""
        self.strides = tuple(prod(count + 1 for count in self.counts[:kind]) for kind in range(len(self.counts)))
        self.whole = prod(count + 1 for count in self.counts) - 1

    def numbers(self, portion: int) -> tuple[int, ...]:
        """How many of each kind it has.

        >>> Portions((2, 1)).numbers(4)
        (1, 1)
        """
        return tuple(portion // stride % (count + 1) for stride, count in zip(self.strides, self.counts, strict=True))

    def below(self, portion: int) -> int:
        """The set of all portions of a portion, itself and nothing among them.

        >>> list(members(Portions((2, 1)).below(4)))
        [0, 1, 3, 4]
        """
        found = self._below.get(portion)
        if found is None:
            found = 1
            for number, stride in zip(self.numbers(portion), self.strides, strict=True):
                found = reduce(or_, (found << stride * taken for taken in range(number + 1)))
            self._below[portion] = found
        return found

    def together(self, one: int, other: int) -> int:
        """The set of portions that are one of a set and one of another together.

        >>> list(members(Portions((2, 1)).together(0b11, 0b1001)))
        [0, 1, 3, 4]
        """
        fewer, more = sorted((one, other), key=int.bit_count)
        return reduce(or_, (((more & self.below(self.whole - taken)) << taken) for taken in members(fewer)), 0)

    def rest_of(self, portions: int, left: int) -> int:
        """The set of what each of a set leaves of `left`; those that are no portion of it leave nothing.

        >>> list(members(Portions((2, 1)).rest_of(0b100111, 5))), list(members(Portions((2, 1)).rest_of(0b111, 1)))
        ([0, 3, 4, 5], [0, 1])
        """
        return int(f"{portions & self.below(left):0{left + 1}b}"[::-1], 2)


def members(portions: int) -> Iterator[int]:
    """The portions of a set, the smallest number first."""
    while portions:
        lowest = portions & -portions
        yield lowest.bit_length() - 1
        portions ^= lowest


def joined_until_few(sizes: Sequence[tuple[int, int]]) -> list[list[int]]:
    """Which pieces are taken together, as places in `sizes`, so that there are at most `MOST_PORTIONS`.

    `sizes`: of each piece a number that is the same for pieces that are alike, and how large it is.

    >>> joined_until_few([(0, 5), (0, 5), (1, 9)])
    [[0], [1], [2]]
    >>> len(joined_until_few([(kind, 5 + kind) for kind in range(16)]))
    10
    """
    together: list[tuple[list[int], tuple[int, ...], int]] = [
        ([place], (kind,), size) for place, (kind, size) in enumerate(sizes)
    ]
    while True:
        counts: dict[tuple[int, ...], int] = {}
        for _, kinds, _ in together:
            counts[kinds] = counts.get(kinds, 0) + 1
        if prod(count + 1 for count in counts.values()) <= MOST_PORTIONS:
            return [places for places, _, _ in together]
        together.sort(key=lambda one: one[2], reverse=True)
        (first, some, size), (second, more, also) = together.pop(), together.pop()
        together.append(([*first, *second], tuple(sorted(some + more)), size + also))
