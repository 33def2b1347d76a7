"""demo and load: what they make, what they leave alone, and what is left when they are refused or stopped."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from stockroom.store.shipped import shipped
from tests.cli.calling import STOPPED_WORDS, call, call_apart, environment, stopped_when
from tests.cli.conftest import Desk
from tests.databases import Server


def test_demo_tells_what_each_order_needs_what_is_held_and_short_and_where_all_lies(demo_made: Desk) -> None:
    account = demo_made.account
    orders = re.findall(r"^Order (L-\d+), .*\n  .*\n  needs  .*\n  held   .*$", account, re.MULTILINE)
    assert len(orders) == 11
    assert "SHORT  Ribbed boot carpet, dark green" in account
    assert "Lot W4288 beside lot W4391: does not match" in account, "why the fawn hood has no one lot is not told"
    assert "WAITS  line 1, 'bag-length'" in account
    assert "is left solid, because the owner moved the filler" in account
    assert "OVERDUE" in account
    assert account.endswith(f"  stockroom --shop {Path('made') / 'shop.db'}\n")
    papers = {path.name for path in (demo_made.folder / "paper").iterdir()}
    assert {f"pick-list-{number}.pdf" for number in orders} | {f"tags-{number}.pdf" for number in orders} < papers
    assert any(name.startswith("reorder-") for name in papers)
    assert f"Papers: {len(papers)} PDF files" in account


def test_demo_in_a_path_with_spaces_and_other_letters(tmp_path: Path) -> None:
    folder = Path("Ügyfél и гость") / "the demo"
    said = call_apart("demo", folder, cwd=tmp_path).well()
    command = said.out.splitlines()[-1]
    assert str(folder / "shop.db") in command
    assert call("audit", "--shop", folder / "shop.db", cwd=tmp_path).status == 0
    assert {path.name for path in (tmp_path / folder).parent.iterdir()} == {"the demo"}


@pytest.mark.parametrize("kind", ["folder", "file", "broken link"])
def test_demo_refuses_what_exists_and_leaves_it_alone(tmp_path: Path, kind: str) -> None:
    place = tmp_path / "mine"
    if kind == "folder":
        place.mkdir()
        (place / "shop.db").write_text("precious")
    elif kind == "file":
        place.write_text("precious")
    else:
        place.symlink_to(tmp_path / "nowhere")
    call("demo", "mine", cwd=tmp_path).refused("mine exists already")
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]
    if kind == "folder":
        assert (place / "shop.db").read_text() == "precious"
        assert len(list(place.iterdir())) == 1
    elif kind == "file":
        assert place.read_text() == "precious"
    else:
        assert os.readlink(place) == str(tmp_path / "nowhere")


def test_demo_where_nothing_can_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    call("demo", Path("file") / "demo", cwd=tmp_path).refused("cannot be made")
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_demo_stopped_midway_leaves_nothing(tmp_path: Path) -> None:
    def paper_is_being_printed() -> bool:
        return any(tmp_path.glob(".demo-*/paper/*.pdf"))

    said = stopped_when(paper_is_being_printed, "demo", "demo", cwd=tmp_path)
    assert (said.status, said.raw) == (130, b"")
    assert said.err == STOPPED_WORDS
    assert list(tmp_path.iterdir()) == []


def test_ctrl_c_that_falls_into_the_collecting_of_garbage_is_not_lost(tmp_path: Path) -> None:
    # The finaliser is where Python can only mention an exception, and goes on.
    program = """
import signal, sys
from unittest.mock import patch
from stockroom.cli import main
signal.signal(signal.SIGINT, signal.default_int_handler)
class Collected:
    def __del__(self):
        signal.raise_signal(signal.SIGINT)
def work(*_):
    Collected()
    while True:
        pass
with patch("stockroom.jobs.demo.make_demo", work):
    main()
