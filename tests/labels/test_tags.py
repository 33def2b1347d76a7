"""Tags on every kind of label: they read back, stay in their boxes, start where they are told."""

from dataclasses import replace
from itertools import groupby, pairwise
from math import ceil

import pytest

from labels import BinTag, LowTag, PaperError, PieceTag, RollTag, Tag, load_sheet, sheet_names, tags_pdf
from labels.barcode128 import bars
from labels.tags import steps_in_words
from tests.labels.examples import BIN, HOSTILE, KIT, LONG, PIECE, PLACE, ROLL, TAGS, WORDLESS
from tests.labels.reading import (
    assert_reads_back,
    assert_within_pages,
    characters,
    ink_outside,
    page_count,
    pictures,
    texts,
)

SHEETS = [name for name in sheet_names() if name.startswith("a4")]
SMALL = "a4-4x10-48x25"
ROOMY = [name for name in sheet_names() if name != SMALL]
"""Sheets that hold every kind of tag; the small labels are for bins, places and plain rolls."""


def numbered(count: int) -> list[Tag]:
    return [replace(ROLL, code=f"R{number:06d}K") for number in range(1, count + 1)]


@pytest.mark.parametrize("name", ROOMY)
def test_every_kind_of_tag_reads_back_from_every_sheet(name: str) -> None:
    sheet = load_sheet(name)
    codes = [tag.code for tag in TAGS]
    expected = [codes] if sheet.kind == "sheet" else [[code] for code in codes]
    assert_reads_back(tags_pdf(TAGS, sheet), expected)


@pytest.mark.parametrize("name", SHEETS)
def test_a_full_sheet_reads_back(name: str) -> None:
    sheet = load_sheet(name)
    tags = numbered(sheet.positions)
    assert_reads_back(tags_pdf(tags, sheet), [[tag.code for tag in tags]])


@pytest.mark.parametrize("name", sheet_names())
def test_bars_end_on_dots_of_the_stated_resolution(name: str) -> None:
    """A pixel row through a barcode is black and white with nothing between.

    The page is made whole inches (less a micrometre) for this: the renderer stretches any other page to whole pixels.
    """
    stock = load_sheet(name)
    inches = (ceil(stock.page_width_mm / 25.4), ceil(stock.page_height_mm / 25.4))
    sheet = replace(stock, page_width_mm=inches[0] * 25.4 - 0.001, page_height_mm=inches[1] * 25.4 - 0.001)
    (picture,) = pictures(tags_pdf([BIN], sheet), sheet.resolution_dpi)
    assert picture.size == (inches[0] * sheet.resolution_dpi, inches[1] * sheet.resolution_dpi)
    rows = [picture.crop((0, at, picture.width, at + 1)).tobytes() for at in range(picture.height)]
    alike = [(len(list(run)), row) for row, run in groupby(rows) if len(set(row)) > 1]
    tall, through_bars = max(alike)
    assert tall * 25.4 / sheet.resolution_dpi > 4, "the bars are the tallest thing on a tag"
    changes = [at for at, (one, other) in enumerate(pairwise(through_bars)) if abs(one - other) > 128]
    assert len(changes) == 2 * len(bars(BIN.code).bars)
    assert all(shade < 8 or shade > 247 for shade in through_bars)


@pytest.mark.parametrize("name", ROOMY)
@pytest.mark.parametrize(
    "text", [LONG, WORDLESS, HOSTILE, "Ő" * 400, "\n" * 50], ids=["long", "one word", "hostile", "wide", "empty lines"]
)
def test_nothing_leaves_its_label(name: str, text: str) -> None:
    sheet = load_sheet(name)
    tags: list[Tag] = [
        RollTag("R000001K", text, text, text, text, text, text, text, text, text, text, text),
        BinTag("B000002C", text, text, text, text, text, text, text, text),
        LowTag("B000003A", text, text, text, text, text, text, text),
        PieceTag("P000003Q", text, text, text, text, text, text, tuple(range(1, 40)), 41, text, text, text, text),
    ]
    pdf = tags_pdf(tags, sheet)
    boxes = [
        (left + 0.2, top + 0.2, left + sheet.label_width_mm - 0.2, top + sheet.label_height_mm - 0.2)
        for left, top in (sheet.corner_mm(at) for at in range(1, min(len(tags), sheet.positions) + 1))
    ]
    for picture in pictures(pdf, 203):
        assert ink_outside(picture, boxes, 203) == 0
    assert_within_pages(pdf, 0.2)
    codes = [tag.code for tag in tags]
    assert_reads_back(pdf, [codes] if sheet.kind == "sheet" else [[code] for code in codes])


