"""What is looked up for one answer to the trimmer's question, in a few statements however much there is."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import NamedTuple

from stockroom.domain.beside import Beside, beside_all
from stockroom.domain.catalogue import Reading
from stockroom.domain.colour_difference import conditions
from stockroom.domain.matching import EyeVerdict, Judged, Lot, Match, judge_lots, lights_in_order, taken_together
from stockroom.domain.on_screen import on_screen
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.shortage import lot_name
from stockroom.domain.tags import KINDS
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.store import eye_verdicts, moving, racks, readings
from stockroom.store.about import factors_of
from stockroom.store.database import Shop, Tx
from stockroom.store.free_rolls import FreeRoll, free_rolls
from stockroom.store.racks import Lying
from stockroom.store.replaced_tags import scanned_tag

MOST_OF_A_LOT = 20
"""So many rolls of a lot are told one by one, the longest; of the others, how many there are and how much is free."""


MOST_READ = 40
"""So many readings of a lot, the latest, are taken together."""


@dataclass(frozen=True, slots=True)
class Shade:
    """The middle of what was read of a lot, or a master reading, and how a screen shows it."""

    L: float
    a: float
    b: float
    under: str
    """Illuminant and observer: 'D65/10°'."""
    on_screen: str
    """'#rrggbb': an approximation, and no proof of the colour."""
    in_gamut: bool
    """Whether a screen has this colour; else the nearest that it has is given."""
    readings: int = 1
    """How many it is the middle of."""
    spread: float = 0.0
    """How far the farthest of them is from it, as CIEDE2000, to 2 decimals."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One roll that may be used beside what was asked about."""

    tag: str
    item: str
    lot: str
    place: str
    free_mm: int
    free: str
    remnant: bool
    nearest_dE00: float | None  # noqa: N815 - the name that the number has everywhere
    """To 4 decimals: the smallest difference to any lot that it would be seen beside."""
    dE00: float | None  # noqa: N815
    """The largest, which decides."""
    words: str
    """'same lot', 'matches', 'check by eye in daylight' or 'does not match'."""
    why: str
    shade: Shade | None
    """`None` where nothing was read of its lot."""
    to_see: tuple[str, ...] = ()
    """Lots beside which somebody has still to look at it."""
    more_of_lot: str = ""
    """On the last roll that is told of a lot: how much more of it is free on others."""


@dataclass(frozen=True, slots=True)
class LotThere:
    """A lot that is to be matched."""

    lot: str
    how: str
    """How it came there: 'cut for order L-1022 (sent), roll R6F'."""
    shade: Shade | None


@dataclass(frozen=True, slots=True)
class Candidates:
    """The rolls of an item by how well they match."""

    item: str
    title: str
    beside: str
    """What they are held against: lots, or the master of the colour."""
    rolls: tuple[Candidate, ...]
    """The best first; those of one answer by their difference, then the longest first."""
    ask: str
    """What is to be done to know more; may be empty."""
    car: str = ""
    """Whose matching group it is; '' where it is nobody's."""
    group: str = ""
    """Matching group; '' where it is seen beside nothing."""
    must_match: tuple[LotThere, ...] = ()
    """The lots that it must match, each with how it came there; where it is seen beside nothing, those that it has."""
    other_cloths: tuple[str, ...] = ()
    """What else of this colour is seen beside it, which no number judges: sentences."""
    master: Shade | None = None
    lots: tuple[str, ...] = ()
    """The lots that they are held against; none: the master."""


