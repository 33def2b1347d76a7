"""Loading a shop's own files: all or nothing, every fault at once, and a second time changes nothing."""

from __future__ import annotations

import json
import os
import shutil
import threading
import time
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select

from stockroom.domain.about import About
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.audit import audit
from stockroom.jobs.load import LoadReport, check, load
from stockroom.store import about, books, catalogue, history, stock
from stockroom.store.database import Shop
from stockroom.store.types import Base
from tests.files.test_tables import sheet_of, workbook
from tests.shops import load_files, roll, stock_shop

OPENING = date(2026, 11, 23)
STAMP = Stamp("AB", datetime(2026, 11, 23, 9, 0, tzinfo=UTC))
SEED = Path(__file__).parents[2] / "seed"

SMALL: Mapping[str, str] = {
    "shop.toml": 'format = 1\nname = "Lindow Trim"\ntime_zone = "Europe/London"\ncurrency = "GBP"\n',
    "colours.csv": "code,name,L,a,b\nblack,Black,18,0,0\n",
    "cloths.csv": "code,title,kind,width\nfelt,Felt,cloth,1800\n",
    "items.csv": "code,title,kind,cloth,colour\nfelt/black,,cloth,felt,black\nnut,Nut,hardware,,\n",
    "places.csv": "code,title,walk\nB1,Shelf,1\n",
    "rolls.csv": "label,item,length,place,received\nR1,felt/black,12.5 m,B1,opening-7d\n",
    "bins.csv": "item,place,count,value\nnut,B1,400,4.00\n",
    "history.csv": "day,item,kind,quantity\nopening-30d,nut,issued,12\n",
}


def folder_of(where: Path, files: Mapping[str, str | bytes]) -> Path:
    folder = where / "own"
    folder.mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(text.encode() if isinstance(text, str) else text)
    return folder


def contents(shop: Shop) -> dict[str, list[Any]]:
    """Every row of the shop."""
    with shop.read() as tx:
        return {table.name: sorted(map(repr, tx.execute(select(table)).all())) for table in Base.metadata.sorted_tables}


def refused(shop: Shop, path: Path, opening: date = OPENING) -> tuple[str, ...]:
    """The faults for which it is refused; nothing may have changed."""
    before = contents(shop)
    with pytest.raises(Refusal) as refusal:
        load(shop, path, STAMP, opening=opening)
    assert contents(shop) == before
    return refusal.value.faults or (refusal.value.sentence,)


def test_a_folder_is_loaded_whole_on_both_databases(shop: Shop, tmp_path: Path) -> None:
    report = load(shop, folder_of(tmp_path, SMALL), STAMP, opening=OPENING)
    assert {one.what: one.added for one in report.written} == {
        "shop": 1,
        "colours": 1,
        "cloths": 1,
        "items": 2,
        "places": 1,
        "rolls": 1,
        "bins": 1,
        "history": 1,
    }
    with shop.read() as tx:
        assert about.read_about(tx) == About("Lindow Trim", "Europe/London", "GBP", OPENING)
        assert catalogue.read_items(tx)["felt/black"].title == "Felt, Black"
        (roll,) = stock.rolls_of(tx, "felt/black")
        assert (roll.held_mm, roll.width_mm, roll.received) == (12_500, 1800, date(2026, 11, 16))
    assert audit(shop).faults == ()


def test_the_demo_shop_s_own_folder_is_loaded_whole_and_quickly(shop: Shop) -> None:
    begun = time.perf_counter()
    report = load(shop, SEED, STAMP, opening=OPENING)
    took = time.perf_counter() - begun
    added = {one.what: one.added for one in report.written}
    assert added["items"] >= 60
    assert added["colours"] >= 12
    assert added["rolls"] >= 40
    assert added["history"] > 1_000
    assert len(report.books) == 1
    assert len(report.orders) >= 5
    assert report.notes == ()
    assert audit(shop).faults == ()
    assert took < 10, f"loading took {took:.1f} s"


def test_the_demo_shop_loaded_again_on_a_later_day_changes_nothing_but_the_list_of_jobs(sqlite_shop: Shop) -> None:
    load(sqlite_shop, SEED, STAMP, opening=OPENING)
    before = contents(sqlite_shop)
    report = load(sqlite_shop, SEED, STAMP, opening=date(2027, 1, 4))
    after = contents(sqlite_shop)
    assert len(after.pop("job")) == len(before.pop("job")) + 1
    assert after == before
    assert sum(one.added for one in report.written) == 0
    assert all(not one.changes for one in report.written)
    assert any(line.startswith("  rolls: ") and line.endswith(" as they were") for line in report.lines())


