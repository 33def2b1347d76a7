"""Finished things of the stock, and whether one of them is just what an order asks for.

A finished thing is a made piece, or a whole kit, that no order has taken. It fits where all that it consists of equals
what the bill of the new order asks for there: the item and so the colour, the outline with its holes, the hand and the
amount. The car's rules made that bill, so that they need not be asked again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from stockroom.domain.requirement import Need, PanelShape
from stockroom.domain.shortage import lot_name
from stockroom.domain.wording import listed

Part = tuple[str, str, str, str]
"""Path, piece, part and hand: where something belongs within a piece or a kit."""


@dataclass(frozen=True, slots=True)
class Cover:
    """One thing that a bill asked for, and what of it is in the finished piece or kit."""

    path: str
    """Kits inside the kit that it is, joined by '/'; '' for its own pieces, and for a piece by itself."""
    piece: str
    part: str
    hand: str
    need: Need
    item: str
    amount: int
    """As the bill asked: panels, mm or count."""
    each_mm: int
    shape: PanelShape | None
    there: int
    """What of it is in the finished thing."""
    lots: tuple[str, ...]
    """The dye lots that it was taken from."""

    @property
    def where(self) -> Part:
        """Where it belongs."""
        return self.path, self.piece, self.part, self.hand


@dataclass(frozen=True, slots=True)
class AskedFor:
    """One thing that the bill of an order asks for, in a place that a finished thing may take."""

    path: str
    piece: str
    part: str
    hand: str
    need: Need
    item: str
    amount: int
    each_mm: int
    shape: PanelShape | None
    group: str
    """Matching group, or ''."""
    bound_to: frozenset[str] = field(default_factory=frozenset)
    """The lots that its matching group has already; empty: none yet."""
    approved: tuple[frozenset[str], ...] = ()
    """The mixes that somebody approved: of each, all the lots that the matching group may have."""

    @property
    def where(self) -> Part:
        """Where it belongs."""
        return self.path, self.piece, self.part, self.hand

    @property
    def must_match(self) -> bool:
        """Whether it must be of the lot that its matching group has."""
        return bool(self.group) and self.need in ("panel", "length")

    def may_have(self, lots: Iterable[str]) -> bool:
        """Whether its matching group may have these lots beside those that it has."""
        group = self.bound_to.union(lots)
        return len(group) < 2 or group == self.bound_to or any(group <= mix for mix in self.approved)


def why_it_does_not_fit(
    covers: Sequence[Cover], changes: Sequence[str], asked: Sequence[AskedFor], changes_asked: Sequence[str]
) -> str:
    """Why a finished thing is not what is asked for, as the second half of a sentence; '' where it fits.

    `changes` and `changes_asked`: this car's own changes, in words, of the one and of the other.
    """
    if set(changes) != set(changes_asked):
        own = [one for one in changes_asked if one not in changes]
        return f"this car is not like it: {own[0]}" if own else "it was changed for another car"
    there = {one.where: one for one in covers}
    wanted = {one.where: one for one in asked}
    for where, one in wanted.items():
        if where not in there:
            return f"it has no {_name(one)}"
        if difference := _difference(there[where], one):
            return f"{_name(one)}: {difference}"
    extra = [one for where, one in there.items() if where not in wanted]
    return f"{_name(extra[0])} of it is not asked for" if extra else _mixed(there, asked)


def lots_it_binds(covers: Sequence[Cover], asked: Sequence[AskedFor]) -> Mapping[tuple[str, str], str]:
    """(matching group, item) → the lot that a group which has none yet gets by a finished thing that fits."""
    there = {one.where: one for one in covers}
    return {
        (one.group, one.item): there[one.where].lots[0]
        for one in asked
        if one.must_match and not one.bound_to and not one.approved and there[one.where].lots
    }


def lacking(covers: Sequence[Cover]) -> list[Cover]:
    """What of a finished thing is not there, in whole or in part."""
    return [one for one in covers if one.there < one.amount]


def _difference(cover: Cover, asked: AskedFor) -> str:
    if cover.item != asked.item:
        return f"it is of {cover.item}, and {asked.item} is asked for"
    if (cover.need, cover.amount, cover.each_mm) != (asked.need, asked.amount, asked.each_mm):
        return "another amount is asked for"
    if cover.shape != asked.shape:
        return "another shape, or other holes, are asked for"
    if not asked.must_match or not cover.lots:
        return ""
    names = listed(map(lot_name, cover.lots))
    if asked.bound_to and not asked.may_have(cover.lots):
        return f"it is of {names}, and the set has {listed(map(lot_name, sorted(asked.bound_to)))}"
    return ""


def _mixed(there: Mapping[Part, Cover], asked: Sequence[AskedFor]) -> str:
    """Why a thing of several lots does not go into one matching group that has none yet."""
    lots: defaultdict[tuple[str, str], set[str]] = defaultdict(set)
    free = [one for one in asked if one.must_match and not one.bound_to]
    for one in free:
        lots[one.group, one.item].update(there[one.where].lots)
    for one in free:
        some = lots[one.group, one.item]
        if not one.may_have(some):
            return f"its {one.item} is of {listed(map(lot_name, sorted(some)))}, and a set is of one lot"
    return ""


def _name(one: Cover | AskedFor) -> str:
    return " ".join(part for part in (one.piece, one.part, one.hand) if part)
