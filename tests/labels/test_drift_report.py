"""The page of drift: what it says reads back, nothing runs over, and black and white are enough."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from labels import DriftLot, PaperError, drift_pdf
from labels.drift_chart import nice_step
from tests.labels.examples import DRIFT, HOSTILE, LONG, WORDLESS
from tests.labels.reading import assert_within_pages, ink_outside, opened, page_count, pictures, texts


def test_the_page_says_all_that_the_supplier_needs() -> None:
    (page,) = texts(drift_pdf(DRIFT))
    for said in (
        "Colour drift",
        "Leathercloth, dark blue",
        "Lindow Trim",
        "Westing Coated Cloths",
        "master L* 24.2, a* 2.6, b* -20.3 under D65/10°, of the colour",
        "2 of 4 lots match the master.",
        "matches up to 1",
        "the eye decides up to 1.5",
        "CIEDE2000, kL:kC:kH 1:1:1",
        "2 N2222 2026-06-20 24.9 2.4 -19.4 +0.70 -0.20 +0.90 0.82 3 0.12 matches",
        "4 N2270 2026-11-18 26.6 2.0 -18.2 +2.40 -0.60 +2.10 2.08 1 NO MATCH",
        "Roll R26N, lot N2270, in Q1 in quarantine",
        "lot N2290, read once under A/10°",
    ):
        assert said in page, said


def test_it_is_drawn_without_colour_and_the_band_is_there() -> None:
    with opened(drift_pdf(DRIFT)) as document:
        colours = {colour for _, colour in document[0].render(scale=1).to_pil().convert("RGB").getcolors(1 << 20)}
    assert all(max(colour) - min(colour) <= 2 for colour in colours)
    assert any(215 <= colour[0] <= 230 for colour in colours)


def test_one_lot_and_hundreds_of_lots_have_a_page() -> None:
    assert page_count(drift_pdf(replace(DRIFT, lots=DRIFT.lots[:1], apart=(), left_out=()))) == 1
    lot = DRIFT.lots[1]
    many = tuple(replace(lot, dye_lot=f"N{turn:04d}", came=lot.came + timedelta(turn)) for turn in range(200))
    pdf = drift_pdf(replace(DRIFT, lots=many))
    pages = texts(pdf)
    assert len(pages) > 3
    assert all(f"N{turn:04d}" in " ".join(pages) for turn in range(200))
    assert all("dye lot" in page for page in pages[:-1])
    assert_within_pages(pdf, 10.0)


@pytest.mark.parametrize("text", [LONG, WORDLESS, HOSTILE], ids=["long", "one word", "hostile"])
def test_nothing_runs_over(text: str) -> None:
    lot = DriftLot(text, date(2026, 1, 1), 100, -128, 128, -100, 256, -256, 180.5, 9999, 12.34, "no match")
    pdf = drift_pdf(
        replace(
            DRIFT,
            shop=text,
            title=text,
            item=text,
            supplier=text,
            master=text,
            how=text,
            printed=text,
            said=text,
            apart=(text, text),
            left_out=(text,),
            lots=(lot, replace(lot, difference=0.0)),
        )
    )
    assert_within_pages(pdf, 10.0)
    for picture in pictures(pdf, 72):
        assert ink_outside(picture, [(11.5, 10.0, 198.5, 287.0)], 72) == 0


def test_a_page_of_nothing_is_refused_and_the_same_page_gives_the_same_bytes() -> None:
    with pytest.raises(PaperError, match="no lot"):
        drift_pdf(replace(DRIFT, lots=()))
    assert drift_pdf(DRIFT) == drift_pdf(DRIFT)
    assert all(3 <= span / nice_step(span) <= 8 for span in (0.5, 0.9, 1.7, 3, 6, 11, 40, 512))
