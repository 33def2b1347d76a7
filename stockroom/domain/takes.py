"""Taking narrow goods from reels and counted goods from bins."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import NamedTuple

from stockroom.domain.quantities import show_length
from stockroom.domain.shortage import Short, lot_name, lots_free, short_of_length

MOST_LOTS = 3
"""More lots than this are never mixed in one matching group."""
_LOTS_TRIED = 6
_SPLIT = {"one": "reel", "many": "reels"}


class ReelFree(NamedTuple):
    """What is free of one reel (or roll, or remnant) of narrow goods."""

    holding_id: int
    tag: str
    lot: str
    free_mm: int
    """Contiguous: the longest run that can be taken."""
    remnant: bool
    received: int
    """Order of arrival: smaller is older."""


class RunNeeded(NamedTuple):
    """Narrow goods for one requirement."""

    ref: int
    quantity_mm: int
    """In all."""
    each_mm: int
    """The longest single run in it, which must not be pieced; 0 where any lengths will do."""


class BinFree(NamedTuple):
    """What is free in one bin: a counted item of one lot in one place."""

    holding_id: int
    tag: str
    lot: str
    free: int
    received: int = 0
    """Order of arrival: smaller is older."""


@dataclass(frozen=True, slots=True)
class Take:
    """So much of one holding for one requirement."""

    holding_id: int
    ref: int
    quantity: int
    """mm or count."""
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LengthsPlan:
    """Narrow goods found."""

    takes: tuple[Take, ...]
    lots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CountsPlan:
    """Counted goods found."""

    takes: tuple[Take, ...]


def plan_lengths(
    runs: Sequence[RunNeeded],
    reels: Sequence[ReelFree],
    shortest_useful_mm: int,
    bound_to: frozenset[str] = frozenset(),
    mix_approved: bool = False,
) -> LengthsPlan | Short:
    """Takes the runs from reels of one lot; from up to three where a mix was approved.

    A run is never pieced: where a requirement is shared out over reels, each but the last gives whole multiples of its
    longest run. Guaranteed: where one reel of one permitted lot holds them all, or has room for each requirement in the
    order of their lengths, a plan is found. Remnants are used up first, and a reel is not left with a useless end
    where another would not be.
    """
    runs = [run for run in runs if run.quantity_mm > 0]
    if not runs:
        return LengthsPlan((), ())
    by_lot = _by_lot(reels)
    found = _one_lot(runs, by_lot, shortest_useful_mm, bound_to)
    if found is not None:
        return found
    mixed = _mixed(runs, by_lot, shortest_useful_mm, bound_to)
    if mixed is not None and mix_approved:
        return mixed
    needed = sum(run.quantity_mm for run in runs)
    free = lots_free((reel.lot, reel.free_mm) for reel in reels if reel.free_mm > 0)
    would_mix = mixed.lots if mixed is not None else ()
    longest = free[0].lot if free else ""
    sentence = short_of_length(needed, free, bound_to, would_mix, _SPLIT)
    return Short(tuple(run.ref for run in runs), needed, sentence, longest, would_mix)


def lengths_for_what_there_is(
    runs: Sequence[RunNeeded],
    reels: Sequence[ReelFree],
    shortest_useful_mm: int,
    bound_to: frozenset[str] = frozenset(),
    mix_approved: bool = False,
) -> tuple[LengthsPlan, Short | None]:
    """As many whole requirements as there is narrow goods for, and what is short."""
    found = plan_lengths(runs, reels, shortest_useful_mm, bound_to, mix_approved)
    if isinstance(found, LengthsPlan):
        return found, None
    best = LengthsPlan((), ())
    kept: list[RunNeeded] = []
    by_lot = _by_lot(reels)
    lots = [lot for lot in by_lot if not bound_to or lot in bound_to or mix_approved]
    for chosen in [tuple(lots)] if mix_approved and len(lots) <= MOST_LOTS else [(lot,) for lot in lots]:
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


def _one_lot(
    runs: Sequence[RunNeeded], by_lot: dict[str, list[ReelFree]], useful: int, bound_to: frozenset[str]
) -> LengthsPlan | None:
    """The best plan from one permitted lot: least off full reels, no useless ends, fewest reels, then the oldest."""
    best: tuple[tuple[object, ...], LengthsPlan] | None = None
    needed = sum(run.quantity_mm for run in runs)
    for lot, reels in by_lot.items():
        if (bound_to and lot not in bound_to) or sum(reel.free_mm for reel in reels) < needed:
            continue
        plan = _from_lots(runs, reels, useful, _why_lot(lot, bound_to))
        if plan is None:
            continue
        key = (*_quality(plan, reels, useful), lot)
        if best is None or key < best[0]:
            best = (key, plan)
    return best and best[1]


def _why_lot(lot: str, bound_to: frozenset[str]) -> str:
    if lot in bound_to:
        return f"From {lot_name(lot)}, which this car's matching group has already."
    return f"All from {lot_name(lot)}: what is seen together comes from one dye lot."


def _quality(plan: LengthsPlan, reels: Sequence[ReelFree], useful: int) -> tuple[int, int, int, int]:
    by_id = {reel.holding_id: reel for reel in reels}
    used: dict[int, int] = {}
    for take in plan.takes:
        used[take.holding_id] = used.get(take.holding_id, 0) + take.quantity
    on_reels = sum(mm for holding, mm in used.items() if not by_id[holding].remnant)
    useless = sum(0 < by_id[holding].free_mm - mm < useful for holding, mm in used.items())
    return on_reels, useless, len(used), min(by_id[holding].received for holding in used)


def _mixed(
    runs: Sequence[RunNeeded], by_lot: dict[str, list[ReelFree]], useful: int, bound_to: frozenset[str]
) -> LengthsPlan | None:
    """The fewest lots, up to three, that together do; those the group has already come first."""
    free = {lot: sum(reel.free_mm for reel in reels) for lot, reels in by_lot.items()}
    lots = sorted(by_lot, key=lambda lot: (lot not in bound_to, -free[lot], lot))[:_LOTS_TRIED]
    needed = sum(run.quantity_mm for run in runs)
    for count in range(1, MOST_LOTS + 1):
        for chosen in combinations(lots, count):
            if sum(free[lot] for lot in chosen) < needed:
                continue
            reels = [reel for lot in chosen for reel in by_lot[lot]]
            names = " and ".join(lot_name(lot) for lot in chosen)
            why = f"From {names}: no single lot is enough, and here they may be mixed."
            plan = _from_lots(runs, reels, useful, why)
            if plan is not None:
                return plan
    return None


def _from_lots(runs: Sequence[RunNeeded], reels: Sequence[ReelFree], useful: int, why: str) -> LengthsPlan | None:
    """All the runs from these reels: remnants first, then one reel for all, then the longest reels first."""
    for order in (_remnants_first, _one_for_all, _longest_first):
        takes = _take_all(runs, order(reels, sum(run.quantity_mm for run in runs)), useful, why)
        if takes is not None:
            by_id = {reel.holding_id: reel.lot for reel in reels}
            return LengthsPlan(takes, tuple(dict.fromkeys(by_id[take.holding_id] for take in takes)))
    return None


def _as_many(runs: Sequence[RunNeeded], reels: Sequence[ReelFree], useful: int) -> tuple[LengthsPlan, list[RunNeeded]]:
    plan, kept = LengthsPlan((), ()), list[RunNeeded]()
    lots = " and ".join(dict.fromkeys(lot_name(reel.lot) for reel in reels))
    for run in sorted(runs, key=lambda run: -run.quantity_mm):
        tried = _from_lots([*kept, run], reels, useful, f"What there is, from {lots}.")
        if tried is not None:
            plan, kept = tried, [*kept, run]
    return plan, kept


def _remnants_first(reels: Sequence[ReelFree], _needed: int) -> list[ReelFree]:
    return sorted(reels, key=lambda r: (not r.remnant, r.received if not r.remnant else 0, r.free_mm, r.holding_id))


def _one_for_all(reels: Sequence[ReelFree], needed: int) -> list[ReelFree]:
    enough = [reel for reel in reels if reel.free_mm >= needed]
    return sorted(enough, key=lambda r: (not r.remnant, r.received, r.free_mm, r.holding_id))[:1]


def _longest_first(reels: Sequence[ReelFree], _needed: int) -> list[ReelFree]:
    return sorted(reels, key=lambda r: (-r.free_mm, r.received, r.holding_id))


def _take_all(runs: Sequence[RunNeeded], reels: Sequence[ReelFree], useful: int, why: str) -> tuple[Take, ...] | None:
    """Every requirement from one reel where one has room, else shared out in whole runs."""
    left = {reel.holding_id: reel.free_mm for reel in reels}
    takes: list[Take] = []
    for run in sorted(runs, key=lambda run: (-run.each_mm, -run.quantity_mm, run.ref)):
        one = _reel_for(run, reels, left, useful)
        shares = [(one, run.quantity_mm)] if one is not None else _shared_out(run, reels, left)
        if shares is None:
            return None
        for reel, quantity in shares:
            left[reel.holding_id] -= quantity
            takes.append(Take(reel.holding_id, run.ref, quantity, (why, _why_reel(reel, quantity, left, useful))))
    return tuple(takes)


def _reel_for(run: RunNeeded, reels: Sequence[ReelFree], left: dict[int, int], useful: int) -> ReelFree | None:
    """The reel for a whole requirement: remnants before reels, no useless end, then in the given order."""

    def suits(at: int) -> tuple[bool, bool, int]:
        rest = left[reels[at].holding_id] - run.quantity_mm
        return not reels[at].remnant, 0 < rest < useful, at

    room = [at for at, reel in enumerate(reels) if left[reel.holding_id] >= run.quantity_mm]
    return reels[min(room, key=suits)] if room else None


def _shared_out(run: RunNeeded, reels: Sequence[ReelFree], left: dict[int, int]) -> list[tuple[ReelFree, int]] | None:
    shares, missing = [], run.quantity_mm
    each = max(1, run.each_mm)
    for reel in reels:
        room = left[reel.holding_id]
        part = missing if room >= missing else room // each * each
        if part > 0:
            shares.append((reel, part))
            missing -= part
        if not missing:
            return shares
    return None


def _why_reel(reel: ReelFree, quantity: int, left: dict[int, int], useful: int) -> str:
    what = "Remnant" if reel.remnant else "Reel"
    first = ", used up before a full reel" if reel.remnant else ""
    rest = left[reel.holding_id]
    end = " and nothing is left" if not rest else f" and {show_length(rest)} is left"
    useless = ", too short to be useful" if 0 < rest < useful else ""
    return f"{what} {reel.tag}{first}: {show_length(quantity)} is taken{end}{useless}."
