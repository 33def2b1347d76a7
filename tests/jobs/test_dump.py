"""Dumping a shop and loading its files alone: the same shop, to the byte of its files; what they do not carry is said.

Loading a dump whole, with all its history, is in `test_whole.py`.
"""

from __future__ import annotations

import csv
import io
import shutil
import tempfile
from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stockroom.domain.order import FOR_STOCK
from stockroom.domain.refusal import Refusal
from stockroom.jobs.answer import answer
from stockroom.jobs.audit import audit
from stockroom.jobs.change import cancel
from stockroom.jobs.cut import cut, keep_side_piece, mark_flaw, measure
from stockroom.jobs.dump import dump
from stockroom.jobs.keep import keep
from stockroom.jobs.load import load
from stockroom.jobs.reserve import approve_mix, reserve
from stockroom.jobs.take import take
from stockroom.jobs.use import use
from stockroom.store import stock
from stockroom.store.database import Shop
from tests.jobs.workshop import made_order, piece_tag, taken_order
from tests.shops import (
    BOOK_2,
    LATE,
    LATER,
    SECOND,
    STAMP,
    TODAY,
    bin_of,
    change,
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

AFTER = TODAY + timedelta(days=40)
"""Another opening day than the shop had: what a file says must stand before it."""

# Nothing that a cell refuses (control characters), but everything that may break a table or a formula.
_TEXT = st.text(st.sampled_from("aZ9 ,;\"'=|-–őЖ\u00a0/#:{}[]"), min_size=1, max_size=12).map(str.strip).filter(bool)
_MM = st.integers(1, 60_000)
_DAY = st.integers(1, 800).map(lambda days: (TODAY - timedelta(days=days)).isoformat())
_ROLL = st.fixed_dictionaries(
    {
        "item": st.sampled_from(["carpet/red", "hood-cloth/fawn", "binding/black"]),
        "length": _MM,
        "place": st.just("R1"),
        "lot": st.one_of(st.just(""), _TEXT),
        "width": st.integers(20, 1500),
        "measured": st.sampled_from(["yes", "no"]),
        "remnant": st.sampled_from(["yes", "no"]),
        "value": st.one_of(st.just(""), st.integers(0, 10**6).map(lambda minor: f"{minor // 100}.{minor % 100:02d}")),
        "quarantined": st.one_of(st.just(""), _TEXT),
        "received": st.one_of(st.just(""), _DAY),
        "expires": st.one_of(st.just(""), st.just("2027-03-01")),
        "L": st.just("41.25"),
        "a": st.just("-0.5"),
        "b": st.sampled_from(["0", "12.125"]),
    }
)
_BIN = st.fixed_dictionaries(
    {
        "item": st.sampled_from(["stud", "clip", "tool-bag-blank"]),
        "place": st.sampled_from(["B1", "B2"]),
        "lot": st.one_of(st.just(""), _TEXT),
        "count": st.integers(1, 900),
        "value": st.sampled_from(["", "0.01", "38.40"]),
        "quarantined": st.one_of(st.just(""), _TEXT),
    }
)
_PURCHASE = st.fixed_dictionaries(
    {
        "reference": _TEXT,
        "supplier": st.just("mill"),
        "item": st.sampled_from(["carpet/red", "stud"]),
        "quantity": st.integers(1, 9_999),
        "received": st.integers(0, 99),
        "ordered": _DAY,
        "due": st.just("2027-01-08"),
        "price": st.sampled_from(["0", "24.80"]),
        "closed": st.one_of(st.just(""), _TEXT),
    }
)
_PAST = st.fixed_dictionaries(
    {
        "day": _DAY,
        "item": st.sampled_from(["carpet/red", "stud", "clip"]),
        "kind": st.sampled_from(["received", "cut", "issued", "made", "scrapped", "returned"]),
        "quantity": st.integers(1, 9_999),
        "lot": st.one_of(st.just(""), _TEXT),
        "note": st.one_of(st.just(""), _TEXT, _TEXT.map(lambda text: f"lot {text}")),
    }
)


def _csv(rows: list[dict[str, object]]) -> str:
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def _files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def _worth(shop: Shop) -> dict[str, tuple[int, int]]:
    """Tag → what it holds and is worth."""
    with shop.read() as tx:
        held: dict[str, tuple[int, int]] = {}
        for place in ("R1", "B1", "B2"):
            held |= {one.tag: (one.held_mm, one.value_minor) for one in stock.rolls_in(tx, place)}
            held |= {one.tag: (one.held, one.value_minor) for one in stock.bins_in(tx, place)}
        return held


def _twice(shop: Shop, other: Shop, folder: Path) -> tuple[Mapping[str, bytes], Mapping[str, bytes]]:
    """The files of a shop, and those of the shop that is loaded from them, without the books beside them."""
    dump(shop, folder / "one")
    shutil.rmtree(folder / "one" / "books")
    load(other, folder / "one", LATER, opening=AFTER)
    dump(other, folder / "two")
    shutil.rmtree(folder / "two" / "books")
    return _files(folder / "one"), _files(folder / "two")


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.tuples(_TEXT, _ROLL), min_size=1, max_size=6, unique_by=lambda one: one[0]),
    st.lists(_BIN, max_size=5, unique_by=lambda one: (one["item"], one["place"], one["lot"], bool(one["quarantined"]))),
    st.lists(_PURCHASE, max_size=3, unique_by=lambda one: (one["reference"], one["item"])),
    st.lists(_PAST, max_size=8),
    st.lists(st.tuples(_TEXT, st.integers(0, 100), st.integers(1, 60_000)), max_size=2),
)
def test_a_dump_loaded_again_gives_an_equal_shop(
    sqlite_template: Path,
    rolls: list[tuple[str, dict[str, object]]],
    bins: list[dict[str, object]],
    purchases: list[dict[str, object]],
    past: list[dict[str, object]],
    found: list[tuple[str, int, int]],
) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for copy in ("a.db", "b.db"):
            shutil.copyfile(sqlite_template, folder / copy)
        with Shop.open(folder / "a.db") as shop, Shop.open(folder / "b.db") as other:
            stock_shop(shop, folder)
            tables = {
                "suppliers": [{"code": "mill", "name": 'The "Old, Mill"', "lead_days": 9}],
                "rolls": [{"label": label, **cells} for label, cells in rolls],
                "bins": bins,
                "purchases": purchases,
                "history": past,
            }
            load_files(shop, folder, {f"{table}.csv": _csv(rows) for table, rows in tables.items() if rows})
            with shop.read() as tx:
                usable = [one.tag for one in stock.rolls_in(tx, "R1") if not one.quarantined]
            for tag, (what, begins, true_mm) in zip(usable, found, strict=False):
                measure(shop, tag, true_mm, LATER)
                if begins < true_mm:
                    mark_flaw(shop, tag, begins, true_mm, what, LATER)
            first, second = _twice(shop, other, folder)
            assert first == second
            assert _worth(shop) == _worth(other)
            assert audit(other).faults == ()


