"""Tables from outside: every kind of file gives the same cells, and every fault is named by file, row and column."""

from __future__ import annotations

import io
import os
import zipfile
from collections.abc import Callable
from contextlib import suppress
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.refusal import Refusal
from stockroom.files import tables, xlsx_table
from stockroom.files.csv_table import csv_grid
from stockroom.files.faults import SHOWN_AT_MOST, Faults
from stockroom.files.tables import Columns, number_text, read_bytes, rows_under
from stockroom.files.toml_rows import toml_rows
from stockroom.files.toml_text import parse
from stockroom.files.xlsx_table import xlsx_grids

COLUMNS = Columns(("code", "title"), ("lead_days", "L"))
KNOWN = (*COLUMNS.required, *COLUMNS.optional)


def cells_of(data: bytes) -> list[dict[str, str]]:
    faults = Faults()
    rows = rows_under(COLUMNS, csv_grid(data, "items.csv", KNOWN), faults)
    assert faults.sentences == []
    return [dict(row.cells) for row in rows]


def faults_of(data: bytes) -> list[str]:
    faults = Faults()
    rows_under(COLUMNS, csv_grid(data, "items.csv", KNOWN), faults)
    return faults.sentences


def workbook(fill: Callable[[Any], None], title: str = "items") -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    sheet.title = title
    fill(sheet)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def sheet_of(*rows: list[Any]) -> Callable[[Any], None]:
    def fill(sheet: Any) -> None:
        for row in rows:
            sheet.append(row)

    return fill


NUT = {"code": "nut", "title": "Nut, M4", "lead_days": "7", "L": ""}


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_csv_file_is_read_whatever_its_separator_mark_and_line_ends(separator: str, mark: bytes, end: str) -> None:
    lines = [separator.join(["code", "title", "lead_days"]), separator.join(["nut", '"Nut, M4"', "7"]), ""]
    assert cells_of(mark + end.join(lines).encode()) == [NUT]


def test_column_names_are_found_whatever_their_case_order_and_blanks() -> None:
    assert cells_of(b'Lead Days, TITLE ,Code\n7,"Nut, M4",nut\n') == [NUT]


def test_blank_rows_and_blanks_around_cells_do_not_count() -> None:
    assert cells_of(b"\n\ncode,title,lead_days\n,,\n nut , Nut ,7,,\n\n") == [{**NUT, "title": "Nut"}]


def test_a_row_is_numbered_by_the_line_it_begins_on_even_after_cells_of_several_lines() -> None:
    faults = Faults()
    grid = csv_grid(b'code,title\nnut,"a\nb"\nbolt,c\n', "items.csv", KNOWN)
    assert [row.place for row in rows_under(COLUMNS, grid, faults)] == ["items.csv, row 2", "items.csv, row 4"]


def test_names_in_any_script_are_read() -> None:
    assert cells_of("code,title\nnut,Ágnes Őz — Болт Ωμέγα\n".encode())[0]["title"] == "Ágnes Őz — Болт Ωμέγα"


def test_an_unknown_column_is_named_with_the_nearest() -> None:
    (fault,) = faults_of(b"code,title,lead_day\n")
    assert fault.startswith("items.csv: column 'lead_day' is not known here. The nearest name is 'lead_days'.")


def test_a_header_s_faults_are_named_all_at_once() -> None:
    faults = faults_of(b"code,CODE,,wdth\nnut,nut,x,1\n")
    assert len(faults) == 4
    told = "\n".join(faults)
    assert "column 'code' is there twice (numbers 1 and 2)" in told
    assert "column number 3 has no name, but row 2 has something in it" in told
    assert "column 'wdth' is not known" in told
    assert "the header lacks 'title'" in told


def test_a_row_longer_than_the_header_is_named() -> None:
    (fault,) = faults_of(b"code,title\nnut,Nut, M4\n")
    assert fault.startswith("items.csv, row 2 has 3 cells, the header has 2: 'M4' stands under no column.")


def test_an_empty_file_is_named_with_the_header_expected() -> None:
    assert faults_of(b"") == ["items.csv is empty; a header was expected: code, title."]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("code,title\nnut,Öl\n".encode("latin-1"), r"row 2: byte 16 of the file \(0xd6\) is not UTF-8"),
        ("code,title\n".encode("utf-16"), "is written in UTF-16"),
        (b"code,title\nnut,a\0b\n", "byte 17 is zero"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "is no text"),
        (b'code,title\nnut,"open\n', "row 2: a quote is opened here and never closed"),
        (b'code,title\nnut,"a"b\n', "row 2: a quote stands in the middle of a cell"),
        (b"code,title\nnut," + b"x" * 200_000 + b"\n", "row 2: a cell has more than 2000 characters"),
        (b"code,title" + b"," * 500 + b"\n", "row 1: a table has at most 200 columns"),
        (b"code,title\n" + b"a,b\n" * (tables.MOST_ROWS + 1), "at most 200 columns and 200000 rows"),
    ],
)
def test_a_file_that_is_no_table_is_refused_with_the_place(data: bytes, words: str) -> None:
    with pytest.raises(Refusal, match=words) as refused:
        csv_grid(data, "items.csv", KNOWN)
    assert "items.csv" in refused.value.sentence


