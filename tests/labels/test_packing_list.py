"""The packing list: its barcodes read back, every piece and everything owed is said, nothing runs over."""

from dataclasses import replace

import pytest

from labels import (
    KitTag,
    PackedParcel,
    PackedPiece,
    PackingListPaper,
    PaperError,
    load_sheet,
    packing_list_pdf,
    tags_pdf,
)
from tests.labels.examples import BUNDLE, HOSTILE, KIT, LONG, PACKED, PACKING, WORDLESS
from tests.labels.reading import assert_reads_back, assert_within_pages, ink_outside, page_count, pictures, texts


def test_the_order_and_every_parcel_read_back_and_no_piece_is_in_the_way() -> None:
    assert_reads_back(packing_list_pdf(PACKING), [["O001042W", "K000311X", "K000312W"]])


def test_the_page_says_what_is_in_each_parcel_and_what_is_owed() -> None:
    (page,) = texts(packing_list_pdf(PACKING))
    for said in (
        "Packing list",
        "Order 1042",
        "Őrsi Katalin, Пётр Иванов, Θεοδώρα Παππά",
        "Plover Series 2, chassis 2217",
        "1 × Full boot set",
        "IG, 25 November 2026, 09:14",
        "Parcel 1 of 2, box",
        "2 pieces",
        "Parcel 2 of 2, long parcel",
        "1 piece",
        "P004211Q",
        "BS-07",
        "Wheel arch cover",
        "left",
        "full boot set, Plover Series 2",
        "Packet of hardware",
        "P004214L",
        "OWED",
        "Wheel arch cover, right (P004212P): panel side not cut yet.",
        "Sent incomplete: the customer cannot wait (IG).",
        "page 1 of 1",
    ):
        assert said in page, said
    assert "MISSING" not in page


def test_what_is_owed_stands_before_the_parcels_in_a_black_word() -> None:
    (page,) = texts(packing_list_pdf(PACKING))
    assert page.index("OWED") < page.index("Parcel 1 of 2")
    owed, complete = (
        sum(picture.histogram()[:64])
        for picture in (
            *pictures(packing_list_pdf(PACKING), 72),
            *pictures(packing_list_pdf(replace(PACKING, owed=())), 72),
        )
    )
    assert owed > complete + 500, "what is owed does not stand out"


def test_what_is_to_be_minded_in_the_post_stands_with_its_parcel() -> None:
    first, second = PACKING.parcels
    (page,) = texts(packing_list_pdf(replace(PACKING, parcels=(first, replace(second, posting=("Tack: sharp.",))))))
    assert page.index("Parcel 2 of 2") < page.index("POST") < page.index("Tack: sharp.") < page.index("P004214L")


def test_an_order_that_is_still_here_misses_pieces_and_owes_none() -> None:
    (page,) = texts(packing_list_pdf(replace(PACKING, owed=(), not_packed=PACKING.owed)))
    assert "Not packed yet" in page
    assert "MISSING" in page
    assert "OWED" not in page
    assert "Sent incomplete" not in page


def test_a_complete_one_owes_nothing_and_an_empty_one_says_so() -> None:
    (complete,) = texts(packing_list_pdf(replace(PACKING, owed=(), sent_incomplete="")))
    assert "OWED" not in complete
    assert "MISSING" not in complete
    (empty,) = texts(packing_list_pdf(replace(PACKING, parcels=())))
    assert "Nothing of this order is packed." in empty
    (hollow,) = texts(packing_list_pdf(replace(PACKING, parcels=(PackedParcel("K000311X", "Parcel 1", ()),))))
    assert "Nothing is in it." in hollow


def test_hundreds_of_pieces_run_on_over_the_pages_and_none_is_lost() -> None:
    pieces = tuple(replace(PACKED, tag=f"P{at:06d}Q", title=f"Strip number {at:03d}") for at in range(300))
    pdf = packing_list_pdf(replace(PACKING, parcels=(PackedParcel("K000311X", "Parcel 1 of 1, box", pieces),)))
    pages = texts(pdf)
    assert page_count(pdf) > 3
    said = " ".join(pages)
    assert all(f"P{at:06d}Q" in said and f"Strip number {at:03d}" in said for at in range(300))
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page
        assert "Packing list, order 1042" in page
        assert "tag piece what hand" in page
    assert_within_pages(pdf, 10.0)


