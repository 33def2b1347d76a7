"""How runs of narrow goods come off the reels of one dye lot.

A run is never pieced: where a requirement is shared out over reels, each but the last gives whole multiples of its
longest run.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from stockroom.domain.quantities import show_length


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
    piece: str = ""
    """Runs with the same name here belong to one piece and never come from different lots; '' stands alone."""
    copies: int = 1
    """So many pieces share it, each as much."""


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


def runs_from(runs: Sequence[RunNeeded], reels: Sequence[ReelFree], useful: int, why: str) -> LengthsPlan | None:
    """All the runs from these reels: remnants first, then one reel for all, then the longest reels first."""
    for order in (_remnants_first, _one_for_all, _longest_first):
        takes = _take_all(runs, order(reels, sum(run.quantity_mm for run in runs)), useful, why)
        if takes is not None:
            by_id = {reel.holding_id: reel.lot for reel in reels}
            return LengthsPlan(takes, tuple(dict.fromkeys(by_id[take.holding_id] for take in takes)))
    return None


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