def test_the_opening_day_is_the_shop_s_own_before_any_other(sqlite_shop: Shop, tmp_path: Path) -> None:
    said = {"shop.toml": SMALL["shop.toml"] + "opening = 2026-10-05\n"}
    load(sqlite_shop, folder_of(tmp_path, {**SMALL, **said}), STAMP, opening=OPENING)
    with sqlite_shop.read() as tx:
        kept = about.read_about(tx)
        assert kept is not None
        assert kept.opening == date(2026, 10, 5)
        assert stock.rolls_of(tx, "felt/black")[0].received == date(2026, 9, 28)


def test_one_file_is_loaded_into_a_shop_that_knows_the_rest(sqlite_shop: Shop, tmp_path: Path) -> None:
    folder = folder_of(tmp_path, SMALL)
    load(sqlite_shop, folder, STAMP, opening=OPENING)
    (folder / "rolls.csv").write_text("label,item,length,place\nR2,felt/black,900,B1\n")
    report = load(sqlite_shop, folder / "rolls.csv", STAMP, opening=OPENING)
    assert {one.what: one.added for one in report.written if one.added} == {"rolls": 1}
    with sqlite_shop.read() as tx:
        assert [roll.label for roll in stock.rolls_of(tx, "felt/black")] == ["R1", "R2"]


def test_tables_may_be_csv_xlsx_or_toml(sqlite_shop: Shop, tmp_path: Path) -> None:
    files: dict[str, str | bytes] = {
        name: text for name, text in SMALL.items() if name not in ("items.csv", "bins.csv")
    }
    files["items.xlsx"] = workbook(
        sheet_of(["code", "title", "kind", "cloth", "colour"], ["felt/black", None, "cloth", "felt", "black"])
    )
    files["catalogue.toml"] = (
        'format = 1\n[[items]]\ncode = "nut"\ntitle = "Nut"\nkind = "hardware"\nleast = 20\n'
        '[[bins]]\nitem = "nut"\nplace = "B1"\ncount = 400\nvalue = 4.5\n'
    )
    load(sqlite_shop, folder_of(tmp_path, files), STAMP, opening=OPENING)
    with sqlite_shop.read() as tx:
        assert set(catalogue.read_items(tx)) == {"felt/black", "nut"}
        assert [(one.held, one.value_minor) for one in stock.bins_of(tx, "nut")] == [(400, 450)]


def test_a_workbook_may_hold_several_tables_as_sheets(sqlite_shop: Shop, tmp_path: Path) -> None:
    def fill(sheet: Any) -> None:
        sheet_of(["code", "title", "walk"], ["B1", "Shelf", 1])(sheet)
        sheet_of(["code", "name"], ["black", "Black"])(sheet.parent.create_sheet("Colours"))

    files: dict[str, str | bytes] = {"shop.toml": SMALL["shop.toml"], "our lists.xlsx": workbook(fill, title="places")}
    report = load(sqlite_shop, folder_of(tmp_path, files), STAMP, opening=OPENING)
    assert {one.what: one.added for one in report.written} == {"shop": 1, "colours": 1, "places": 1}


