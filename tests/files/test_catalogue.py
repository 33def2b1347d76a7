"""The tables of a catalogue: what each row becomes, and what is said of a row that cannot be right."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from stockroom.domain.catalogue import Cloth, Colour, Item, Place, PriceBreak, Reading, Stage, Supplier, Terms
from stockroom.files import catalogue as read
from stockroom.files.cells import Border, Known, read_day
from stockroom.files.faults import Faults
from stockroom.files.tables import Columns, Row
from tests.small_shop import CLOTHS, COLOURS, ITEMS, PLACES, SUPPLIERS

OPENING = date(2026, 11, 23)


def border() -> Border:
    known = Known(
        {one.code: one for one in COLOURS},
        {one.code: one for one in CLOTHS},
        {one.code: one for one in ITEMS},
        {one.code: one for one in PLACES},
        {one.code: one for one in SUPPLIERS},
    )
    return Border(OPENING, "GBP", known, Faults())


def row(columns: Columns, in_file: str = "table.csv, row 2", /, **cells: str) -> Row:
    everything = dict.fromkeys((*columns.required, *columns.optional), "")
    assert set(cells) <= set(everything)
    return Row(in_file, {**everything, **cells})


def good(reader: Callable[[Row, Border], Any], columns: Columns, /, **cells: str) -> Any:
    at = border()
    result = reader(row(columns, **cells), at)
    assert at.faults.sentences == []
    return result


def faults(reader: Callable[[Row, Border], Any], columns: Columns, /, **cells: str) -> list[str]:
    at = border()
    reader(row(columns, **cells), at)
    return at.faults.sentences


def test_a_colour_may_have_a_master_reading() -> None:
    cells = {"code": "fawn", "name": "Fawn", "L": "60.5", "a": "-2", "b": "12,5"}
    assert good(read.colour, read.COLOURS, **cells) == Colour("fawn", "Fawn", Reading(60.5, -2.0, 12.5, "D65", "10"))
    assert good(read.colour, read.COLOURS, code="fawn", name="Fawn") == Colour("fawn", "Fawn", None)


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"L": "101", "a": "0", "b": "0"}, "column 'L': '101' was found; a number from 0 to 100 was expected."),
        ({"L": "50", "a": "-129", "b": "0"}, "column 'a': '-129' was found; a number from -128 to 127 was expected."),
        ({"L": "50", "a": "0", "b": "nan"}, "column 'b': 'nan' was found; a number from -128 to 127 was expected."),
        ({"L": "50", "a": "0"}, "column 'L': a reading needs all of L, a and b."),
        ({"L": "50", "a": "0", "b": "1", "observer": "5"}, "column 'observer': '5' was found; 2 or 10 (degrees)"),
        ({"L": "50", "a": "0", "b": "1", "illuminant": "<b>"}, "column 'illuminant': '<b>' was found; an illuminant"),
    ],
)
def test_a_reading_that_no_meter_gives_is_named(cells: dict[str, str], words: str) -> None:
    (fault,) = faults(read.colour, read.COLOURS, code="fawn", name="Fawn", **cells)
    assert words in fault


def test_a_cloth_is_read_with_its_units_rounded_the_safe_way() -> None:
    cells = {
        "code": "ribbed-carpet",
        "title": "Ribbed carpet",
        "kind": "cloth",
        "width": "54 in",
        "mass_g_m2": "13 oz/yd2",
        "nap": "Yes",
        "shortest_useful": "1/2 yd",
        "colour_tolerance": "1.5",
        "substitutes": "felt; hood-cloth",
    }
    assert good(read.cloth, read.CLOTHS, **cells) == Cloth(
        code="ribbed-carpet",
        title="Ribbed carpet",
        kind="cloth",
        fibre="",
        grain="",
        width_mm=1371,
        mass_g_m2=441,
        nap=True,
        shortest_useful_mm=458,
        colour_tolerance=1.5,
        substitutes=("felt", "hood-cloth"),
    )


def test_a_substitute_that_does_not_exist_is_named_with_the_nearest() -> None:
    at, here = (
        border(),
        row(read.CLOTHS, code="felt", title="Felt", kind="cloth", width="1", substitutes="hod-cloth;felt"),
    )
    read.missing_substitutes(read.cloth(here, at), here, at)
    unknown, itself = at.faults.sentences
    assert "There is no cloth 'hod-cloth'. The nearest name is 'hood-cloth'." in unknown
    assert "'felt' cannot stand in for itself" in itself


def test_an_item_of_cloth_takes_its_title_from_cloth_and_colour() -> None:
    found = good(
        read.item,
        read.ITEMS,
        code="felt/black",
        kind="cloth",
        cloth="felt",
        colour="black",
        least="10 yd",
        most="20 m",
    )
    assert found == Item("felt/black", "Felt, black", "cloth", "felt", "black", least=9144, most=20_000)


def test_a_blank_may_have_a_colour_in_its_code() -> None:
    found = good(
        read.item, read.ITEMS, code="bag/red", title="Bag", kind="blank", colour="red", made_here="yes", least="2"
    )
    assert found == Item("bag/red", "Bag", "blank", colour="red", least=2, made_here=True)


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        (
            {"code": "x/red", "kind": "cloth", "cloth": "felt", "colour": "red"},
            "'felt/red' was expected, its cloth and",
        ),
        (
            {"code": "felt/red", "kind": "narrow", "cloth": "felt", "colour": "red"},
            "narrow was found, but 'felt' is cloth",
        ),
        (
            {"code": "flt/red", "kind": "cloth", "cloth": "flt", "colour": "red"},
            "no cloth 'flt'. The nearest name is 'felt'",
        ),
        (
            {"code": "felt/rd", "kind": "cloth", "cloth": "felt", "colour": "rd"},
            "no colour 'rd'. The nearest name is 'red'",
        ),
        ({"code": "bag", "kind": "blank", "colour": "red", "title": "Bag"}, "a code ending in '/red' was expected"),
        ({"code": "nut", "kind": "hardware", "cloth": "felt", "title": "N"}, "an item of kind hardware has no cloth"),
        ({"code": "nut", "kind": "hardware"}, "column 'title': nothing is written there"),
        (
            {"code": "nut", "kind": "metal", "title": "N"},
            "'metal' was found; cloth, narrow, hardware, blank, kit, consum",
        ),
        ({"code": "n t", "kind": "hardware", "title": "N"}, "column 'code': 'n t' was found; a code was expected"),
        (
            {"code": "../nut", "kind": "hardware", "title": "N"},
            "column 'code': '../nut' was found; a code was expected",
        ),
        ({"code": "", "kind": "hardware", "title": "N"}, "column 'code': nothing was found; a code was expected"),
        ({"code": "nut", "kind": "hardware", "title": "N", "least": "5 m"}, "'5 m' was found; a whole number from 0"),
        ({"code": "nut", "kind": "hardware", "title": "N", "least": "-5"}, "'-5' was found; a whole number from 0"),
        ({"code": "nut", "kind": "hardware", "title": "N", "least": "5", "most": "4"}, "'4' was found, which is below"),
        ({"code": "nut", "kind": "hardware", "title": "N", "made_here": "perhaps"}, "'perhaps' was found; yes or no"),
        (
            {"code": "nut", "kind": "hardware", "title": "N", "mass_g": "2.5"},
            "column 'mass_g': '2.5' was found; a whole",
        ),
        ({"code": "nut", "kind": "hardware", "title": "N\x1b[31m"}, r"'N\u001b[31m' was found; text in one line"),
        ({"code": "nut", "kind": "hardware", "title": "N" * 301}, "up to 300 characters"),
    ],
)
def test_an_item_that_cannot_be_right_is_named(cells: dict[str, str], words: str) -> None:
    told = faults(read.item, read.ITEMS, **cells)
    assert any(words in fault for fault in told), told
    assert all(fault.startswith("table.csv, row 2, column '") for fault in told)


def test_markup_in_a_title_is_that_text() -> None:
    title = "<b>Nut</b> [red]=1+1"
    assert good(read.item, read.ITEMS, code="nut", kind="hardware", title=title).title == title


def test_every_fault_of_a_row_is_told_at_once() -> None:
    told = faults(read.item, read.ITEMS, code="", kind="x", least="few", most="many", mass_g="light")
    assert [fault.split("'")[1] for fault in told] == ["code", "kind", "least", "most", "title", "mass_g"]


def test_a_code_written_twice_is_named_with_its_first_place() -> None:
    at = border()
    for number in (2, 9):
        read.place(row(read.PLACES, f"places.csv, row {number}", code="R1", title="Rack", walk="5"), at)
    assert at.faults.sentences == [
        "places.csv, row 9: place 'R1' is there twice. It stands first in places.csv, row 2."
    ]


def test_stages_are_read_and_each_is_there_once() -> None:
    cells = {"code": "outworker", "title": "Outworker", "turn": "40"}
    assert good(read.stage, read.STAGES, **cells) == Stage("outworker", "Outworker", 40)
    assert faults(read.stage, read.STAGES, **cells | {"turn": "last"}) == [
        "table.csv, row 2, column 'turn': 'last' was found; a whole number from 0 was expected."
    ]
    assert faults(read.stage, read.STAGES, **cells | {"title": ""}) != []
    at = border()
    for number in (2, 9):
        read.stage(row(read.STAGES, f"stages.csv, row {number}", **cells), at)
    assert at.faults.sentences == [
        "stages.csv, row 9: stage 'outworker' is there twice. It stands first in stages.csv, row 2."
    ]


def test_places_and_suppliers_are_read() -> None:
    assert good(read.place, read.PLACES, code="R1-2", title="Rack", walk="5") == Place("R1-2", "Rack", 5)
    cells = {"code": "mill2", "name": "A mill", "lead_days": "28", "carriage_paid": "250.00"}
    assert good(read.supplier, read.SUPPLIERS, **cells) == Supplier("mill2", "A mill", 28, "GBP", 25_000)


def test_a_supplier_s_carriage_is_in_the_supplier_s_own_currency() -> None:
    cells = {"code": "mill2", "name": "A mill", "lead_days": "28", "currency": "jpy"}
    assert good(read.supplier, read.SUPPLIERS, **cells, carriage_paid="250").carriage_paid_minor == 250
    (fault,) = faults(read.supplier, read.SUPPLIERS, **cells, carriage_paid="250.50")
    assert "more decimals than JPY has" in fault


def test_terms_are_read_by_length_or_by_count() -> None:
    cells = {"supplier": "mill", "least_quantity": "25", "price": "0.12", "breaks": "100:0.11; 500:0.10"}
    breaks = (PriceBreak(1, 12), PriceBreak(100, 11), PriceBreak(500, 10))
    assert good(read.terms, read.TERMS, **cells, item="nut") == Terms("mill", "nut", None, 25, 1, breaks)
    cells = {"supplier": "mill", "item": "felt/red", "least_quantity": "10 yd", "multiple": "1 m", "price": "8.5"}
    found = good(read.terms, read.TERMS, **cells, breaks="50 m:8", lead_days="14", preferred="no")
    assert found == Terms("mill", "felt/red", 14, 9144, 1000, (PriceBreak(1, 850), PriceBreak(50_000, 800)), False)
    assert good(read.terms, read.TERMS, supplier="mill", item="felt/red", roll="25 m").roll_mm == 25_000


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"supplier": "mil", "item": "nut"}, "There is no supplier 'mil'. The nearest name is 'mill'."),
        ({"supplier": "mill", "item": "not"}, "There is no item 'not'. The nearest name is 'nut'."),
        ({"supplier": "mill", "item": "nut", "price": "1.005"}, "more decimals than GBP has"),
        ({"supplier": "mill", "item": "nut", "roll": "25 m"}, "nut is counted, so it comes on no roll"),
        ({"supplier": "mill", "item": "nut", "breaks": "100"}, "'100' was found; a quantity and a price were expected"),
        ({"supplier": "mill", "item": "nut", "breaks": "5 m:1"}, "'5 m' was found; a whole number was expected"),
        ({"supplier": "mill", "item": "nut", "breaks": "9:1;9:2"}, "'9:2' does not come after the break before it"),
        ({"supplier": "mill", "item": "nut", "multiple": "0"}, "'0' was found; a whole number from 1 was expected"),
    ],
)
def test_terms_that_cannot_be_right_are_named(cells: dict[str, str], words: str) -> None:
    (fault,) = faults(read.terms, read.TERMS, **cells)
    assert words in fault


def test_an_item_has_one_preferred_supplier() -> None:
    at = border()
    for number, preferred in enumerate(("yes", "no", "yes"), start=2):
        place = f"terms.csv, row {number}"
        at.known.suppliers[f"s{number}"] = SUPPLIERS[0]
        read.terms(row(read.TERMS, place, supplier=f"s{number}", item="nut", preferred=preferred), at)
    assert at.faults.sentences == [
        "terms.csv, row 4: preferred supplier of 'nut' is there twice. It stands first in terms.csv, row 2."
    ]


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-11-25", date(2026, 11, 25)),
        ("opening", OPENING),
        ("Opening + 7d", date(2026, 11, 30)),
        ("opening-23d", date(2026, 10, 31)),
        ("opening-99999d", date(1753, 2, 8)),
        ("25.11.2026", None),
        ("2026-02-30", None),
        ("opening-21", None),
        ("20261125", None),
        ("", None),
    ],
)
def test_a_day_is_iso_or_counted_from_the_opening(text: str, day: date | None) -> None:
    assert read_day(text, OPENING) == day
