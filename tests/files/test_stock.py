"""The tables of opening stock: what each row becomes, and what is said of a row that cannot be right."""

from __future__ import annotations

from datetime import date

import pytest

from stockroom.domain.catalogue import Flaw, OpeningBin, OpeningPurchase, OpeningRoll, PastMovement, Reading
from stockroom.files import stock as read
from tests.files.test_catalogue import border, faults, good, row

ROLL = {"label": "R1", "item": "hood-cloth/black", "length": "13 yd", "place": "H1"}
PURCHASE = {"reference": "P1", "supplier": "mill", "item": "nut", "quantity": "10", "ordered": "opening-7d"}


def test_a_roll_is_read_with_its_length_rounded_down() -> None:
    cells = {
        **ROLL,
        "lot": "W 12",
        "measured": "yes",
        "remnant": "no",
        "value": "120.50",
        "flaws": "1200-1260 slub; 4 m-4.1 m oil - dark",
        "L": "18",
        "a": "0.5",
        "b": "-1",
        "observer": "2",
        "quarantined": "<b>damp</b>",
        "received": "opening-21d",
    }
    assert good(read.roll, read.ROLLS, **cells) == OpeningRoll(
        label="R1",
        item="hood-cloth/black",
        lot="W 12",
        length_mm=11_887,
        width_mm=1520,
        place="H1",
        measured=True,
        remnant=False,
        value_minor=12_050,
        flaws=(Flaw(1200, 1260, "slub"), Flaw(4000, 4100, "oil - dark")),
        reading=Reading(18.0, 0.5, -1.0, "D65", "2"),
        quarantined="<b>damp</b>",
        received=date(2026, 11, 2),
    )


def test_a_roll_s_own_width_stands_before_the_cloth_s() -> None:
    assert good(read.roll, read.ROLLS, **ROLL, width="900 mm").width_mm == 900


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"item": "nut"}, "'nut' is stocked by count, in bins; one stocked by length, on rolls was expected"),
        ({"item": "hood-cloth/blak"}, "There is no item 'hood-cloth/blak'. The nearest name is 'hood-cloth/black'."),
        ({"place": "H9"}, "There is no place 'H9'. The nearest name is 'H1'."),
        ({"label": ""}, "column 'label': nothing is written there"),
        ({"length": ""}, "column 'length': A length is missing."),
        ({"length": "0"}, "column 'length': '0' was found; a length of at least 1 mm was expected."),
        ({"length": "ten yards"}, "column 'length': 'ten yards' is not a length."),
        ({"flaws": "1200 slub"}, "'1200 slub' was found; a flaw was expected, such as '1200-1260 slub'"),
        ({"flaws": "1260-1200 slub"}, "the flaw '1260-1200 slub' does not lie on a roll of 11.887 m"),
        ({"flaws": "1200-99000 slub"}, "does not lie on a roll of 11.887 m"),
        ({"received": "opening+1d"}, "2026-11-24 was found; a day up to 2026-11-23 was expected"),
        ({"value": "£5"}, "column 'value': '£5' is not a sum of money in GBP"),
        ({"measured": "sort of"}, "'sort of' was found; yes or no was expected"),
    ],
)
def test_a_roll_that_cannot_be_right_is_named(cells: dict[str, str], words: str) -> None:
    told = faults(read.roll, read.ROLLS, **{**ROLL, **cells})
    assert any(words in fault for fault in told), told


def test_a_label_written_twice_is_named() -> None:
    at = border()
    for number in (2, 3):
        read.roll(row(read.ROLLS, f"rolls.csv, row {number}", **ROLL), at)
    assert at.faults.sentences == ["rolls.csv, row 3: roll 'R1' is there twice. It stands first in rolls.csv, row 2."]


def test_a_bin_is_an_item_in_a_place_of_a_lot() -> None:
    cells = {"item": "nut", "place": "B1", "count": "400", "value": "12"}
    assert good(read.bin_, read.BINS, **cells, lot="x") == OpeningBin("nut", "x", "B1", 400, 1200)
    at = border()
    for number, lot in enumerate(("", "x", ""), start=2):
        read.bin_(row(read.BINS, f"bins.csv, row {number}", **cells, lot=lot), at)
    assert at.faults.sentences == [
        "bins.csv, row 4: bin of 'nut' / 'B1' is there twice. It stands first in bins.csv, row 2."
    ]


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"item": "felt/red"}, "'felt/red' is stocked by length, on rolls; one stocked by count, in bins was expected"),
        ({"count": "-1", "value": ""}, "'-1' was found; a whole number from 0 was expected"),
        ({"count": "1e3", "value": ""}, "'1e3' was found; a whole number from 0 was expected"),
        ({"count": "99999999999", "value": ""}, "a whole number from 0 was expected"),
        ({"count": "0"}, "an empty bin is worth nothing"),
    ],
)
def test_a_bin_that_cannot_be_right_is_named(cells: dict[str, str], words: str) -> None:
    (fault,) = faults(read.bin_, read.BINS, **{"item": "nut", "place": "B1", "count": "400", "value": "12", **cells})
    assert words in fault


def test_what_is_on_order_is_read() -> None:
    found = good(read.purchase, read.PURCHASES, **PURCHASE, due="opening+7d", received="4", price="0.96")
    assert found == OpeningPurchase("P1", "mill", "nut", 10, 4, date(2026, 11, 16), date(2026, 11, 30), 96)


def test_what_is_due_before_it_was_ordered_is_named() -> None:
    (fault,) = faults(read.purchase, read.PURCHASES, **PURCHASE, due="opening-8d")
    assert "column 'due': 2026-11-15 was found; a day from 2026-11-16 was expected." in fault


def test_the_past_is_read_by_length_or_by_count() -> None:
    cells = {
        "day": "opening-400d",
        "item": "felt/red",
        "kind": "Cut",
        "quantity": "1 yd",
        "lot": "F1",
        "note": "a hood",
    }
    assert good(read.past_movement, read.HISTORY, **cells) == PastMovement(
        date(2025, 10, 19), "felt/red", "cut", 914, "F1", "a hood"
    )


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"day": "opening"}, "2026-11-23 was found; a day up to 2026-11-22 was expected"),
        ({"day": "yesterday"}, "column 'day': 'yesterday' was found; a day was expected, such as 2026-11-25"),
        ({"kind": "lost"}, "'lost' was found; received, cut, issued, made, scrapped or returned was expected"),
        ({"quantity": "0"}, "'0' was found; a whole number from 1 was expected"),
        ({"item": "nutt"}, "There is no item 'nutt'. The nearest name is 'nut'."),
    ],
)
def test_a_past_movement_that_cannot_be_right_is_named(cells: dict[str, str], words: str) -> None:
    given = {"day": "opening-1d", "item": "nut", "kind": "issued", "quantity": "1"}
    (fault,) = faults(read.past_movement, read.HISTORY, **{**given, **cells})
    assert words in fault
