"""A shop's own stock list: its columns are recognised or asked for, its units said, and every faulty row is named."""

from __future__ import annotations

import io
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.jobs.load import LoadReport, check, load
from stockroom.jobs.own_list import Unclear, keep_said, said_of_list
from stockroom.store import stock
from stockroom.store.catalogue import read_items
from stockroom.store.database import Shop
from tests.shops import STAMP, TODAY, bin_of, dump, roll, stock_shop

HEADER = "Roll No.;Material;Colour;Dye lot;Length (m);Shelf;Width [in]\n"
LIST = (
    "Stock of the stores;;;;;;\n"
    + HEADER
    + 'A 1;Boot carpet;RED;K7;12,5;rack;54"\n'
    + "A 2;hood-cloth;Fawn;;13 yd;R1;\n"
)


@pytest.fixture
def stores(sqlite_shop: Shop, tmp_path: Path) -> Shop:
    """A shop with a catalogue, and a roll and a bin in it."""
    stock_shop(sqlite_shop, tmp_path, roll("carpet/red", 9_000, lot="K 9"), bin_of("stud", 40))
    return sqlite_shop


def listed(folder: Path, text: str | bytes, name: str = "our-list.csv") -> Path:
    """The list as a file."""
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def loaded(shop: Shop, path: Path, *columns: str, **said: Any) -> LoadReport:
    """The list, loaded with what was said of it."""
    return load(shop, path, STAMP, opening=TODAY, told=said_of_list(path, columns=columns, **said))


def rolls(shop: Shop) -> dict[str | None, tuple[str, str, int, str, int]]:
    """Label → item, lot, length, place and width of what was there before is left out."""
    with shop.read() as tx:
        found = stock.rolls_in(tx, "R1")
    return {
        one.label: (one.item, one.lot, one.held_mm, one.place, one.width_mm) for one in found if one.label != "roll-1"
    }


def refused(shop: Shop, path: Path, *columns: str, **said: Any) -> tuple[str, ...]:
    """Every fault that loading the list was refused for; nothing is written."""
    before = dump(shop)
    with pytest.raises(Refusal) as refusal:
        loaded(shop, path, *columns, **said)
    assert dump(shop) == before
    return refusal.value.faults or (refusal.value.sentence,)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("separator", [";", "\t"])
def test_a_list_is_understood_in_whatever_encoding_and_with_whatever_separator(
    stores: Shop, tmp_path: Path, encoding: str, separator: str
) -> None:
    text = LIST.replace("K7", "Ké7").replace(";", separator)
    if separator == "\t":
        text = text.replace('54"', '"54"""')  # as programs write it
    path = listed(tmp_path, text.replace('54"\n', '"54"""\n').encode(encoding), "our-list.csv")
    report = loaded(stores, path)
    assert rolls(stores) == {
        "A 1": ("carpet/red", "Ké7", 12_500, "R1", 1_371),
        "A 2": ("hood-cloth/fawn", "", 11_887, "R1", 1_500),
    }
    assert any("Windows-1252" in note for note in report.notes) == (encoding == "cp1252")
    assert "'Shelf' is place" in report.notes[-2]
    assert report.notes[-1] == "our-list.csv: what stands above its header (row 2) was not read."


def test_a_list_loaded_twice_does_not_double(stores: Shop, tmp_path: Path) -> None:
    path = listed(tmp_path, LIST.replace('54"', ""))
    loaded(stores, path)
    before = rolls(stores)
    loaded(stores, path)
    assert rolls(stores) == before


def test_rolls_without_a_mark_are_numbered_by_their_rows_once_that_is_said(stores: Shop, tmp_path: Path) -> None:
    without = "\n".join(text.partition(";")[2] for text in LIST.replace('54"', "").splitlines())
    path = listed(tmp_path, f"{without}\n")
    assert refused(stores, path)[0].endswith(
        'Where the rolls have no numbers, their rows number them: --column "row=label".'
    )
    keep_said(path, said_of_list(path, columns=["row=label"]))
    report = loaded(stores, path)
    assert "the number of its row is each roll's label" in " ".join(report.notes)
    before = rolls(stores)
    assert {label: held for label, (_, _, held, _, _) in before.items()} == {"row 3": 12_500, "row 4": 11_887}
    loaded(stores, path)
    path.write_text(path.read_text().replace("12,5", "13,5"))
    again = loaded(stores, path)
    assert rolls(stores) == before
    assert "not changed, count it instead" in "\n".join(again.lines())


