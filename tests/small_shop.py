"""A shop of a few words, for tests: two cloth items, a binding, nuts, bolts and two places."""

from __future__ import annotations

from datetime import UTC, datetime

from stockroom.domain.about import About
from stockroom.domain.catalogue import Cloth, Colour, Item, Place, Reading, Supplier
from stockroom.domain.stamp import Stamp
from stockroom.store import about, catalogue, masters
from stockroom.store.database import Tx

STAMP = Stamp("AB", datetime(2026, 11, 25, 8, 30, tzinfo=UTC))

COLOURS = (Colour("black", "black", Reading(18.4, 0.3, -0.6)), Colour("red", "Red", None))
CLOTHS = (
    Cloth(
        "hood-cloth", "Coated hood cloth", "cloth", "cotton", "twill", 1520, 780, True, 600, 1.0, substitutes=("felt",)
    ),
    Cloth("felt", "Felt", "cloth", "wool", "", 1800, 0, False, 0, 2.5),
    Cloth("edge-binding", "Edge binding", "narrow", "cotton", "", 30, 0, False, 200, 1.0),
)
ITEMS = (
    Item("hood-cloth/black", "Coated hood cloth, black", "cloth", "hood-cloth", "black", least=10_000, most=60_000),
    Item("felt/red", "Felt, Red", "cloth", "felt", "red"),
    Item("edge-binding/black", "Edge binding, black", "narrow", "edge-binding", "black"),
    Item("nut", "Nut", "hardware", mass_g=2),
    Item("bolt", "Bolt", "hardware", mass_g=5),
)
PLACES = (Place("H1", "Hood cloth rack", 10), Place("B1", "Bin shelf", 20))
SUPPLIERS = (Supplier("mill", "The Mill", 28, "GBP", 40_000),)


def write_small_shop(tx: Tx) -> None:
    """Writes the catalogue; no stock."""
    about.write_about(tx, About("Lindow Trim", "Europe/London", "GBP", STAMP.at.date()), STAMP)
    catalogue.write_colours(tx, COLOURS)
    catalogue.write_cloths(tx, CLOTHS)
    catalogue.write_items(tx, ITEMS)
    catalogue.write_places(tx, PLACES)
    catalogue.write_suppliers(tx, SUPPLIERS)
    masters.keep_loaded(tx, STAMP)
