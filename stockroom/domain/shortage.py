"""What is short, in words somebody can act on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from stockroom.domain.quantities import show_length
from stockroom.domain.wording import listed, literal


@dataclass(frozen=True, slots=True)
class Short:
    """There is not enough, and why."""

    refs: tuple[int, ...]
    """What goes without, as the asker counts; each as often as it is missing."""
    missing: int
    """How much: mm (of cloth, the length that the panels would take) or count."""
    sentence: str
    longest_lot: str = ""
    """The lot with most of it free, or ''."""
    would_mix: tuple[str, ...] = ()
    """All the lots that the matching group would have, if somebody approves the mix; empty where none would do."""


@dataclass(frozen=True, slots=True)
class LotFree:
    """What one lot has free."""

    lot: str
    free_mm: int
    stretches: int
    longest_mm: int


def lots_free(stretches: Iterable[tuple[str, int]]) -> list[LotFree]:
    """Lots with what they have free, most first; `stretches` are lot and length in mm of each free stretch."""
    by_lot: dict[str, list[int]] = {}
    for lot, length in stretches:
        by_lot.setdefault(lot, []).append(length)
    found = [LotFree(lot, sum(lengths), len(lengths), max(lengths)) for lot, lengths in by_lot.items()]
    return sorted(found, key=lambda one: (-one.free_mm, one.lot))


def lot_name(lot: str) -> str:
    """A lot as a sentence names it."""
    return f"lot {literal(lot)}" if lot else "the stock without a lot number"


def short_of_length(
    needed_mm: int,
    free: Sequence[LotFree],
    bound_to: frozenset[str],
    to_match: frozenset[str],
    split: Mapping[str, str],
) -> str:
    """The sentence for a shortage of cloth or narrow goods by length.

    `bound_to` and `to_match`: see `stockroom.domain.group_rule.MatchingGroup`. `split` names what the stretches are
    pieces of: 'one' (a stretch, a reel) and 'many'.
    """
    need = f"{show_length(needed_mm)} {'is' if needed_mm <= 1000 else 'are'} needed"
    if bound_to or to_match:
        wanted = bound_to or to_match
        names = listed(lot_name(lot) for lot in sorted(wanted))
        which = "which this car's matching group has already" if bound_to else "which went out before"
        mine = [one for one in free if one.lot in wanted]
        has = "; ".join(_has(one, split) for one in mine) if mine else "nothing of it is free"
        return f"It must match {names}, {which}: {has}; {need}."
    if not free:
        return f"Nothing of it is free; {need}."
    shown = ", ".join(_has(one, split) for one in free[:4])
    others = f" and {len(free) - 4} more lots have less" if len(free) > 4 else ""
    return f"No single dye lot is long enough: {shown}{others}; {need}."


def _has(one: LotFree, split: Mapping[str, str]) -> str:
    pieces = (
        f" in {one.stretches} {split['many']}, the longest {show_length(one.longest_mm)}" if one.stretches > 1 else ""
    )
    return f"{lot_name(one.lot)} has {show_length(one.free_mm)} free{pieces}"
