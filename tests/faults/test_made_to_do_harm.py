"""Files made to do harm, or to keep the program busy: refused in seconds, in words, and nothing else is touched."""

from __future__ import annotations

import io
import os
import re
import time
import zipfile
from pathlib import Path

import openpyxl
import pytest

from stockroom.domain.refusal import Refusal
from stockroom.files.faults import GIVE_UP_AT, Faults
from stockroom.files.tables import LARGEST_BYTES, MOST_LINES
from stockroom.files.xlsx_table import xlsx_grids
from stockroom.jobs.load import check
from tests.cli.calling import call
from tests.cli.conftest import Desk
from tests.faults.small_files import TABLES, write_files
from tests.shops import TODAY

PATIENCE_S = 20.0
"""Each of these took minutes, or would for ever, before it was refused. Most now take well under a second."""
HEADER = (
    b'<row r="1"><c r="A1" t="inlineStr"><is><t>code</t></is></c><c r="B1" t="inlineStr"><is><t>name</t></is></c></row>'
)


def _parts() -> dict[str, bytes]:
    book = openpyxl.Workbook()
    book.active.title = "colours"
    book.active.append(["code", "name"])
    buffer = io.BytesIO()
    book.save(buffer)
    with zipfile.ZipFile(buffer) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def _workbook(rows: bytes, *, before: bytes = b"", sheet_name: str = "sheet1.xml") -> bytes:
    """A workbook whose only sheet holds `rows` as they are, with `before` at the very beginning of its part."""
    buffer, data = io.BytesIO(), b"<sheetData>" + rows + b"</sheetData>"
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in _parts().items():
            if name.endswith("sheet1.xml"):
                part = before + re.sub(rb"<sheetData>.*</sheetData>", lambda _: data, part, flags=re.DOTALL)
            archive.writestr(name.replace("sheet1.xml", sheet_name), part.replace(b"sheet1.xml", sheet_name.encode()))
    return buffer.getvalue()


_LAUGHS = (
    b'<!DOCTYPE x [<!ENTITY a "ha ha ha ">'
    + b"".join(b'<!ENTITY %c "%s">' % (98 + turn, b"&%c;" % (97 + turn) * 10) for turn in range(9))
    + b"]>"
)
_LAUGHING = b'<row r="2"><c r="A2" t="inlineStr"><is><t>&j;</t></is></c></row>'


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (_workbook(HEADER + _LAUGHING, before=_LAUGHS), "XML that no spreadsheet program writes"),
        (_workbook(HEADER + _LAUGHING, before=_LAUGHS, sheet_name="sheet1.bin"), "XML that no spreadsheet program"),
        (_workbook(HEADER + b"<row " + b'a="1" ' * 2_000_000 + b"/>"), "XML that no spreadsheet program writes"),
        (_workbook(HEADER + b"<!--" + b" > " * 2_000_000 + b"-->"), "XML that no spreadsheet program writes"),
        (_workbook(HEADER + b"<row " * 20_000), "workbook that can be read"),
        (_workbook(HEADER + b'<row r="2"><c r="A2" t="s"><v>999999</v></c></row>'), "workbook that can be read"),
        (_workbook(HEADER + b'<row r="2"><c r="../../x"><v>1</v></c></row>'), "workbook that can be read"),
        # What a spreadsheet program writes where a workbook has a password: an OLE file, not an archive.
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(512), "has a password"),
    ],
    ids=["entities", "entities-by-another-name", "attributes", "comment", "tags", "no-such-text", "cell", "pw"],
)
def test_a_workbook(data: bytes, words: str) -> None:
    began = time.monotonic()
    with pytest.raises(Refusal, match=words):
        xlsx_grids(data, "colours.xlsx", Faults())
    assert time.monotonic() - began < PATIENCE_S


def test_hidden_rows_and_merged_cells_are_seen_however_the_sheet_is_written_and_called() -> None:
    rows = HEADER + b"<row hidden='1' r='2'><c r='A2'><v>1</v></c></row>"
    faults = Faults()
    xlsx_grids(_workbook(rows, sheet_name="sheet1.bin"), "colours.xlsx", faults)
    assert faults.sentences == ["colours.xlsx, row 2 is hidden. Show it or take it out."]


def test_rows_beyond_those_that_a_sheet_says_it_has_are_read() -> None:
    assert b'<dimension ref="A1:B1"' in _parts()["xl/worksheets/sheet1.xml"]
    rows = HEADER + b'<row r="7"><c r="A7"><v>1</v></c><c r="C7"><v>2</v></c></row>'
    grids = xlsx_grids(_workbook(rows), "colours.xlsx", Faults())
    assert [(row, list(cells)) for row, cells in grids["colours"].rows] == [(1, ["code", "name"]), (7, ["1", "", "2"])]


def test_a_sheet_of_all_columns_and_very_many_rows_with_nothing_in_them() -> None:
    began = time.monotonic()
    rows = HEADER + b"".join(b'<row r="%d"><c r="XFD%d"/></row>' % (row, row) for row in range(2, 20_000))
    with pytest.raises(Refusal, match="at most 200 columns"):
        xlsx_grids(_workbook(rows), "colours.xlsx", Faults())
    assert time.monotonic() - began < PATIENCE_S


