"""Paper of the packing table: what it says is what is kept, and its barcodes open what they stand for."""

from __future__ import annotations

from pathlib import Path

import pytest

from labels import Tag, load_sheet, tags_pdf
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import make_tag
from stockroom.jobs.bundle import out, tie
from stockroom.jobs.change import cancel
from stockroom.jobs.claim_paper import claim
from stockroom.jobs.cut import cut, mark_flaw, measure
from stockroom.jobs.pack import close, close_incomplete, new_parcel, pack
from stockroom.jobs.pack import packing_list as listed
from stockroom.jobs.packing_paper import bundle_tags, kit_tags, packing_list
from stockroom.jobs.show import show
from stockroom.store import bill, stock
from stockroom.store.database import Shop
from tests.jobs.workshop import cut_all, made_order, piece_tag, taken_order
from tests.labels.reading import codes, texts
from tests.shops import LATE, LATER, STAMP, dump, line, load_files, look, roll, stock_shop

BOOT = line("boot-set")
HOOD = "hood-cloth/fawn"


def packed_order(shop: Shop, *left_out: str) -> str:
    """A boot set with everything packed in two parcels but these pieces; its number."""
    number = made_order(shop, BOOT)
    into = 1
    for piece in ("BSL", "BSR", "BF", ""):
        if piece not in left_out:
            pack(shop, number, piece_tag(shop, number, piece), STAMP, into)
        if into == 1:
            into = new_parcel(shop, number, "long parcel", STAMP).number
    return number


def page(pdf: bytes) -> str:
    """All the words of a paper."""
    return " ".join(texts(pdf))


def printed(tags: list[Tag]) -> str:
    """All the words of these tags."""
    return page(tags_pdf(tags, load_sheet("a4-2x4-99x67")))


def the_roll(shop: Shop, item: str) -> str:
    """The tag of the only roll of an item."""
    with shop.read() as tx:
        (found,) = stock.rolls_of(tx, item)
    return found.tag


def test_a_packing_list_says_which_piece_is_in_which_parcel_and_opens_them(full_shop: Shop) -> None:
    number = packed_order(full_shop)
    close(full_shop, number, STAMP)
    pdf = packing_list(full_shop, number, LATER)
    said = page(pdf)
    first, second = listed(full_shop, number).parcels
    order_tag = look(full_shop, number).order.tag
    assert codes(pdf, 300) == [sorted([order_tag, first.tag, second.tag])]
    left, right = (piece_tag(full_shop, number, piece) for piece in ("BSL", "BSR"))
    assert said.index("Parcel 1 of 2, box") < said.index(left) < said.index("Parcel 2 of 2, long parcel")
    assert said.index("Parcel 2 of 2, long parcel") < said.index(right)
    heading = ("Ann Example", "1 × Full boot set", "RP 1500", "CD, 2026-11-26 09:15", "for sending")
    for words in (*heading, "Boot side, left"):
        assert words in said, words
    assert "OWED" not in said
    assert "MISSING" not in said


def test_what_is_to_be_minded_in_the_post_stands_only_with_the_parcel_that_it_is_in(
    full_shop: Shop, tmp_path: Path
) -> None:
    number = packed_order(full_shop)
    with full_shop.read() as tx:
        needs = bill.requirements_of(tx, look(full_shop, number).order.id)
    item = next(one.requirement.item for one in needs if one.requirement.need == "count")
    before = page(packing_list(full_shop, number, STAMP))
    assert "POST" not in before
    load_files(
        full_shop, tmp_path, {"items.csv": f"code,kind,title,posting\n{item},hardware,Snap,Sharp: taped shut.\n"}
    )
    said = page(packing_list(full_shop, number, STAMP))
    assert said.count("Sharp: taped shut. The carrier's rules") == 1
    assert said.index("Parcel 2 of 2") < said.index("Sharp: taped shut."), "the packet is in the second"


