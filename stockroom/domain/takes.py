"""Taking narrow goods from reels and counted goods from bins."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from stockroom.domain.group_rule import MOST_LOTS, MatchingGroup
from stockroom.domain.mixing import choose_mix, known_lot_words, nearest_lot_words, nearest_that_match
from stockroom.domain.reel_shares import ReelShares
from stockroom.domain.reels import LengthsPlan, ReelFree, RunNeeded, Take, runs_from
from stockroom.domain.shortage import Short, lot_name, lots_free, short_of_length

__all__ = [
    "BinFree",
    "CountsPlan",
    "LengthsPlan",
    "ReelFree",
    "RunNeeded",
    "Take",
    "lengths_for_what_there_is",
    "plan_counts",
    "plan_lengths",
]

_SPLIT = {"one": "reel", "many": "reels"}
_ANY = MatchingGroup()


class BinFree(NamedTuple):
    """What is free in one bin: a counted item of one lot in one place."""

    holding_id: int
    tag: str
    lot: str
    free: int
    received: int = 0
    """Order of arrival: smaller is older."""


@dataclass(frozen=True, slots=True)
class CountsPlan:
    """Counted goods found."""

    takes: tuple[Take, ...]


def plan_lengths(
    runs: Sequence[RunNeeded], reels: Sequence[ReelFree], shortest_useful_mm: int, group: MatchingGroup = _ANY
) -> LengthsPlan | Short:
    """Takes the runs from reels of one lot; from up to three where that mix was approved.

    Guaranteed: where one reel of one permitted lot holds them all, or has room for each requirement in the order of
    their lengths, a plan is found. Remnants are used up first, and a reel is not left with a useless end where another
    would not be.
    """
    runs = [run for run in runs if run.quantity_mm > 0]
    if not runs:
        return LengthsPlan((), ())
    by_lot = _by_lot(reels)
    found = _one_lot(runs, by_lot, shortest_useful_mm, group) or _nearest_lot(runs, by_lot, shortest_useful_mm, group)
    if found is not None:
        return found
    if group.is_free:
        every = [reel for some in by_lot.values() for reel in some]
        found = _all_from(runs, every, shortest_useful_mm, "From several lots: it is seen beside nothing.")
        if found is not None:
            return found
    shares = ReelShares(runs, by_lot, shortest_useful_mm)
    mixing = choose_mix(sorted(by_lot, key=lambda lot: _promise(by_lot[lot], lot)), group, shares)
    if mixing.is_allowed and mixing.mix is not None:
        return shares.plan(mixing.mix.shares, mixing.words)
    needed = sum(run.quantity_mm for run in runs)
    free = lots_free((reel.lot, reel.free_mm) for reel in reels if reel.free_mm > 0)
    sentence = short_of_length(needed, free, group.bound_to, group.to_match, _SPLIT)
    return Short(
        tuple(run.ref for run in runs),
        needed,
        f"{sentence} {mixing.words}".rstrip(),
        free[0].lot if free else "",
        mixing.would_mix,
    )


def lengths_for_what_there_is(
    runs: Sequence[RunNeeded], reels: Sequence[ReelFree], shortest_useful_mm: int, group: MatchingGroup = _ANY
) -> tuple[LengthsPlan, Short | None]:
    """As many whole requirements as there is narrow goods for, and what is short."""
    found = plan_lengths(runs, reels, shortest_useful_mm, group)
    if isinstance(found, LengthsPlan):
        return found, None
    best = LengthsPlan((), ())
    kept: list[RunNeeded] = []
    by_lot = _by_lot(reels)
    lots = [lot for lot in by_lot if group.may_begin_with(lot)]
    mixed = group.is_free or (0 < len(lots) <= MOST_LOTS and group.allows(frozenset(lots)))
    for chosen in [tuple(lots)] if mixed else [(lot,) for lot in lots]:
        plan, some = _as_many(runs, [reel for lot in chosen for reel in by_lot[lot]], shortest_useful_mm)
        if sum(run.quantity_mm for run in some) > sum(run.quantity_mm for run in kept):
            best, kept = plan, some
    missing = [run for run in runs if run not in kept]
    short = Short(
        tuple(run.ref for run in missing),
        sum(run.quantity_mm for run in missing),
        found.sentence,
        found.longest_lot,
        found.would_mix,
    )
    return best, short


def plan_counts(quantity: int, bins: Sequence[BinFree], ref: int = 0) -> CountsPlan | Short:
    """Takes so many from the bins: from the emptiest that has enough, else from several, the emptiest first."""
    free = sum(one.free for one in bins)
    if free < quantity:
        sentence = f"{quantity} {'is' if quantity == 1 else 'are'} needed, and {free or 'none'} {_is(free)} free."
        return Short((ref,), quantity - free, sentence)
    enough = sorted((one for one in bins if one.free >= quantity), key=lambda b: (b.free, b.received, b.holding_id))
    if enough and quantity > 0:
        why = f"Bin {enough[0].tag} has {enough[0].free} free, enough for {quantity}."
        return CountsPlan((Take(enough[0].holding_id, ref, quantity, (why,)),))
    takes, left = [], quantity
    for one in sorted(bins, key=lambda b: (b.free, b.received, b.holding_id)):
        part = min(left, one.free)
        if part > 0:
            why = f"No single bin has {quantity}; {part} from bin {one.tag}, the emptiest first."
            takes.append(Take(one.holding_id, ref, part, (why,)))
            left -= part
    return CountsPlan(tuple(takes))


def _is(count: int) -> str:
    return "is" if count < 2 else "are"


def _by_lot(reels: Iterable[ReelFree]) -> dict[str, list[ReelFree]]:
    by_lot: dict[str, list[ReelFree]] = {}
    for reel in reels:
        if reel.free_mm > 0:
            by_lot.setdefault(reel.lot, []).append(reel)
    return by_lot


def _promise(reels: Sequence[ReelFree], lot: str) -> tuple[int, int, str]:
    """Less is more promising: a lot with much in remnants, an old one."""
    remnants = sum(reel.free_mm for reel in reels if reel.remnant)
    return -remnants, min(reel.received for reel in reels), lot


def _one_lot(
    runs: Sequence[RunNeeded], by_lot: Mapping[str, Sequence[ReelFree]], useful: int, group: MatchingGroup
) -> LengthsPlan | None:
    """The best plan from one permitted lot: least off full reels, no useless ends, fewest reels, then the oldest."""
    best: tuple[tuple[object, ...], LengthsPlan] | None = None
    first = group.bound_to or group.to_match
    for lot, reels in by_lot.items():
        if first and lot not in first:
            continue
        plan = _all_from(runs, reels, useful, _why_lot(lot, group))
        if plan is None:
            continue
        key = (*_quality(plan, reels, useful), lot)
        if best is None or key < best[0]:
            best = (key, plan)
    return best and best[1]


def _nearest_lot(
    runs: Sequence[RunNeeded], by_lot: Mapping[str, Sequence[ReelFree]], useful: int, group: MatchingGroup
) -> LengthsPlan | None:
    """All from the lot that is nearest to what went out, of those that match it and have enough."""
    tried = (
        _all_from(runs, by_lot[lot], useful, nearest_lot_words(lot, group))
        for lot in nearest_that_match(list(by_lot), group)
    )
    return next((plan for plan in tried if plan is not None), None)


def _all_from(runs: Sequence[RunNeeded], reels: Sequence[ReelFree], useful: int, why: str) -> LengthsPlan | None:
    if sum(reel.free_mm for reel in reels) < sum(run.quantity_mm for run in runs):
        return None
    return runs_from(runs, reels, useful, why)


def _why_lot(lot: str, group: MatchingGroup) -> str:
    return known_lot_words(lot, group) or f"All from {lot_name(lot)}: what is seen together comes from one dye lot."


def _quality(plan: LengthsPlan, reels: Sequence[ReelFree], useful: int) -> tuple[int, int, int, int]:
    by_id = {reel.holding_id: reel for reel in reels}
    used: dict[int, int] = {}
    for take in plan.takes:
        used[take.holding_id] = used.get(take.holding_id, 0) + take.quantity
    on_reels = sum(mm for holding, mm in used.items() if not by_id[holding].remnant)
    useless = sum(0 < by_id[holding].free_mm - mm < useful for holding, mm in used.items())
    return on_reels, useless, len(used), min(by_id[holding].received for holding in used)


def _as_many(runs: Sequence[RunNeeded], reels: Sequence[ReelFree], useful: int) -> tuple[LengthsPlan, list[RunNeeded]]:
    plan, kept = LengthsPlan((), ()), list[RunNeeded]()
    lots = " and ".join(dict.fromkeys(lot_name(reel.lot) for reel in reels))
    for run in sorted(runs, key=lambda run: -run.quantity_mm):
        tried = runs_from([*kept, run], reels, useful, f"What there is, from {lots}.")
        if tried is not None:
            plan, kept = tried, [*kept, run]
    return plan, kept