_ROLLS = TABLES["rolls.csv"].encode()
_ROLL = _ROLLS.split(b"\n")[1] + b"\n"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (_ROLLS + _ROLL.replace(b"carpet/red", b"carpet/rde") * 60_000, f"There are {GIVE_UP_AT} faults and more"),
        (_ROLLS + b"," * 1_000_000, "at most 200 columns"),
        (_ROLLS + b"\n" * (MOST_LINES + 1) + _ROLL, "a table has at most"),
        (_ROLLS + b'"' + b"a" * (LARGEST_BYTES - len(_ROLLS) - 2) + b'"', "a cell has more than 2000 characters"),
        (_ROLLS + b'"' + b"a" * LARGEST_BYTES, "larger than 16 MiB"),
        (_ROLLS + b'"' + b"\n" * 100_000, "a quote is opened here and never closed"),
        (_ROLLS.decode().encode("utf-16"), "written in UTF-16"),
        (_ROLLS + "r2,café".encode("latin-1"), "row 3: byte"),
        (_ROLLS + b"\0", "this is no text"),
        (bytes(range(256)), "this is no text"),
    ],
    ids=["misspelt", "columns", "lines", "cell", "large", "quote", "utf-16", "latin-1", "zero", "binary"],
)
def test_a_table(tmp_path: Path, data: bytes, words: str) -> None:
    began = time.monotonic()
    with pytest.raises(Refusal) as refused:
        check(write_files(tmp_path / "files", {"rolls.csv": data}), opening=TODAY)
    assert words in "\n".join((refused.value.sentence, *refused.value.faults))
    assert time.monotonic() - began < PATIENCE_S


def test_a_thousand_times_the_same_misspelling_does_not_take_a_thousand_searches(tmp_path: Path) -> None:
    history = TABLES["history.csv"] + "opening-1d,studd,issued,1,,\n" * 15_000
    began = time.monotonic()
    with pytest.raises(Refusal) as refused:
        check(write_files(tmp_path / "files", {"history.csv": history}), opening=TODAY)
    assert refused.value.faults[0].endswith(
        "There is no item 'studd'. The nearest name is 'stud'. Known: 'carpet/red' and 'stud'."
    )
    assert refused.value.faults[-1] == "... and 14800 more"
    assert time.monotonic() - began < PATIENCE_S


@pytest.mark.parametrize("name", ["rolls.csv", "plover.toml", "shop.toml", "items.xlsx"])
@pytest.mark.parametrize("kind", ["pipe", "folder", "link to a device", "link out", "link in a circle", "link nowhere"])
def test_what_is_no_file_is_neither_waited_for_nor_followed(tmp_path: Path, name: str, kind: str) -> None:
    folder = write_files(tmp_path / "files", {})
    (tmp_path / "secret.csv").write_text("code,name\nsecret,Secret\n", encoding="utf-8")
    place = folder / name
    place.unlink(missing_ok=True)
    match kind:
        case "pipe":
            os.mkfifo(place)
        case "folder":
            place.mkdir()
        case "link to a device":
            place.symlink_to("/dev/zero")
        case "link out":
            place.symlink_to(tmp_path / "secret.csv")
        case "link in a circle":
            place.symlink_to(name)
        case "link nowhere":
            place.symlink_to("nowhere")
    said = call("load", folder, "--check", cwd=tmp_path)
    if kind == "folder" and name != "shop.toml":
        assert f"{name} is a folder" in said.well().out
    else:
        said.refused(name if kind != "folder" else "shop.toml")
    assert "secret" not in said.out + said.err.replace(str(tmp_path), "")


@pytest.mark.parametrize("verb", [("take",), ("load",), ("kitbook", "check"), ("change", "L-1041", "--file")])
def test_a_pipe_that_is_named_itself_is_not_waited_for(tmp_path: Path, demo_made: Desk, verb: tuple[str, ...]) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    shop = demo_made.shop
    call(*verb, "pipe.toml", cwd=tmp_path, STOCKROOM_SHOP=str(shop)).refused("pipe.toml", "ordinary file")


def test_a_pipe_is_no_label_sheet(tmp_path: Path, demo_made: Desk) -> None:
    os.mkfifo(tmp_path / "sheet.toml")
    shop = demo_made.shop
    said = call("paper", "tags", "L-1041", "--sheet", "sheet.toml", cwd=tmp_path, STOCKROOM_SHOP=str(shop))
    said.refused("There is no label sheet 'sheet.toml'")


def test_one_file_that_is_none_of_ours_is_not_said_to_be_loaded(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("Dear Ann", encoding="utf-8")
    for path in ("letter.txt", "/dev/null"):
        call("load", path, "--shop", "shop.db", cwd=tmp_path).refused("no TOML, CSV or XLSX file")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["letter.txt"]


def test_a_folder_of_thousands_of_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("stockroom.files.folder.MOST_FILES", 100)
    folder = write_files(tmp_path / "files", {})
    for number in range(101 - len(list(folder.iterdir()))):
        (folder / f"{number}.jpg").touch()
    call("load", folder, "--check", cwd=tmp_path).refused("more than 100. Is it the right one?")
    (folder / "0.jpg").unlink()
    call("load", folder, "--check", cwd=tmp_path).well()


@pytest.mark.skipif(os.geteuid() == 0, reason="whoever may read everything is refused nothing")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    folder = write_files(tmp_path / "files", {})
    (folder / "rolls.csv").chmod(0)
    call("load", folder, "--check", cwd=tmp_path).refused("rolls.csv cannot be read: Permission denied")
