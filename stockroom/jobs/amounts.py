"""Amounts as people read them: lengths in metres, counts as they are."""

from __future__ import annotations

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.quantities import show_length, stock_mm
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted


def show_amount(kind: str, quantity: int) -> str:
    """An amount of an item of this kind: '3.20 m' of cloth or narrow goods, '12' of anything counted."""
    return show_length(quantity) if kind in BY_LENGTH else str(quantity)


def read_amount(kind: str, text: str, wanted: str = "") -> int:
    """How much there is of an item of this kind, as it was typed: mm of what is measured, a count of anything else.

    `wanted` is said where it is not a count: '8 are wanted'. Raises Refusal for what is neither.
    """
    plain = text.strip()
    if kind in BY_LENGTH:
        return stock_mm(plain)
    if not (plain.isascii() and plain.isdecimal() and len(plain) < 10):
        more = f": {wanted}" if wanted else ""
        raise Refusal(f"{quoted(plain)} is not a count. Type how many are there, in figures{more}.")
    return int(plain)
