"""Drift: how the lots of a colour went from its master over time, and which rolls do not match what is on the racks.

The master is that of the cloth in the colour where it has one of its own, else the colour's; every lot is held against
the one that stands, or stood on a day that is named. Across cloths nothing is compared: each has a picture of its own.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from zoneinfo import ZoneInfo

from stockroom.domain.catalogue import Item, Reading
from stockroom.domain.colour_difference import conditions
from stockroom.domain.drift import Apart, LotDrift, LotRead, OnRack, apart, drift_of, in_words
from stockroom.domain.matching import Judged, Lot, judge_lots, limits
from stockroom.domain.refusal import Refusal
from stockroom.domain.shortage import lot_name
from stockroom.domain.tags import is_tag
from stockroom.domain.wording import listed, quoted
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.jobs.read_master import named_colour
from stockroom.store import eye_verdicts, lots_read, masters, racks, tagged
from stockroom.store.about import factors_of, read_about
from stockroom.store.database import Shop, Tx
from stockroom.store.lots_read import ReadingTaken
from stockroom.store.masters import KeptMaster
from stockroom.store.replaced_tags import scanned_tag

_NAMED = 4
"""So many cloths are named of which nothing was read."""


@dataclass(frozen=True, slots=True)
class MasterShown:
    """A master reading, and whose it is."""

    L: float
    a: float
    b: float
    under: str
    """Illuminant and observer: 'D65/10°'."""
    of: str
    """'the colour', or the cloth that it was read in."""
    by: str
    """Initials; '' where nobody wrote them down."""
    on: date
    instrument: str


@dataclass(frozen=True, slots=True)
class LotShown:
    """One lot against the master. Differences are lot less master."""

    lot: str
    came: date
    """The day its first roll came in; where that is not known, the day it was first read."""
    L: float
    a: float
    b: float
    dL: float  # noqa: N815 - the names that these numbers have everywhere
    da: float
    db: float
    dE00: float  # noqa: N815
    readings: int
    """Under the master's light and observer."""
    spread: float
    """How far the farthest of them is from their middle, as CIEDE2000."""
    words: str
    """'matches', 'check by eye in daylight' or 'does not match'."""
    why: str


@dataclass(frozen=True, slots=True)
class RollApart:
    """A roll that does not match some of what lay on the racks before it came."""

    tag: str
    lot: str
    place: str
    quarantined: bool
    lots: tuple[str, ...]
    """The lots that it does not match."""
    largest_dE00: float | None  # noqa: N815
    sentence: str


@dataclass(frozen=True, slots=True)
class ItemDrift:
    """The lots of one cloth in one colour."""

    item: str
    title: str
    tolerance: float
    """ΔE00 up to which the cloth matches."""
    eye_limit: float
    """ΔE00 up to which the eye decides."""
    factors: str
    """kL:kC:kH."""
    master: MasterShown | None
    lots: tuple[LotShown, ...]
    """Those that were compared, the first that came first."""
    left_out: tuple[str, ...]
    """What was read and not compared: sentences."""
    unread: tuple[str, ...]
    """Lots on the racks of which there is no reading."""
    apart: tuple[RollApart, ...]
    said: str
    """Where the lots went, in words; or why there is no picture."""


@dataclass(frozen=True, slots=True)
class Drift:
    """A colour, or one cloth in it."""

    named: str
    colour: str
    as_of: date | None
    """As it was at the end of this day; `None`: as it is."""
    items: tuple[ItemDrift, ...]
    """Those of which something was read."""
    earlier_masters: tuple[MasterShown, ...]
    """Masters that others took the place of, the first that was written down first."""
    said: str
    """What there is no picture of; may be empty."""


def drift(shop: Shop, name: str, as_of: date | None = None) -> Drift:
    """A colour by its code or name, one cloth in it (`CLOTH/COLOUR`), or the cloth of a scanned roll.

    `as_of`: by the readings and the master as they were at the end of this day. Raises Refusal for what is no colour.
    """
    with shop.read() as tx:
        catalogue = catalogue_of(shop, tx)
        named = named_colour(catalogue, _item_of(tx, name))
        about = read_about(tx)
        until = _Until(as_of, ZoneInfo(about.time_zone if about else "UTC"))
        items = [
            one
            for one in catalogue.items.values()
            if one.colour == named.colour and one.cloth and named.cloth in ("", one.cloth)
        ]
        kept = [one for one in masters.masters_of(tx, named.colour) if until.has(one.at)]
        found = _Lots(tx, catalogue, items, until).drifts(kept)
    standing = {one.id for item in items if (one := masters.standing(kept, item.cloth)) is not None}
    earlier = [one for one in kept if one.id not in standing and one.reading is not None]
    cloths = {item.cloth for item in items} | {""}
    unread = [one.title for one in found if not one.lots and not one.left_out]
    return Drift(
        named.title,
        named.colour,
        as_of,
        tuple(one for one in found if one.lots or one.left_out),
        tuple(_shown(one, catalogue, until) for one in earlier if one.cloth in cloths),
        _nothing_read(named.title, found, unread),
    )


def _nothing_read(title: str, found: Sequence[ItemDrift], unread: Sequence[str]) -> str:
    if not found:
        return f"There is no cloth in {title}."
    if len(unread) == len(found):
        return f"Nothing was read of {title}: write readings down with 'stockroom reading'."
    if len(unread) > _NAMED:
        unread = [*unread[: _NAMED - 1], f"{len(unread) - _NAMED + 1} others"]
    return f"Nothing was read of {listed(unread)}." if unread else ""


