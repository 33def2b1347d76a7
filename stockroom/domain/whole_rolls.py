"""Whole rolls, and what must come in one dye lot: two half rolls of different lots do not serve an order.

The rolls of one purchase may be of several lots. So what an order needs in one lot must fit on one roll, beside others
or alone; what is longer than a roll fills whole rolls of one lot, which has to be asked for, and its rest is one piece.
The fewest rolls that hold all of them are found exactly for a few needs. For many they are filled in turn, the longest
need first, and a roll that the next one does not fit on is closed: that may take more rolls, and like the exact answer
it never takes more for fewer needs.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from stockroom.domain.catalogue import Item
from stockroom.domain.lots_shared import ways_left_out
from stockroom.domain.shortfall import last_week_served
from stockroom.domain.standing import OneLot, OpenNeed, Standing
from stockroom.domain.weeks import Week

MOST_EXACT = 12
"""So many needs are shared out over rolls exactly."""
_NAMED = 4
"""Needs that one sentence names."""


def in_one_lot(standing: Standing, week: Week, lead_days: int, roll_mm: int | None) -> tuple[OneLot, ...]:
    """What is to be bought in one lot each, by week and order: of all ways to share out what is free, the one that
    takes the fewest rolls, and then the least.

    What is on order already is meant for the first of them, as far as it goes.
    """
    last = last_week_served(week, lead_days)
    served = [need for need in standing.needs if need.week is None or need.week <= last]
    served.sort(key=lambda need: (need.week is None, need.week or week))
    sharing = tuple(one.quantity for need in served for one in need.from_one_lot)
    ways = ways_left_out(sharing, standing.lots)
    return min((_anew(standing, served, way) for way in ways), key=lambda lots: (_rolls(lots, roll_mm), _in_all(lots)))


def _anew(standing: Standing, served: Iterable[OpenNeed], left_out: Collection[int]) -> tuple[OneLot, ...]:
    """What is out of reach, and what is left out of what shares the free lots, beyond what is on order already."""
    coming = sum(due.quantity for due in standing.dues)
    found, so_far, place = [], 0, 0
    for need in served:
        beside = [one for number, one in enumerate(need.from_one_lot, place) if number in left_out]
        place += len(need.from_one_lot)
        for one in (*need.in_one_lot, *beside):
            so_far += one.quantity
            if so_far > coming:
                found.append(one)
    return tuple(found)


def _rolls(lots: Iterable[OneLot], roll_mm: int | None) -> int:
    return rolls_for((one.quantity for one in lots), roll_mm) if roll_mm else 0


def _in_all(lots: Iterable[OneLot]) -> int:
    return sum(one.quantity for one in lots)


def must_come(lots: Sequence[OneLot], roll_mm: int | None, must: int) -> int:
    """How much must come where `must` lacks, so that each lot asked for comes whole, on whole rolls if sold by them."""
    return max(must, _in_all(lots), _rolls(lots, roll_mm) * (roll_mm or 0))


def rolls_for(lengths_mm: Iterable[int], roll_mm: int) -> int:
    """How many rolls hold them all, each on one roll, or on whole rolls and one piece more.

    >>> rolls_for([15_000, 15_000], 25_000), rolls_for([15_000, 10_000], 25_000), rolls_for([60_000], 25_000)
    (2, 1, 3)
    """
    lengths = list(lengths_mm)
    rests = sorted((length % roll_mm for length in lengths if length % roll_mm), reverse=True)
    full = sum(length // roll_mm for length in lengths)
    return full + (_fewest(rests, roll_mm) if len(rests) <= MOST_EXACT else _in_turn(rests, roll_mm))


def _fewest(lengths: Sequence[int], roll_mm: int) -> int:
    """The fewest rolls; `lengths` the longest first, none longer than a roll."""
    at_least = max(-(-sum(lengths) // roll_mm), sum(1 for length in lengths if 2 * length > roll_mm))
    if _first_fit(lengths, roll_mm) == at_least:
        return at_least
    # For each choice of lengths: the fewest rolls, and then the least taken of the last one.
    best = [(0, roll_mm)] + [(len(lengths) + 1, 0)] * (2 ** len(lengths) - 1)
    for chosen in range(2 ** len(lengths)):
        rolls, taken = best[chosen]
        for number, length in enumerate(lengths):
            if not chosen >> number & 1:
                one_more = (rolls, taken + length) if taken + length <= roll_mm else (rolls + 1, length)
                best[chosen | 1 << number] = min(best[chosen | 1 << number], one_more)
    return best[-1][0]


def _first_fit(lengths: Sequence[int], roll_mm: int) -> int:
    left: list[int] = []
    for length in lengths:
        roll = next((number for number, rest in enumerate(left) if rest >= length), None)
        if roll is None:
            left.append(roll_mm - length)
        else:
            left[roll] -= length
    return len(left)


def _in_turn(lengths: Sequence[int], roll_mm: int) -> int:
    rolls, left = 0, 0
    for length in lengths:
        if length > left:
            rolls, left = rolls + 1, roll_mm
        left -= length
    return rolls


def ask_words(item: Item, lots: Sequence[OneLot]) -> str:
    """What to ask the supplier for, in a few words, or ''."""
    if not lots:
        return ""
    named = [f"{item.shown(one.quantity)} in one dye lot (order {one.order})" for one in lots[:_NAMED]]
    more = f" and so for {len(lots) - _NAMED} more" if len(lots) > _NAMED else ""
    return f"ask for {', '.join(named)}{more}"


def rolls_steps(item: Item, lots: Sequence[OneLot], roll_mm: int | None, must: int) -> tuple[str, ...]:
    """What one lot asks of the purchase, and how many rolls that takes, where it is sold by the roll."""
    asked = ask_words(item, lots)
    steps = [f"{asked[0].upper()}{asked[1:]}: two half rolls of different lots would not serve."] if asked else []
    rolls = _rolls(lots, roll_mm)
    if _in_all(lots) > must:
        steps.append(f"What is on order serves a part of one only, so {item.shown(_in_all(lots))} must come for them.")
    if roll_mm and rolls * roll_mm >= must > 0 and lots:
        how = "" if len(lots) <= MOST_EXACT else ", filled in turn with the longest first"
        takes = f"takes {rolls} {'roll' if rolls == 1 else 'rolls'} of {item.shown(roll_mm)}{how}"
        steps.append(f"Each on one roll, or on rolls of one lot where it is longer, that {takes}.")
    return tuple(steps)
