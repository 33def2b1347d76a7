"""An order's file, or what was typed instead of one, read for whoever takes or changes an order."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from stockroom.domain.order import OrderRequest
from stockroom.files.order import read_order
from stockroom.files.order_typed import check_said, check_typed
from stockroom.files.toml_text import load_text


def read_order_file(path: Path, today: date) -> OrderRequest:
    """The order in a TOML file. `opening` in it means `today`. Raises Refusal naming every fault with its line."""
    return read_order(load_text(path), path.name, today)


def typed_order(request: OrderRequest) -> OrderRequest:
    """An order that was typed, once it is known to hold nothing that a file must not. Raises Refusal otherwise."""
    check_typed(request)
    return request


def said_in_a_line(**texts: str) -> None:
    """Raises Refusal where a text that goes on tickets and paper is none of one line; named by what each text is."""
    check_said(**texts)
