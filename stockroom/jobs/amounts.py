"""Amounts as people read them: lengths in metres, counts as they are."""

from __future__ import annotations

from stockroom.domain.item_kinds import BY_LENGTH
from stockroom.domain.quantities import show_length


def show_amount(kind: str, quantity: int) -> str:
    """An amount of an item of this kind: '3.20 m' of cloth or narrow goods, '12' of anything counted."""
    return show_length(quantity) if kind in BY_LENGTH else str(quantity)