def _item_of(tx: Tx, name: str) -> str:
    """What was named; of a roll's tag, its item."""
    if not is_tag(name.strip()):
        return name
    tag = str(scanned_tag(tx, name))
    held = tagged.holdings_by_tag(tx, [tag])
    if not held or held[0].kind != "roll":
        raise Refusal(f"{quoted(tag)} is no roll of this shop. Name a colour, a cloth in a colour, or scan a roll.")
    return held[0].item


@dataclass(frozen=True, slots=True)
class _Until:
    """Up to the end of which day something counts, by the shop's own clock."""

    day: date | None
    zone: ZoneInfo

    def on(self, at: datetime) -> date:
        return at.astimezone(self.zone).date()

    def has(self, at: datetime) -> bool:
        return self.day is None or self.on(at) <= self.day


class _Lots:
    """What was read and seen of the lots of some items, at one moment."""

    def __init__(self, tx: Tx, catalogue: Catalogue, items: Sequence[Item], until: _Until) -> None:
        codes = [one.code for one in items]
        self._catalogue, self._items, self._until = catalogue, items, until
        self._factors = factors_of(tx)
        self._seen = eye_verdicts.verdicts_of_items(tx, codes)
        self._came = lots_read.days_lots_came(tx, codes)
        self._taken: defaultdict[tuple[str, str], list[ReadingTaken]] = defaultdict(list)
        for one in lots_read.readings_taken(tx, codes):
            if until.has(one.at):
                self._taken[one.item, one.lot].append(one)
        self._lying = {
            code: [one for one in racks.lying_of(tx, code) if one.kind == "roll" and one.held] for code in codes
        }

    def drifts(self, kept: Sequence[KeptMaster]) -> list[ItemDrift]:
        """Each item against the master that stands of it."""
        return [self._drift(item, masters.standing(kept, item.cloth)) for item in self._items]

    def _drift(self, item: Item, stands: KeptMaster | None) -> ItemDrift:
        cloth = self._catalogue.cloths[item.cloth]
        lots = [
            LotRead(lot, self._day(item.code, lot), tuple(one.reading for one in taken))
            for (code, lot), taken in self._taken.items()
            if code == item.code
        ]
        master = None if stands is None else stands.reading
        if master is None:
            drifts: tuple[LotDrift, ...] = ()
            left_out = tuple(
                f"{lot_name(one.lot)} was read, but there is no master to hold it against." for one in lots
            )
        else:
            drifts, left_out = drift_of(lots, master, cloth, self._factors)
        on_racks = dict.fromkeys(one.lot for one in self._lying[item.code])
        tolerance, eye_limit = limits(cloth)
        return ItemDrift(
            item.code,
            item.title,
            tolerance,
            eye_limit,
            self._factors,
            None if stands is None else _shown(stands, self._catalogue, self._until),
            tuple(map(_lot_shown, drifts)),
            left_out,
            tuple(lot for lot in on_racks if not self._taken.get((item.code, lot))),
            () if self._until.day else tuple(map(_roll_apart, self._apart(item))),
            in_words(drifts) or ("Its colour has no master reading." if master is None and lots else ""),
        )

    def _day(self, code: str, lot: str) -> date:
        came = self._came.get((code, lot))
        if came is not None:
            return came
        taken = self._taken.get((code, lot))
        return self._until.on(taken[0].at) if taken else date.max

    def _apart(self, item: Item) -> tuple[Apart, ...]:
        cloth = self._catalogue.cloths[item.cloth]

        @cache
        def lot_of(lot: str) -> Lot:
            return Lot(item.code, cloth, lot, tuple(one.reading for one in self._taken.get((item.code, lot), ())))

        def judge(one: str, other: str) -> Judged:
            seen = self._seen.get((item.code, frozenset((one, other))))
            return judge_lots(lot_of(one), lot_of(other), seen, self._factors)

        rolls = [
            OnRack(one.tag, one.lot, one.place, self._day(item.code, one.lot), bool(one.quarantined_because))
            for one in self._lying[item.code]
        ]
        return apart(rolls, judge)


def _shown(one: KeptMaster, catalogue: Catalogue, until: _Until) -> MasterShown:
    assert one.reading is not None
    reading: Reading = one.reading
    return MasterShown(
        reading.lightness,
        reading.a,
        reading.b,
        conditions(reading),
        catalogue.cloths[one.cloth].title if one.cloth else "the colour",
        one.by,
        until.on(one.at),
        one.instrument,
    )


def _lot_shown(one: LotDrift) -> LotShown:
    assert one.judged.de00 is not None
    return LotShown(
        one.lot,
        one.came,
        round(one.reading.lightness, 2),
        round(one.reading.a, 2),
        round(one.reading.b, 2),
        round(one.by_lightness, 2),
        round(one.by_a, 2),
        round(one.by_b, 2),
        round(one.judged.de00, 4),
        one.number_of_readings,
        round(one.spread, 2),
        one.judged.match.value,
        one.judged.why,
    )


def _roll_apart(one: Apart) -> RollApart:
    roll = one.roll
    where = f"in {roll.place}" if roll.place else "in no place"
    apart_from = listed(map(lot_name, one.lots), "or")
    number = "" if one.largest is None else f", ΔE00 up to {one.largest:.2f}"
    said = (
        f"Roll {roll.tag}, {lot_name(roll.lot)}, {where}{' in quarantine' if roll.quarantined else ''}: "
        f"does not match {apart_from}{number}."
    )
    largest = None if one.largest is None else round(one.largest, 4)
    return RollApart(roll.tag, roll.lot, roll.place, roll.quarantined, one.lots, largest, said)
