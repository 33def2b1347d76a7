"""Where the screens print to: a folder by the environment, beside the shop's file, or among the user's documents."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockroom.cli.outlet import outlet_of


@pytest.mark.parametrize(
    ("shop", "named", "folder"),
    [
        ("/shops/plover/shop.db", "", "/shops/plover/paper"),
        ("shop.db", "", "HERE/paper"),
        ("/shops/shop.db", "/printed", "/printed"),
        ("/shops/shop.db", "out", "HERE/out"),
        ("/shops/shop.db", "~/out", "HERE/out"),
        ("postgresql+psycopg://server/shop", "", "HERE/Documents/stockroom"),
        ("postgresql+psycopg://server/shop", "/printed", "/printed"),
    ],
)
def test_papers_go_beside_the_shop_or_where_the_environment_says(
    shop: str, named: str, folder: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_DOCUMENTS_DIR", str(tmp_path / "Documents"))
    monkeypatch.setenv("STOCKROOM_PAPER", named)
    monkeypatch.setenv("STOCKROOM_PRINTER", " bench ")
    outlet = outlet_of(shop)
    assert str(outlet.folder) == folder.replace("HERE", str(tmp_path))
    assert (outlet.printer, outlet.labels) == ("bench", "")
    monkeypatch.setenv("STOCKROOM_LABELS", "roll-100x50-203dpi")
    assert outlet_of(shop).labels == "roll-100x50-203dpi"
