"""One lot held against all that it would be seen beside: pair by pair, so that no chain of near matches passes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stockroom.domain.matching import Judged, Match
from stockroom.domain.shortage import lot_name

BEST_FIRST = tuple(Match)


@dataclass(frozen=True, slots=True)
class Beside:
    """How a lot matches everything that it would be seen beside."""

    match: Match
    """That of the pair that matches worst; the same lot where it is one of them, since it makes no new pair then."""
    nearest: float | None
    """Smallest CIEDE2000 difference to any of them; `None` where none is known."""
    largest: float | None
    why: str
    """A sentence: of the pair that decides."""
    to_see: tuple[str, ...]
    """The lots beside which somebody has still to look at it."""

    @property
    def order(self) -> tuple[int, float]:
        """The best first: by the words, then by the largest difference, what has none last."""
        return BEST_FIRST.index(self.match), float("inf") if self.largest is None else self.largest


def beside_all(judged: Mapping[str, Judged]) -> Beside:
    """`judged`: each lot that it would be seen beside, and how the two match. At least one.

    >>> two = {"A": Judged(Match.MATCHES, 0.4, "Near."), "C": Judged(Match.NO_MATCH, 2.1, "Far.")}
    >>> found = beside_all(two)
    >>> found.match.value, found.nearest, found.largest, found.why
    ('does not match', 0.4, 2.1, 'Beside lot C: Far.')
    """
    known = [one.de00 for one in judged.values() if one.de00 is not None]
    same = next((one for one in judged.values() if one.match is Match.SAME_LOT), None)
    if same is not None:
        return Beside(Match.SAME_LOT, min(known, default=None), max(known, default=None), same.why, ())
    lot, worst = max(judged.items(), key=lambda pair: _badness(pair[1]))
    why = worst.why if len(judged) == 1 else f"Beside {lot_name(lot)}: {worst.why}"
    to_see = tuple(lot for lot, one in judged.items() if one.match is Match.BY_EYE and one.seen is None)
    return Beside(worst.match, min(known, default=None), max(known, default=None), why, to_see)


def _badness(judged: Judged) -> tuple[int, float]:
    return BEST_FIRST.index(judged.match), float("inf") if judged.de00 is None else judged.de00
