"""What the shop says of itself."""

from __future__ import annotations

from stockroom.domain.about import About
from stockroom.store.about import read_about
from stockroom.store.database import Shop


def about_of(shop: Shop) -> About | None:
    """Name, time zone and currency; `None` in a shop that was made and never loaded."""
    with shop.read() as tx:
        return read_about(tx)
