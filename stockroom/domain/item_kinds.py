"""How items are stocked. By itself, for whoever shows amounts before all of a catalogue's shapes are loaded."""

from __future__ import annotations

from typing import Literal

ItemKind = Literal["cloth", "narrow", "hardware", "blank", "kit", "consumable", "piece"]
"""How an item is stocked: cloth and narrow goods by length (on rolls and reels), the others by count."""
BY_LENGTH: frozenset[str] = frozenset({"cloth", "narrow"})
