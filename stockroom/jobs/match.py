"""The trimmer's question: which cloth can be used together, so that nobody sees a join of two shades."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from stockroom.domain.catalogue import BY_LENGTH, Cloth, Item, Reading
from stockroom.domain.colour_difference import USUAL_FACTORS
from stockroom.domain.matching import EyeVerdict, Judged, Lot, Match, judge_lots, judge_readings
from stockroom.domain.quantities import show_length
from stockroom.domain.readings import read_bare
from stockroom.domain.refusal import Refusal
from stockroom.domain.shortage import lot_name
from stockroom.domain.tags import KINDS
from stockroom.domain.wording import unknown
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.store import arrivals, eye_verdicts, moving, racks, readings
from stockroom.store.about import read_about
from stockroom.store.database import Shop, Tx
from stockroom.store.racks import Lying
from stockroom.store.replaced_tags import scanned_tag

_BEST_FIRST = tuple(Match)


@dataclass(frozen=True, slots=True)
class ReadingsMatched:
    """How two bare readings match."""

    words: str
    """'matches', 'check by eye in daylight' or 'does not match'."""
    dE00: float | None  # noqa: N815 - the name that the number has everywhere
    """To 4 decimals."""
    factors: str
    """kL:kC:kH."""
    cloth: str
    """Code of the cloth whose tolerance they were held against; may be empty."""
    why: str


@dataclass(frozen=True, slots=True)
class RollsMatched:
    """How two rolls match."""

    tags: tuple[str, str]
    lots: tuple[str, str]
    words: str
    """'same lot', 'matches', 'check by eye in daylight' or 'does not match'."""
    dE00: float | None  # noqa: N815
    why: str
    ask: str
    """What is to be done to know more; may be empty."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One roll that may be used beside what was asked about."""

    tag: str
    lot: str
    place: str
    free_mm: int
    free: str
    remnant: bool
    dE00: float | None  # noqa: N815
    words: str
    why: str


@dataclass(frozen=True, slots=True)
class Candidates:
    """The rolls of an item by how well they match."""

    item: str
    title: str
    beside: str
    """What they are held against: a lot, or the master of the colour."""
    rolls: tuple[Candidate, ...]
    """The best first; those of one answer by their difference, then the longest first."""
    ask: str
    """What is to be done to know more; may be empty."""


def match_readings(shop: Shop | None, one: str, other: str, cloth_code: str = "", factors: str = "") -> ReadingsMatched:
    """Two bare readings, as 'L,a,b', taken under the same light: their difference, and what it means for a cloth.

    `factors`: kL:kC:kH; empty: the shop's own, or 1:1:1 without a shop. Raises Refusal for what is no reading, and for
    a cloth that is not there.
    """
    first, second = Reading(*read_bare(one)), Reading(*read_bare(other))
    cloth, own = _cloth_and_factors(shop, cloth_code)
    judged = judge_readings(first, second, (cloth, cloth), factors or own)
    return ReadingsMatched(judged.match.value, _number(judged), factors or own, cloth_code, judged.why)


def match_rolls(shop: Shop, one: str, other: str) -> RollsMatched:
    """How the rolls of two tags match. Raises Refusal for what is no roll."""
    with shop.read() as tx:
        desk = _Desk(shop, tx)
        first, second = desk.roll(one), desk.roll(other)
        judged = desk.judge(first.item, first.lot, second.item, second.lot)
    ask = ""
    if _is_to_be_seen(judged) and first.item == second.item:
        ask = _ask(first.item, first.lot, second.lot)
    return RollsMatched(
        (first.tag, second.tag), (first.lot, second.lot), judged.match.value, _number(judged), judged.why, ask
    )


def match_beside(shop: Shop, tag: str) -> Candidates:
    """The other rolls of the same item, by how well they match the roll of this tag."""
    with shop.read() as tx:
        desk = _Desk(shop, tx)
        roll = desk.roll(tag)
        return desk.candidates(roll.item, roll.lot, but_not=roll.tag)


def match_item(shop: Shop, item: str, lot: str = "") -> Candidates:
    """The rolls of an item, by how well they match a lot of it, or the master of its colour where none is named."""
    with shop.read() as tx:
        desk = _Desk(shop, tx)
        known = desk.catalogue.items
        if item not in known or known[item].kind not in BY_LENGTH:
            raise Refusal(unknown("cloth in a colour", item, [code for code, one in known.items() if one.cloth]))
        lots = arrivals.lots_of(tx, item)
        if lot and lot not in lots:
            raise Refusal(unknown(f"lot of {item}", lot, [one for one in lots if one]))
        return desk.candidates(item, lot)


