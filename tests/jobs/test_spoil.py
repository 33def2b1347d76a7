"""A spoilt panel: named, with why, cut again from the lot that its group has, or short of it in words."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.bundle import tie
from stockroom.jobs.change import cancel, set_quantity, set_wanted
from stockroom.jobs.pack import pack, unpack
from stockroom.jobs.pick import pick, put_back
from stockroom.jobs.reserve import approve_mix, reserve, reserve_what_there_is
from stockroom.jobs.show import show
from stockroom.jobs.spoil import spoil
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.store.database import Shop
from tests.jobs.workshop import cut_all, made_order, pick_all, piece_tag, taken_order
from tests.shops import (
    LATE,
    LATER,
    STAMP,
    TODAY,
    Stocked,
    bin_of,
    dump,
    line,
    load_files,
    look,
    order,
    roll,
    stock_shop,
)

HOOD = line("hood", choices={"window": "sewn"})


def hood_cut(shop: Shop, folder: Path, old_mm: int, new_mm: int = 0) -> str:
    """An order of a hood whose two panels are cut from lot 'old'; so much is then left of it, and of another lot."""
    stock_shop(shop, folder, roll("hood-cloth/fawn", 2000 + old_mm, "old"), roll("zip/fawn", 5000))
    number = taken_order(shop, HOOD)
    if new_mm:
        new = f"label,item,lot,length,place\nlate,hood-cloth/fawn,new,{new_mm},R1\n"
        load_files(shop, folder, {"rolls.csv": new})
    cut_all(shop, number)
    return number


def test_a_spoilt_panel_is_cut_again_from_the_lot_of_its_group(shop: Shop, tmp_path: Path) -> None:
    number = hood_cut(shop, tmp_path, 1500, 9000)
    tag = piece_tag(shop, number, "HL")
    done = spoil(shop, tag, "half", "the shears slipped", LATER)
    assert (done.order, done.tag, done.panel, done.item, done.lot) == (number, tag, "half", "hood-cloth/fawn", "old")
    assert [lot for _, _, lot in done.planned] == ["old"]
    assert (done.short, done.spoken_for) == ((), ())
    assert done.sentence.startswith(f"Panel half of Hood cover, left ({tag}) is to be cut again from roll R")
    assert look(shop, number).wholly_held
    (row,) = dump(shop)["spoilt"]
    assert row[3:6] == (1, "the shears slipped", "CD")
    assert row[7] == "old"
    assert "was spoilt: the shears slipped (CD" in ticket(shop, number, TODAY).history[-1]
    assert not audit(shop).faults
    cut_all(shop, number)
    assert look(shop, number).lots("hood-cloth/fawn") == set()
    assert not audit(shop).faults


def test_a_lot_that_is_used_up_leaves_the_order_short_though_there_is_another_lot(shop: Shop, tmp_path: Path) -> None:
    number = hood_cut(shop, tmp_path, 100, 9000)
    done = spoil(shop, piece_tag(shop, number, "HL"), "", "stained", STAMP)
    assert done.planned == ()
    assert done.spoken_for == ()
    assert len(done.short) == 1
    assert done.sentence.endswith("is short, and nobody else holds any.")
    assert not look(shop, number).wholly_held
    assert not audit(shop).faults


def curtains_cut(shop: Shop, folder: Path, *stocked: Stocked) -> tuple[str, str]:
    """An order of two side curtains, which are in no matching group, cut; and the tag of one."""
    stock_shop(shop, folder, *stocked)
    number = take(shop, order(line("side-curtains", measurements={"How high is the door top?": "0.5 m"})), STAMP).number
    reserve(shop, number, STAMP)
    cut_all(shop, number)
    return number, piece_tag(shop, number, "SC")


def test_what_matches_nothing_is_cut_again_from_its_lot_too_or_stays_short(shop: Shop, tmp_path: Path) -> None:
    number, tag = curtains_cut(shop, tmp_path, roll("hood-cloth/fawn", 3_100, "old"))
    other = taken_order(shop, line("tonneau", car=LATE))
    load_files(shop, tmp_path, {"rolls.csv": "label,item,lot,length,place\nmore,hood-cloth/fawn,new,3000,R1\n"})
    done = spoil(shop, tag, "", "torn", STAMP)
    assert (done.planned, done.spoken_for, done.would_mix) == ((), (other,), True)
    assert (
        "What was spoilt is cut again from lot old, and not enough of that is free: 1.00 m is needed." in done.short[0]
    )
    assert "short. It is spoken for: order" in done.sentence
    assert reserve_what_there_is(shop, number, LATER).short == done.short, "looked for again it still stays short"
    approve_mix(shop, number, "hood-cloth/fawn", "they hang on two doors", LATER)
    assert reserve(shop, number, LATER).short == ()
    assert look(shop, number).lots("hood-cloth/fawn") == {"new"}
    assert not audit(shop).faults


def test_a_group_all_of_which_was_spoilt_still_takes_its_lot(shop: Shop, tmp_path: Path) -> None:
    stock_shop(
        shop, tmp_path, roll("hood-cloth/fawn", 1_050, "old", remnant="yes"), roll("hood-cloth/fawn", 9_000, "new")
    )
    number = taken_order(shop, line("tonneau"))
    assert look(shop, number).lots("hood-cloth/fawn") == {"old"}
    cut_all(shop, number)
    done = spoil(shop, piece_tag(shop, number, "TN"), "", "torn", STAMP)
    assert done.planned == ()
    assert "It must match lot old" in done.short[0]
    load_files(shop, tmp_path, {"rolls.csv": "label,item,lot,length,place\nmore,hood-cloth/fawn,old,3000,R1\n"})
    assert reserve(shop, number, LATER).short == ()
    assert look(shop, number).lots("hood-cloth/fawn") == {"old"}


def test_orders_that_hold_the_rest_of_the_lot_are_named(shop: Shop, tmp_path: Path) -> None:
    number = hood_cut(shop, tmp_path, 1500)
    other = taken_order(shop, line("tonneau", car=LATE))
    done = spoil(shop, piece_tag(shop, number, "HR"), "half", "cut without its notch", STAMP)
    assert (done.planned, done.spoken_for) == ((), (other,))
    assert done.sentence.endswith(f"of dye lot old is short. It is spoken for: order {other}.")
    assert not audit(shop).faults


@pytest.mark.parametrize(
    ("panel", "because", "sentence"),
    [
        ("half", " ", "Say how the panel was spoilt"),
        ("half", "torn", r"Panel half of Hood cover, left \(P.*\) is not cut yet"),
        ("hlaf", "torn", "has no panel 'hlaf'. Say which is spoilt: half"),
    ],
)
def test_nothing_is_spoilt_that_is_not_cut_or_without_a_reason(
    shop: Shop, tmp_path: Path, panel: str, because: str, sentence: str
) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 9000))
    tag = piece_tag(shop, taken_order(shop, HOOD), "HL")
    before = dump(shop)
    with pytest.raises(Refusal, match=sentence):
        spoil(shop, tag, panel, because, STAMP)
    assert dump(shop) == before


def test_only_pieces_with_panels_are_spoilt(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 9000), bin_of("clip", 10))
    number = made_order(shop, line("header-rail"))
    with pytest.raises(Refusal, match=r"has no panels"):
        spoil(shop, piece_tag(shop, number, "RT"), "", "torn", STAMP)
    with pytest.raises(Refusal, match=r"is the tag of a order|is the tag of an order|Scan the tag of a piece"):
        spoil(shop, look(shop, number).order.tag, "", "torn", STAMP)


def test_a_packed_piece_is_unpacked_before_it_is_spoilt(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 9000))
    number = made_order(shop, HOOD)
    tag = piece_tag(shop, number, "HL")
    pack(shop, number, tag, STAMP)
    with pytest.raises(Refusal, match=r"is packed in parcel 1. Unpack it first"):
        spoil(shop, tag, "half", "stained", STAMP)
    unpack(shop, number, tag, STAMP)
    assert spoil(shop, tag, "half", "stained", STAMP).planned
    assert not audit(shop).faults


def test_the_other_copy_of_a_packed_piece_can_be_spoilt(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 9000))
    number = made_order(shop, line("tonneau", 2))
    first, second = (piece_tag(shop, number, "TN", copy) for copy in (1, 2))
    pack(shop, number, first, STAMP)
    spoil(shop, second, "cover", "stained", STAMP)
    with pytest.raises(Refusal, match=r"is not ready: panel cover of Hood cloth, fawn not cut yet"):
        pack(shop, number, second, STAMP)
    with pytest.raises(Refusal, match=r"Unpack it first"):
        spoil(shop, second, "cover", "stained again", STAMP)
    assert not audit(shop).faults


def test_a_bundle_says_which_of_its_panels_is_to_be_cut_again(shop: Shop, tmp_path: Path) -> None:
    number = hood_cut(shop, tmp_path, 1500)
    (bundle,) = tie(shop, number, STAMP).bundles
    tag = piece_tag(shop, number, "HR")
    spoil(shop, tag, "half", "sewn askew", LATER)
    assert {piece: words for piece, words in show(shop, bundle.tag).facts if "not ready" in words} == {
        tag: f"{show(shop, tag).title}: not ready; panel half of Hood cloth, fawn not cut yet"
    }
    assert not audit(shop).faults
    cut_all(shop, number)
    assert not any("not ready" in words for _, words in show(shop, bundle.tag).facts)


def test_a_made_bags_panel_is_spoilt_and_cut_again(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("leathercloth/red", 5000), bin_of("stud", 40), bin_of("tool-bag-blank", 1))
    number = made_order(shop, line("tool-bag", 2))
    done = spoil(shop, piece_tag(shop, number, "TB"), "body", "too short", STAMP)
    assert len(done.planned) == 1
    cut_all(shop, number)
    assert look(shop, number).wholly_held
    assert not audit(shop).faults


# --- what is begun is not changed ----------------------------------------------------------------------------------


def test_an_order_that_was_picked_or_cut_is_not_changed_but_may_be_wanted_later(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 9000), bin_of("clip", 10))
    number = taken_order(shop, line("header-rail"))
    pick_all(shop, number)
    before = dump(shop)
    with pytest.raises(Refusal, match=r"can no longer be changed. Put back what was picked first"):
        set_quantity(shop, number, 1, 2, STAMP)
    assert dump(shop) == before
    assert set_wanted(shop, number, TODAY, STAMP).what == (f"Wanted {TODAY.isoformat()}",)
    for tag in {one[1] for one in _picked(shop)}:
        put_back(shop, number, tag, STAMP)
    assert cancel(shop, number, STAMP).number == number
    assert not audit(shop).faults


def _picked(shop: Shop) -> list[tuple[int, str]]:
    tables = dump(shop)
    tag_of = {row[0]: row[2] for row in tables["holding"]}
    return [(row[0], tag_of[row[2]]) for row in tables["pick"]]


def test_what_is_in_a_packed_piece_is_not_put_back(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 9000), bin_of("clip", 10))
    number = made_order(shop, line("header-rail"))
    tag = piece_tag(shop, number, "RT")
    clips = next(tag for _, tag in _picked(shop) if tag.startswith("B"))
    pack(shop, number, tag, STAMP)
    before = dump(shop)
    with pytest.raises(Refusal, match=r"Header-rail trim \(P.*\) is packed in parcel 1. Unpack it first"):
        put_back(shop, number, clips, STAMP)
    assert dump(shop) == before
    unpack(shop, number, tag, STAMP)
    put_back(shop, number, clips, STAMP)
    pick(shop, number, clips, STAMP)
    assert pack(shop, number, tag, STAMP).changed_anything
    assert not audit(shop).faults
