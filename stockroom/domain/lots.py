"""Dye lots as people write them: when two writings are likely the same lot.

A lot is a mark on a ticket, copied by hand: blanks, hyphens and capitals come and go, and a letter O stands for a zero.
Two writings that come to the same are perhaps one lot: whoever holds the ticket is asked, and nothing is merged.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

_LOOK_ALIKE = str.maketrans({"O": "0", "I": "1", "L": "1"})


def lot_key(lot: str) -> str:
    """What the writings of one lot have in common: letters and figures alone, look-alikes as figures.

    >>> lot_key("W 4391"), lot_key("w4391"), lot_key("W-439l"), lot_key("WO7")
    ('W4391', 'W4391', 'W4391', 'W07')
    """
    capitals = unicodedata.normalize("NFKC", lot).upper()
    plain = "".join(mark for mark in capitals if mark.isalnum())
    return plain.translate(_LOOK_ALIKE) or capitals.strip()


def other_spellings(lot: str, known: Iterable[str]) -> tuple[str, ...]:
    """Lots among `known` (of the same item) that are written otherwise than `lot` but may be the same, in their order.

    >>> other_spellings("w4391", ["W 4391", "W4288", "w4391"])
    ('W 4391',)
    >>> other_spellings("", ["", "-"])
    ()
    """
    if not lot:
        return ()
    key = lot_key(lot)
    return tuple(other for other in dict.fromkeys(known) if other and other != lot and lot_key(other) == key)
