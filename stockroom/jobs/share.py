"""What of all that was taken for an order is in one of its pieces, and what of it lies about.

What is taken is counted for all the copies of a piece together. What was kept or scrapped has its own part written
down; the others share what is left, piece by piece.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from stockroom.jobs.ready import MadeOf, key_of
from stockroom.store.bill import KeptRequirement
from stockroom.store.finished import Became
from stockroom.store.pieces import KeptPiece


@dataclass(frozen=True, slots=True)
class Share:
    """One thing that a piece consists of, and what of it is in the piece."""

    requirement: KeptRequirement
    """What the bill asks for. Of a made-up item it is the item itself, whatever it was made of."""
    asked: int
    """Of this one piece."""
    there: int
    amounts: Mapping[int, int]
    """Requirement id → how much of what was taken for it is in the piece."""

    @property
    def is_cut(self) -> bool:
        """Whether its panels, if it has any, are cut."""
        return self.requirement.requirement.need not in ("panel", "made") or self.there == self.asked


def gone_with(became: Iterable[Became]) -> Counter[int]:
    """Requirement id → what of it went with pieces that were kept or scrapped."""
    gone: Counter[int] = Counter()
    for one in became:
        gone.update(one.amounts)
    return gone


def share_of(of: MadeOf, one: KeptPiece, gone: Mapping[int, int]) -> list[Share]:
    """What a piece consists of, of what was taken and has not gone elsewhere."""
    shares = []
    for part in of.plain:
        asked = part.requirement.quantity // max(1, of.copies)
        there = min(asked, of.taken[part.id] - gone.get(part.id, 0))
        shares.append(Share(part, asked, there, {part.id: there} if there else {}))
    for made in of.made:
        unit = of.units.get(one.piece.copy, [])
        if unit:
            whole = all(of.taken[part.id] == part.needed for part in unit)
            amounts = {part.id: of.taken[part.id] for part in unit if of.taken[part.id] and part.id not in gone}
            shares.append(Share(made, 1, int(whole and bool(amounts)), amounts))
        else:
            there = min(1, of.taken[made.id] - gone.get(made.id, 0))
            shares.append(Share(made, 1, there, {made.id: 1} if there else {}))
    return shares


def shares_left(
    of: Mapping[tuple[int, str, str], MadeOf], pieces: Sequence[KeptPiece], became: Mapping[int, Became]
) -> dict[int, list[Share]]:
    """Piece id → what is in it, for the pieces that were neither kept nor scrapped, in their order."""
    gone = gone_with(became.values())
    found = {}
    for one in pieces:
        if one.id not in became:
            found[one.id] = share_of(of[key_of(one)], one, gone)
            for share in found[one.id]:
                gone.update(share.amounts)
    return found


def amounts_of(shares: Iterable[Share]) -> dict[int, int]:
    """Requirement id → how much of what was taken is in a piece."""
    amounts: defaultdict[int, int] = defaultdict(int)
    for share in shares:
        for requirement_id, amount in share.amounts.items():
            amounts[requirement_id] += amount
    return dict(amounts)