def test_a_cell_of_thousands_of_characters_is_named() -> None:
    assert faults_of(b"code,title\nnut," + b"x" * 3_000 + b"\n") == [
        "items.csv, row 2, column 'title': more than 2000 characters."
    ]


def test_control_characters_in_a_file_s_name_are_shown_and_not_sent_to_the_terminal() -> None:
    with pytest.raises(Refusal) as refused:
        csv_grid(b"\0", "it\x1b[31mems.csv", KNOWN)
    assert "\x1b" not in refused.value.sentence


@given(st.binary(max_size=300))
def test_no_bytes_whatever_bring_anything_but_cells_or_a_sentence(data: bytes) -> None:
    with suppress(Refusal):
        rows_under(COLUMNS, csv_grid(data, "items.csv", KNOWN), Faults())


_written = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=20).map(lambda text: text.strip())


@given(st.lists(st.tuples(_written.filter(bool), _written), min_size=1, max_size=5), st.sampled_from(",;\t"))
def test_whatever_a_spreadsheet_writes_as_csv_is_read_back(rows: list[tuple[str, str]], separator: str) -> None:
    import csv

    buffer = io.StringIO()
    csv.writer(buffer, delimiter=separator).writerows([("code", "title"), *rows])
    found = [(cells["code"], cells["title"]) for cells in cells_of(buffer.getvalue().encode())]
    assert found == [(code, title) for code, title in rows]


# --- workbooks -------------------------------------------------------------------------------------------------


def grid_cells(data: bytes) -> list[list[str]]:
    faults = Faults()
    (grid,) = xlsx_grids(data, "items.xlsx", faults).values()
    assert faults.sentences == []
    return [list(cells) for _, cells in grid.rows]


def workbook_faults(data: bytes) -> list[str]:
    faults = Faults()
    xlsx_grids(data, "items.xlsx", faults)
    return faults.sentences


def test_values_of_a_workbook_are_read_as_they_would_be_typed() -> None:
    rows: list[list[Any]] = [
        ["code", "title"],
        [7, 12.5],
        [0.1 + 0.2, 1e15],
        [True, date(2026, 11, 25)],
        [None, "x"],
        [" padded ", None],
    ]
    assert grid_cells(workbook(sheet_of(*rows))) == [
        ["code", "title"],
        ["7", "12.5"],
        ["0.3", "1000000000000000"],
        ["yes", "2026-11-25"],
        ["", "x"],
        ["padded"],
    ]


def test_a_moment_in_a_workbook_is_no_day() -> None:
    cells = grid_cells(workbook(sheet_of(["code"], [datetime(2026, 11, 25, 8, 30)])))
    assert cells[1] == ["2026-11-25 08:30:00"]


def test_a_formula_is_refused_by_its_cell() -> None:
    (fault,) = workbook_faults(workbook(sheet_of(["code", "value"], ["nut", '=HYPERLINK("http://x.example","y")'])))
    assert fault.startswith("items.xlsx, row 2, cell B2 holds a formula ('=HYPERLINK(")


def test_text_that_looks_like_a_formula_is_that_text() -> None:
    def fill(sheet: Any) -> None:
        sheet.append(["code", "title"])
        for row, text in enumerate(["=1+1", "+44 20", "-x", "@cmd"], start=2):
            cell = sheet.cell(row=row, column=2, value=text)
            cell.data_type = "s"

    assert [cells[1] for cells in grid_cells(workbook(fill))[1:]] == ["=1+1", "+44 20", "-x", "@cmd"]
    csv_text = b"code,title\na,=1+1\nb,+44 20\nc,-x\nd,@cmd\n"
    assert [cells["title"] for cells in cells_of(csv_text)] == ["=1+1", "+44 20", "-x", "@cmd"]


def test_an_error_in_a_cell_is_refused() -> None:
    def fill(sheet: Any) -> None:
        sheet.append(["code"])
        sheet.cell(row=2, column=1, value="#N/A").data_type = "e"

    assert workbook_faults(workbook(fill)) == [
        "items.xlsx, row 2, cell A2 holds an error ('#N/A'); a value was expected."
    ]


def test_merged_cells_and_hidden_rows_are_named() -> None:
    def fill(sheet: Any) -> None:
        for number in range(1, 6):
            sheet.append([f"code {number}", "title"])
        sheet.merge_cells("A2:A3")
        sheet.row_dimensions[5].hidden = True

    assert workbook_faults(workbook(fill)) == [
        "items.xlsx, row 5 is hidden. Show it or take it out.",
        "items.xlsx: the cells A2:A3 are merged. Split them, so that each row stands for itself.",
    ]


