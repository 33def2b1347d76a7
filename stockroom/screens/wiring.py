"""The real jobs, bound to one open shop."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from stockroom.domain.about import About
from stockroom.jobs.rail import rail
from stockroom.jobs.show import show
from stockroom.jobs.ticket import Ticket, ticket
from stockroom.screens.calls import Jobs

if TYPE_CHECKING:
    from stockroom.store.database import Shop

_NEVER_LOADED = About("A shop without a name", "UTC", "")


def jobs_of(shop: Shop, about: About | None) -> Jobs:
    """The jobs on `shop`, its days and times in its own time zone."""
    told = about or _NEVER_LOADED
    zone = ZoneInfo(told.time_zone)

    def local_ticket(number: str, today: date) -> Ticket:
        found = ticket(shop, number, today)
        return replace(found, taken_at=found.taken_at.astimezone(zone))

    return Jobs(
        shop_name=told.name,
        today=lambda: datetime.now(zone).date(),
        rail=lambda today: rail(shop, today),
        ticket=local_ticket,
        show=lambda text: show(shop, text),
    )
