"""One field of a shop's files is not what it should be: they are read, or refused by file, row or line and field."""

from __future__ import annotations

import csv
import io
import json
import random
import re
import tempfile
from datetime import date
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import literal
from stockroom.files.order import read_order
from stockroom.jobs.load import check
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from stockroom.store.shipped import shipped
from tests.faults.hostile import TEXTS
from tests.faults.small_files import BOOK, ORDER, SHOP, TABLES, write_files
from tests.shops import STAMP, TODAY, dump, plenty, stock_shop

_KEY_AND_VALUE = re.compile(r'(?m)^("[^"\n]+"|[\w.-]+) = (.+)$')
_NOT_A_TEXT = (
    *("true", "0", "-0", "-1", "1.5", "1e309", "nan", "inf", "-inf", "1" + "0" * 30, "9223372036854775808", "0x10"),
    *("[]", "{}", "[[]]", "[1, [2, [3]]]", "[nan, inf]", '[""]', '{ rule = "x" }', "{ rule = 1 }", "{ a = { b = 1 } }"),
    *("0001-01-01", "9999-12-31", "1953-06-30T12:00:00Z", "12:00:00", '"""\n"""'),
)
_VALUES = (*_NOT_A_TEXT, *(json.dumps(text, ensure_ascii=True) for text in TEXTS))
"""TOML values: of every type, and every hostile text."""


def _cells() -> list[tuple[str, int, int]]:
    """File, row and column of every cell of every table, header included."""
    places = []
    for name, text in TABLES.items():
        for row, cells in enumerate(csv.reader(io.StringIO(text))):
            places += [(name, row, column) for column in range(len(cells))]
    return places


def _with_cell(name: str, row: int, column: int, text: str) -> str:
    rows = list(csv.reader(io.StringIO(TABLES[name])))
    rows[row][column] = text
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return out.getvalue()


def test_the_files_as_they_are_have_no_fault() -> None:
    with tempfile.TemporaryDirectory() as folder:
        report = check(write_files(Path(folder), {}), opening=TODAY)
    assert {one.what for one in report.written} == {name.removesuffix(".csv") for name in TABLES}


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(_cells()), st.sampled_from(TEXTS) | st.text(max_size=20))
@example(("cloths.csv", 1, 2), "\x1b[31mred")
def test_a_cell_of_a_table(cell: tuple[str, int, int], text: str) -> None:
    name, row, column = cell
    try:
        data = _with_cell(name, row, column, text).encode()
    except UnicodeEncodeError:  # a lone surrogate is in no file of UTF-8; what is written then is no UTF-8 either
        data = _with_cell(name, row, column, text).encode("utf-8", "surrogatepass")
    with tempfile.TemporaryDirectory() as folder:
        try:
            check(write_files(Path(folder), {name: data}), opening=TODAY)
        except Refusal as refusal:
            _assert_told(refusal)
            told = "\n".join(refusal.faults)
            # A code that is gone is told where it is named.
            assert re.search(r"[a-z]+\.csv, row [0-9]+" if row else r"[a-z]+\.csv", told)
        finally:
            assert [path.name for path in Path(folder).iterdir() if path.is_dir()] == []


@pytest.mark.parametrize("text", _VALUES, ids=lambda text: text[:20])
def test_a_value_of_shop_toml(text: str, tmp_path: Path) -> None:
    for key, written in _KEY_AND_VALUE.findall(SHOP):
        changed = SHOP.replace(f"{key} = {written}", f"{key} = {text}")
        try:
            check(write_files(tmp_path / key, {"shop.toml": changed}), opening=TODAY)
        except Refusal as refusal:
            _assert_told(refusal, r"shop\.toml, line |\.csv, row ")


@settings(max_examples=80, deadline=None)
@given(st.sampled_from(list(_KEY_AND_VALUE.finditer(BOOK))), st.sampled_from(_VALUES))
def test_a_value_of_a_kit_book(place: re.Match[str], value: str) -> None:
    text = BOOK[: place.start(2)] + value + BOOK[place.end(2) :]
    with tempfile.TemporaryDirectory() as folder:
        try:
            check(write_files(Path(folder), {"plover.toml": text}), opening=TODAY)
        except Refusal as refusal:
            _assert_told(refusal, r"plover\.toml")


_ORDERS = [path.read_text(encoding="utf-8") for path in sorted((shipped("seed") / "orders").iterdir())] + [ORDER]


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(_ORDERS), st.randoms(use_true_random=False), st.sampled_from(_VALUES))
def test_a_value_of_an_order(text: str, chance: random.Random, value: str) -> None:
    place = chance.choice(list(_KEY_AND_VALUE.finditer(text)))
    changed = text[: place.start(2)] + value + text[place.end(2) :]
    try:
        read_order(changed, "order.toml", TODAY)
    except Refusal as refusal:
        _assert_told(refusal, r"order\.toml, line ")


def test_an_order_that_can_be_read_is_taken_or_refused_whole(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path, *plenty())
    chance = random.Random(7)
    # That kit asks for no measurement, so one that is told would be refused every time.
    order = ORDER.replace('[lines.measurements]\n"How high is the door top?" = "812"\n', "")
    places = list(_KEY_AND_VALUE.finditer(order))
    taken = refused = 0
    for turn in range(200):
        place, value = chance.choice(places), chance.choice(_VALUES)
        text = order[: place.start(2)] + value + order[place.end(2) :]
        try:
            request = read_order(text.replace("L-7", f"L-{turn}"), "order.toml", TODAY)
        except Refusal:
            continue
        before = dump(sqlite_shop)
        try:
            take(sqlite_shop, request, STAMP)
            taken += 1
        except Refusal as refusal:
            refused += 1
            _assert_told(refusal)
            assert dump(sqlite_shop) == before
    assert taken
    assert refused


def _assert_told(refusal: Refusal, place: str = "") -> None:
    """Sentences that can be read in a terminal: not long, nothing hidden in them, and each fault with its place."""
    for fault in refusal.faults:
        assert re.search(place, fault)
    for said in (refusal.sentence, *refusal.faults):
        assert said.strip()
        assert len(said) < 1_500
        assert literal(said) == said
        assert "Error" not in said


def test_days_are_told_from_the_opening_whatever_year_that_is(tmp_path: Path) -> None:
    for opening in ("1900-01-01", "2199-12-31"):
        shop = SHOP.replace("2026-11-23", opening)
        report = check(write_files(tmp_path / opening, {"shop.toml": shop}), opening=TODAY)
        assert report.about.opening == date.fromisoformat(opening)
    for opening in ("0001-01-01", "1899-12-31", "2200-01-01", "9999-12-31"):
        shop = SHOP.replace("2026-11-23", opening)
        with pytest.raises(Refusal) as refused:
            check(write_files(tmp_path / opening, {"shop.toml": shop}), opening=TODAY)
        assert f"shop.toml, line 5, 'opening': '{opening}' was found" in "\n".join(refused.value.faults)
