"""A dump loaded whole: the very same shop with all its history, on either database; and what is refused instead."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from stockroom.domain.arrival import Arrival
from stockroom.domain.refusal import Refusal
from stockroom.jobs import count, parts
from stockroom.jobs.audit import audit
from stockroom.jobs.bundle import tie
from stockroom.jobs.change import cancel, set_wanted
from stockroom.jobs.cut import keep_side_piece
from stockroom.jobs.dump import dump
from stockroom.jobs.inspect import inspect
from stockroom.jobs.keep import keep
from stockroom.jobs.load import LoadReport, check, load
from stockroom.jobs.low import low
from stockroom.jobs.move import move
from stockroom.jobs.pack import pack
from stockroom.jobs.pick import pick
from stockroom.jobs.read_master import read_master
from stockroom.jobs.receive import receive
from stockroom.jobs.reserve import approve_mix
from stockroom.jobs.retag import retag
from stockroom.jobs.sew import sew
from stockroom.jobs.substitute import substitute
from stockroom.jobs.swatch_sent import send
from stockroom.jobs.swatches import cut
from stockroom.jobs.take import take
from stockroom.jobs.undo import last_of, undo
from stockroom.jobs.use import use
from stockroom.jobs.verdict import give_verdict
from stockroom.store.database import Shop
from stockroom.store.tables import SCHEMA
from tests.jobs.test_receive import PURCHASES, SUPPLIERS, TERMS
from tests.jobs.workshop import cut_all, made_order, piece_tag, taken_order
from tests.shops import (
    BOOK_WITH_POCKETS,
    LATE,
    LATER,
    STAMP,
    changed_tables,
    line,
    load_files,
    look,
    order,
    plenty,
    propose_mix,
    roll,
    stock_shop,
)
from tests.shops import dump as everything

AFTER = date(2027, 1, 4)
NONE_OF_IT = {
    "bundle_step", "buying_decision", "car_change", "last_order", "margin", "order_change", "printed", "reorder_run",
    "sent_short", "shortage", "spoilt", "stage",
}  # fmt: skip
"""Tables of which the busy shop has no row."""
MAY_STAND_IN = (
    "code,title,kind,width,nap,shortest_useful,colour_tolerance,substitutes\n"
    "hood-cloth,Hood cloth,cloth,1500,yes,300,1,leathercloth\n"
)


@pytest.fixture(scope="module")
def busy_template(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop in which things were picked, cut, bundled, packed, kept, received, counted, undone; closed."""
    folder = tmp_path_factory.mktemp("busy")
    shutil.copyfile(sqlite_template, folder / "busy.db")
    with Shop.open(folder / "busy.db") as shop:
        carpet = roll("carpet/red", 9_000, "2", L="41.25", a="50", b="30")
        stock_shop(shop, folder, *plenty(), carpet, book=BOOK_WITH_POCKETS)
        load_files(shop, folder, {"suppliers.csv": SUPPLIERS, "terms.csv": TERMS, "purchases.csv": PURCHASES})
        load_files(shop, folder, {"groups.csv": "code,planned_by,target_of,target\nmetal,forecast,shelf,97.5\n"})
        taken_order(shop, line("boot-set"), number="O-6")
        made_order(shop, line("boot-set"), number="O-1")
        cancel(shop, "O-1", LATER)
        use(shop, keep(shop, piece_tag(shop, "O-1", "BF"), "B2", LATER).tag, "O-6", LATER)
        move(shop, [keep(shop, piece_tag(shop, "O-1", "BSL"), "B2", LATER).tag], "B1", LATER)
        made_order(shop, line("boot-set"), number="O-2")
        tie(shop, "O-2", LATER)
        pack(shop, "O-2", piece_tag(shop, "O-2", "BF"), LATER)
        parts.receive(shop, "O-2", "a hood frame", "R1", LATER)
        made_order(shop, line("tool-bag"), number="O-7")
        sew(shop, piece_tag(shop, "O-7", "TB"), LATER)
        taken_order(shop, line("tonneau"), number="O-3")
        cut_all(shop, "O-3")
        taken_order(shop, line("boot-set"), number="O-5")
        _pick_and_undo(shop, "O-5")
        take(shop, order(line("jack-bag"), number="O-4"), LATER)
        set_wanted(shop, "O-4", None, LATER)
        propose_mix(shop, "O-5", "carpet/red", "1", "2")
        approve_mix(shop, "O-5", "carpet/red", "no difference", LATER)
        receive(shop, Arrival("carpet/red", ("12 m",), "R1", lot="3"), LATER)
        came = receive(shop, Arrival("carpet/red", ("11 m",), "R1", lot="3"), LATER, {"again"}).goods[0].tag
        keep_side_piece(shop, came, 800, 600, "R1", LATER)
        inspect(shop, came, ["1 m:3 in:slub"], LATER)
        retag(shop, came, "torn", LATER)
        give_verdict(shop, "carpet/red", ("1", "3"), "near", "daylight", LATER)
        read_master(shop, "carpet/red", "38.6,52.4,30.7", ("D65", "10"), LATER)
        take(shop, order(line("tonneau", car=LATE), number="O-8"), LATER)
        hood = next(str(row[2]) for row in everything(shop)["holding"] if row[3] == "hood-cloth/fawn")
        send(shop, cut(shop, hood, "60 mm", "B1", LATER).tags[0], "O-8", AFTER, LATER)
        load_files(shop, folder, {"cloths.csv": MAY_STAND_IN})
        take(shop, order(line("tonneau", 2, car=LATE), number="O-9"), LATER)
        substitute(shop, "O-9", "hood-cloth/fawn", "leathercloth/fawn", "Ann", LATER)
        low(shop, "stud", LATER)
        sheet = count.begin(shop, "clip", LATER).sheet
        count.enter(shop, sheet.number, _bin(shop, "clip"), "3", LATER)
    return folder / "busy.db"


