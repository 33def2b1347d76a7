"""Shops that the tests of jobs start from."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockroom.store.database import Shop
from tests.shops import plenty, stock_shop


@pytest.fixture
def full_shop(shop: Shop, tmp_path: Path) -> Shop:
    """A shop with enough of everything but blanks, on either database."""
    stock_shop(shop, tmp_path, *plenty())
    return shop
