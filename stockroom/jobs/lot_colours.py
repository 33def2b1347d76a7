"""What is known of how the dye lots of an item look: its readings and what eyes saw, looked up once for a job."""

from __future__ import annotations

from collections.abc import Callable

from stockroom.domain.group_rule import LotColours
from stockroom.jobs.lookup import Catalogue
from stockroom.store import eye_verdicts, readings
from stockroom.store.about import factors_of
from stockroom.store.database import Tx


def lot_colours(catalogue: Catalogue, tx: Tx) -> Callable[[str], LotColours]:
    """For the code of an item of cloth or narrow goods, what is known of its lots. Nothing is read until it is asked.

    One statement for the readings of an item and one for the verdicts, however many lots it has.
    """
    known: dict[str, LotColours] = {}

    def look_up(code: str) -> LotColours:
        if code not in known:
            known[code] = LotColours(
                code,
                catalogue.cloths[catalogue.items[code].cloth],
                readings.readings_by_lot(tx, code),
                eye_verdicts.verdicts_of(tx, code),
                factors_of(tx),
            )
        return known[code]

    return look_up