"""
    done = subprocess.run(
        [sys.executable, "-c", program, "demo"], cwd=tmp_path, env=environment({}), capture_output=True, timeout=60
    )
    assert (done.returncode, done.stderr.decode()) == (130, STOPPED_WORDS)


def test_first_load_stopped_midway_leaves_nothing(tmp_path: Path) -> None:
    def the_shop_is_being_filled() -> bool:
        # The log of SQLite comes and goes; it has something in it from the first table on.
        with suppress(FileNotFoundError):
            return any(path.stat().st_size for path in tmp_path.glob(".shop.db-*/shop.db-wal"))
        return False

    said = stopped_when(the_shop_is_being_filled, "load", shipped("seed"), "--shop", "shop.db", cwd=tmp_path)
    assert (said.status, said.raw, said.err) == (130, b"", STOPPED_WORDS)
    assert list(tmp_path.iterdir()) == []


def test_later_load_stopped_midway_leaves_the_shop_as_it_was(desk: Desk) -> None:
    before = desk.call("rail").out + desk.call("audit").out
    more = desk.folder / "more"
    shutil.copytree(shipped("seed"), more)
    bins = more / "bins.csv"
    grown = "".join(f"snap-fastener-cap,L{number},B1,1,0.10\n" for number in range(20_000))
    bins.write_text(bins.read_text(encoding="utf-8") + grown, encoding="utf-8")
    looking = sqlite3.connect(desk.shop, timeout=0, isolation_level=None)

    def it_is_writing() -> bool:
        try:
            looking.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError:
            return True
        looking.execute("ROLLBACK")
        return False

    said = stopped_when(it_is_writing, "load", "more", "--shop", "shop.db", cwd=desk.folder)
    looking.close()
    assert (said.status, said.raw, said.err) == (130, b"", STOPPED_WORDS)
    assert desk.call("rail").out + desk.call("audit").out == before


def test_load_makes_a_shop_and_loading_again_changes_nothing(tmp_path: Path) -> None:
    first = call("load", shipped("seed"), "--shop", "new/shop.db", "--json", cwd=tmp_path).well().json
    assert (first["shop"], first["checked_only"], len(first["orders"])) == ("Lindow Trim", False, 11)
    assert {path.name for path in (tmp_path / "new").iterdir()} <= {"shop.db", "shop.db-turns"}
    audited = call("audit", "--shop", "new/shop.db", cwd=tmp_path).well().out
    again = call("load", shipped("seed"), "--shop", "new/shop.db", cwd=tmp_path).well().out
    assert not re.search(r"\d new", again)
    assert call("audit", "--shop", "new/shop.db", cwd=tmp_path).well().out == audited


def test_a_shop_on_postgresql_is_named_by_its_address(server: Server, tmp_path: Path) -> None:
    with server.new_database() as address:
        call("rail", "--shop", address, cwd=tmp_path).refused()
        call("load", shipped("seed"), "--shop", address, cwd=tmp_path).well()
        assert len(call("rail", "--shop", address, "--json", cwd=tmp_path).well().json) == 11
        call("reserve", "L-1041", cwd=tmp_path, STOCKROOM_SHOP=address).well()
        call("paper", "pick-list", "L-1041", "--shop", address, cwd=tmp_path).well()
        assert call("--shop", address, "audit", cwd=tmp_path).well().out.endswith("The books are good.\n")


def test_check_reads_and_writes_nothing(tmp_path: Path, demo_made: Desk) -> None:
    said = call("load", shipped("seed"), "--check", "--shop", "shop.db", cwd=tmp_path).well()
    assert "nothing was written" in said.out
    assert "rolls: 75 found" in said.out
    assert list(tmp_path.iterdir()) == []
    kept = demo_made.shop.read_bytes()
    checked = call("load", shipped("seed"), "--check", "--shop", demo_made.shop, "--json", cwd=tmp_path).well().json
    assert checked["checked_only"] is True
    assert demo_made.shop.read_bytes() == kept


@pytest.mark.parametrize("there", ["no shop yet", "a shop"])
def test_load_of_files_with_faults_names_them_all_and_writes_nothing(desk: Desk, there: str) -> None:
    bad = desk.folder / "bad"
    shutil.copytree(shipped("seed"), bad)
    bins = bad / "bins.csv"
    bins.write_text(bins.read_text(encoding="utf-8") + "no-such-item,,B1,3,1.00\ntack-10,,B1,-3,1.00\n")
    (bad / "colours.csv").write_bytes(b"code,name\nred,\xff\xfe\n")
    shop = "fresh.db" if there == "no shop yet" else "shop.db"
    before = {path.name for path in desk.folder.iterdir()}
    held = desk.call("audit").out
    for check in ((), ("--check",)):
        said = call("load", "bad", "--shop", shop, *check, cwd=desk.folder).refused("colours.csv")
        assert len(said.err.splitlines()) >= 2
    after = {path.name for path in desk.folder.iterdir()}
    assert after - before <= {"shop.db-turns"}
    assert desk.call("audit").out == held


def test_load_where_no_shop_can_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    call("load", shipped("seed"), "--shop", "file/shop.db", cwd=tmp_path).refused("No shop can be made")
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