class _Desk:
    """What is looked up for one answer."""

    def __init__(self, shop: Shop, tx: Tx) -> None:
        self._tx = tx
        self.catalogue: Catalogue = catalogue_of(shop, tx)
        self._factors = _factors(tx)
        self._read: dict[str, Mapping[str, list[Reading]]] = {}
        self._seen: dict[str, Mapping[frozenset[str], EyeVerdict]] = {}

    def roll(self, tag: str) -> Lying:
        """The roll that was scanned."""
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

    def _lot(self, item: str, lot: str) -> Lot:
        cloth = self.catalogue.cloths[self.catalogue.items[item].cloth]
        if item not in self._read:
            self._read[item] = readings.readings_by_lot(self._tx, item)
        return Lot(item, cloth, lot, tuple(self._read[item].get(lot, ())))

    def judge(self, item: str, lot: str, other_item: str, other_lot: str) -> Judged:
        """How two lots match."""
        if item not in self._seen:
            self._seen[item] = eye_verdicts.verdicts_of(self._tx, item)
        seen = self._seen[item].get(frozenset((lot, other_lot))) if item == other_item else None
        return judge_lots(self._lot(item, lot), self._lot(other_item, other_lot), seen, self._factors)

    def candidates(self, code: str, lot: str, but_not: str = "") -> Candidates:
        """The rolls of an item that hold something free, against a lot, or against the master where it is empty."""
        item = self.catalogue.items[code]
        judge = self._against_master(item) if not lot else lambda other: self.judge(code, lot, code, other)
        free = [one for one in racks.lying_of(self._tx, code) if one.kind == "roll" and not one.quarantined_because]
        rolls = [one for one in free if one.held > one.reserved and one.tag != but_not]
        by_lot = {other: judge(other) for other in {one.lot for one in rolls}}
        rolls.sort(key=lambda one: (*_order(by_lot[one.lot]), one.reserved - one.held, one.tag))
        asked = [one.lot for one in rolls if lot and _is_to_be_seen(by_lot[one.lot])]
        return Candidates(
            code,
            item.title,
            lot_name(lot) if lot else "the master of its colour",
            tuple(_candidate(one, by_lot[one.lot]) for one in rolls),
            _ask(code, lot, asked[0]) if asked else "",
        )

    def _against_master(self, item: Item) -> Callable[[str], Judged]:
        cloth = self.catalogue.cloths[item.cloth]
        master = self.catalogue.colours[item.colour].master if item.colour else None
        of_master = Lot(item.code, cloth, "", () if master is None else (master,))

        def judge(lot: str) -> Judged:
            if master is None:
                return Judged(Match.BY_EYE, None, "Its colour has no master reading.")
            return judge_lots(of_master, self._lot(item.code, lot), None, self._factors)

        return judge


def _is_to_be_seen(judged: Judged) -> bool:
    return judged.match is Match.BY_EYE and judged.seen is None


def _order(judged: Judged) -> tuple[int, float]:
    return _BEST_FIRST.index(judged.match), float("inf") if judged.de00 is None else judged.de00


def _candidate(one: Lying, judged: Judged) -> Candidate:
    free_mm = one.held - one.reserved
    number, words = _number(judged), judged.match.value
    return Candidate(one.tag, one.lot, one.place, free_mm, show_length(free_mm), one.remnant, number, words, judged.why)


def _number(judged: Judged) -> float | None:
    return None if judged.de00 is None else round(judged.de00, 4)


def _ask(item: str, lot: str, other: str) -> str:
    if not lot or not other:
        return ""
    return (
        "Look at them side by side and write it down: "
        f"stockroom verdict {item} '{lot}' '{other}' match|near|no-match --light daylight"
    )


def _factors(tx: Tx) -> str:
    about = read_about(tx)
    return about.colour_factors if about else USUAL_FACTORS


def _cloth_and_factors(shop: Shop | None, code: str) -> tuple[Cloth | None, str]:
    if shop is None:
        if code:
            raise Refusal("Name the shop that has this cloth: --shop FILE.")
        return None, USUAL_FACTORS
    with shop.read() as tx:
        if not code:
            return None, _factors(tx)
        cloths = catalogue_of(shop, tx).cloths
        if code not in cloths:
            raise Refusal(unknown("cloth", code, cloths))
        return cloths[code], _factors(tx)