def test_every_fault_of_every_file_is_told_at_once_and_nothing_is_loaded(sqlite_shop: Shop, tmp_path: Path) -> None:
    faulty: dict[str, str | bytes] = {
        "colours.csv": "code,name\nblack,\n",
        "items.csv": "code,title,kind,cloth,colour\nfelt/blck,,cloth,felt,blck\nnut,Nut,hardware,,\n",
        "rolls.csv": "label,item,length,place\nR1,felt/black,long,B1\nR1,felt/blck,1 m,B2\n",
        "bins.csv": "item,place,count\nnut,B1,many\nnut,B1,5\n",
        "history.csv": "day,item,quantity\n",
        "catalogue.toml": "[[item]]\n",
        "orders/one.toml": "format = 1\n",
        "latin.csv": "code\nü\n".encode("latin-1"),
    }
    told = "\n".join(refused(sqlite_shop, folder_of(tmp_path, {**SMALL, **faulty})))
    for words in (
        "colours.csv, row 2, column 'name': nothing is written there",
        "items.csv, row 2, column 'colour': There is no colour 'blck'. The nearest name is 'black'.",
        "rolls.csv, row 2, column 'item': There is no item 'felt/black'. The nearest name is 'felt/blck'.",
        "rolls.csv, row 2, column 'length': 'long' is not a length.",
        "rolls.csv, row 3: roll 'R1' is there twice. It stands first in rolls.csv, row 2.",
        "rolls.csv, row 3, column 'place': There is no place 'B2'. The nearest name is 'B1'.",
        "bins.csv, row 2, column 'count': 'many' was found; a whole number from 0 was expected.",
        "bins.csv, row 3: bin of 'nut' / 'B1' is there twice.",
        "history.csv: the header lacks 'kind'.",
        "catalogue.toml, line 1, 'item': there is no table 'item'. The nearest name is 'items'.",
        "one.toml",
        "latin.csv: there is no table 'latin'.",
    ):
        assert words in told, f"{words}\nis not among:\n{told}"


def test_faults_beyond_many_are_counted(sqlite_shop: Shop, tmp_path: Path) -> None:
    rows = "".join(f"nut,B1,{number}x\n" for number in range(300))
    told = refused(sqlite_shop, folder_of(tmp_path, {**SMALL, "bins.csv": "item,place,count\n" + rows}))
    assert len(told) == 201
    assert told[-1].startswith("... and ")


def test_a_shop_without_a_name_asks_for_shop_toml(sqlite_shop: Shop, tmp_path: Path) -> None:
    files = {name: text for name, text in SMALL.items() if name != "shop.toml"}
    assert refused(sqlite_shop, folder_of(tmp_path, files)) == (
        "The shop has no name, time zone and currency yet. Put a shop.toml beside the tables.",
    )


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("format = 2", "line 1, 'format': 2 was found; format = 1 was expected"),
        ('name = " "', "line 2, 'name': ' ' was found; the shop's name in one line"),
        ('time_zone = "../../etc/passwd"', "line 3, 'time_zone': '../../etc/passwd' was found; a time zone"),
        ('time_zone = "Europe"', "line 3, 'time_zone': 'Europe' was found; a time zone"),
        ('currency = "pounds"', "line 4, 'currency': 'pounds' was found; a currency"),
        ('opening = "soon"', "line 5, 'opening': 'soon' was found; a day"),
        ('colour = "x"', "line 5, 'colour': the key is not known"),
    ],
)
def test_a_faulty_shop_toml_is_told_by_line(sqlite_shop: Shop, tmp_path: Path, line: str, words: str) -> None:
    key = line.split(" ")[0]
    lines = SMALL["shop.toml"].splitlines()
    changed = [line if old.startswith(key) else old for old in lines]
    text = "\n".join(changed if line in changed else [*lines, line])
    (fault,) = refused(sqlite_shop, folder_of(tmp_path, {**SMALL, "shop.toml": text}))
    assert f"shop.toml, {words}" in fault


def test_a_kit_book_that_an_order_would_run_into_is_refused_by_name(sqlite_shop: Shop, tmp_path: Path) -> None:
    load(sqlite_shop, folder_of(tmp_path, SMALL), STAMP, opening=OPENING)
    (tmp_path / "kitbook.toml").write_bytes((SEED / "kitbook.toml").read_bytes())
    told = refused(sqlite_shop, tmp_path / "kitbook.toml")
    assert len(told) > 5
    assert all(fault.startswith(("kitbook.toml", "... and")) for fault in told)


def test_another_text_under_a_kept_version_of_a_kit_book_is_refused(sqlite_shop: Shop, tmp_path: Path) -> None:
    load(sqlite_shop, SEED, STAMP, opening=OPENING)
    text = (SEED / "kitbook.toml").read_text()
    (tmp_path / "kitbook.toml").write_text(text + "\n# changed\n")
    (told,) = refused(sqlite_shop, tmp_path / "kitbook.toml")
    assert "is kept already with another text" in told
    with sqlite_shop.read() as tx:
        assert books.book_source(tx, books.newest(tx).id) == text


