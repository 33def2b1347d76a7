"""A load that is refused leaves the shop byte for byte as it was, and a new shop's file is not there at all."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from stockroom.store.shipped import shipped
from tests.cli.calling import call
from tests.cli.conftest import Desk
from tests.faults.small_files import TABLES, write_files

FAULTY: dict[str, str | bytes] = {
    "shop.toml": 'format = 1\nname = ""\n',
    "kitbook.toml": "format = 1\n[book]\ncode = 3\n",
    "more.toml": "[[[[",
    "colours.csv": b"\xff\xfec\0",
    "items.csv": "code,kind\n<b>,hardware\n",
    "rolls.csv": TABLES["rolls.csv"] + "r2,no-such-item,K1,1 m,1 m,R1,yes,no,1,,,,,,,,\n",
    "bins.csv": TABLES["bins.csv"].replace("400", "1" + "0" * 30),
    "purchases.csv": TABLES["purchases.csv"].replace("0.12", "1e309"),
    "history.csv": TABLES["history.csv"].replace("opening-30d", "9999-12-31"),
    "terms.xlsx": b"PK\x03\x04",
}


@pytest.mark.parametrize("name", FAULTY)
def test_one_faulty_file_among_good_ones(desk: Desk, name: str) -> None:
    folder = desk.folder / "files"
    shutil.copytree(shipped("seed"), folder)
    (folder / "new-order.toml").write_text(
        'format = 1\nnumber = "N-1"\ncustomer = "Ann Example"\n'
        '[cars.mine]\n[[lines]]\nkit = "tool-bag"\nquantity = 1\n',
        encoding="utf-8",
    )
    content = FAULTY[name]
    (folder / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    before = desk.shop.read_bytes()
    desk.call("load", "files").refused(name)
    assert desk.shop.read_bytes() == before
    desk.call("show", "N-1").refused("N-1")
    (folder / name).unlink()
    desk.call("load", "files").well()
    assert "N-1" in desk.call("rail").well().out
    desk.call("audit").well()


def test_a_new_shop_that_could_not_be_loaded_is_not_there_and_the_right_files_make_it(tmp_path: Path) -> None:
    files = write_files(tmp_path / "files", {"bins.csv": FAULTY["bins.csv"]})
    call("load", "files", "--shop", "shop.db", cwd=tmp_path).refused("bins.csv, row 2, column 'count'")
    assert [path.name for path in tmp_path.iterdir()] == ["files"]
    write_files(files, {})
    call("load", "files", "--shop", "shop.db", cwd=tmp_path).well()
    call("audit", "--shop", "shop.db", cwd=tmp_path).well()
    assert {path.name for path in tmp_path.iterdir()} <= {"files", "shop.db", "shop.db-turns"}
