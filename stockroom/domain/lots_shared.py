"""The free dye lots of a cloth, shared out to what is needed in one lot each: what no lot is left for must come anew.

Two rests of different lots do not serve an order that needs one. Of all ways to share the lots out, what is left out at
the least counts: more in any lot, or another lot, only adds ways, so more stock never asks for more. To serve whoever
comes first would break that. A few needs are shared out exactly. For many it is counted how many of a length or longer
the lots hold at the most, length by length: exact for needs alike, and never more than would be left out exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

MOST_EXACT = 8
"""So many needs are shared out exactly."""


@lru_cache(maxsize=4096)
def ways_left_out(needs_mm: tuple[int, ...], lots_mm: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
    """Which needs are left out, as places in `needs_mm`: each way that leaves out nothing that had room besides.

    `lots_mm`: what is free of each lot. For many needs one way.

    >>> ways_left_out((3, 2), (4,)), ways_left_out((3, 2), (3, 2)), ways_left_out((4,) * 10, (8, 19, 3, 3))
    (((1,), (0,)), ((),), ((9, 8, 7, 6),))
    """
    return _exactly(needs_mm, lots_mm) if len(needs_mm) <= MOST_EXACT else (_by_length(needs_mm, lots_mm),)


def least_left_out(needs_mm: tuple[int, ...], lots_mm: tuple[int, ...]) -> int:
    """How much of the needs is left out at the least, in mm.

    >>> least_left_out((3, 2), (4,)), least_left_out((3894,) * 5, (3900, 7800, 3206))
    (2, 7788)
    """
    return min(sum(needs_mm[place] for place in way) for way in ways_left_out(needs_mm, lots_mm))


def _exactly(needs_mm: Sequence[int], lots_mm: Sequence[int]) -> tuple[tuple[int, ...], ...]:
    """Every way, by filling the lots one after the other, the largest first."""
    rooms = sorted(lots_mm, reverse=True)[: len(needs_mm)]
    # For each choice of needs that has room: the fewest lots, and then the least taken of the last one.
    best: dict[int, tuple[int, int]] = {0: (0, 0)}
    for chosen in range(2 ** len(needs_mm)):
        if chosen not in best:
            continue
        lot, taken = best[chosen]
        for place, need in enumerate(needs_mm):
            at = next((at for at in ((lot, taken + need), (lot + 1, need)) if _has_room(rooms, *at)), None)
            if at is not None and not chosen >> place & 1:
                more = chosen | 1 << place
                best[more] = min(best.get(more, at), at)
    places = range(len(needs_mm))
    ways = ((chosen, tuple(place for place in places if not chosen >> place & 1)) for chosen in sorted(best))
    return tuple(left for chosen, left in ways if not any(chosen | 1 << place in best for place in left))


def _has_room(rooms: Sequence[int], lot: int, taken: int) -> bool:
    return lot < len(rooms) and taken <= rooms[lot]


def _by_length(needs_mm: Sequence[int], lots_mm: Sequence[int]) -> tuple[int, ...]:
    """The shortest needs that can be left out so that no length or longer asks for more than the lots hold of it."""
    longest_first = sorted(range(len(needs_mm)), key=lambda place: -needs_mm[place])
    left_out: list[int] = []
    waiting: list[int] = []
    for number, place in enumerate(longest_first, 1):
        waiting.append(place)
        length = needs_mm[place]
        if number < len(longest_first) and needs_mm[longest_first[number]] == length:
            continue
        room = sum(lot // length for lot in lots_mm)
        while len(left_out) < number - room:
            left_out.append(waiting.pop())
    return tuple(left_out)
