"""An order's file, read for whoever takes or changes an order."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from stockroom.domain.order import OrderRequest
from stockroom.files.order import read_order
from stockroom.files.toml_text import load_text


def read_order_file(path: Path, today: date) -> OrderRequest:
    """The order in a TOML file. `opening` in it means `today`. Raises Refusal naming every fault with its line."""
    return read_order(load_text(path), path.name, today)