def test_a_column_that_is_not_recognised_is_asked_for_and_kept_for_the_next_time(stores: Shop, tmp_path: Path) -> None:
    path = listed(tmp_path, LIST.replace("Shelf", "Bay").replace(" (m)", "").replace('54"', ""))
    with pytest.raises(Unclear) as asked:
        loaded(stores, path)
    assert (asked.value.missing, asked.value.headings) == (("place",), ("Bay",))
    assert asked.value.sentence.endswith('Say which it is: --column "Bay=place".')
    assert refused(stores, path, "Bay=place") == (
        "our-list.csv, row 3, column 'Length': 12,5 has no unit. Say what its numbers are: --unit length=m "
        "(or yd, ft, in, mm).",
    )
    told = said_of_list(path, columns=["Bay=place"], units=["length=yd"])
    keep_said(path, told)
    loaded(stores, path)
    assert rolls(stores)["A 1"] == ("carpet/red", "K7", 11_430, "R1", 1_400)
    path.unlink()  # what keeps it is no file of the shop
    assert check(tmp_path, opening=TODAY, shop=stores).written == ()


def test_what_was_understood_and_the_first_rows_are_said_before_anything_is_written(
    stores: Shop, tmp_path: Path
) -> None:
    path = listed(tmp_path, LIST.replace('54"', ""))
    before = dump(stores)
    report = check(path, opening=TODAY, shop=stores, told=said_of_list(path))
    assert dump(stores) == before
    assert report.notes[-2:] == (
        "would be booked: A 1: 12.50 m of carpet/red, lot K7, in R1",
        "would be booked: A 2: 11.887 m of hood-cloth/fawn, in R1",
    )


def test_the_day_that_a_bare_number_of_a_spreadsheet_was_taken_for_is_said(stores: Shop, tmp_path: Path) -> None:
    path = listed(tmp_path, "label,item,lot,length,place,received\nA 1,carpet/red,K7,12.5 m,R1,46000\n")
    report = check(path, opening=TODAY, shop=stores, told=said_of_list(path))
    assert report.notes[-1] == "would be booked: A 1: 12.50 m of carpet/red, lot K7, in R1, received 2025-12-09"


def test_every_faulty_row_is_named_at_once(stores: Shop, tmp_path: Path) -> None:
    rows = (
        "A1;Boot carpet;red;K9;12 m;R1;\n"  # the shop has K 9
        "A2;Boot carpet;red;W4O91;1 m;R1;\n"
        "A3;Boot carpet;red;w 4091;1 m;R1;\n"
        "A3;Boot carpet;red;;1 m;R1;\n"
        "A4;Boot carpet;;;1 m;R1;\n"
        "A5;Boot carpt;red;;1 m;R1;\n"
        "A6;Boot carpet;red;;12,500;R1;\n"
        "A7;Boot carpet;red;;-2 m;Loft;\n"
        "A8;Stud;;;40 m;R1;\n"
    )
    path = listed(tmp_path, HEADER + rows)
    faults = refused(stores, path)
    for words in (
        "row 2, column 'Dye lot': 'K9' may be lot 'K 9' in the shop, written otherwise.",
        "row 4, column 'Dye lot': 'w 4091' may be lot 'W4O91' in row 3, written otherwise.",
        "row 5: roll 'A3' is there twice. It stands first in our-list.csv, row 4.",
        "row 6, column 'Material': 'Boot carpet' may be 'carpet/black', 'carpet/fawn', 'carpet/green' or 'carpet/red'.",
        "row 7, column 'item': There is no item 'Boot carpt/red'.",
        "row 8, column 'length': '12,500 m' can be read two ways.",
        "row 9, column 'place': There is no place 'Loft'.",
        "row 9, column 'length': '-2 m' is not a length.",
        "row 10, column 'item': 'stud' is stocked by count, in bins; one stocked by length, on rolls was expected.",
    ):
        assert any(words in fault for fault in faults), (words, faults)
    assert not any("Dye lot" in fault for fault in refused(stores, path, lots_as_written=True))


