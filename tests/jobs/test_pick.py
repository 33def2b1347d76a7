"""Picking: what is held is taken once, from the right lot, and may be put back."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.cut import cut
from stockroom.jobs.other_stock import AnotherLot
from stockroom.jobs.pick import pick, pick_mixed, pick_short, put_back, walk
from stockroom.jobs.rail import rail
from stockroom.jobs.reserve import reserve, reserve_what_there_is
from stockroom.jobs.show import show
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.store import stock
from stockroom.store.database import Shop
from tests.shops import (
    EARLY,
    LATER,
    STAMP,
    TODAY,
    Stocked,
    bin_of,
    changed_tables,
    dump,
    free,
    line,
    look,
    order,
    plenty,
    roll,
    stock_shop,
)


def held(shop: Shop, tmp_path: Path, *stocked: Stocked, kit: str = "boot-set", **choices: str) -> str:
    """The number of an order that holds what it needs of this stock."""
    stock_shop(shop, tmp_path, *stocked)
    number = take(shop, order(line(kit, choices=choices)), STAMP).number
    reserve(shop, number, STAMP)
    return number


def tag_of(shop: Shop, number: str, item: str) -> str:
    """Tag of what an order holds of an item."""
    return next(stop.tag for stop in walk(shop, [number]).stops if stop.item == item)


def tags_of(shop: Shop, item: str) -> list[str]:
    """Tags of everything there is of an item, in the order of the shelves."""
    with shop.read() as tx:
        return [one.tag for one in stock.rolls_of(tx, item)] + [one.tag for one in stock.bins_of(tx, item)]


def test_the_walk_leads_from_place_to_place(shop: Shop, tmp_path: Path) -> None:
    number = held(shop, tmp_path, *plenty())
    stops = walk(shop, [number]).stops
    assert [stop.walk for stop in stops] == sorted(stop.walk for stop in stops)
    assert {stop.how for stop in stops if stop.item.startswith("carpet")} == {"cut"}
    assert {stop.how for stop in stops if stop.item == "stud"} == {"pick"}


def test_several_orders_go_in_one_walk(shop: Shop, tmp_path: Path) -> None:
    first = held(shop, tmp_path, *plenty())
    second = take(shop, order(line("tonneau")), STAMP).number
    reserve(shop, second, STAMP)
    found = walk(shop, [first, second, first])
    assert found.orders == (first, second)
    assert {stop.order for stop in found.stops} == {first, second}


def test_a_line_that_waits_is_shown_and_not_picked(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, *plenty())
    number = take(shop, order(line("jack-bag"), line("tonneau")), STAMP).number
    reserve(shop, number, STAMP)
    found = walk(shop, [number])
    assert [sentence for sentence in found.waiting if "bag-length" in sentence]
    assert {stop.item for stop in found.stops} == {"hood-cloth/fawn"}


def test_a_scan_takes_what_is_held_and_books_it_out(shop: Shop, tmp_path: Path) -> None:
    number = held(shop, tmp_path, *plenty())
    tag = tag_of(shop, number, "stud")
    before = free(shop, "stud")
    done = pick(shop, number, tag, LATER)
    assert done.changed_anything
    assert "5 of Stud" in done.sentence
    assert free(shop, "stud") == before, "what was free is still free: only what was promised has gone"
    assert look(shop, number).held("stud") == 0
    assert audit(shop).faults == ()


def test_what_was_picked_still_counts_as_held(shop: Shop, tmp_path: Path) -> None:
    number = held(shop, tmp_path, *plenty())
    pick(shop, number, tag_of(shop, number, "stud"), LATER)
    (entry,) = rail(shop, TODAY)
    assert (entry.ready, entry.held) == ("held", entry.needed)
    assert reserve(shop, number, LATER).held_now == 0


def test_scanning_twice_does_no_harm_and_says_so(shop: Shop, tmp_path: Path) -> None:
    number = held(shop, tmp_path, *plenty())
    tag = tag_of(shop, number, "stud")
    pick(shop, number, tag, STAMP)
    before = dump(shop)
    again = pick(shop, number, tag, LATER)
    assert not again.changed_anything
    assert "already (AB)" in again.sentence
    assert changed_tables(before, dump(shop)) == set()


def test_a_roll_to_be_cut_is_the_right_roll_and_nothing_is_booked(shop: Shop, tmp_path: Path) -> None:
    number = held(shop, tmp_path, *plenty())
    before = dump(shop)
    done = pick(shop, number, tag_of(shop, number, "carpet/red"), LATER)
    assert "right roll" in done.sentence
    assert changed_tables(before, dump(shop)) == set()


def test_another_reel_of_the_same_lot_will_do_and_the_reservation_moves(shop: Shop, tmp_path: Path) -> None:
    number = held(
        shop, tmp_path, *plenty()[:4], roll("binding/red", 9_000), roll("binding/red", 8_000), bin_of("stud", 9)
    )
    planned = tag_of(shop, number, "binding/red")
    other = next(tag for tag in tags_of(shop, "binding/red") if tag != planned)
    amount = look(shop, number).held("binding/red")
    done = pick(shop, number, other, LATER)
    assert done.tag == other
    assert look(shop, number).held("binding/red") == 0
    assert free(shop, "binding/red") == 17_000 - amount
    assert audit(shop).faults == ()


def test_another_lot_is_refused_where_the_pieces_are_seen_together(shop: Shop, tmp_path: Path) -> None:
    number = held(
        shop,
        tmp_path,
        *plenty()[:4],
        roll("binding/red", 9_000, "1"),
        roll("binding/red", 8_000, "2"),
        bin_of("stud", 9),
    )
    planned = tag_of(shop, number, "binding/red")
    other = next(tag for tag in tags_of(shop, "binding/red") if tag != planned)
    before = dump(shop)
    with pytest.raises(Refusal, match="what is seen together comes from one lot"):
        pick(shop, number, other, LATER)
    assert changed_tables(before, dump(shop)) == set()
    assert pick_mixed(shop, number, other, "the edge lies under the lid", LATER).changed_anything
    assert audit(shop).faults == ()


def test_what_the_order_does_not_need_goes_back(shop: Shop, tmp_path: Path) -> None:
    number = held(shop, tmp_path, *plenty())
    with pytest.raises(Refusal, match="Put it back"):
        pick(shop, number, tags_of(shop, "clip")[0], LATER)
    with pytest.raises(Refusal, match="check character"):
        pick(shop, number, "B1X", LATER)
    with pytest.raises(Refusal, match="no roll, reel or bin"):
        pick(shop, number, look(shop, number).order.tag, LATER)


def test_a_short_pick_takes_what_there_is_and_leaves_the_order_short(shop: Shop, tmp_path: Path) -> None:
    number = held(shop, tmp_path, *plenty()[:6], bin_of("stud", 9))
    done = pick_short(shop, number, tag_of(shop, number, "stud"), 3, LATER)
    assert "2 short" in done.sentence
    (entry,) = rail(shop, TODAY)
    assert entry.ready == "short"
    found = look(shop, number)
    assert not found.wholly_held
    (shortage,) = [one for one in found.shortages if one.item == "stud"]
    assert shortage.missing == 2
    assert ("Short", shortage.sentence) in show(shop, number).facts
    assert audit(shop).faults == ()


def test_no_more_is_taken_than_is_held(shop: Shop, tmp_path: Path) -> None:
    number = held(shop, tmp_path, *plenty())
    with pytest.raises(Refusal, match="not more"):
        pick_short(shop, number, tag_of(shop, number, "stud"), 50, LATER)
    with pytest.raises(Refusal, match="0 or more"):
        pick_short(shop, number, tag_of(shop, number, "stud"), -1, LATER)


def test_what_was_picked_may_be_put_back_and_is_still_held_for_the_order(shop: Shop, tmp_path: Path) -> None:
    number = held(shop, tmp_path, *plenty())
    tag = tag_of(shop, number, "stud")
    before = look(shop, number)
    pick(shop, number, tag, STAMP)
    put_back(shop, number, tag, LATER)
    after = look(shop, number)
    assert after.held("stud") == before.held("stud")
    assert after.wholly_held
    assert audit(shop).faults == ()
    with pytest.raises(Refusal, match="Nothing was picked"):
        put_back(shop, number, tag, LATER)


def test_what_is_picked_binds_the_lot_of_the_cars_next_order(shop: Shop, tmp_path: Path) -> None:
    number = held(
        shop,
        tmp_path,
        *plenty()[:4],
        roll("binding/red", 4_000, "1"),
        roll("binding/red", 9_000, "2"),
        bin_of("stud", 20),
    )
    tag = tag_of(shop, number, "binding/red")
    (lot,) = look(shop, number).lots("binding/red")
    pick(shop, number, tag, STAMP)
    again = take(shop, order(line("boot-set"), cars=(EARLY,), number="again"), STAMP).number
    reserve_what_there_is(shop, again, STAMP)
    assert look(shop, again).lots("binding/red") <= {lot}


# Rolls


def tonneau(shop: Shop, tmp_path: Path, *hood: Stocked) -> tuple[str, str, list[str]]:
    """An order that holds 1 m of hood cloth; the tag of its roll, and those of the other rolls."""
    number = held(shop, tmp_path, *hood, kit="tonneau")
    planned = tag_of(shop, number, "hood-cloth/fawn")
    return number, planned, [tag for tag in tags_of(shop, "hood-cloth/fawn") if tag != planned]


def test_another_roll_of_the_lot_has_the_cut_planned_on_it_when_it_is_scanned(shop: Shop, tmp_path: Path) -> None:
    number, planned, (other,) = tonneau(shop, tmp_path, roll("hood-cloth/fawn", 9_000), roll("hood-cloth/fawn", 9_500))
    done = pick(shop, number, other, LATER)
    assert (done.tag, done.changed_anything, done.to_cut, done.left) == (other, True, True, 1)
    assert f"{other} will do too: it was planned on {planned} in R1, and is planned on {other} now." in done.sentence
    assert tag_of(shop, number, "hood-cloth/fawn") == other
    assert free(shop, "hood-cloth/fawn") == 17_500
    assert dump(shop)["job"][-1][1] == f"plan a cut for order {number} on {other}, which was scanned"
    again = pick(shop, number, other, STAMP)
    assert (again.changed_anything, again.to_cut) == (False, True), "scanned again it is the right roll"
    assert audit(shop).faults == ()


def test_only_the_cut_that_moves_leaves_its_roll(shop: Shop, tmp_path: Path) -> None:
    short = (roll("hood-cloth/fawn", length, remnant="yes") for length in (1_050, 1_060))
    stock_shop(shop, tmp_path, *short, roll("hood-cloth/fawn", 6_000))
    number = take(shop, order(line("tonneau", 2)), STAMP).number
    reserve(shop, number, STAMP)
    before = {stop.tag: (stop.from_mm, stop.to_mm) for stop in walk(shop, [number]).stops}
    assert len(before) == 2, "one on each remnant"
    (other,) = [tag for tag in tags_of(shop, "hood-cloth/fawn") if tag not in before]
    pick(shop, number, other, LATER)
    after = {stop.tag: (stop.from_mm, stop.to_mm) for stop in walk(shop, [number]).stops}
    assert len(after) == 2
    assert {tag: after[tag] for tag in after if tag != other}.items() <= before.items()
    assert look(shop, number).wholly_held
    assert audit(shop).faults == ()


def test_a_bags_own_cut_moves_to_another_roll_too(shop: Shop, tmp_path: Path) -> None:
    number = held(
        shop,
        tmp_path,
        roll("leathercloth/red", 900),
        roll("leathercloth/red", 4_000),
        bin_of("stud", 9),
        kit="tool-bag",
    )
    planned = tag_of(shop, number, "leathercloth/red")
    (other,) = [tag for tag in tags_of(shop, "leathercloth/red") if tag != planned]
    assert pick(shop, number, other, LATER).to_cut
    assert tag_of(shop, number, "leathercloth/red") == other
    assert look(shop, number).wholly_held
    assert audit(shop).faults == ()


def test_a_roll_that_the_panels_do_not_go_on_is_refused_at_the_scan(shop: Shop, tmp_path: Path) -> None:
    number, planned, (other,) = tonneau(shop, tmp_path, roll("hood-cloth/fawn", 9_000), roll("hood-cloth/fawn", 800))
    before = dump(shop)
    with pytest.raises(Refusal, match=f"do not go on what is free of {other}. They are planned on roll {planned}"):
        pick(shop, number, other, LATER)
    assert changed_tables(before, dump(shop)) == set()


def test_another_lot_or_colour_of_roll_is_refused_and_a_mix_is_approved_only_for_the_lot(
    shop: Shop, tmp_path: Path
) -> None:
    number, planned, (other,) = tonneau(
        shop,
        tmp_path,
        roll("hood-cloth/fawn", 9_000, "1"),
        roll("hood-cloth/fawn", 9_500, "2"),
        roll("hood-cloth/black", 9_000, "1"),
    )
    (black,) = tags_of(shop, "hood-cloth/black")
    before = dump(shop)
    with pytest.raises(AnotherLot, match=f"{other} is dye lot .; order {number} holds dye lot ."):
        pick(shop, number, other, LATER)
    with pytest.raises(Refusal, match="needs something else from there"):
        pick_mixed(shop, number, black, "nobody will see it", LATER)
    with pytest.raises(Refusal, match="approved with a reason"):
        pick_mixed(shop, number, other, " ", LATER)
    assert changed_tables(before, dump(shop)) == set()
    assert pick_mixed(shop, number, planned, "just in case", LATER).to_cut
    assert dump(shop)["mix_approval"] == [], "the lot that is held needs no approval"
    assert pick_mixed(shop, number, other, "it lies alone on the car", LATER).to_cut
    (approved,) = dump(shop)["mix_approval"]
    assert approved[2:5] == ("hood-cloth/fawn", "it lies alone on the car", "CD")
    assert "A mix of lots of hood-cloth/fawn was approved" in ticket(shop, number, TODAY).history[-1]
    assert tag_of(shop, number, "hood-cloth/fawn") == other
    assert audit(shop).faults == ()


def test_a_scan_of_a_lot_that_does_not_match_what_is_held_is_refused_whoever_would_approve_it(
    shop: Shop, tmp_path: Path
) -> None:
    """A car's hood is held in lot 1. Lot 2 matches it, lot 3 matches lot 2 but not lot 1, and a chain is no match."""
    hood = "hood-cloth/fawn"
    lots = {"1": 62.0, "2": 63.0, "3": 64.0}
    read = (roll(hood, 9_000, lot, L=str(grey), a="4", b="17") for lot, grey in lots.items())
    held(shop, tmp_path, *read, bin_of("clip", 20), kit="hood", window="sewn")
    number = take(shop, order(line("tonneau"), line("tonneau", 1)), STAMP).number
    reserve(shop, number, STAMP)
    first, second, third = (tag_of_lot(shop, hood, lot) for lot in lots)
    with pytest.raises(AnotherLot, match=r"comes from one lot\. Lot 2 beside lot 1: matches; ΔE00 is 0\.\d\d; "):
        pick(shop, number, second, LATER)
    before = dump(shop)
    with pytest.raises(
        Refusal, match=f"nobody can approve that for .* Lot 3 beside lot 1: does not .* Take {first} in"
    ):
        pick_mixed(shop, number, third, "nobody will see it", LATER)
    assert changed_tables(before, dump(shop)) == set()
    assert pick_mixed(shop, number, second, "seen by daylight", LATER).to_cut
    assert look(shop, number).lots(hood) == {"2"}
    assert "A mix of lots of hood-cloth/fawn was approved, lot 1 and lot 2" in ticket(shop, number, TODAY).history[-1]
    assert audit(shop).faults == ()