def test_orders_that_are_refused_are_told_at_once_and_nothing_is_loaded(shop: Shop, tmp_path: Path) -> None:
    folder = tmp_path / "own"
    shutil.copytree(SEED, folder)
    first, second, *_ = sorted((folder / "orders").iterdir())
    first.write_text(first.read_text().replace('kit = "full-boot-set"', 'kit = "full-bot-set"'))
    second.write_text(second.read_text().replace('trim = "dark-green"', 'trim = "dark-gren"'))
    told = refused(shop, folder)
    assert len(told) == 2
    assert "There is no kit 'full-bot-set'. The nearest name is 'full-boot-set'." in told[0]
    assert "There is no colour 'dark-gren'. The nearest name is 'dark-green'." in told[1]
    assert all(fault.startswith("Order ") for fault in told)


def test_an_order_without_a_number_is_taken_once(sqlite_shop: Shop, tmp_path: Path) -> None:
    folder = tmp_path / "own"
    shutil.copytree(SEED, folder)
    (order, *others) = sorted((folder / "orders").iterdir())
    order.write_text("\n".join(line for line in order.read_text().splitlines() if not line.startswith("number")))
    load(sqlite_shop, folder, STAMP, opening=OPENING)
    assert load(sqlite_shop, folder, STAMP, opening=OPENING).orders == ()
    with sqlite_shop.read() as tx:
        kept = tx.execute(select(func.count()).select_from(Base.metadata.tables["customer_order"])).scalar_one()
    assert kept == len(others) + 1


def test_a_link_out_of_the_folder_is_not_followed(sqlite_shop: Shop, tmp_path: Path) -> None:
    folder = folder_of(tmp_path, {name: text for name, text in SMALL.items() if name != "bins.csv"})
    (tmp_path / "secret.csv").write_text(SMALL["bins.csv"])
    (folder / "bins.csv").symlink_to(tmp_path / "secret.csv")
    (folder / "loop.csv").symlink_to(folder / "loop.csv")
    (folder / "rolls.xlsx").symlink_to("/dev/zero")
    assert [fault.split(" is ")[0] for fault in refused(sqlite_shop, folder)] == ["bins.csv", "loop.csv", "rolls.xlsx"]


def test_a_link_within_the_folder_is_followed(sqlite_shop: Shop, tmp_path: Path) -> None:
    folder = folder_of(tmp_path, {name: text for name, text in SMALL.items() if name != "bins.csv"})
    (folder / ".kept").write_text(SMALL["bins.csv"])
    (folder / "bins.csv").symlink_to(folder / ".kept")
    assert load(sqlite_shop, folder, STAMP, opening=OPENING).as_dict()["tables"]["bins"]["added"] == 1


def test_what_is_no_table_is_left_alone_and_told(sqlite_shop: Shop, tmp_path: Path) -> None:
    more: dict[str, str | bytes] = {
        "README.md": "# Ours",
        "photos/felt.jpg": b"\xff\xd8",
        ".hidden.csv": "x",
        "~$items.xlsx": "x",
    }
    report = load(sqlite_shop, folder_of(tmp_path, {**SMALL, **more}), STAMP, opening=OPENING)
    assert report.notes == (
        "README.md is no TOML, CSV or XLSX file; it was left alone.",
        "photos is a folder; only a folder 'orders' is looked into.",
    )


def test_a_pipe_among_the_files_is_not_waited_for(sqlite_shop: Shop, tmp_path: Path) -> None:
    folder = folder_of(tmp_path, SMALL)
    os.mkfifo(folder / "suppliers.csv")
    assert refused(sqlite_shop, folder) == ("suppliers.csv is no ordinary file, so it was not read.",)


def test_a_path_that_is_not_there_is_told(sqlite_shop: Shop, tmp_path: Path) -> None:
    (told,) = refused(sqlite_shop, tmp_path / "nowhere")
    assert told.startswith("There is no file or folder '")


def test_codes_that_look_like_paths_or_markup_write_no_file(sqlite_shop: Shop, tmp_path: Path) -> None:
    names = {
        "bins.csv": "item,place,count,lot\nnut,B1,1,../../../../tmp/x\n",
        "colours.csv": "code,name\nblack,<b>[red]Black\n",
    }
    folder = folder_of(tmp_path, {**SMALL, **names})
    before = sorted(tmp_path.rglob("*"))
    load(sqlite_shop, folder, STAMP, opening=OPENING)
    assert sorted(path for path in tmp_path.rglob("*") if "shop.db" not in path.name) == [
        path for path in before if "shop.db" not in path.name
    ]
    with sqlite_shop.read() as tx:
        assert catalogue.read_items(tx)["felt/black"].title == "Felt, <b>[red]Black"
        assert stock.bins_of(tx, "nut")[0].lot == "../../../../tmp/x"


