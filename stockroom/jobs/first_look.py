"""What the screens show first, before the shop is open: the shop's name, and the orders at the top of the rail."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from stockroom.jobs.rail import RailEntry, entry_of
from stockroom.store.first_look import look_into

MOST = 100
"""Orders that are looked at: more than a screen shows."""


@dataclass(frozen=True, slots=True)
class FirstLook:
    """A shop as it was a moment ago."""

    shop_name: str
    zone: ZoneInfo
    """Its own time zone."""
    orders: tuple[RailEntry, ...]
    """The first of the orders in hand."""


def first_look(place: str, now: datetime) -> FirstLook | None:
    """A first look at the shop in the file `place`, at an aware moment; `None` where it must be opened to be seen."""
    seen = None if "://" in place else look_into(place, MOST)
    if seen is None:
        return None
    zone = ZoneInfo(seen.time_zone)
    today = now.astimezone(zone).date()
    return FirstLook(seen.shop_name, zone, tuple(entry_of(row, today) for row in seen.orders))