def test_a_dump_keeps_tags_parents_and_what_is_used_up(shop: Shop, sqlite_template: Path, tmp_path: Path) -> None:
    stock_shop(
        shop,
        tmp_path,
        roll("carpet/red", 9_000, label="card 1"),
        roll("carpet/red", 500, label="card 2"),
        bin_of("stud", 7),
    )
    old, gone = list(_worth(shop))[:2]
    keep_side_piece(shop, old, 800, 600, "R1", LATER)
    measure(shop, gone, 0, LATER)
    shutil.copyfile(sqlite_template, tmp_path / "b.db")
    with Shop.open(tmp_path / "b.db") as other:
        first, second = _twice(shop, other, tmp_path)
        assert first == second
        assert _worth(other) == _worth(shop)
        with other.read() as tx:
            whole, piece = stock.rolls_of(tx, "carpet/red")
        assert (piece.parent_id, piece.width_mm, piece.label) == (whole.holding_id, 600, None)
        # The label of the roll that is used up is known: its old row brings nothing back.
        again = load_files(other, tmp_path, {"rolls.csv": "label,item,length,place\ncard 2,carpet/red,500,R1\n"})
        assert [one.added for one in again.written if one.what == "rolls"] == [0]
        # A new roll gets a tag that was never on anything.
        load_files(other, tmp_path, {"rolls.csv": "label,item,length,place\ncard 9,carpet/red,500,R1\n"})
        assert not {tag for tag in _worth(other) if tag not in _worth(shop)} & {old, gone, piece.tag}


def test_use_of_a_shop_comes_back_as_history_and_its_books_open_the_day_after(
    sqlite_shop: Shop, tmp_path: Path
) -> None:
    stock_shop(sqlite_shop, tmp_path, roll("carpet/red", 9_000))
    (tag,) = _worth(sqlite_shop)
    keep_side_piece(sqlite_shop, tag, 800, 600, "R1", LATER)
    dump(sqlite_shop, tmp_path / "out")
    assert "opening = 2026-11-27\n" in (tmp_path / "out" / "shop.toml").read_text()
    row = f"2026-11-26,carpet/red,returned,0.80 m,1,side piece of {tag}\n"
    assert (tmp_path / "out" / "history.csv").read_text().endswith(row)


def test_a_folder_with_something_in_it_is_refused_and_left_as_it_is(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path)
    full = tmp_path / "full"
    full.mkdir()
    (full / "mine.txt").write_text("mine")
    with pytest.raises(Refusal, match="has something in it already"):
        dump(sqlite_shop, full)
    assert _files(full) == {"mine.txt": b"mine"}