def test_a_hidden_sheet_with_something_in_it_is_named() -> None:
    def fill(sheet: Any) -> None:
        sheet.append(["code"])
        hidden = sheet.parent.create_sheet("old")
        hidden.append(["code"])
        hidden.sheet_state = "hidden"

    assert workbook_faults(workbook(fill)) == ["items.xlsx, sheet 'old': the sheet is hidden. Show it or take it out."]


def _zipped(**parts: bytes) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return buffer.getvalue()


def _with_entities() -> bytes:
    good = zipfile.ZipFile(io.BytesIO(workbook(sheet_of(["code"]))))
    parts = {name: good.read(name) for name in good.namelist()}
    bomb = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>'
    sheet = parts["xl/worksheets/sheet1.xml"]
    parts["xl/worksheets/sheet1.xml"] = bomb + sheet[sheet.find(b"<worksheet") :]
    return _zipped(**parts)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "no XLSX workbook"),
        (b"PK\x03\x04 and then nothing", "no XLSX workbook"),
        (b"code,title\n", "no XLSX workbook"),
        (_zipped(**{"readme.txt": b"x"}), "not a workbook that can be read"),
        (_with_entities(), "XML that no spreadsheet program writes"),
        (_zipped(**{"xl/workbook.xml": "<a/>".encode("utf-16")}), "XML that no spreadsheet program writes"),
        (workbook(sheet_of(["code"]))[:-400], "no XLSX workbook"),
    ],
    # Archives hold the moment they were made, so their bytes are no name for a test.
    ids=["empty", "magic-only", "csv", "archive-of-something-else", "entities", "utf-16", "cut-off"],
)
def test_a_workbook_that_is_none_or_is_made_to_do_harm_is_refused(data: bytes, words: str) -> None:
    with pytest.raises(Refusal, match=words):
        xlsx_grids(data, "items.xlsx", Faults())


def test_an_archive_that_unpacks_to_too_much_is_refused_without_unpacking(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(xlsx_table, "LARGEST_UNPACKED_BYTES", 1_000)
    with pytest.raises(Refusal, match="unpacks to more than any table"):
        xlsx_grids(_zipped(**{"xl/workbook.xml": b" " * 100_000}), "items.xlsx", Faults())


@given(st.integers(0, 3_000), st.binary(min_size=1, max_size=4))
def test_a_damaged_workbook_brings_cells_or_a_sentence(at: int, damage: bytes) -> None:
    data = bytearray(_WORKBOOK)
    data[at : at + len(damage)] = damage
    with suppress(Refusal):
        xlsx_grids(bytes(data), "items.xlsx", Faults())


_WORKBOOK = workbook(sheet_of(["code", "title"], ["nut", "Nut"], ["bolt", 3.5]))


@given(st.floats(min_value=0.01, max_value=1e6).map(lambda number: round(number, 2)))
def test_money_in_a_spreadsheet_keeps_its_pence(number: float) -> None:
    assert float(number_text(number)) == number
    assert len(number_text(number).partition(".")[2]) <= 2


# --- TOML ------------------------------------------------------------------------------------------------------


def test_tables_in_toml_give_the_same_rows_with_their_lines() -> None:
    document = parse('[[items]]\ncode = "nut"\ntitle = "Nut, M4"\nlead_days = 7\n', "catalogue.toml")
    (row,) = toml_rows(document, "items", COLUMNS, Faults())
    assert dict(row.cells) == NUT
    assert row.place == "catalogue.toml, line 1, 'items', number 1"


def test_faults_of_tables_in_toml_are_named_by_line() -> None:
    text = '[[items]]\ncode = "nut"\ntitel = "x"\n[[items]]\ncode = {a = 1}\ntitle = "y"\n'
    faults = Faults()
    assert toml_rows(parse(text, "catalogue.toml"), "items", COLUMNS, faults) == []
    told = "\n".join(faults.sentences)
    assert "catalogue.toml, line 3, [items(1)], 'titel': the column 'titel' is not known here. The nearest" in told
    assert "catalogue.toml, line 1, 'items', number 1: lacks 'title'." in told
    assert "catalogue.toml, line 5, [items(2)], 'code': a table was found; a text or a number was expected." in told


# --- files -----------------------------------------------------------------------------------------------------


def test_a_file_larger_than_any_table_is_refused_unread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tables, "LARGEST_BYTES", 10)
    (tmp_path / "items.csv").write_bytes(b"x" * 11)
    with pytest.raises(Refusal, match=r"items\.csv is larger than"):
        read_bytes(tmp_path / "items.csv")


def test_a_pipe_is_no_ordinary_file_and_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "items.csv")
    with pytest.raises(Refusal, match="no ordinary file"):
        read_bytes(tmp_path / "items.csv")


def test_of_very_many_faults_the_first_are_told_and_the_rest_counted() -> None:
    faults = Faults()
    for number in range(SHOWN_AT_MOST + 7):
        faults.add(f"fault {number}")
    with pytest.raises(Refusal, match="has 207 faults") as refused:
        faults.refuse_any("seed")
    assert refused.value.faults[-2:] == (f"fault {SHOWN_AT_MOST - 1}", "... and 7 more")
