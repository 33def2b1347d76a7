"""The years before the books were opened: kept in the ledger beside the stock, one holding of kind 'past' an item.

Demand is read from it; nothing is held there, since the last movement counts it down to nothing on the opening day.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from itertools import accumulate, groupby
from zoneinfo import ZoneInfo

from sqlalchemy import select

from stockroom.domain.catalogue import PastMovement
from stockroom.domain.stamp import Stamp
from stockroom.store.catalogue import Written
from stockroom.store.database import Tx
from stockroom.store.ledger import Entry, append
from stockroom.store.stock import add_holdings, empty_holding
from stockroom.store.tables import Holding, Movement

BROUGHT_FORWARD = "brought forward"
"""Note of the movement that stands for what was there before the first line of an item's history."""
CLOSED = "counted into the opening stock"
"""Note of the movement that closes an item's past."""

_COMES_IN = frozenset({"received", "made", "returned"})


def write_history(
    tx: Tx, job_id: int, stamp: Stamp, past: Sequence[PastMovement], opening: date, time_zone: str
) -> Written:
    """Writes the past of each item that has none yet; every day of it lies before `opening`. Items must be there.

    A movement's moment is noon of its day in the shop's zone. An item's past is written once: where the file now says
    something else, that is reported. Counts in `Written` are of movements.
    """
    zone = ZoneInfo(time_zone)
    by_item = {
        item: list(lines)
        for item, lines in groupby(sorted(past, key=lambda line: (line.item, line.day)), key=lambda line: line.item)
    }
    known = _known(tx)
    new = [item for item in by_item if item not in known]
    holdings = [empty_holding("past", None, item, None, "") for item in new]
    entries = []
    for holding_id, item in zip(add_holdings(tx, holdings), new, strict=True):
        entries += _entries(holding_id, by_item[item], opening, zone)
    append(tx, job_id, stamp, entries)
    added = sum(len(by_item[item]) for item in new)
    differing = tuple(
        f"history: {item}: its past is kept with other movements ({len(known[item])}) than the file says "
        f"({len(lines)}): not changed"
        for item, lines in by_item.items()
        if item in known and known[item] != [_told(line) for line in lines]
    )
    return Written("history", added, len(past) - added, differing)


def _known(tx: Tx) -> dict[str, list[tuple[str, int, str]]]:
    """Item → kind, signed quantity and note of every movement of its past, in their order."""
    query = (
        select(Holding.item, Movement.kind, Movement.quantity, Movement.note)
        .join_from(Holding, Movement, Movement.holding_id == Holding.id)
        .where(Holding.kind == "past")
        .order_by(Holding.item, Movement.number)
    )
    known: dict[str, list[tuple[str, int, str]]] = {}
    for item, kind, quantity, note in tx.execute(query):
        lines = known.setdefault(item, [])
        if note not in (BROUGHT_FORWARD, CLOSED):
            lines.append((kind, quantity, note))
    return known


def _entries(holding_id: int, lines: Sequence[PastMovement], opening: date, zone: ZoneInfo) -> list[Entry]:
    """What one item's past comes to in the ledger: as much brought forward as it takes never to fall below nothing."""
    running = list(accumulate(_signed(line) for line in lines))
    missing = max(0, -min(running))
    entries = []
    if missing:
        day_before = lines[0].day - timedelta(days=1)
        entries.append(Entry(holding_id, "received", missing, 0, BROUGHT_FORWARD, at=_noon(day_before, zone)))
    for line in lines:
        _kind, quantity, note = _told(line)
        entries.append(Entry(holding_id, line.kind, quantity, 0, note, at=_noon(line.day, zone)))
    entries.append(Entry(holding_id, "counted", -(missing + running[-1]), 0, CLOSED, at=_noon(opening, zone)))
    return entries


def _told(line: PastMovement) -> tuple[str, int, str]:
    lot = f"lot {line.lot}" if line.lot else ""
    return line.kind, _signed(line), "; ".join(part for part in (lot, line.note) if part)


def _signed(line: PastMovement) -> int:
    return line.quantity if line.kind in _COMES_IN else -line.quantity


@lru_cache(maxsize=4_096)
def _noon(day: date, zone: ZoneInfo) -> datetime:
    """Noon of a day, in UTC. Kept: years of movements share their days, and asking a zone takes its time."""
    return datetime.combine(day, time(12), zone).astimezone(UTC)