def test_what_cannot_be_written_leaves_nothing(
    sqlite_shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stock_shop(sqlite_shop, tmp_path)
    here = sorted(tmp_path.iterdir())

    def stopped(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("os.fsync", stopped)
    with pytest.raises(KeyboardInterrupt):
        dump(sqlite_shop, tmp_path / "out")
    assert sorted(tmp_path.iterdir()) == here


def test_a_tag_that_is_on_something_else_is_refused(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path, roll("carpet/red", 9_000))
    (tag,) = _worth(sqlite_shop)
    with pytest.raises(Refusal, match="on something else of this shop"):
        load_files(sqlite_shop, tmp_path, {"rolls.csv": f"label,item,length,place,tag\nnew,carpet/red,500,R1,{tag}\n"})
    with pytest.raises(Refusal) as refused:
        load_files(sqlite_shop, tmp_path, {"rolls.csv": "label,item,length,place,tag\nnew,carpet/red,500,R1,B1S\n"})
    assert "B1S is the tag of a bin; one that begins with R (a roll) was expected." in refused.value.faults[0]


def test_a_dumped_shop_opens_on_the_day_it_says_whatever_today_is(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path, bin_of("stud", 7))
    assert date(2026, 11, 25) == TODAY == STAMP.at.date()
    dump(sqlite_shop, tmp_path / "out")
    assert "opening = 2026-11-25\n" in (tmp_path / "out" / "shop.toml").read_text()


def test_orders_in_hand_come_back_with_their_tags_their_answers_and_their_cars(
    shop: Shop, sqlite_template: Path, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, *plenty())
    take(shop, order(line("boot-set", changes=(change("overlong", "BF", part="rear", mm=30, proved=True),))), STAMP)
    take(shop, order(line("jack-bag", car=LATE), line("hood", car=SECOND), number="A-2", wanted=TODAY), STAMP)
    answer(shop, "A-2", "bag-length", "long", LATER)
    load_files(shop, tmp_path, {"plover.toml": BOOK_2})
    take(shop, order(line("tonneau"), number="A-3", note="Ring first."), LATER)
    cancel(shop, "A-3", LATER)
    take(shop, order(line("touring", car=LATE), number="A-4"), LATER)
    shutil.copyfile(sqlite_template, tmp_path / "b.db")
    with Shop.open(tmp_path / "b.db") as other:
        first, second = _twice(shop, other, tmp_path)
        assert first == second
        assert {name for name in first if name.startswith("orders")} == {f"orders/0000{n}.toml" for n in (1, 2, 3)}
        for number in ("1001", "A-2", "A-4"):
            old, new = look(shop, number), look(other, number)
            assert (new.tags, new.order.tag, new.order.taken_by) == (old.tags, old.order.tag, old.order.taken_by)
            assert {one.requirement.key: one.requirement for one in new.requirements} == {
                one.requirement.key: one.requirement for one in old.requirements
            }
        assert audit(other).faults == ()
        # The dump once more changes nothing, and what is new gets tags and numbers that were never given.
        before = everything(other)
        load(other, tmp_path / "one", LATER, opening=AFTER)
        assert changed_tables(before, everything(other)) <= {"job"}
        fresh = take(other, order(line("tonneau")), LATER)
        assert fresh.number == "1002"
        given = {tag for number in ("1001", "A-2", "A-4") for tag in look(shop, number).tags.values()}
        assert not set(look(other, fresh.number).tags.values()) & given


def test_an_order_that_was_begun_and_a_mix_that_was_approved_are_named(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path, *plenty())
    taken = take(sqlite_shop, order(line("tonneau")), STAMP)
    reserve(sqlite_shop, taken.number, STAMP)
    (held,) = look(sqlite_shop, taken.number).holds
    first = dump(sqlite_shop, tmp_path / "one").left_behind
    assert not any("begun" in one or "Mixes" in one for one in first)
    cut(sqlite_shop, taken.number, held.tag, LATER)
    propose_mix(sqlite_shop, taken.number, held.item, "1", "2")
    approve_mix(sqlite_shop, taken.number, held.item, "no difference", LATER)
    left = dump(sqlite_shop, tmp_path / "two").left_behind
    assert any("orders that are begun" in one and taken.number in one for one in left)
    assert "Mixes of lots that were approved (approve them again): 1." in left


def test_an_order_for_stock_stays_one_and_finished_things_are_named(
    shop: Shop, sqlite_template: Path, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, *plenty())
    made_order(shop, line("boot-set"), number="O-1")
    cancel(shop, "O-1", LATER)
    kept = [keep(shop, piece_tag(shop, "O-1", piece), "B2", LATER).tag for piece in ("BF", "BSL")]
    take(shop, order(line("tonneau"), number="S-1", customer=FOR_STOCK, for_stock=True), STAMP)
    taken_order(shop, line("boot-set"), number="O-2")
    use(shop, kept[0], "O-2", LATER)
    shutil.copyfile(sqlite_template, tmp_path / "b.db")
    with Shop.open(tmp_path / "b.db") as other:
        first, second = _twice(shop, other, tmp_path)
        assert first == second
        assert look(other, "S-1").order.for_stock
        assert audit(other).faults == ()
    left = dump(shop, tmp_path / "three").left_behind
    (named,) = [one for one in left if one.startswith("Finished things in stock")]
    assert "(2)" in named
    assert all(tag in named for tag in kept)
    assert any("orders that were cancelled after they were begun: O-1" in one for one in left)
    assert any(one.startswith("Pieces of orders in hand that are to come from finished stock") for one in left)
