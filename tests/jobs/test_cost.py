"""What an order cost in materials: what was really taken, by roll and at the average, with the waste apart."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import func, select

from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.change import cancel
from stockroom.jobs.cost import Cost, cost
from stockroom.jobs.cut import cut
from stockroom.jobs.keep import keep
from stockroom.jobs.pick import pick, put_back
from stockroom.jobs.spoil import spoil
from stockroom.jobs.take import take
from stockroom.jobs.undo import last_of, undo
from stockroom.jobs.use import use
from stockroom.store import tables as t
from stockroom.store.database import Shop
from tests.jobs.workshop import cut_all, made_order, pick_all, piece_tag, take_all, taken_order
from tests.shops import LATER, STAMP, TODAY, Stocked, line, load_files, look, order, roll, stock_shop

HOOD = "hood-cloth/fawn"
STUDS = "item,lot,place,count,value\nstud,,B1,100,10.00\nclip,,B1,40,4.00\n"


def shop_with(shop: Shop, folder: Path, *stocked: Stocked) -> None:
    """These rolls; 100 studs at 0.10 and 40 clips at 0.10."""
    stock_shop(shop, folder, *stocked)
    load_files(shop, folder, {"bins.csv": STUDS})


def sums(found: Cost) -> tuple[int, int, int, int, int]:
    return found.taken_minor, found.spoilt_minor, found.scrap_bin_minor, found.held_minor, found.in_all_minor


def booked_out(shop: Shop, number: str) -> int:
    """What the ledger says went out for an order, less what came back."""
    with shop.read() as tx:
        m = t.Movement
        found = select(-func.sum(m.value_minor)).where(m.order_id == look(shop, number).order.id, m.kind != "made")
        return int(tx.execute(found).scalar_one())


def test_an_order_reckoned_by_hand(shop: Shop, tmp_path: Path) -> None:
    """A hood and two tonneau covers: 4 panels of 1 m with 5 mm between them, 4.015 m at 30.00.

    One of the four is spoilt, a quarter of 120.45, and cut again: 1 m at 30.00. What is left of the 5.20 m is too short
    to be useful: 0.185 m, 5.55, to the scrap bin. In all 10.20 m came in for 356.00: so 5.20 m are 181.49 at average.
    """
    shop_with(
        shop, tmp_path, roll(HOOD, 5_200, value="156.00"), roll(HOOD, 5_000, "2", value="200.00")
    )  # fmt: skip
    number = taken_order(shop, line("hood", choices={"window": "sewn"}), line("tonneau", 2))
    assert sums(cost(shop, number)) == (0, 0, 0, 120_45, 120_45)
    cut_all(shop, number)
    assert sums(cost(shop, number)) == (120_45, 0, 0, 0, 120_45)
    spoil(shop, piece_tag(shop, number, "HL"), "half", "the shears slipped", LATER)
    assert sums(cost(shop, number)) == (120_45, 30_11, 0, 30_00, 150_45)
    cut_all(shop, number)

    found = cost(shop, number)
    assert sums(found) == (156_00, 30_11, 5_55, 0, 156_00)
    assert found.average_minor == pytest.approx(181_49, abs=2)
    assert found.complete
    assert found.remarks == ()
    assert [(one.what, one.line, one.quantity, one.value_minor) for one in found.parts if one.what != "scrap bin"] == [
        ("used", 1, 2_004, 60_11),
        ("spoilt", 1, 1_004, 30_11),
        ("used", 2, 2_007, 60_23),
    ]
    first, second = cost(shop, number, 1), cost(shop, number, 2)
    assert first.taken_minor + second.taken_minor == 156_00
    assert second.of("spoilt") == ()
    assert booked_out(shop, number) + found.scrap_bin_minor == found.taken_minor
    assert audit(shop).faults == ()


def test_what_came_back_costs_nothing(shop: Shop, tmp_path: Path) -> None:
    """Five studs of 0.10 are picked, put back and picked again; then the picking is undone."""
    shop_with(shop, tmp_path, roll("carpet/red", 9_000, value="90.00"), roll("binding/red", 9_000, value="9.00"))
    number = taken_order(shop, line("boot-set"))
    tag = next(one.tag for one in look(shop, number).holds if one.item == "stud")
    pick(shop, number, tag, STAMP)
    put_back(shop, number, tag, STAMP)
    assert cost(shop, number).taken_minor == 0
    pick(shop, number, tag, LATER)
    found = cost(shop, number)
    assert found.taken_minor == booked_out(shop, number) == 50
    assert [(one.item, one.quantity) for one in found.of("came back")] == [("stud", 5)]
    whole = found.in_all_minor
    undo(shop, last_of(shop, "CD"), LATER)
    assert (cost(shop, number).taken_minor, cost(shop, number).in_all_minor) == (0, whole)
    take_all(shop, number)
    assert cost(shop, number).held_minor == 0
    assert booked_out(shop, number) == cost(shop, number).taken_minor


def test_a_finished_thing_brings_what_it_was_made_for(shop: Shop, tmp_path: Path) -> None:
    """A tonneau cover of 1 m at 30.00 is kept; the next order has it and costs 30.00, whatever cloth costs by then."""
    shop_with(shop, tmp_path, roll(HOOD, 3_000, value="90.00"))
    first = made_order(shop, line("tonneau"))
    cancel(shop, first, LATER)
    tag = keep(shop, piece_tag(shop, first, "TN"), "B2", LATER).tag
    assert (cost(shop, first).taken_minor, cost(shop, first).became_stock_minor) == (30_00, 30_00)

    second = take(shop, order(line("tonneau")), LATER).number
    use(shop, tag, second, LATER)
    found = cost(shop, second)
    assert sums(found) == (0, 0, 0, 30_00, 30_00)
    pick(shop, second, tag, LATER)
    found = cost(shop, second, 1)
    assert sums(found) == (30_00, 0, 0, 0, 30_00)
    assert [(one.tag, one.priced) for one in found.of("used")] == [(tag, True)]
    assert found.average_minor == 30_00


def test_rolls_without_a_price_are_named_and_never_nothing(shop: Shop, tmp_path: Path) -> None:
    """2.005 m from a roll nobody wrote a price for; a remnant of another lot, at 40.00 a metre, gives the average."""
    shop_with(shop, tmp_path, roll(HOOD, 3_000), roll(HOOD, 900, "2", value="36.00"))
    number = taken_order(shop, line("tonneau", 2))
    tag = look(shop, number).holds[0].tag
    for _ in range(2):
        found = cost(shop, number)
        assert found.in_all_minor == 0
        assert found.average_minor == 80_20
        assert not found.complete
        assert found.remarks == (f"2.005 m of Hood cloth, fawn ({HOOD}, {tag}) without a known price.",)
        cut_all(shop, number)


def test_what_is_short_or_waits_is_named(shop: Shop, tmp_path: Path) -> None:
    shop_with(shop, tmp_path, roll(HOOD, 1_000, value="30.00"))
    number = take(shop, order(line("tonneau", 3), line("hood")), STAMP).number
    with pytest.raises(Refusal):
        cost(shop, number, 3)
    with pytest.raises(Refusal, match="no order 'X-9'"):
        cost(shop, "X-9")
    found = cost(shop, number)
    assert not found.complete
    assert found.remarks[0] == f"Nothing is held yet for all of Hood cloth, fawn ({HOOD}): not reckoned."
    assert found.remarks[1:] == ("Line 2 waits for an answer: what hangs on it is not reckoned.",)
    assert cost(shop, number, 1).remarks == found.remarks[:1]


def test_what_was_really_cut_counts_and_every_part_comes_to_the_ledger(shop: Shop, tmp_path: Path) -> None:
    """1.10 m instead of 1 m of a roll at 30.01 a metre; odd prices are shared out among lines to the last penny."""
    shop_with(
        shop, tmp_path, roll(HOOD, 9_000, value="270.10"), roll("carpet/red", 9_000, value="100.01"),
        roll("binding/red", 9_000, value="9.99"), roll("leathercloth/red", 9_000, value="77.77"),
    )  # fmt: skip
    number = taken_order(shop, line("tonneau"), line("touring", 2), line("boot-set"), wanted=TODAY + timedelta(days=9))
    cut(shop, number, next(one.tag for one in look(shop, number).holds if one.item == HOOD), STAMP, cut_mm=1_100)
    cut_all(shop, number)
    pick_all(shop, number)
    found = cost(shop, number)
    assert [one.quantity for one in found.of("used") if one.item == HOOD] == [1_100]
    assert found.taken_minor == booked_out(shop, number) + found.scrap_bin_minor
    assert sum(cost(shop, number, one).taken_minor for one in (1, 2, 3)) == found.taken_minor
    assert 2 * cost(shop, number, 3).taken_minor < cost(shop, number, 2).taken_minor
