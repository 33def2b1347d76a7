"""Whether the shade of a lot that comes in is right: by its master, and beside what waits for more of it on the racks.

Only what an instrument read can be wrong here: a lot without a reading is for the eye, and nothing is asked of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stockroom.domain.matching import Judged, Match
from stockroom.domain.shortage import lot_name
from stockroom.domain.wording import listed

OFF_MASTER = "off-master"
OFF_LOTS = "off-lots"
SHADE_WARNINGS = {
    OFF_LOTS: "a shade that matches nothing that is held beside what orders wait for",
    OFF_MASTER: "a shade that does not match its master",
}
"""What may be wrong with the shade of a lot, by the name it is confirmed with."""


@dataclass(frozen=True, slots=True)
class NewShade:
    """What is known of the shade of one lot."""

    item: str
    lot: str
    is_read: bool
    master: Judged | None
    """Against the master that stands; `None`: there is none, or nothing was read of the lot."""
    waits: Mapping[str, Judged]
    """Each lot held for a matching group that is short of more of it, and how the two match."""
    orders: tuple[str, ...]
    """The orders that are short of it."""
    racks: Mapping[str, Judged]
    """Each other lot on the racks, the one with most of it first, and how the two match."""


def shade_warnings(shade: NewShade) -> tuple[tuple[str, str], ...]:
    """What speaks against taking the lot in as it is: the name it is confirmed with, and a sentence."""
    if not shade.is_read:
        return ()
    found = []
    if shade.waits and all(one.match is Match.NO_MATCH for one in shade.waits.values()):
        why = listed(f"beside {lot_name(lot)}: {one.why.rstrip('.')}" for lot, one in shade.waits.items())
        orders = f"order{'s' if len(shade.orders) > 1 else ''} {listed(shade.orders)}"
        sentence = (
            f"{_name(shade)} matches nothing that is held beside what {orders} {_wait(shade.orders)} for ({why})."
        )
        found.append((OFF_LOTS, sentence))
    if shade.master is not None and shade.master.match is Match.NO_MATCH:
        found.append((OFF_MASTER, f"{_name(shade)} does not match the master of its colour: {shade.master.why}"))
    return tuple(found)


def to_be_seen(shade: NewShade) -> str:
    """The lot that this one should be looked at beside, since nothing else tells how they match; '' where none is.

    That is one that waits for more of it, else, where nothing was read, the lot of which most is on the racks.
    """
    for lot, one in shade.waits.items():
        if lot and one.match is Match.BY_EYE and one.seen is None:
            return lot
    if shade.is_read:
        return ""
    return next((lot for lot, one in shade.racks.items() if lot and one.match is Match.BY_EYE and one.seen is None), "")


def not_compared(shade: NewShade) -> str:
    """Why what was read says nothing of the master: a sentence; '' where it does, or nothing was read."""
    if shade.master is None or shade.master.de00 is not None:
        return ""
    return f"{_name(shade)} is not held against the master of its colour. {shade.master.why}"


def _wait(orders: tuple[str, ...]) -> str:
    return "wait" if len(orders) > 1 else "waits"


def _name(shade: NewShade) -> str:
    return f"Lot {shade.lot}" if shade.lot else "What came"
