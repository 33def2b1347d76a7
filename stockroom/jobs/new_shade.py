"""The shade of a lot that comes in, or is read: against its master, what waits for more of it, and what is there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from stockroom.domain.catalogue import Reading
from stockroom.domain.matching import Judged, Lot, judge_lots
from stockroom.domain.new_shade import NewShade, not_compared, shade_warnings, to_be_seen
from stockroom.domain.shortage import lot_name
from stockroom.jobs.lookup import Catalogue
from stockroom.jobs.match_desk import verdict_call
from stockroom.store import arrivals, eye_verdicts, racks, readings
from stockroom.store.about import factors_of
from stockroom.store.database import Tx

SET_APART = "wrong shade"
"""Why goods that do not match are set apart, where nobody says more."""


def new_shade(tx: Tx, catalogue: Catalogue, item: str, lot: str, new: Sequence[Reading] = ()) -> NewShade | None:
    """What is known of a lot of an item; `new` was read of it and is not kept yet. `None` of what has no colour."""
    what = catalogue.items[item]
    if not what.colour or not what.cloth:
        return None
    cloth, factors = catalogue.cloths[what.cloth], factors_of(tx)
    read = readings.readings_of_items(tx, [item])
    seen = eye_verdicts.verdicts_of_items(tx, [item])
    mine = Lot(item, cloth, lot, (*(read.get((item, lot), ()) if lot else ()), *new))

    def beside(other: str) -> Judged:
        known = seen.get((item, frozenset((lot, other)))) if lot and other else None
        return judge_lots(Lot(item, cloth, other, tuple(read.get((item, other), ()))), mine, known, factors)

    master = catalogue.masters.get(item)
    waiting = arrivals.lots_that_wait(tx, item)
    orders = sorted({number for numbers in waiting.values() for number in numbers})
    return NewShade(
        item,
        lot,
        bool(mine.readings),
        None
        if master is None or not mine.readings
        else judge_lots(Lot("", cloth, "master", (master,)), mine, None, factors),
        {other: beside(other) for other in sorted(waiting)},
        tuple(orders),
        {other: beside(other) for other in _on_racks(tx, item) if other != lot},
    )


def _on_racks(tx: Tx, item: str) -> Mapping[str, int]:
    """Lot → mm of it on the racks, free of quarantine, the most first."""
    found: dict[str, int] = {}
    for one in racks.lying_of(tx, item):
        if one.kind == "roll" and one.held and not one.quarantined_because:
            found[one.lot] = found.get(one.lot, 0) + one.held
    return dict(sorted(found.items(), key=lambda pair: (-pair[1], pair[0])))


def shade_hints(shade: NewShade | None) -> tuple[str, ...]:
    """What there is to do about a lot that is taken in: sentences. Nothing is to be answered."""
    if shade is None:
        return ()
    told = [not_compared(shade)]
    other = to_be_seen(shade)
    if other and shade.lot:
        check = "Check" if shade.is_read else f"Lot {shade.lot} was not read: check"
        said = verdict_call(shade.item, shade.lot, other)
        told.append(f"{check} it by eye in daylight beside {lot_name(other)}, and write down what you saw: {said}")
    return tuple(filter(None, told))


def read_warnings(shade: NewShade | None, tag: str) -> tuple[str, ...]:
    """What is wrong with a lot that was read after it came in, and how its roll is set apart: sentences."""
    warned = () if shade is None else shade_warnings(shade)
    if not warned:
        return shade_hints(shade)
    apart = f'Set it apart, if it is not to be used: stockroom quarantine {tag} --because "{SET_APART}"'
    return (*(sentence for _, sentence in warned), apart)