class MatchDesk:
    """The shop at one moment, as the trimmer asks about it."""

    def __init__(self, shop: Shop, tx: Tx) -> None:
        self._tx = tx
        self.catalogue: Catalogue = catalogue_of(shop, tx)
        self._factors = factors_of(tx)
        self._rolls: dict[str, list[FreeRoll]] = {}
        self._read: dict[tuple[str, str], list[Reading]] = {}
        self._seen: Mapping[tuple[str, frozenset[str]], EyeVerdict] = {}
        self._lots: dict[tuple[str, str], Lot] = {}

    def look_at_lots(self, items: Collection[str]) -> None:
        """Reads what was read and seen of these items' lots, at once."""
        self._read = readings.latest_of_items(self._tx, items, MOST_READ)
        self._seen = eye_verdicts.verdicts_of_items(self._tx, items)

    def look_at(self, items: Collection[str], but_not: str = "") -> None:
        """Reads besides what is free of them, but for the roll of one tag."""
        self.look_at_lots(items)
        for one in free_rolls(self._tx, items, MOST_OF_A_LOT, but_not):
            self._rolls.setdefault(one.item, []).append(one)

    def roll(self, tag: str) -> Lying:
        """The roll that was scanned. Raises Refusal for what is none."""
        read = scanned_tag(self._tx, tag)
        known = moving.holding_of(self._tx, str(read))
        if known is None and read.kind == "R":
            raise Refusal(
                f"No roll in this shop has the tag {read}. It is well formed, so it may be from another shop."
            )
        found = None if known is None else racks.lying_by_id(self._tx, [known])[0]
        if found is None or found.kind != "roll":
            raise Refusal(f"{read} is the tag of a {KINDS[read.kind]}. Scan the tag of a roll or a reel.")
        return found

    def shade(self, item: str, lot: str) -> Shade | None:
        """What was read of a lot, taken together."""
        by_light = taken_together(self._lot(item, lot).readings, self._factors)
        if not by_light:
            return None
        found = by_light[lights_in_order(by_light)[0]]
        return replace(shade_of(found.middle), readings=found.readings, spread=round(found.spread, 2))

    def _lot(self, item: str, lot: str) -> Lot:
        key = item, lot
        if key not in self._lots:
            cloth = self.catalogue.cloths[self.catalogue.items[item].cloth]
            self._lots[key] = Lot(item, cloth, lot, tuple(self._read.get(key, ())))
        return self._lots[key]

    def judge(self, item: str, lot: str, other_item: str, other_lot: str) -> Judged:
        """How two lots match."""
        seen = self._seen.get((item, frozenset((lot, other_lot)))) if item == other_item else None
        return judge_lots(self._lot(item, lot), self._lot(other_item, other_lot), seen, self._factors)

    def candidates(self, code: str, lots: Sequence[str]) -> Candidates:
        """The rolls of an item that have something free, against some lots of it, or against the master."""
        item = self.catalogue.items[code]
        master = self.catalogue.masters.get(code)
        judge = self._beside(code, lots) if lots else self._against_master(code, master)
        rolls = list(self._rolls.get(code, ()))
        by_lot = {lot: judge(lot) for lot in {one.lot for one in rolls}}
        shown = {lot: _Shown.of(beside, self.shade(code, lot)) for lot, beside in by_lot.items()}
        rolls.sort(key=lambda one: (*by_lot[one.lot].order, one.lot, -one.free_mm))
        told = [_candidate(one, shown[one.lot], more) for one, more in zip(rolls, _more_of_lots(rolls), strict=True)]
        ask = next((one for one in told if lots and one.to_see), None)
        return Candidates(
            code,
            item.title,
            " and ".join(map(lot_name, lots)) if lots else "the master of its colour",
            tuple(told),
            asks_for(code, ask.lot, ask.to_see[0]) if ask else "",
            master=None if master is None else shade_of(master),
            lots=tuple(lots),
        )

    def _beside(self, code: str, lots: Sequence[str]) -> Callable[[str], Beside]:
        return lambda lot: beside_all({other: self.judge(code, other, code, lot) for other in lots})

    def _against_master(self, code: str, master: Reading | None) -> Callable[[str], Beside]:
        if master is None:
            judged = Judged(Match.BY_EYE, None, "Its colour has no master reading.")
            return lambda _lot: beside_all({"": judged})
        cloth = self.catalogue.cloths[self.catalogue.items[code].cloth]
        of_master = Lot("", cloth, "master", (master,))
        return lambda lot: beside_all({"": judge_lots(of_master, self._lot(code, lot), None, self._factors)})


def _more_of_lots(rolls: Sequence[FreeRoll]) -> Iterator[str]:
    """Beside the last roll of each lot: how much more of the lot there is than is told one by one."""
    number, free_mm = 0, 0
    for one, following in zip_longest(rolls, rolls[1:]):
        number, free_mm = number + 1, free_mm + one.free_mm
        if following is not None and following.lot == one.lot:
            yield ""
            continue
        others, length = one.rolls_of_lot - number, one.free_of_lot_mm - free_mm
        yield f"{others} more rolls of this lot, {show_length(length)} free on them in all" if others else ""
        number, free_mm = 0, 0


class _Shown(NamedTuple):
    """What is told alike of every roll of a lot."""

    nearest: float | None
    largest: float | None
    words: str
    why: str
    shade: Shade | None
    to_see: tuple[str, ...]

    @classmethod
    def of(cls, beside: Beside, shade: Shade | None) -> _Shown:
        """A lot that was held against others."""
        numbers = rounded(beside.nearest), rounded(beside.largest)
        return cls(*numbers, beside.match.value, beside.why, shade, beside.to_see)


def _candidate(one: FreeRoll, lot: _Shown, more: str) -> Candidate:
    free = show_length(one.free_mm)
    return Candidate(one.tag, one.item, one.lot, one.place, one.free_mm, free, one.remnant, *lot, more)


def shade_of(reading: Reading) -> Shade:
    """A reading with how a screen shows it."""
    shown = on_screen(reading)
    lightness, a, b = (round(one, 2) for one in (reading.lightness, reading.a, reading.b))
    return Shade(lightness, a, b, conditions(reading), shown.code, shown.in_gamut)


def rounded(difference: float | None) -> float | None:
    """To 4 decimals, as it is published."""
    return None if difference is None else round(difference, 4)


def asks_for(item: str, lot: str, other: str) -> str:
    """How an eye's verdict on two lots is written down; '' where one of them has no number to be known by."""
    if not lot or not other:
        return ""
    return f"Look at them side by side and write it down: {verdict_call(item, lot, other)}"


def verdict_call(item: str, lot: str, other: str) -> str:
    """What is typed in a shell to write down what an eye said of two lots."""
    return f"stockroom verdict {item} '{other}' '{lot}' match|near|no-match --light daylight"