def tag_of_lot(shop: Shop, item: str, lot: str) -> str:
    """Tag of the roll of a lot."""
    with shop.read() as tx:
        return next(one.tag for one in stock.rolls_of(tx, item) if one.lot == lot)


def test_a_roll_that_was_cut_says_so_when_it_is_scanned_again(shop: Shop, tmp_path: Path) -> None:
    number, planned, _ = tonneau(shop, tmp_path, roll("hood-cloth/fawn", 9_000))
    cut(shop, number, planned, STAMP)
    before = dump(shop)
    done = pick(shop, number, planned, LATER)
    assert done.sentence == f"1.00 m of Hood cloth, fawn was cut from {planned} already (AB). Nothing is taken again."
    assert walk(shop, [number]).done == (f"1.00 m of Hood cloth, fawn cut from {planned} (AB)",)
    assert changed_tables(before, dump(shop)) == set()


def test_a_second_scan_takes_nothing_of_what_is_held_in_another_bin(shop: Shop, tmp_path: Path) -> None:
    number = held(shop, tmp_path, *plenty()[:6], bin_of("stud", 3), bin_of("stud", 9, place="B2"))
    first, second = (stop.tag for stop in walk(shop, [number]).stops if stop.item == "stud")
    pick(shop, number, second, STAMP)
    before = dump(shop)
    again = pick(shop, number, second, LATER)
    assert not again.changed_anything
    assert f"more of it is held in {first} (B1)." in again.sentence
    assert changed_tables(before, dump(shop)) == set()
