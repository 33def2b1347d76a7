"""Match to what went out: what an order, a piece or a car shows of its lots, and an order that asks to match them.

A tonneau cover takes one metre of hood cloth. ΔE00 of two fawns that differ in L* alone is a little less than their L*.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.jobs.change import set_match
from stockroom.jobs.match_order import match_named, match_order
from stockroom.jobs.other_stock import AnotherLot
from stockroom.jobs.pick import pick, pick_mixed
from stockroom.jobs.reserve import reserve, reserve_all
from stockroom.jobs.show import show
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.jobs.undo import done, undo
from stockroom.store import stock
from stockroom.store.database import Shop
from tests.jobs.workshop import made_order, piece_tag, taken_order
from tests.shops import LATE, LATER, SECOND, STAMP, TODAY, _csv, line, load_files, look, order, roll, stock_shop

HOOD = "hood-cloth/fawn"


def fawn(lightness: float) -> dict[str, object]:
    """Columns of a reading that differs from others in L* alone."""
    return {"L": lightness, "a": 4, "b": 17, "illuminant": "D65", "observer": 10}


LOTS = {"far": (9_000, 67.0), "nearest": (1_500, 64.3), "near": (5_000, 64.8)}
"""Lot → how long its roll is, and how light."""


def comes_in(shop: Shop, folder: Path, *lots: str) -> None:
    """Rolls of these lots."""
    rows = [{"label": f"new-{lot}", **roll(HOOD, LOTS[lot][0], lot, **fawn(LOTS[lot][1])).row} for lot in lots]
    load_files(shop, folder, {"rolls.csv": _csv(rows)})


def goes_out(shop: Shop, folder: Path, length_mm: int) -> None:
    """All the hood cloth there is is of lot A, so long; a tonneau cover of it goes out as L-1."""
    stock_shop(shop, folder, roll(HOOD, length_mm, "A", **fawn(64)))
    made_order(shop, line("tonneau"), number="L-1")


def test_an_order_a_piece_and_a_car_show_the_lots_that_went_into_them_and_what_matches_those(
    shop: Shop, tmp_path: Path
) -> None:
    goes_out(shop, tmp_path, 2_000)
    comes_in(shop, tmp_path, *LOTS)
    piece, car = piece_tag(shop, "L-1", "TN"), "RP 1500"
    for asked in ("L-1", "l-1", piece.lower(), car, "rp1500"):
        (group,) = match_named(shop, asked).groups
        assert (group.car, group.group, group.item) == (car, "top", HOOD)
        assert [(one.lot, one.how.split(",")[0]) for one in group.must_match] == [("A", "cut for order L-1")]
        assert group.must_match[0].shade is not None, "what was read of it is shown"
        assert [one.lot for one in group.rolls] == ["A", "nearest", "near", "far"]
        assert [one.words for one in group.rolls] == ["same lot", "matches", "matches", "does not match"]
    for named in ("L-1", piece):
        assert ("Lots", f"{HOOD}: lot A (L* 64, a* 4, b* 17 under D65/10°)") in show(shop, named).facts
    taken_order(shop, line("tonneau", car=LATE, match="L-1"), number="L-2")
    assert match_order(shop, "L-1").groups[0].lots == ("A",), "other cars do not count"
    (other,) = match_named(shop, "RP 3000").groups
    assert [one.how for one in other.must_match] != [one.how for one in group.must_match]
    with pytest.raises(Refusal, match="Nothing here is called 'L-9'"):
        match_named(shop, "L-9")


def test_an_order_that_asks_for_it_gets_the_lot_that_went_out_then_the_nearest_that_matches(
    shop: Shop, tmp_path: Path
) -> None:
    goes_out(shop, tmp_path, 2_000)
    comes_in(shop, tmp_path, *LOTS)
    taken_order(shop, line("tonneau", car=LATE, match="l-1"), number="L-2")
    assert look(shop, "L-2").lots(HOOD) == {"A"}, "stock of that very lot first, though others have more"
    assert any("match what went out with L-1" in words for words in ticket(shop, "L-2", TODAY).lines[0].changes)
    taken_order(shop, line("tonneau", car=SECOND, match="RP 1500"), number="L-3")
    assert look(shop, "L-3").lots(HOOD) == {"nearest"}, "no A is left: the nearest of those that match it"
    with shop.read() as tx:
        tags = {one.lot: one.tag for one in stock.rolls_of(tx, HOOD)}
    with pytest.raises(AnotherLot, match="Lot near beside lot A: matches; ΔE00 is 0"):
        pick(shop, "L-3", tags["near"], LATER)
    with pytest.raises(Refusal, match=r"nobody can approve that for order L-3\. Lot far beside lot A: does not match"):
        pick_mixed(shop, "L-3", tags["far"], "nobody will see it", LATER)


def test_a_shortage_says_how_far_the_nearest_is_and_the_wish_is_changed_and_taken_back(
    shop: Shop, tmp_path: Path
) -> None:
    goes_out(shop, tmp_path, 1_000)
    comes_in(shop, tmp_path, "far")
    take(shop, order(line("tonneau", car=LATE), number="L-2"), STAMP)
    set_match(shop, "L-2", 1, piece_tag(shop, "L-1", "TN"), LATER)
    (short,) = reserve_all(shop, "L-2", STAMP).short
    assert "It must match lot A, which went out before: nothing of it is free" in short
    assert "Lot far beside lot A: does not match; ΔE00 is 2.45" in short
    set_match(shop, "L-2", 1, "nothing", LATER)
    assert not look(shop, "L-2").order.lines[0].request.match
    undo(shop, done(shop, 1)[0].number, LATER)
    assert reserve_all(shop, "L-2", LATER).short, "it is to match again"
    set_match(shop, "L-2", 1, "nothing", LATER)
    reserve(shop, "L-2", LATER)
    assert look(shop, "L-2").lots(HOOD) == {"far"}


def test_what_cannot_be_matched_is_refused_by_what_is_wrong_with_it(shop: Shop, tmp_path: Path) -> None:
    goes_out(shop, tmp_path, 1_000)
    with pytest.raises(Refusal, match="There is no order 'L-7'"):
        take(shop, order(line("tonneau", car=SECOND, match="L-7")), STAMP)
    take(shop, order(line("tonneau", car=SECOND), number="L-5"), STAMP)
    with pytest.raises(Refusal, match="No cloth is held for order L-5"):
        take(shop, order(line("tonneau", car=SECOND, match="L-5")), STAMP)
    with pytest.raises(Refusal, match="cannot be told to match itself"):
        set_match(shop, "L-5", 1, "l-5", LATER)
    with pytest.raises(Refusal, match="has no line 2"):
        set_match(shop, "L-5", 2, "L-1", LATER)