def test_a_workbook_gives_dates_numbers_and_the_sheet_that_is_meant(stores: Shop, tmp_path: Path) -> None:
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    sheet.title = "Cloth"
    for row in (
        ["Roll", "Cloth", "Colour", "Metres", "Location", "Date in"],
        [101, "carpet", "red", 12.5, "R1", datetime(2026, 10, 1)],
        ["102", "carpet", "red", "7,25", "R1", 46_000],
        ["103", "carpet", "red", "7,25", "R1", "13/10/2026"],
        [None, None, None, None, None, None],
    ):
        sheet.append(row)
    book.create_sheet("Notes").append(["Ring the mill"])
    data = io.BytesIO()
    book.save(data)
    path = listed(tmp_path, data.getvalue(), "our list.xlsx")
    assert "Notes" in refused(stores, path)[0]
    loaded(stores, path, sheet="Cloth")
    with stores.read() as tx:
        received = {one.label: str(one.received) for one in stock.rolls_in(tx, "R1")}
    assert [received[label] for label in ("101", "102", "103")] == ["2026-10-01", "2025-12-09", "2026-10-13"]
    sheet.append(["104", "carpet", "red", "=1+1", "R1", "03/04/2026"])
    data = io.BytesIO()
    book.save(data)
    faults = refused(stores, listed(tmp_path, data.getvalue(), "our list.xlsx"), sheet="Cloth")
    assert any("holds a formula" in fault for fault in faults)
    assert any("'03/04/2026' can be read two ways. Write 2026-04-03 or 2026-03-04." in fault for fault in faults)


def test_counted_goods_are_found_by_their_titles(stores: Shop, tmp_path: Path) -> None:
    path = listed(tmp_path, "Description,Drawer,Qty\nClip,More bins,70\n")
    loaded(stores, path)
    with stores.read() as tx:
        (one,) = stock.bins_of(tx, "clip")
    assert (one.place, one.held) == ("B2", 70)


def test_a_list_of_items_is_recognised_or_asked_for_too(stores: Shop, tmp_path: Path) -> None:
    with pytest.raises(Unclear, match=r"no column was recognised as kind.*--as consumables") as unclear:
        loaded(stores, listed(tmp_path, "Part no;Name;Min\nglue-2;Glue, 1 l;2\n"), table="items")
    assert unclear.value.missing == ("kind",)
    path = listed(tmp_path, "Part no;Name;Min;Hazard\nglue-2;Glue, 1 l;2;flammable\n")
    notes = " ".join(loaded(stores, path, table="consumables").notes)
    assert "'Part no' is code, 'Name' is title, 'Min' is least, 'Hazard' is hazards, each is a consumable" in notes
    path = listed(tmp_path, "Stock code,Fabric,Color,Type,Reorder at\nhood-cloth/red,Hood cloth,RED,Cloths,4 m\n")
    loaded(stores, path)
    with stores.read() as tx:
        items = read_items(tx)
    assert (items["glue-2"].kind, items["glue-2"].title, items["glue-2"].least) == ("consumable", "Glue, 1 l", 2)
    assert (items["hood-cloth/red"].cloth, items["hood-cloth/red"].colour, items["hood-cloth/red"].least) == (
        "hood-cloth",
        "red",
        4_000,
    )
    assert refused(stores, listed(tmp_path, "Code,Name,Type\nnut-9,Nut,metalware\n"))[0].startswith(
        "our-list.csv, row 2"
    )


@pytest.mark.parametrize(
    ("text", "said", "words"),
    [
        ("Nr,Was\n1,2\n", {}, "no row in which columns of a stock list were recognised"),
        (LIST.replace("Dye lot", "Metres"), {}, "'Metres' and 'Length (m)' may each be the length."),
        (LIST, {"columns": ["Shelf"]}, "'Shelf' does not say which is which."),
        (LIST, {"columns": ["Shelf=plaice"]}, "'Shelf' cannot be the 'plaice' of a list."),
        (LIST, {"units": ["length=ell"]}, "'length=ell' says no unit."),
        (LIST, {"table": "roles"}, "There is no table 'roles'. The nearest name is 'rolls'."),
        (LIST, {"sheet": "x", "table": "places", "columns": ["a=code"]}, "those of places bear the names README gives"),
        ("Code,Type,Min,Max,Qty,Shelf\nx,hardware,1,9,3,B1\n", {}, "may be a list of bins or items. Say which"),
        (b"Roll;Cloth\n\x81;\xff\n", {}, "is neither UTF-8 nor Windows-1252"),
    ],
)
def test_what_cannot_be_understood_is_refused_in_words(
    stores: Shop, tmp_path: Path, text: str | bytes, said: dict[str, Any], words: str
) -> None:
    path = listed(tmp_path, text)
    before = dump(stores)
    with pytest.raises(Refusal) as refusal:
        load(stores, path, STAMP, opening=TODAY, told=said_of_list(path, **said))
    assert words in " ".join((refusal.value.sentence, *refusal.value.faults))
    assert dump(stores) == before
