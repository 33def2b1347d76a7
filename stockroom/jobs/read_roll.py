"""A colour reading of a roll, as an instrument shows it: kept with its light, its observer and who took it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from stockroom.domain.catalogue import BY_LENGTH, Reading
from stockroom.domain.colour_difference import conditions, why_not_compared
from stockroom.domain.readings import middle, read_bare, read_conditions, refuse_swapped, spread
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.new_shade import new_shade, read_warnings
from stockroom.jobs.read_order import said_in_a_line
from stockroom.jobs.scanned import stock_scanned
from stockroom.jobs.way_back import Undoing, WayBack
from stockroom.store import ledger, moving, racks, readings
from stockroom.store.about import factors_of
from stockroom.store.database import Shop, Tx
from stockroom.store.racks import Lying
from stockroom.store.replaced_tags import scanned_tag


@dataclass(frozen=True, slots=True)
class RollRead:
    """A reading that was written down."""

    tag: str
    reading: Reading
    middle: Reading
    """Of all readings of this roll under the same light and observer."""
    number_of_readings: int
    """Under the same light and observer."""
    spread: float
    """How far the farthest of them is from their middle, as CIEDE2000, to 2 decimals."""
    sentence: str
    warnings: tuple[str, ...] = ()
    """That it does not match its master or what waits for it, and how it is set apart: sentences."""


@dataclass(frozen=True, slots=True)
class ListRead:
    """Readings that were loaded from a file."""

    number_of_readings: int
    number_of_rolls: int
    sentence: str
    warnings: tuple[str, ...] = ()
    """As of one roll; each lot's once."""


def read_roll(
    shop: Shop, tag: str, figures: str, under: tuple[str, str], stamp: Stamp, instrument: str = ""
) -> RollRead:
    """Writes down a reading, 'L,a,b', of a roll or reel; `under`: illuminant and observer.

    Raises Refusal for what is no reading, and for what is not on a roll.
    """
    said_in_a_line(instrument=instrument)
    new = Reading(*read_bare(figures), *read_conditions(*under))
    with shop.write() as tx:
        (roll,) = stock_scanned(tx, tag)
        if roll.item_kind not in BY_LENGTH:
            raise Refusal(f"{roll.tag} ({roll.title}) is counted goods; readings are kept of rolls.")
        refuse_swapped(new, catalogue_of(shop, tx).masters.get(roll.item))
        job = ledger.begin_job(tx, f"read the colour of {roll.tag}", stamp)
        ids = readings.keep_readings(tx, [(roll.id, new)], stamp, instrument)
        ledger.keep_way_back(tx, job, "reading", {"ids": ids, "gone": f"The reading of {roll.tag} is gone."})
        alike = [one for one in readings.readings_of(tx, roll.id) if not why_not_compared(one, new)]
        apart = round(spread(alike, factors_of(tx)), 2)
        warned = _warned(shop, tx, racks.lying_by_id(tx, [roll.id]))
    said = _sentence(roll.tag, new, len(alike), apart)
    return RollRead(roll.tag, new, middle(alike), len(alike), apart, said, warned)


def read_list(shop: Shop, path: Path, under: tuple[str, str], stamp: Stamp, instrument: str = "") -> ListRead:
    """Writes down all readings of an instrument's CSV, or nothing. `under`: for rows that do not say; may be empty.

    Raises Refusal with every fault of it, by row.
    """
    from stockroom.files.faults import Faults
    from stockroom.files.reading_list import read_reading_list

    said_in_a_line(instrument=instrument)
    faults = Faults()
    rows = read_reading_list(path, under, faults)
    with shop.write() as tx:
        found: list[tuple[int, Reading]] = []
        for row in rows:
            try:
                roll = _roll_of(tx, row.tag)
                refuse_swapped(row.reading, catalogue_of(shop, tx).masters.get(roll.item))
                found.append((roll.holding_id, row.reading))
            except Refusal as refusal:
                faults.add_refusal(refusal, row.place)
        faults.refuse_any(path.name)
        if not found:
            raise Refusal(f"{path.name} has no readings below its header.")
        rolls = len({holding_id for holding_id, _ in found})
        job = ledger.begin_job(tx, f"load {len(found)} colour readings", stamp)
        ids = readings.keep_readings(tx, found, stamp, instrument)
        gone = f"The readings that were loaded, {len(found)}, are gone."
        ledger.keep_way_back(tx, job, "reading", {"ids": ids, "gone": gone})
        warned = _warned(shop, tx, racks.lying_by_id(tx, sorted({holding_id for holding_id, _ in found})))
    return ListRead(len(found), rolls, f"{path.name}: readings kept: {len(found)}, of rolls: {rolls}.", warned)


def _warned(shop: Shop, tx: Tx, rolls: Sequence[Lying]) -> tuple[str, ...]:
    """What is wrong with the shade of rolls that were read, of each lot once; nothing of what is set apart or gone."""
    catalogue = catalogue_of(shop, tx)
    by_lot = {(one.item, one.lot): one for one in reversed(rolls) if one.held and not one.quarantined_because}
    told = (read_warnings(new_shade(tx, catalogue, item, lot), one.tag) for (item, lot), one in sorted(by_lot.items()))
    return tuple(dict.fromkeys(sentence for sentences in told for sentence in sentences))


def _roll_of(tx: Tx, tag: str) -> Lying:
    read = scanned_tag(tx, tag)
    known = moving.holding_of(tx, str(read)) if read.kind == "R" else None
    if known is None:
        raise Refusal(f"no roll in this shop has the tag {read}.")
    return racks.lying_by_id(tx, [known])[0]


def _sentence(tag: str, new: Reading, number: int, apart: float) -> str:
    said = f"{tag} reads L* {new.lightness:g}, a* {new.a:g}, b* {new.b:g} under {conditions(new)}."
    if number == 1:
        return said
    return f"{said} It has {number} readings so, the farthest ΔE00 {apart:.2f} from their middle."


def _take_back(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:  # noqa: ARG001 - the signature of a way
    readings.drop_readings(tx, undoing.data["ids"])
    return (undoing.data["gone"],)


WAYS_BACK = {"reading": WayBack(_take_back)}
