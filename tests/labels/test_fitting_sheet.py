"""The fitting sheet: steps in order, cautions and changes seen, tags read back."""

from dataclasses import replace

import pytest

from labels import FittingPiece, FittingSheet, FittingStep, fitting_sheet_pdf
from tests.labels.examples import FITTING, HOSTILE, LONG, STEP, WORDLESS
from tests.labels.reading import assert_reads_back, assert_within_pages, ink_outside, pictures, texts


def many_steps(count: int) -> FittingSheet:
    steps = tuple(
        FittingStep(at, f"Do number {at:03d}", pieces=(FittingPiece("TN-1", "Half", f"P{at:06d}D"),))
        for at in range(1, count + 1)
    )
    return replace(FITTING, steps=steps, steps_total=count)


def test_all_barcodes_read_back() -> None:
    assert_reads_back(fitting_sheet_pdf(FITTING), [["C000012Y", "P004202B", "P004203C"]])


def test_steps_stand_in_order_with_their_barcodes_over_all_pages() -> None:
    sheet = many_steps(30)
    pdf = fitting_sheet_pdf(sheet)
    pages = texts(pdf)
    expected = [[f"P{at:06d}D" for at in range(1, 31) if f"Do number {at:03d}" in page] for page in pages]
    assert len(pages) > 1
    assert [code for page in expected for code in page] == [f"P{at:06d}D" for at in range(1, 31)]
    expected[0].append("C000012Y")
    assert_reads_back(pdf, expected)
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page
        assert "Blades: cut away from yourself." in page


def test_a_step_says_all_that_the_fitter_needs() -> None:
    (page,) = texts(fitting_sheet_pdf(FITTING))
    in_order = (
        "Plover Series 2, chassis 2217",
        "The handles bag waits for an answer",
        "step 2",
        "of 41",
        "Lay the wheel arch covers, left hand first",
        "disconnect the battery and look behind the panel",
        "right hand 20 mm longer",
        "rear lamps, both hands",
        "left hand",
        "left solid: 2 at the top",
        "right hand",
        "BS-03",
        "Let it tack for ten minutes.",
        "rear lamps, earth lead first",
    )
    at = -1
    for said in in_order:
        assert page.find(said, at + 1) > at, said
        at = page.find(said, at + 1)
    for word in ("CAUTION", "CHANGED", "WAITS", "Unbolt", "Refit"):
        assert word in page


def test_a_car_without_steps_and_without_a_code_is_printed() -> None:
    (page,) = texts(fitting_sheet_pdf(FittingSheet("Plover Series 1", 0, ())))
    assert "There are no steps to fit on this car." in page
    assert_reads_back(fitting_sheet_pdf(FittingSheet("Plover Series 1", 0, ())), [[]])


@pytest.mark.parametrize(
    "text", [LONG, WORDLESS, HOSTILE, "\n" * 60], ids=["long", "one word", "hostile", "empty lines"]
)
def test_nothing_runs_over(text: str) -> None:
    step = FittingStep(
        number=10**12,
        what=text,
        kit=text,
        pieces=(FittingPiece(text, text, "P000001A", text, text), FittingPiece(text, text)),
        unbolt=(text,),
        refit=(text,),
        cautions=(text,),
        changes=(text,),
        note=text,
    )
    sheet = FittingSheet(text, 10**12, (step, STEP), "C000012Y", text, text, text, text, text, (text,), (text,))
    pdf = fitting_sheet_pdf(sheet)
    assert_within_pages(pdf, 10.0)
    for picture in pictures(pdf, 72):
        assert ink_outside(picture, [(11.5, 10.0, 198.5, 287.0)], 72) == 0


def test_the_same_sheet_gives_the_same_bytes() -> None:
    assert fitting_sheet_pdf(FITTING) == fitting_sheet_pdf(FITTING)