@pytest.fixture
def busy(busy_template: Path, tmp_path: Path) -> Iterator[Shop]:
    """The busy shop, open."""
    shutil.copyfile(busy_template, tmp_path / "busy.db")
    with Shop.open(tmp_path / "busy.db") as shop:
        yield shop


@pytest.fixture
def dumped(busy: Shop, tmp_path: Path) -> Path:
    """The dump of a busy shop."""
    dump(busy, tmp_path / "one")
    return tmp_path / "one"


def _pick_and_undo(shop: Shop, number: str) -> None:
    pick(shop, number, next(hold.tag for hold in look(shop, number).holds if hold.cut_id is None), STAMP)
    undo(shop, last_of(shop, STAMP.by), STAMP)


def _bin(shop: Shop, item: str) -> str:
    return next(str(row[2]) for row in everything(shop)["holding"] if row[1] == "bin" and row[3] == item)


def _files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def _load(shop: Shop, folder: Path) -> LoadReport:
    return load(shop, folder, LATER, opening=AFTER)


def _rows(folder: Path, table: str) -> list[bytes]:
    return (folder / "books" / f"{table}.jsonl").read_bytes().splitlines(keepends=True)


def test_every_row_comes_back_on_either_database_and_goes_out_again_to_the_byte(
    busy: Shop, shop: Shop, tmp_path: Path
) -> None:
    words = dump(busy, tmp_path / "one").lines()
    assert "Loaded into a new shop as it is, it gives the same shop: nothing is left behind." in words
    assert any("every row is taken over" in note for note in _load(shop, tmp_path / "one").notes)
    before = everything(busy)
    assert {name for name, rows in before.items() if not rows} <= NONE_OF_IT
    assert changed_tables(before, everything(shop)) == set()
    assert audit(shop).is_good
    dump(shop, tmp_path / "two")
    assert _files(tmp_path / "one") == _files(tmp_path / "two")
    # What is done next is done alike in both: the same numbers, the same tags, and none of them twice.
    for one in (busy, shop):
        _pick_and_undo(one, taken_order(one, line("boot-set")))
    # A job remembers the rows that it changed in no order of its own.
    assert changed_tables(everything(busy), everything(shop)) <= {"job"}


def test_where_a_file_was_changed_the_files_count_and_it_is_said(busy: Shop, sqlite_shop: Shop, tmp_path: Path) -> None:
    dump(busy, tmp_path / "one")
    places = tmp_path / "one" / "places.csv"
    places.write_text(places.read_text() + "Z9,Attic,99,\n")
    for report in (check(tmp_path / "one", opening=AFTER), _load(sqlite_shop, tmp_path / "one")):
        (said,) = [note for note in report.notes if note.startswith("Changed since the dump: 'places.csv'")]
        assert "movement by movement" in said
    assert "Z9" in {row[0] for row in everything(sqlite_shop)["place"]}
    assert not everything(sqlite_shop)["pick"]


def test_into_a_shop_that_holds_something_only_the_files_are_loaded(
    busy: Shop, sqlite_shop: Shop, dumped: Path
) -> None:
    said = "The shop holds something already"
    shutil.move(dumped / "books", dumped.parent)
    _load(sqlite_shop, dumped)
    shutil.move(dumped.parent / "books", dumped)
    for report in (check(dumped, opening=AFTER, shop=sqlite_shop), _load(sqlite_shop, dumped)):
        assert any(note.startswith(said) for note in report.notes)
    assert not everything(sqlite_shop)["pick"]
    before = everything(busy)
    with pytest.raises(Refusal, match=f"Nothing was loaded.*{said}"):
        _load(busy, dumped)
    assert changed_tables(before, everything(busy)) == set()


def _edit(folder: Path, table: str, change: Callable[[list[bytes]], list[bytes]]) -> None:
    (folder / "books" / f"{table}.jsonl").write_bytes(b"".join(change(_rows(folder, table))))