def test_ctrl_c_in_the_middle_leaves_nothing(shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = contents(shop)

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(history, "write_history", interrupted)
    with pytest.raises(KeyboardInterrupt):
        load(shop, folder_of(tmp_path, SMALL), STAMP, opening=OPENING)
    assert contents(shop) == before


def test_two_who_load_the_same_at_once_load_it_once(shop: Shop, tmp_path: Path) -> None:
    folder = folder_of(tmp_path, SMALL)
    together = threading.Barrier(2)

    def one(_: int) -> int:
        together.wait()
        return sum(written.added for written in load(shop, folder, STAMP, opening=OPENING).written)

    with ThreadPoolExecutor(2) as both:
        assert sorted(both.map(one, range(2))) == [0, 9]
    assert audit(shop).faults == ()


def test_lots_in_two_spellings_are_named_beside_what_is_loaded(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path, roll("carpet/red", 5_000, "W 4391"), roll("carpet/black", 5_000, "W4391"))
    rolls = "label,item,lot,length,place\nN1,carpet/red,w439l,5 m,R1\nN2,carpet/black,W4391,5 m,R1\n"
    report = load_files(sqlite_shop, tmp_path, {"rolls.csv": rolls})
    assert report.notes == (
        "carpet/red: 'W 4391' and 'w439l' may be one lot, written otherwise. As they are, nothing of one matches the "
        "others: write them alike if they are one.",
    )
    assert load_files(sqlite_shop, tmp_path, {"rolls.csv": rolls.splitlines()[0] + "\n"}).notes == ()


def test_checking_reads_and_reports_and_writes_nothing(sqlite_shop: Shop, tmp_path: Path) -> None:
    folder = folder_of(tmp_path, SMALL)
    report = check(folder, opening=OPENING)
    assert report.checked_only
    assert report.lines()[0] == "own was read and has no fault; nothing was written."
    assert "  items: 2 found" in report.lines()
    before = contents(sqlite_shop)
    with pytest.raises(Refusal):
        check(folder / "rolls.csv", opening=OPENING, shop=sqlite_shop)
    assert contents(sqlite_shop) == before
    load(sqlite_shop, folder, STAMP, opening=OPENING)
    assert check(folder / "rolls.csv", opening=OPENING, shop=sqlite_shop).as_dict()["tables"] == {
        "rolls": {"added": 1, "same": 0, "changes": []}
    }


def test_the_report_is_json_and_its_lines_show_control_characters(sqlite_shop: Shop, tmp_path: Path) -> None:
    report = load(sqlite_shop, folder_of(tmp_path, SMALL), STAMP, opening=OPENING)
    told = json.loads(json.dumps(report.as_dict()))
    assert told["shop"] == "Lindow Trim"
    assert told["opening"] == "2026-11-23"
    assert told["tables"]["rolls"] == {"added": 1, "same": 0, "changes": []}
    hostile = LoadReport("own\x1b[31m", True, report.about, (), ("b\x07",), (), ("n\x1b",))
    assert not any("\x1b" in line or "\x07" in line for line in hostile.lines())


def test_what_changed_is_told_in_lines(sqlite_shop: Shop, tmp_path: Path) -> None:
    folder = folder_of(tmp_path, SMALL)
    load(sqlite_shop, folder, STAMP, opening=OPENING)
    (folder / "items.csv").write_text(SMALL["items.csv"].replace("Nut", "Nut M4"))
    report = load(sqlite_shop, folder, STAMP, opening=OPENING)
    assert "  items: 1 as they were, 1 to look at" in report.lines()
    assert "    items: nut: title was 'Nut', is now 'Nut M4'" in report.lines()


def test_a_load_is_written_down_as_a_job(sqlite_shop: Shop, tmp_path: Path) -> None:
    load(sqlite_shop, folder_of(tmp_path, SMALL), STAMP, opening=OPENING)
    job, movement = (Base.metadata.tables[name] for name in ("job", "movement"))
    with sqlite_shop.read() as tx:
        assert tx.execute(select(job.c.what, job.c.by)).all() == [("load own", "AB")]
        assert tx.execute(select(func.count()).select_from(movement)).scalar_one() == 5
