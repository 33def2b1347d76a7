"""Mixing lots where one is not enough: what is proposed, what was approved, and why none will do, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from stockroom.domain.best_mix import Mix, Shares, best_mix
from stockroom.domain.group_rule import MOST_LOTS, MatchingGroup, Pairs
from stockroom.domain.matching import Judged, Match
from stockroom.domain.shortage import lot_name
from stockroom.domain.wording import listed, literal


@dataclass(frozen=True, slots=True)
class Mixing:
    """What became of mixing lots."""

    mix: Mix | None
    is_allowed: bool
    """It may be used as it is: somebody approved it, or what it is for is seen beside nothing."""
    words: str
    """Sentences: why it is what it is, or why there is none."""

    @property
    def would_mix(self) -> tuple[str, ...]:
        """All the lots that the group would have, those that are cut from first; none where nothing is proposed."""
        return () if self.mix is None else tuple(dict.fromkeys((*self.mix.lots, *sorted(self.mix.group))))


def choose_mix(lots: Sequence[str], group: MatchingGroup, shares: Shares) -> Mixing:
    """The mix that was approved, where that still does; else the best one, which waits for approval; else why none.

    `lots` are those of which anything is free, in the order in which equals are preferred.
    """
    pairs = group.pairs(lots)
    for approved in group.approved:
        if group.bound_to <= approved:
            mix = best_mix([lot for lot in lots if lot in approved], group, shares, pairs)
            if mix is not None:
                return Mixing(mix, True, _approved_words(mix, group))
    mix = best_mix(lots, group, shares, pairs)
    if mix is None:
        return Mixing(None, False, _why_none(lots, group, shares, pairs))
    if group.is_free:
        return Mixing(mix, True, f"From {_names(mix.lots)}: no single lot is enough, and here they may be mixed.")
    return Mixing(mix, False, _proposal(mix, group))


def _names(lots: Sequence[str]) -> str:
    return listed(lot_name(lot) for lot in lots)


def _approved_words(mix: Mix, group: MatchingGroup) -> str:
    first = f"From {_names(mix.lots)}: no single lot is enough, and this mix is approved."
    return " ".join((first, *(f"{pair_words(*one)}." for one in group.judged(frozenset(mix.lots)))))


def _proposal(mix: Mix, group: MatchingGroup) -> str:
    new = [lot for lot in mix.lots if lot not in group.bound_to]
    names = listed(literal(lot) or "what has no lot number" for lot in new or mix.lots)
    judged = group.judged(mix.group - group.bound_to)
    to_see = [f"{lot_name(one)} beside {lot_name(other)}" for one, other, how in judged if how.match is Match.BY_EYE]
    looked = f", having looked in daylight at {listed(to_see)}" if to_see else ""
    return " ".join(
        (
            f"{names} {'together ' if len(new or mix.lots) > 1 else ''}would do.",
            *(f"{pair_words(*one)}." for one in judged),
            f"Somebody must approve the mix with initials{looked}.",
        )
    )


def pair_words(one: str, other: str, judged: Judged) -> str:
    """How a pair matches, without a full stop: 'Lot A beside lot B: matches; ΔE00 is 0.62; Carpet matches up to 1'."""
    first = lot_name(one)
    why = judged.why.rstrip(".")
    why = f"t{why[1:]}" if why.startswith("There ") else why
    return f"{first[0].upper()}{first[1:]} beside {lot_name(other)}: {judged.match.value}; {why}"


def _why_none(lots: Sequence[str], group: MatchingGroup, shares: Shares, pairs: Pairs) -> str:
    """Why no mix would do; '' where there is nothing to mix."""
    if not lots or (len(lots) < 2 and not group.beside):
        return ""
    if len(group.bound_to) >= MOST_LOTS and not group.bound_to.issuperset(lots):
        return f"The set has {_names(sorted(group.bound_to))} already, and never has more than three lots."
    # The mix that would be nearest to doing, if colours were no hindrance: the fewest pairs that fail, the least apart.
    in_room = best_mix(lots, group, shares, replace(pairs, never=pairs.never & False, at_limit=pairs.never))
    if in_room is None:
        return " ".join(("No mix of lots has enough either.", *nearest_words(lots, group, pairs)))
    new = [lot for lot in in_room.lots if lot not in group.bound_to]
    names = f"{_names(new)}{' together' if len(new) > 1 else ''}"
    said = "; ".join(pair_words(*one) for one in group.failing(in_room.group - group.bound_to))
    words = f"{names[0].upper()}{names[1:]} would have enough, but may not be used here. {said}."
    nearest = by_nearness(lots, group, pairs)[:1]
    return words if set(nearest) <= set(new) else " ".join((words, *nearest_words(lots, group, pairs)))


def nearest_words(lots: Sequence[str], group: MatchingGroup, pairs: Pairs) -> tuple[str, ...]:
    """How far the nearest lot is from those that a group is to be seen beside; nothing where there is none."""
    others = by_nearness(lots, group, pairs)
    if not others or not group.is_seen_together:
        return ()
    said = "; ".join(pair_words(others[0], one, group.colours().judged(others[0], one)) for one in sorted(group.beside))
    return (f"The nearest other lot is {lot_name(others[0])}. {said}.",)


def by_nearness(lots: Sequence[str], group: MatchingGroup, pairs: Pairs) -> list[str]:
    """The lots that the group is not beside already, those that match it best first."""
    at = {lot: index for index, lot in enumerate(pairs.lots)}
    beside = [at[lot] for lot in group.beside]

    def far(lot: str) -> tuple[int, int, float]:
        row = at[lot]
        return (
            int(pairs.never[row, beside].sum()),
            int(pairs.at_limit[row, beside].sum()),
            float(pairs.apart[row, beside].max(initial=0.0)),
        )

    return sorted((lot for lot in lots if lot not in group.beside), key=far) if beside else []


def nearest_that_match(lots: Sequence[str], group: MatchingGroup) -> Iterator[str]:
    """The lots that match what the group is to match, the nearest first; none where it is kept to lots that it has."""
    if group.bound_to or not group.to_match:
        return
    for lot in by_nearness(lots, group, group.pairs(lots)):
        if not group.is_matched_by(lot):
            return
        yield lot


def known_lot_words(lot: str, group: MatchingGroup) -> str:
    """Why a lot is taken that the group has, or is to match; '' for any other."""
    if lot in group.bound_to:
        return f"From {lot_name(lot)}, which this car's matching group has already."
    if lot in group.to_match:
        return f"From {lot_name(lot)}, which went out before and is to be matched."
    return ""


def nearest_lot_words(lot: str, group: MatchingGroup) -> str:
    """Why a lot is taken that is none of those that the group is to match."""
    first = f"From {lot_name(lot)}, the nearest that has enough to what went out before and is to be matched."
    return " ".join((first, *(f"{pair_words(*one)}." for one in group.judged(frozenset((lot,))))))