def test_what_is_not_packed_yet_is_missing_and_what_was_not_sent_is_owed(full_shop: Shop) -> None:
    number = packed_order(full_shop, "BSR")
    right = piece_tag(full_shop, number, "BSR")
    before = page(packing_list(full_shop, number, STAMP))
    assert f"MISSING Boot side, right ({right}): not packed." in before
    assert "OWED" not in before
    close_incomplete(full_shop, number, "the customer cannot wait", LATER)
    after = page(packing_list(full_shop, number, STAMP))
    assert f"OWED Boot side, right ({right}): not packed." in after
    assert "Sent incomplete: the customer cannot wait (CD)." in after
    assert "MISSING" not in after


def test_an_order_of_which_nothing_is_packed_has_a_list_and_a_cancelled_one_has_none(full_shop: Shop) -> None:
    number = taken_order(full_shop, BOOT)
    assert "Nothing of this order is packed." in page(packing_list(full_shop, number, STAMP))
    cancel(full_shop, number, STAMP)
    for make in (lambda: packing_list(full_shop, number, STAMP), lambda: kit_tags(full_shop, number)):
        with pytest.raises(Refusal, match=r"is cancelled"):
            make()


def test_kit_tags_wait_until_the_order_is_complete(full_shop: Shop) -> None:
    number = packed_order(full_shop, "BSR")
    right = piece_tag(full_shop, number, "BSR")
    with pytest.raises(Refusal, match=rf"is not complete.*Boot side, right \({right}\): not packed"):
        kit_tags(full_shop, number)
    pack(full_shop, number, right, STAMP)
    first, second = kit_tags(full_shop, number)
    assert [first.code, second.code] == [one.tag for one in listed(full_shop, number).parcels]
    assert (first.title, first.order, first.car, first.owed) == ("Full boot set", number, "RP 1500", "")
    assert (first.contents, second.contents) == ("parcel 1 of 2, box: 2 pieces", "parcel 2 of 2, long parcel: 2 pieces")
    close(full_shop, number, STAMP)
    assert [one.code for one in kit_tags(full_shop, number)] == [first.code, second.code]


def test_kit_tags_of_an_order_that_was_sent_incomplete_say_what_is_owed(full_shop: Shop) -> None:
    number = packed_order(full_shop, "BSR")
    close_incomplete(full_shop, number, "the customer cannot wait", LATER)
    said = printed([*kit_tags(full_shop, number)])
    right = piece_tag(full_shop, number, "BSR")
    assert said.count(f"OWED 1: Boot side, right ({right}). See the packing list.") == 2


def test_a_kit_tag_names_three_that_are_owed_and_counts_the_others(full_shop: Shop) -> None:
    number = taken_order(full_shop, BOOT, line("tonneau"))
    cut_all(full_shop, number)
    pack(full_shop, number, piece_tag(full_shop, number, "BSL"), STAMP)
    close_incomplete(full_shop, number, "the customer cannot wait", LATER)
    (tag,) = kit_tags(full_shop, number)
    count = len(listed(full_shop, number).owed)
    assert count > 3
    assert tag.owed.startswith(f"{count}: ")
    assert tag.owed.endswith(f"and {count - 3} more. See the packing list.")
    assert tag.owed.count(";") == 3


def test_a_parcel_that_stayed_empty_is_not_counted(full_shop: Shop) -> None:
    number = made_order(full_shop, BOOT)
    pack(full_shop, number, piece_tag(full_shop, number, "BSL"), STAMP)
    new_parcel(full_shop, number, "box", STAMP)
    third = new_parcel(full_shop, number, "long parcel", STAMP).number
    for piece in ("BSR", "BF", ""):
        pack(full_shop, number, piece_tag(full_shop, number, piece), STAMP, third)
    close(full_shop, number, STAMP)
    assert [one.contents for one in kit_tags(full_shop, number)] == [
        "parcel 1 of 2, box: 1 piece",
        "parcel 2 of 2, long parcel: 3 pieces",
    ]