def _richer(lines: list[bytes]) -> list[bytes]:
    return [*lines[:2], lines[2].replace(b'"balance":', b'"balance":9'), *lines[3:]]


DAMAGES: dict[str, tuple[Callable[[Path], object], str]] = {
    "changed": (lambda folder: _edit(folder, "movement", _richer), r"movement\.jsonl, line 3: it was changed"),
    "gone": (lambda folder: _edit(folder, "job", lambda rows: rows[:1] + rows[2:]), r"job\.jsonl, line 2: it was chan"),
    "cut off": (lambda folder: _edit(folder, "pick", lambda rows: rows[:-1]), r"pick\.jsonl, line \d+: it is missing"),
    "half a row": (lambda folder: _edit(folder, "roll", lambda rows: [rows[0][:-9]]), r"roll\.jsonl, line 1: it is no"),
    "no file": (lambda folder: (folder / "books" / "roll.jsonl").unlink(), r"roll\.jsonl is missing"),
    "no contents": (lambda folder: (folder / "books" / "contents.toml").unlink(), r"contents\.toml is missing"),
}


def test_books_that_were_damaged_are_refused_by_file_and_line(dumped: Path, sqlite_shop: Shop, tmp_path: Path) -> None:
    for name, (damage, words) in DAMAGES.items():
        folder = tmp_path / name
        shutil.copytree(dumped, folder)
        damage(folder)
        with pytest.raises(Refusal, match=words):
            _load(sqlite_shop, folder)
        with pytest.raises(Refusal) as refused:
            check(folder, opening=AFTER)
        assert any(re.search(words, fault) for fault in (refused.value.sentence, *refused.value.faults))
        assert not any(everything(sqlite_shop).values()), f"something was loaded of a dump with {name}"


def _forged(folder: Path, shop: Shop, statement: str) -> Path:
    """A dump of a shop whose rows were changed behind the program's back: every digest is right."""
    with shop.engines[0].begin() as connection:
        connection.exec_driver_sql(statement)
    dump(shop, folder)
    return folder


def test_books_with_which_the_audit_finds_a_fault_are_not_loaded(busy: Shop, sqlite_shop: Shop, tmp_path: Path) -> None:
    folder = _forged(tmp_path / "bad", busy, "UPDATE holding SET held = held + 1 WHERE kind = 'roll'")
    with pytest.raises(Refusal, match="are not good, so nothing was loaded") as refused:
        _load(sqlite_shop, folder)
    assert refused.value.faults
    assert not any(everything(sqlite_shop).values())


def test_what_the_database_does_not_take_is_named_by_its_line(busy: Shop, sqlite_shop: Shop, tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "busy.db")) as link, link:  # without foreign keys
        link.execute("UPDATE roll SET parent_id = 999 WHERE holding_id = (SELECT max(holding_id) FROM roll)")
    dump(busy, tmp_path / "bad")
    with pytest.raises(Refusal, match=rf"roll\.jsonl, line {len(_rows(tmp_path / 'bad', 'roll'))}: the database"):
        _load(sqlite_shop, tmp_path / "bad")
    assert not any(everything(sqlite_shop).values())


def test_a_row_that_names_a_later_one_waits_for_it(busy: Shop, sqlite_shop: Shop, tmp_path: Path) -> None:
    folder = _forged(
        tmp_path / "odd",
        busy,
        "UPDATE roll SET parent_id = (SELECT max(holding_id) FROM roll) "
        "WHERE holding_id = (SELECT min(holding_id) FROM roll)",
    )
    _load(sqlite_shop, folder)
    assert changed_tables(everything(busy), everything(sqlite_shop)) == set()


def test_the_books_of_another_version_are_refused_with_what_to_do(dumped: Path, sqlite_shop: Shop) -> None:
    contents = dumped / "books" / "contents.toml"
    text = contents.read_text()
    for version, words in ((SCHEMA - 1, "with the older stockroom"), (SCHEMA + 1, "a newer stockroom")):
        contents.write_text(text.replace(f"schema = {SCHEMA}", f"schema = {version}"))
        with pytest.raises(Refusal, match=words):
            _load(sqlite_shop, dumped)
    shutil.rmtree(contents.parent)
    _load(sqlite_shop, dumped)
    assert everything(sqlite_shop)["about"]


def test_checking_says_that_it_would_be_taken_over_and_how_much(busy: Shop, dumped: Path) -> None:
    report = check(dumped, opening=AFTER)
    assert report.checked_only
    assert {one.what.replace(" ", "_"): one.added for one in report.written} == {
        name: len(rows) for name, rows in everything(busy).items() if rows
    }
    row = json.loads(_rows(dumped, "movement")[0])["row"]
    assert (row["id"], row["number"], row["kind"]) == (1, 1, "received")
