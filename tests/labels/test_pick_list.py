"""The pick list: all its barcodes read back, everything is said, nothing runs over."""

from dataclasses import replace
from itertools import pairwise

import pytest

from labels import CutPanel, OpenLine, PaperError, PickCut, PickLine, PickList, pick_list_pdf
from labels.lay_picture import inner_span
from tests.labels.examples import BIN_PICK, CLOTH_PICK, CUT, HOSTILE, LONG, PICKS, WORDLESS
from tests.labels.reading import assert_reads_back, assert_within_pages, ink_outside, page_count, pictures, texts


def long_list(count: int) -> PickList:
    return replace(
        PICKS, lines=tuple(replace(BIN_PICK, tag=f"B{at:06d}K", place=f"Bin {at:06d}") for at in range(count))
    )


def test_all_barcodes_of_the_page_read_back() -> None:
    assert_reads_back(pick_list_pdf(PICKS), [["O001042W", "R000123K", "B000042C"]])


def test_all_barcodes_of_all_pages_read_back_in_walking_order() -> None:
    picks = long_list(40)
    pdf = pick_list_pdf(picks)
    pages = texts(pdf)
    assert len(pages) > 2
    expected = [[line.tag for line in picks.lines if line.place in page] for page in pages]
    assert [tag for page in expected for tag in page] == [line.tag for line in picks.lines]
    expected[0].append("O001042W")
    assert_reads_back(pdf, expected)


def test_every_page_says_which_of_how_many_and_repeats_the_cautions() -> None:
    pages = texts(pick_list_pdf(long_list(40)))
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page
        assert "Pick list, order 1042" in page
        assert "Blades: cut away from yourself." in page
        assert "local rules decide" in page


def test_the_page_says_all_that_the_walk_needs() -> None:
    (page,) = texts(pick_list_pdf(PICKS))
    for said in (
        "Order 1042",
        "Őrsi Katalin, Пётр Иванов, Θεοδώρα Παππά",
        "overdue since 3 November 2026",
        "fitted here",
        "IG, 25 November 2026, 09:14",
        "Rack 1, shelf 2",
        "maroon",
        "roll R000123K · dye lot 4471",
        "3 250 mm",
        "CHANGED",
        "right wheel arch 20 mm longer at the rear",
        "handles bag is the long one",
        "34.2 kg: two people or the roll trolley",
        "This roll because its dye lot covers the whole boot set.",
        "Cut from 1 200 to 4 450 mm from the inner end: 3 250 mm of cloth 1 370 mm wide.",
        "1 = BS-01 Boot floor",
        "3 = BS-02R Wheel arch CHANGED: rear edge 20 mm longer",
        "Waits for an answer",
        "Waits for: long or short.",
        "Short by 1 200 mm.",
        "page 1 of 1",
    ):
        assert said in page, said


def test_the_swatch_has_the_given_colour() -> None:
    import pypdfium2

    with pypdfium2.PdfDocument(pick_list_pdf(PICKS)) as document:
        colours = document[0].render(scale=2).to_pil().convert("RGB").getcolors(maxcolors=1 << 20)
    assert colours is not None
    assert max(count for count, colour in colours if colour == (110, 20, 35)) > 300


def test_a_list_with_nothing_to_pick_says_so() -> None:
    (page,) = texts(pick_list_pdf(replace(PICKS, lines=(), waiting=(), short=(), changes=())))
    assert "There is nothing to pick for this order now." in page
    assert "Short" not in page
    assert "CHANGED" not in page


@pytest.mark.parametrize(
    "text", [LONG, WORDLESS, HOSTILE, "\n" * 60], ids=["long", "one word", "hostile", "empty lines"]
)
def test_nothing_runs_over(text: str) -> None:
    cut = replace(CUT, panels=tuple(replace(panel, label=text, title=text, change=text) for panel in CUT.panels))
    line = PickLine(
        place=text,
        tag="R000123K",
        title=text,
        quantity=text,
        item=text,
        colour=text,
        swatch=(0, 0, 0),
        roll=text,
        dye_lot=text,
        reason=text,
        changes=(text, text),
        mass_g=10**9,
        lifting_caution=text,
        cut=cut,
        for_what=text,
    )
    picks = PickList(
        order=text,
        order_code="O001042W",
        customer=text,
        wanted=text,
        delivery=text,
        printed=text,
        lines=(line, BIN_PICK),
        cars=(text,),
        changes=(text,),
        waiting=(OpenLine(text, text, text, text),),
        short=(OpenLine(text, text, text, text),),
        cautions=(text, text),
        overdue=True,
    )
    pdf = pick_list_pdf(picks)
    assert_within_pages(pdf, 10.0)
    for picture in pictures(pdf, 72):
        assert ink_outside(picture, [(11.5, 10.0, 198.5, 287.0)], 72) == 0
    expected: list[list[str]] = []
    for page in texts(pdf):
        expected.append([code for code in ("O001042W", "R000123K", "B000042C") if code in page])
    assert sorted(code for page in expected for code in page) == ["B000042C", "O001042W", "R000123K"]
    assert_reads_back(pdf, expected)