def test_small_labels_hold_bins_places_and_rolls_and_refuse_the_rest() -> None:
    sheet = load_sheet(SMALL)
    assert_reads_back(tags_pdf([BIN, PLACE, ROLL], sheet), [[BIN.code, PLACE.code, ROLL.code]])
    with pytest.raises(PaperError, match=r"A piece tag .* 48\.5 × 25\.4 mm: choose a larger label"):
        tags_pdf([PIECE], sheet)


def test_a_used_sheet_is_started_where_it_is_free() -> None:
    sheet = load_sheet("a4-3x7-63x38")
    pdf = tags_pdf(numbered(4), sheet, start_at=20)
    assert_reads_back(pdf, [["R000001K", "R000002K"], ["R000003K", "R000004K"]])
    left_mm, top_mm = sheet.corner_mm(20)
    for letter in characters(pdf, 0):
        assert letter.left_mm >= left_mm
        assert letter.top_mm >= top_mm


@pytest.mark.parametrize("position", [1, 2, 3, 4, 11, 21])
def test_each_position_is_where_the_sheet_says(position: int) -> None:
    sheet = load_sheet("a4-3x7-63x38")
    left_mm, top_mm = sheet.corner_mm(position)
    for letter in characters(tags_pdf([ROLL], sheet, start_at=position)):
        assert left_mm <= letter.left_mm < letter.right_mm <= left_mm + sheet.label_width_mm
        assert top_mm <= letter.top_mm < letter.bottom_mm <= top_mm + sheet.label_height_mm


def test_copies_stand_in_a_row() -> None:
    sheet = load_sheet("roll-62x29-300dpi")
    first, second = numbered(2)
    assert_reads_back(tags_pdf([first, second], sheet, copies=3), [[first.code]] * 3 + [[second.code]] * 3)


def test_sheets_spill_over() -> None:
    sheet = load_sheet("a4-2x4-99x67")
    assert page_count(tags_pdf(numbered(17), sheet)) == 3
    assert page_count(tags_pdf(numbered(16), sheet)) == 2
    assert page_count(tags_pdf(numbered(16), sheet, start_at=2)) == 3


def test_a_piece_tag_says_all_that_the_fitter_needs() -> None:
    (page,) = texts(tags_pdf([PIECE], load_sheet("a4-2x4-99x67")))
    for said in (
        "order 1042",
        "Plover Series 2, chassis 2217",
        "BS-07",
        "Wheel arch cover",
        "left hand",
        "step 3 of 41; again at 17",
        "holes marked on the back: 2 for the strap",
        "left solid: 4 along the top",
        "CHANGED",
        "strap holes 12 mm lower",
        "Glue the front edge first.",
        "P004211Q",
        "PIECE",
    ):
        assert said in page


def test_what_is_not_known_leaves_no_trace() -> None:
    (page,) = texts(tags_pdf([PieceTag("P000001A", "BS-01", "Boot floor", "1042")], load_sheet("a4-2x4-99x67")))
    assert sorted(page.split()) == sorted(["PIECE", "BS-01", "Boot", "floor", "order", "1042", "P000001A"])


def test_names_of_europe_and_markup_are_printed_as_they_are() -> None:
    name = "Őrsi Пётр Παππά <b>x</b>"
    (page,) = texts(tags_pdf([replace(KIT, customer=name)], load_sheet("a4-2x4-99x67")))
    assert name in page


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        ((), ""),
        ((5,), "step 5 of 41"),
        ((3, 17), "step 3 of 41; again at 17"),
        ((3, 17, 20), "step 3 of 41; again at 17 and 20"),
    ],
)
def test_steps_in_words(steps: tuple[int, ...], said: str) -> None:
    assert steps_in_words(steps, 41) == said


def test_the_same_tags_give_the_same_bytes() -> None:
    sheet = load_sheet("a4-3x7-63x38")
    first = tags_pdf(TAGS, sheet, start_at=5, copies=2)
    tags_pdf([PLACE], load_sheet("roll-62x29-300dpi"))
    assert tags_pdf(TAGS, sheet, start_at=5, copies=2) == first


@pytest.mark.parametrize(
    ("tags", "start_at", "copies", "said"),
    [
        ([], 1, 1, "no tags"),
        ([BIN], 0, 1, "positions 1 to 21"),
        ([BIN], 22, 1, "positions 1 to 21"),
        ([BIN], 1, 0, "at least one copy"),
        ([BIN], 1, 1_000_000, "at most 20000 labels"),
        ([replace(BIN, code="")], 1, 1, "cannot be printed as a barcode"),
        ([replace(BIN, code="B" * 40)], 1, 1, "choose a wider label"),
    ],
)
def test_what_cannot_be_printed_is_refused(tags: list[Tag], start_at: int, copies: int, said: str) -> None:
    with pytest.raises(PaperError, match=said):
        tags_pdf(tags, load_sheet("a4-3x7-63x38"), start_at, copies)