def test_many_cars_are_listed_beneath_the_heading() -> None:
    cars = tuple(f"Plover Series 1, chassis {at:04d}" for at in range(120))
    pdf = packing_list_pdf(replace(PACKING, cars=cars))
    said = " ".join(texts(pdf))
    assert "120 cars, listed beneath" in said
    assert all(car in said for car in cars)
    assert_within_pages(pdf, 10.0)


@pytest.mark.parametrize(
    "text", [LONG, WORDLESS, HOSTILE, "\n" * 60], ids=["long", "one word", "hostile", "empty lines"]
)
def test_nothing_runs_over(text: str) -> None:
    paper = PackingListPaper(
        order=text,
        order_code="O001042W",
        customer=text,
        delivery=text,
        printed=text,
        parcels=(PackedParcel("K000311X", text, (PackedPiece(text, text, text, text, text),) * 3),),
        cars=(text, text),
        kits=text,
        sent_incomplete=text,
        owed=(text, text),
        not_packed=(text,),
    )
    pdf = packing_list_pdf(paper)
    assert_within_pages(pdf, 10.0)
    for picture in pictures(pdf, 72):
        assert ink_outside(picture, [(11.5, 10.0, 198.5, 287.0)], 72) == 0
    expected = [[code for code in ("O001042W", "K000311X") if code in page] for page in texts(pdf)]
    assert sorted(code for page in expected for code in page) == ["K000311X", "O001042W"]
    assert_reads_back(pdf, expected)


def test_a_hostile_name_is_printed_letter_by_letter() -> None:
    (page,) = texts(packing_list_pdf(replace(PACKING, customer=HOSTILE)))
    assert "<b>bold</b> [red]x[/red] &amp;" in page
    assert "\x1b" not in page


def test_a_code_that_no_barcode_holds_is_refused() -> None:
    with pytest.raises(PaperError, match="cannot be printed as a barcode"):
        packing_list_pdf(replace(PACKING, parcels=(PackedParcel("ő", "Parcel 1", ()),)))


def test_the_same_list_gives_the_same_bytes() -> None:
    assert packing_list_pdf(PACKING) == packing_list_pdf(PACKING)


def test_a_kit_tag_says_what_is_owed_and_only_then() -> None:
    sheet = load_sheet("a4-2x4-99x67")
    (plain,) = texts(tags_pdf([KIT], sheet))
    assert "OWED" not in plain
    (owing,) = texts(tags_pdf([replace(KIT, owed="1: right wheel arch cover")], sheet))
    assert "OWED" in owing
    assert "1: right wheel arch cover" in owing


def test_a_bundle_tag_says_whose_panels_and_how_many() -> None:
    (page,) = texts(tags_pdf([BUNDLE], load_sheet("a4-2x4-99x67")))
    for said in ("BUNDLE", "Full boot set", "order 1042", "Őrsi Katalin", "Plover Series 2", "7 pieces", "T000014Y"):
        assert said in page, said


@pytest.mark.parametrize("name", ["a4-2x4-99x67", "a4-3x7-63x38", "roll-100x50-203dpi"])
@pytest.mark.parametrize("text", [LONG, WORDLESS, HOSTILE], ids=["long", "one word", "hostile"])
def test_tags_of_kits_and_bundles_stay_in_their_labels(name: str, text: str) -> None:
    sheet = load_sheet(name)
    kit = KitTag("K000311X", text, text, text, text, text, text, text, text, text, text, text)
    bundle = replace(BUNDLE, kit=text, order=text, customer=text, car=text, contents=text, wanted=text)
    for tag in (kit, bundle):
        pdf = tags_pdf([tag], sheet)
        left, top = sheet.corner_mm(1)
        box = (left + 0.2, top + 0.2, left + sheet.label_width_mm - 0.2, top + sheet.label_height_mm - 0.2)
        (picture,) = pictures(pdf, 203)
        assert ink_outside(picture, [box], 203) == 0
        assert_reads_back(pdf, [[tag.code]])