def test_a_hostile_name_is_printed_letter_by_letter() -> None:
    (page,) = texts(pick_list_pdf(replace(PICKS, customer=HOSTILE)))
    assert "<b>bold</b> [red]x[/red] &amp;" in page
    assert "\x1b" not in page
    assert "\u202e" not in page


def test_hundreds_of_panels_run_on_over_the_page_and_none_is_lost() -> None:
    panels = tuple(
        CutPanel(f"P-{at}", ((at * 10, 0), (at * 10 + 8, 0), (at * 10 + 8, 900)), f"Long name of strip number {at}")
        for at in range(400)
    )
    pdf = pick_list_pdf(replace(PICKS, lines=(replace(CLOTH_PICK, cut=PickCut(0, 4000, 1000, panels)),)))
    said = " ".join(texts(pdf))
    assert all(f"{at + 1} = P-{at} " in said for at in range(400))
    assert page_count(pdf) > 1
    assert_within_pages(pdf, 10.0)


def test_a_list_for_many_cars_names_every_car() -> None:
    cars = tuple(f"Plover Series 1, chassis {at:04d}" for at in range(120))
    pdf = pick_list_pdf(replace(PICKS, cars=cars))
    said = " ".join(texts(pdf))
    assert "120 cars, listed beneath" in said
    assert all(car in said for car in cars)
    assert_within_pages(pdf, 10.0)


def test_the_picture_is_to_scale() -> None:
    """A panel of a quarter of the cloth covers a quarter of the picture's ink."""
    quarter = CutPanel("A", ((0, 0), (1000, 0), (1000, 500), (0, 500)))
    line = replace(BIN_PICK, cut=PickCut(0, 2000, 1000, (quarter,)))
    (picture,) = pictures(pick_list_pdf(PickList("1", "O1", "", "", "", "", (line,))), 300)
    rows = [picture.crop((0, at, picture.width, at + 1)).tobytes() for at in range(picture.height)]
    shaded = [row for row in rows if row.count(230) > 300]
    widest = max(row.count(230) for row in shaded)
    assert widest / len(shaded) == pytest.approx(1000 / 500, rel=0.02)
    outline = max((row for row in rows if row.count(0) > 2 * widest), key=lambda row: row.count(0))
    assert outline.count(0) >= 2 * widest


@pytest.mark.parametrize(
    "polygon",
    [
        ((0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0)),
        ((0.0, 0.0), (10.0, 0.0), (10.0, 1.0), (1.0, 1.0), (1.0, 9.0), (10.0, 9.0), (10.0, 10.0), (0.0, 10.0)),
        ((0.0, 0.0), (9.0, 0.0), (0.0, 9.0)),
    ],
)
def test_a_label_stands_inside_its_panel(polygon: tuple[tuple[float, float], ...]) -> None:
    y, start, end = inner_span(polygon)
    middle = (start + end) / 2
    crossings = [
        x1 + (y - y1) * (x2 - x1) / (y2 - y1)
        for (x1, y1), (x2, y2) in pairwise((*polygon, polygon[0]))
        if min(y1, y2) <= y < max(y1, y2)
    ]
    assert start < end
    assert sum(x < middle for x in crossings) % 2 == 1


@pytest.mark.parametrize(
    ("cut", "said"),
    [
        (replace(CUT, to_mm=1200), "has no area"),
        (replace(CUT, to_mm=2000), "lies outside its cut"),
        (replace(CUT, width_mm=400), "lies outside its cut"),
        (replace(CUT, panels=(CutPanel("X", ((0, 0), (9, 9))),)), "fewer than three points"),
    ],
)
def test_a_wrong_cut_is_refused(cut: PickCut, said: str) -> None:
    with pytest.raises(PaperError, match=said):
        pick_list_pdf(replace(PICKS, lines=(replace(CLOTH_PICK, cut=cut),)))


def test_a_code_that_no_barcode_holds_is_refused() -> None:
    with pytest.raises(PaperError, match="cannot be printed as a barcode"):
        pick_list_pdf(replace(PICKS, order_code="ő"))


def test_the_same_list_gives_the_same_bytes() -> None:
    first = pick_list_pdf(PICKS)
    pick_list_pdf(long_list(20))
    assert pick_list_pdf(PICKS) == first