def test_a_kit_that_is_fitted_here_is_tagged_to_the_car(full_shop: Shop) -> None:
    number = made_order(full_shop, line("tonneau"), fitted_here=True)
    pack(full_shop, number, piece_tag(full_shop, number, "TN"), STAMP)
    (tag,) = kit_tags(full_shop, number)
    assert (tag.contents, tag.delivery) == ("parcel 1 of 1, to the car: 1 piece", "fitted here")


def test_bundle_tags_are_of_each_kit_and_open_the_bundle(full_shop: Shop) -> None:
    number = made_order(full_shop, line("tonneau", 2, car=LATE))
    with pytest.raises(Refusal, match=r"no bundles to tag.*tie"):
        bundle_tags(full_shop, number)
    tied = tie(full_shop, number, STAMP).bundles
    made = bundle_tags(full_shop, number)
    assert [one.code for one in made] == [one.tag for one in tied]
    assert [one.kit for one in made] == ["Tonneau cover, number 1", "Tonneau cover, number 2"]
    assert {(one.order, one.car, one.contents) for one in made} == {(number, "RP 3000", "1 piece")}
    (read,) = codes(tags_pdf(made, load_sheet("a4-3x7-63x38")), 300)
    assert read == sorted(one.tag for one in tied)


def test_a_bundle_tag_shows_where_the_bundle_is_since_when_and_what_is_in_it(full_shop: Shop) -> None:
    number = made_order(full_shop, BOOT)
    (bundle,) = tie(full_shop, number, STAMP).bundles
    shown = show(full_shop, bundle.tag)
    assert (shown.kind, shown.order, dict(shown.facts)["Where"]) == ("bundle", number, "at the bench")
    inside = {one for one in shown.facts if one[0] in {tag for tag, _ in bundle.pieces}}
    assert inside == {(tag, f"{title}: ready") for tag, title in bundle.pieces}
    out(full_shop, bundle.tag, "sewing", "Rosa", LATER)
    moved = dict(show(full_shop, bundle.tag.lower()).facts)
    assert (moved["Where"], moved["Since"]) == ("out: sewing (Rosa)", "2026-11-26 (CD)")
    with pytest.raises(Refusal, match="Nothing in this shop has the tag"):
        show(full_shop, make_tag("T", 999))


def test_a_kit_tag_shows_the_parcel_its_order_and_what_is_in_it(full_shop: Shop) -> None:
    number = packed_order(full_shop, "BSR", "BF", "")
    first, second = listed(full_shop, number).parcels
    shown = show(full_shop, first.tag)
    assert (shown.kind, shown.order) == ("parcel", number)
    assert shown.title == f"Parcel 1 of order {number}, box"
    assert (piece_tag(full_shop, number, "BSL"), "Boot side, left") in shown.facts
    assert dict(show(full_shop, second.tag).facts)["Pieces"] == "none"
    with pytest.raises(Refusal, match="Nothing in this shop has the tag"):
        show(full_shop, make_tag("K", 999))


# --- claims --------------------------------------------------------------------------------------------------------


def test_a_short_roll_is_claimed_with_the_length_it_came_in_with_and_the_length_found(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 10_000, "W7", measured="no"))
    tag = the_roll(shop, HOOD)
    number = taken_order(shop, line("tonneau"))
    cut(shop, number, tag, STAMP)
    measure(shop, tag, 8_400, LATER)
    before = dump(shop)
    pdf = claim(shop, tag.lower(), STAMP)
    assert dump(shop) == before
    assert codes(pdf, 300) == [[tag]]
    said = page(pdf)
    for words in (
        "Lindow Trim",
        "dye lot W7",
        "roll came marked roll-1",
        "length it came in with 10.00 m",
        "length found 9.40 m",
        "SHORT 0.60 m less than it came in with.",
        "0.60 m less than the books said, found by CD on 2026-11-26.",
        "AB, 2026-11-25 08:30",
    ):
        assert words in said, words
    assert "Flaws" not in said


