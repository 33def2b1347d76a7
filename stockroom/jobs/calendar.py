"""What time it is in the shop: days and weeks are counted in its own time zone."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from stockroom.store.about import read_about
from stockroom.store.database import Shop


def local(shop: Shop, now: datetime) -> datetime:
    """The moment `now` by the shop's own clock; in UTC while the shop has not said where it is."""
    with shop.read() as tx:
        about = read_about(tx)
    return now.astimezone(ZoneInfo(about.time_zone if about else "UTC"))
