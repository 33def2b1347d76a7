"""Looking a roll over by the four-point system: its points per 100 yd², and its faults on the roll.

A suggestion and no more: whoever looked at the cloth says whether it goes into quarantine. Nobody has to inspect.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.domain.about import About
from stockroom.domain.four_point import points, read_fault
from stockroom.domain.quantities import show_length, stock_mm
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.cut import roll_on_the_table
from stockroom.jobs.inspect_words import rate_of, working
from stockroom.jobs.replan import RollPutRight, lock_promises, promises_on, put_right
from stockroom.jobs.way_back import Undoing, WayBack, put_rows_back, remember, why_rows_stay
from stockroom.store import inspections, ledger, taking
from stockroom.store.about import read_about
from stockroom.store.database import Shop, Tx
from stockroom.store.inspections import KeptInspection


@dataclass(frozen=True, slots=True)
class Inspected:
    """What looking a roll over came to."""

    tag: str
    points: int
    per_100_yd2: float
    """Points per 100 yd², to one decimal."""
    most_points: int
    """What the shop takes as good, per 100 yd²."""
    is_over: bool
    """It has more than that: quarantine is suggested, where it is not in quarantine already."""
    is_quarantined: bool
    working: str
    """How the points per 100 yd² come about."""
    promises: RollPutRight
    """What became of what was planned over the faults."""


def inspect(shop: Shop, tag: str, faults: Sequence[str], stamp: Stamp, length: str = "", width: str = "") -> Inspected:
    """Writes down what was met on a roll. `faults` as typed: '2.4 m:5 in:slub', from the inner end.

    `length` and `width`: what was looked over, where it is not all of the roll. Every fault becomes a flaw of the roll,
    and cuts planned over it are planned again. A roll in quarantine may be looked over too.
    Raises Refusal for a fault that is none, or lies beyond what was looked over.
    """
    met = [read_fault(text) for text in faults]
    with shop.write() as tx:
        lock_promises(tx, tag)
        roll = roll_on_the_table(tx, tag)
        length_mm = stock_mm(length) if length else roll.held
        width_mm = stock_mm(width) if width else roll.width_mm
        if not (0 < length_mm <= roll.held and 0 < width_mm <= roll.width_mm):
            raise Refusal(
                f"{roll.tag} is {show_length(roll.held)} long and {show_length(roll.width_mm)} wide; "
                f"{show_length(length_mm)} × {show_length(width_mm)} of it cannot have been looked over."
            )
        beyond = next((one for one in met if one.at_mm >= length_mm), None)
        if beyond is not None:
            raise Refusal(
                f"The fault at {show_length(beyond.at_mm)} ({beyond.what}) lies beyond the {show_length(length_mm)} of "
                f"{roll.tag} that was looked over. Measure from the inner end."
            )
        found = points(met)
        number = inspections.keep_inspection(tx, roll.id, met, found, length_mm, width_mm, stamp)
        about = read_about(tx)
        kept = KeptInspection(tuple(met), found, length_mm, width_mm, stamp.by, stamp.at)
        job = ledger.begin_job(tx, f"inspect {roll.tag}: {found} points", stamp)
        # However a fault lies, all of its length (which was rounded down) is kept clear along the roll.
        new = {(one.at_mm, min(one.at_mm + one.length_mm + 1, roll.held), one.what) for one in met} - {*roll.flaws}
        flaws = (*roll.flaws, *sorted(new))
        before = promises_on(tx, roll)
        taking.rewrite_flaws(tx, roll.id, flaws)
        done = put_right(shop, tx, job, roll, roll.held, flaws, stamp)
        remember(tx, job, before, way="inspect", knows={"inspection": number})
    most = (about or About("", "UTC", "")).most_points
    rate, is_quarantined = rate_of(kept), bool(roll.quarantined_because)
    return Inspected(roll.tag, found, round(float(rate), 1), most, rate > most, is_quarantined, working(kept), done)


def _take_back(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:
    told = put_rows_back(shop, tx, undoing)
    inspections.forget_inspection(tx, undoing.data["inspection"])
    return (*told, "The roll has the flaws and the points that it had before.")


WAYS_BACK = {"inspect": WayBack(_take_back, why_rows_stay)}
