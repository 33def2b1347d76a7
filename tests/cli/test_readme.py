"""What README shows can be done as it stands there: every command in its order, every file, every table of columns."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from stockroom.files import catalogue, stock
from stockroom.files.tables import Columns
from tests.cli.calling import call
from tests.cli.conftest import Desk
from tests.house.tree import ROOT, calls_of_stockroom, sh_blocks

README = (ROOT / "README.md").read_text(encoding="utf-8")
FILES = re.findall(r"^<!-- file: (\S+) -->\n```\w+\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
OF_A_BEGUN_ORDER = {"keep", "use", "unuse"}
"""Verbs that nothing else in the table makes ready for: a day with it does."""
TABLES = {
    "colours": catalogue.COLOURS,
    "cloths": catalogue.CLOTHS,
    "groups": catalogue.GROUPS,
    "items": catalogue.ITEMS,
    "places": catalogue.PLACES,
    "stages": catalogue.STAGES,
    "suppliers": catalogue.SUPPLIERS,
    "terms": catalogue.TERMS,
    "rolls": stock.ROLLS,
    "bins": stock.BINS,
    "purchases": stock.PURCHASES,
    "history": stock.HISTORY,
}


@pytest.fixture
def desk_of_a_reader(demo_made: Desk, tmp_path: Path) -> Path:
    """A folder with the demo and with the files that README shows."""
    (tmp_path / "demo").mkdir()
    shutil.copyfile(demo_made.shop, tmp_path / "demo" / "shop.db")
    for name, text in FILES:
        place = tmp_path / name
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(text, encoding="utf-8")
    return tmp_path


def test_every_command_works_in_the_order_in_which_it_is_shown(desk_of_a_reader: Path) -> None:
    done = 0
    for line in (line for block in sh_blocks(README)[2:] for line in block.splitlines()):
        for words in calls_of_stockroom(f"```sh\n{line}\n```"):
            if not words or any("postgresql" in word for word in words):
                continue  # The screens have tests of their own, and there is no server at that address.
            said = call(*words, cwd=desk_of_a_reader, STOCKROOM_SHOP="demo/shop.db", STOCKROOM_BY="HM")
            expected = 1 if "exit status 1" in line else 0
            assert said.status == expected, f"{line}\n{said.out}{said.err}"
            done += 1
    assert done > 20


def test_every_verb_in_the_table_works_as_it_is_shown(desk_of_a_reader: Path) -> None:
    seed_order = (ROOT / "seed" / "orders" / "01-boot-set-in-red.toml").read_text(encoding="utf-8")
    (desk_of_a_reader / "order.toml").write_text(seed_order.replace("L-1041", "L-2001"), encoding="utf-8")
    table = README[README.index("## Every verb") :]
    rows = re.findall(r"^\| `\w[\w-]*` \|.*\| `(stockroom .*)` \|$", table, re.MULTILINE)
    assert len(rows) >= 16
    for row in rows:
        ((verb, *words),) = calls_of_stockroom(f"```sh\n{row}\n```")
        if verb == "demo":
            continue  # The folder is there.
        if verb in OF_A_BEGUN_ORDER:
            assert any(row in block for block in sh_blocks(README)), "it is run where an order was begun and cancelled"
            continue
        said = call(verb, *words, cwd=desk_of_a_reader, STOCKROOM_SHOP="demo/shop.db")
        assert said.status == 0, f"{row}\n{said.out}{said.err}"


def test_what_the_small_shop_says_is_what_is_shown(desk_of_a_reader: Path) -> None:
    assert {name for name, _ in FILES} >= {"our-shop/shop.toml", "our-shop/kitbook.toml", "our-shop/orders/a-12.toml"}
    call("load", "our-shop", "--shop", "our-shop.db", cwd=desk_of_a_reader).well()
    said = call("explode", "A-12", "--why", "--shop", "our-shop.db", cwd=desk_of_a_reader).well().out
    shown = re.search(r"^```text\n(Order A-12.*?)\n…\n```$", README, re.MULTILINE | re.DOTALL)
    assert shown is not None
    assert said.startswith(shown[1])
    held = call("reserve", "A-12", "--shop", "our-shop.db", cwd=desk_of_a_reader)
    assert held.well().out.startswith("Order A-12: 3 of 3 held")


def test_what_the_demo_says_is_what_is_shown(demo_made: Desk) -> None:
    shown = re.search(r"^```text\n(Order L-.*?)^```$", README, re.MULTILINE | re.DOTALL)
    assert shown is not None
    # Dates are offsets from the day the demo is made, and README breaks long lines.
    plain = re.compile(r"\d{4}-\d{2}-\d{2}|\s+")
    said = plain.sub("", demo_made.account)
    for order in shown[1].split("\n\n"):
        assert plain.sub("", order) in said, order


@pytest.mark.parametrize("name", TABLES)
def test_the_columns_of_a_table_are_those_that_are_read(name: str) -> None:
    row = re.search(rf"^\| `{name}` \| (.*?) \| (.*?) ?\|$", README, re.MULTILINE)
    assert row is not None, f"README says nothing of the table {name}"
    columns: Columns = TABLES[name]
    for shown, known in zip(row.groups(), (columns.required, columns.optional), strict=True):
        told = re.sub(r"\([^)]*\)|: the master reading", "", shown)
        names = [one.strip() for one in told.split(",")] if told.strip() else []
        assert sorted(filter(None, names)) == sorted(known)


def test_every_picture_is_there() -> None:
    pictures = re.findall(r"\]\((\.pictures/[\w.-]+)\)", README)
    assert len(pictures) >= 8
    assert [name for name in pictures if not (ROOT / name).is_file()] == []
    assert {path.name for path in (ROOT / ".pictures").iterdir()} == {Path(name).name for name in pictures}