def test_a_roll_that_turned_out_longer_again_is_claimed_for_what_is_missing_in_the_end(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 10_000))
    tag = the_roll(shop, HOOD)
    measure(shop, tag, 9_000, STAMP)
    measure(shop, tag, 9_700, LATER)
    said = page(claim(shop, tag, STAMP))
    assert "length found 9.70 m" in said
    assert "0.70 m more than the books said, found by CD" in said
    measure(shop, tag, 10_000, LATER)
    with pytest.raises(Refusal, match=r"^There is nothing to claim"):
        claim(shop, tag, STAMP)


def test_flaws_are_claimed_with_where_they_are_and_how_much_they_take(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 10_000, flaws="1200-1300 slub"))
    tag = the_roll(shop, HOOD)
    mark_flaw(shop, tag, 1_250, 1_400, "stain", LATER)
    said = page(claim(shop, tag, STAMP))
    for words in ("1.20 m to 1.30 m slub", "1.25 m to 1.40 m stain", "FLAWED 0.20 m in all."):
        assert words in said, words
    assert "SHORT" not in said


def test_nothing_is_claimed_for_a_whole_roll_a_remnant_or_what_is_no_roll(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 10_000), roll("carpet/red", 2_000, remnant="yes"))
    whole, remnant = the_roll(shop, HOOD), the_roll(shop, "carpet/red")
    with pytest.raises(Refusal, match=rf"^There is nothing to claim for roll {whole}"):
        claim(shop, whole, STAMP)
    measure(shop, remnant, 1_500, STAMP)
    with pytest.raises(Refusal, match=rf"^{remnant} is a remnant and has no flaw"):
        claim(shop, remnant, STAMP)
    with pytest.raises(Refusal, match="is no roll of this shop"):
        claim(shop, make_tag("R", 999), STAMP)
    with pytest.raises(Refusal, match="is no roll of this shop"):
        claim(shop, make_tag("B", 1), STAMP)


SUPPLIERS = "code,name,lead_days\nhollin,Hollin Cloth Mill,21\nmarsh-lane,Marsh Lane Carpets,14\n"
PURCHASES = f"reference,supplier,item,quantity,ordered,due\nP-07,marsh-lane,{HOOD},20 m,2026-10-01,2026-11-01\n"


@pytest.mark.parametrize(
    ("terms", "purchases", "label", "said"),
    [
        ("", "", "r-1", ("supplier not written down", "The books name no supplier of it.")),
        (f"hollin,{HOOD}\n", "", "r-1", ("supplier Hollin Cloth Mill", "only one in the books", "purchase not")),
        (
            f"hollin,{HOOD}\n", PURCHASES, "r-1",
            ("supplier not written down", "Hollin Cloth Mill and Marsh Lane Carpets", "is not kept"),
        ),
        (f"hollin,{HOOD}\n", PURCHASES, "P-07 roll 3", ("supplier Marsh Lane Carpets", "purchase P-07")),
        (f"hollin,{HOOD}\n", PURCHASES, "P-071", ("supplier not written down", "purchase not written down")),
    ],
    ids=["no supplier", "one supplier", "two suppliers", "the purchase on the label", "another purchase on the label"],
)  # fmt: skip
def test_the_supplier_is_named_where_the_books_leave_no_doubt(
    sqlite_shop: Shop, tmp_path: Path, terms: str, purchases: str, label: str, said: tuple[str, ...]
) -> None:
    stock_shop(sqlite_shop, tmp_path, roll(HOOD, 10_000, label=label, flaws="0-500 stain"))
    more = {"suppliers.csv": SUPPLIERS}
    if terms:
        more["terms.csv"] = f"supplier,item\n{terms}"
    if purchases:
        more["purchases.csv"] = purchases
    load_files(sqlite_shop, tmp_path, more)
    words = page(claim(sqlite_shop, the_roll(sqlite_shop, HOOD), STAMP))
    for one in said:
        assert one in words, words
