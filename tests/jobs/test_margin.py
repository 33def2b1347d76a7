"""The stated margin: so much of an order's lot stays held beside it until it is packed, and a spoilt panel takes it."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.change import cancel
from stockroom.jobs.cut import cut, mark_flaw, measure
from stockroom.jobs.pack import close, pack, packing_list
from stockroom.jobs.reserve import Reserved, reserve, reserve_what_there_is
from stockroom.jobs.show import show
from stockroom.jobs.spoil import spoil
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.store import margins
from stockroom.store.database import Shop
from stockroom.store.margins import KeptMargin
from tests.jobs.workshop import cut_all, pick_all, piece_tag
from tests.shops import LATE, LATER, STAMP, TODAY, Stocked, dump, free, line, load_files, look, order, roll, stock_shop

HOOD = line("hood", choices={"window": "sewn"})
"""Two panels of a metre, in one matching group: they take `HOOD_MM`, with what is left between two panels."""
HOOD_MM = 2005
CLOTH = "hood-cloth/fawn"


def shop_with_margin(shop: Shop, folder: Path, *stocked: Stocked, margin: str = "1000") -> None:
    """The shop, with so much of hood cloth to be held as a margin."""
    stock_shop(shop, folder, *stocked, roll("zip/fawn", 5000))
    row = f"hood-cloth,Hood cloth,cloth,1500,yes,300,1,{margin}\n"
    load_files(
        shop, folder, {"cloths.csv": f"code,title,kind,width,nap,shortest_useful,colour_tolerance,margin\n{row}"}
    )


def taken(shop: Shop, kit: str = "hood") -> tuple[str, Reserved]:
    """An order that is taken, with what reserving it did."""
    lines = (HOOD,) if kit == "hood" else (line(kit, car=LATE),)
    number = take(shop, order(*lines), STAMP).number
    return number, reserve(shop, number, STAMP)


def margins_of(shop: Shop, number: str) -> list[KeptMargin]:
    """The margins of an order."""
    with shop.read() as tx:
        return margins.margins_of(tx, look(shop, number).order.id)


def test_so_much_of_the_lot_is_held_beside_what_is_planned(shop: Shop, tmp_path: Path) -> None:
    shop_with_margin(shop, tmp_path, roll(CLOTH, HOOD_MM + 3000, "old"))
    number, reserved = taken(shop)
    (margin,) = margins_of(shop, number)
    assert (margin.item, margin.lot, margin.from_mm, margin.to_mm) == (CLOTH, "old", 0, 1000)
    assert reserved.margins == (
        f"1.00 m of Hood cloth, fawn, lot old, is held on {margin.tag} as a margin until the order is packed.",
    )
    assert ticket(shop, number, TODAY).margins == reserved.margins
    assert free(shop, CLOTH) == 2000
    assert (
        f"1.00 m for order {number}, Ann Example, as a margin, from 0.00 m to 1.00 m" in show(shop, margin.tag).promises
    )
    assert not audit(shop).faults
    before = dump(shop)
    reserve(shop, number, STAMP)
    assert dump(shop) == before


def test_without_a_stated_margin_nothing_is_held_beside(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(CLOTH, HOOD_MM + 3000), roll("zip/fawn", 5000))
    number, reserved = taken(shop)
    assert (margins_of(shop, number), reserved.margins, free(shop, CLOTH)) == ([], (), 3000)


def test_no_margin_is_held_of_cloth_that_need_not_match(shop: Shop, tmp_path: Path) -> None:
    shop_with_margin(shop, tmp_path, roll(CLOTH, 5000))
    curtains = line("side-curtains", measurements={"How high is the door top?": "410 mm"})
    number = take(shop, order(curtains), STAMP).number
    assert reserve_what_there_is(shop, number, STAMP).held_now
    assert margins_of(shop, number) == []


@pytest.mark.parametrize(("left_mm", "held_mm"), [(900, 900), (300, 300), (299, 0), (0, 0)])
def test_a_margin_is_held_only_of_what_is_free_and_makes_no_order_short(
    shop: Shop, tmp_path: Path, left_mm: int, held_mm: int
) -> None:
    shop_with_margin(shop, tmp_path, roll(CLOTH, HOOD_MM + left_mm, "old"), roll(CLOTH, 1900, "new"))
    number, reserved = taken(shop)
    assert reserved.short == ()
    assert sum(one.to_mm - one.from_mm for one in margins_of(shop, number)) == held_mm
    assert not audit(shop).faults


def test_another_order_does_not_take_the_margin_and_is_told_who_has_it(shop: Shop, tmp_path: Path) -> None:
    shop_with_margin(shop, tmp_path, roll(CLOTH, HOOD_MM + 2000, "old"))
    first, _ = taken(shop)
    second, _ = taken(shop, "tonneau")
    assert margins_of(shop, second) == []
    third = take(shop, order(line("tonneau", car=LATE), customer="Tom Example"), STAMP).number
    with pytest.raises(Refusal, match="is short"):
        reserve(shop, third, STAMP)
    cut_all(shop, second)
    done = spoil(shop, piece_tag(shop, second, "TN"), "", "torn", STAMP)
    assert (done.planned, done.spoken_for) == ((), (first,))
    assert not audit(shop).faults


def test_a_spoilt_panel_is_cut_again_from_the_margin(shop: Shop, tmp_path: Path) -> None:
    shop_with_margin(shop, tmp_path, roll(CLOTH, HOOD_MM + 1000, "old"))
    number, _ = taken(shop)
    assert free(shop, CLOTH) == 0
    cut_all(shop, number)
    (margin,) = margins_of(shop, number)
    done = spoil(shop, piece_tag(shop, number, "HL"), "", "the shears slipped", LATER)
    assert (done.short, [tag for tag, _, _ in done.planned]) == ((), [margin.tag])
    assert margins_of(shop, number) == []
    assert not audit(shop).faults
    cut_all(shop, number)
    assert look(shop, number).wholly_held
    assert not audit(shop).faults


def test_where_there_is_more_of_the_lot_a_margin_is_held_again_after_a_spoilt_panel(shop: Shop, tmp_path: Path) -> None:
    shop_with_margin(shop, tmp_path, roll(CLOTH, HOOD_MM + 2000, "old"))
    number, _ = taken(shop)
    cut_all(shop, number)
    spoil(shop, piece_tag(shop, number, "HL"), "", "the shears slipped", LATER)
    (margin,) = margins_of(shop, number)
    assert (margin.to_mm - margin.from_mm, free(shop, CLOTH)) == (1000, 0)
    assert not audit(shop).faults


def test_the_margin_is_let_go_when_the_order_is_sent_or_cancelled(shop: Shop, tmp_path: Path) -> None:
    shop_with_margin(shop, tmp_path, roll(CLOTH, HOOD_MM + 6000, "old"))
    number, _ = taken(shop)
    other, _ = taken(shop, "tonneau")
    assert free(shop, CLOTH) == 3000
    cancel(shop, other, STAMP)
    assert (margins_of(shop, other), free(shop, CLOTH)) == ([], 5000)
    cut_all(shop, number)
    pick_all(shop, number)
    for piece in packing_list(shop, number).pieces:
        assert margins_of(shop, number)
        pack(shop, number, piece.tag, STAMP)
    close(shop, number, STAMP)
    assert (margins_of(shop, number), free(shop, CLOTH)) == ([], 6000)
    assert not audit(shop).faults


def test_a_short_rest_that_is_held_as_a_margin_is_not_scrapped(shop: Shop, tmp_path: Path) -> None:
    shop_with_margin(shop, tmp_path, roll(CLOTH, HOOD_MM + 250, "old"), margin="200")
    load_files(shop, tmp_path, {"cloths.csv": "code,title,kind,width,nap,shortest_useful,colour_tolerance,margin\n"
                                "hood-cloth,Hood cloth,cloth,1500,yes,200,1,200\n"})  # fmt: skip
    number, _ = taken(shop)
    load_files(shop, tmp_path, {"cloths.csv": "code,title,kind,width,nap,shortest_useful,colour_tolerance,margin\n"
                                "hood-cloth,Hood cloth,cloth,1500,yes,300,1,200\n"})  # fmt: skip
    (margin,) = margins_of(shop, number)
    cut_all(shop, number)
    assert margins_of(shop, number) == [margin]
    assert not audit(shop).faults


def test_a_cut_that_was_longer_than_planned_takes_the_margin_last_and_then_finds_it_elsewhere(
    shop: Shop, tmp_path: Path
) -> None:
    shop_with_margin(shop, tmp_path, roll(CLOTH, 3000, "old"))
    number, _ = taken(shop)
    (margin,) = margins_of(shop, number)
    more = f"label,item,lot,length,place\nlate,{CLOTH},old,4000,R1\n"
    load_files(shop, tmp_path, {"rolls.csv": more})
    cut(shop, number, margin.tag, STAMP, 2100)
    (now,) = margins_of(shop, number)
    assert (now.tag != margin.tag, now.to_mm - now.from_mm) == (True, 1000)
    assert not audit(shop).faults


def test_a_flaw_or_a_true_length_moves_the_margin_along_its_roll_or_lets_it_go(shop: Shop, tmp_path: Path) -> None:
    shop_with_margin(shop, tmp_path, roll(CLOTH, 5000, "old"))
    number, _ = taken(shop)
    (margin,) = margins_of(shop, number)
    mark_flaw(shop, margin.tag, 100, 150, "slub", STAMP)
    (moved,) = margins_of(shop, number)
    assert (moved.tag, moved.from_mm >= 150, moved.to_mm - moved.from_mm) == (margin.tag, True, 1000)
    assert not audit(shop).faults
    assert measure(shop, margin.tag, 2400, LATER).short == ()
    assert margins_of(shop, number) == []
    assert look(shop, number).wholly_held
    assert not audit(shop).faults
