"""The demo shop's kit book and catalogue as an explosion asks for them, read from its own files."""

from __future__ import annotations

import csv
from datetime import date
from functools import lru_cache
from pathlib import Path

from stockroom.domain.catalogue import Cloth, Item
from stockroom.domain.explosion import CatalogueView
from stockroom.domain.facts import CarFacts
from stockroom.domain.kitbook import KitBook
from stockroom.files.kitbook import read_kitbook

SEED = Path(__file__).parents[2] / "seed"
SERIES_1_EARLY = CarFacts("s1", "ashgate", 2000, date(1952, 5, 1), "right", "ivory", "red", "black")
SERIES_1_LATE = CarFacts("s1", "ashgate", 3500, date(1954, 5, 1), "right", "ivory", "red", "black")
SERIES_2_LATE = CarFacts("s2", "fenmoor", 7000, date(1958, 5, 1), "left", "ivory", "red", "black")


@lru_cache
def demo_book() -> KitBook:
    """The demo's kit book."""
    return read_kitbook((SEED / "kitbook.toml").read_text(encoding="utf-8"), "kitbook.toml")


@lru_cache
def demo_catalogue() -> CatalogueView:
    """The demo's cloths, items and colours; widths are taken as 1400 mm."""
    cloths = {
        row["code"]: Cloth(
            row["code"], row["title"], "cloth", row["fibre"], row["grain"], 1400, 0, row["nap"] == "yes", 300, 1.0
        )
        for row in _rows("cloths.csv")
    }
    items = {
        row["code"]: Item(row["code"], row["title"], "hardware", row["cloth"], row["colour"])
        for row in _rows("items.csv")
    }
    return CatalogueView(cloths, items, {row["code"]: row["name"] for row in _rows("colours.csv")})


def _rows(name: str) -> list[dict[str, str]]:
    with (SEED / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
