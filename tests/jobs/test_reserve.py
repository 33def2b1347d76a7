"""Reserving: nothing promised twice, one lot for what is seen together, remnants first, all or nothing unless asked."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from stockroom.domain.catalogue import OpeningBin, OpeningRoll
from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.rail import rail
from stockroom.jobs.reserve import ProposedMix, approve_mix, reserve, reserve_all, reserve_what_there_is
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.store import ledger, stock
from stockroom.store.database import Shop
from stockroom.store.ledger import Entry
from stockroom.store.tables import MixApproval
from tests.databases import count_statements
from tests.shops import (
    EARLY,
    LATE,
    LATER,
    PLENTY,
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
    roll,
    stock_shop,
)

HOOD = "hood-cloth/fawn"
SEWN = {"window": "sewn"}


def ordered(shop: Shop, kit: str, quantity: int = 1, **more: Any) -> str:
    """The number of a new order of one line."""
    number = str(more.pop("number", ""))
    return take(shop, order(line(kit, quantity, **more), number=number), STAMP).number


def receive(shop: Shop, *things: OpeningRoll | OpeningBin) -> None:
    """More stock comes in."""
    with shop.write() as tx:
        job = ledger.begin_job(tx, "receive", LATER)
        stock.write_rolls(tx, job, LATER, [one for one in things if isinstance(one, OpeningRoll)])
        stock.write_bins(tx, job, LATER, [one for one in things if isinstance(one, OpeningBin)])


def fresh_roll(label: str, item: str, length_mm: int, lot: str = "1") -> OpeningRoll:
    return OpeningRoll(label, item, lot, length_mm, 1500, "R1", True, False, 0)


# --- all or nothing ------------------------------------------------------------------------------------------------


SHORT_OF_HOOD: tuple[Stocked, ...] = (
    roll("carpet/red", PLENTY),
    roll("binding/red", PLENTY),
    bin_of("stud", 40),
    roll(HOOD, 1500),
)


def test_a_reservation_that_fails_holds_nothing_and_writes_down_only_what_is_short(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, *SHORT_OF_HOOD)
    number = take(shop, order(line("boot-set"), line("tonneau", 2)), STAMP).number
    before = dump(shop)
    with pytest.raises(Refusal, match=rf"^Order {number} is short, so nothing more was held for it: Hood cloth, fawn"):
        reserve(shop, number, STAMP)
    assert changed_tables(before, dump(shop)) == {"shortage"}
    assert look(shop, number).holds == ()
    (short,) = look(shop, number).shortages
    assert (short.item, short.missing, short.group) == (HOOD, 1000, "top")
    assert [one.short for one in rail(shop, TODAY)] == [("Hood cloth, fawn: 1.00 m",)]
    assert not audit(shop).faults


def test_every_shortage_is_named_by_the_refusal(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, bin_of("stud", 3))
    number = ordered(shop, "boot-set")
    with pytest.raises(Refusal) as refused:
        reserve(shop, number, STAMP)
    assert "Boot carpet, red: Nothing of it is free; 1.105 m are needed. (and 2 more)" in str(refused.value)
    assert refused.value.faults[:2] == (
        "Edge binding, red: Nothing of it is free; 1.68 m are needed.",
        "Stud: 5 needed, 3 free, 2 short.",
    )
    assert f"stockroom reserve {number} --what-there-is" in refused.value.faults[2]


def test_what_there_is_is_held_when_that_is_asked_for_and_what_is_short_is_named(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, *SHORT_OF_HOOD)
    number = take(shop, order(line("boot-set"), line("tonneau", 2)), STAMP).number
    done = reserve_what_there_is(shop, number, STAMP)
    looked = look(shop, number)
    assert (looked.held("carpet/red"), looked.held("stud"), looked.held(HOOD)) == (1105, 5, 1000)
    assert (done.held_before, done.held_now, done.needed) == (0, 6, 7)
    assert len(done.short) == 1
    assert done.short[0].startswith("Hood cloth, fawn: ")
    assert not audit(shop).faults


def test_when_more_comes_in_the_rest_is_held_what_was_held_stays_and_nothing_is_short(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, *SHORT_OF_HOOD)
    number = take(shop, order(line("boot-set"), line("tonneau", 2)), STAMP).number
    reserve_what_there_is(shop, number, STAMP)
    before = set(look(shop, number).holds)
    receive(shop, fresh_roll("new", HOOD, 5000))
    done = reserve(shop, number, LATER)
    looked = look(shop, number)
    assert before < set(looked.holds)
    assert (looked.wholly_held, looked.shortages, done.held_before, done.held_now) == (True, (), 6, 1)
    assert not audit(shop).faults


def test_reserving_twice_changes_nothing(full_shop: Shop) -> None:
    number = ordered(full_shop, "touring", 2)
    first = reserve(full_shop, number, STAMP)
    before = dump(full_shop)
    again = reserve(full_shop, number, LATER)
    assert (again.held_before, again.held_now) == (first.held_now, 0)
    reserve_what_there_is(full_shop, number, LATER)
    assert dump(full_shop) == before


def test_reserving_twice_what_is_short_holds_nothing_more_and_is_short_of_as_much(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("leathercloth/red", 900), bin_of("stud", 4), roll(HOOD, 1500))
    number = take(shop, order(line("tool-bag", 3), line("tonneau", 2)), STAMP).number
    reserve_what_there_is(shop, number, STAMP)
    before, short = dump(shop), [(one.item, one.missing) for one in look(shop, number).shortages]
    reserve_what_there_is(shop, number, LATER)
    with pytest.raises(Refusal):
        reserve(shop, number, LATER)
    # The sentences tell what is free now.
    assert changed_tables(before, dump(shop)) <= {"shortage"}
    assert [(one.item, one.missing) for one in look(shop, number).shortages] == short


def test_an_order_that_does_not_exist_is_refused(full_shop: Shop) -> None:
    with pytest.raises(Refusal, match=r"There is no order 'X-9'\. The rail \(F2, or 'stockroom rail'\) lists"):
        reserve(full_shop, "X-9", STAMP)


def test_nothing_is_promised_twice(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 2500))
    numbers = [ordered(shop, "tonneau", number=str(n), car=car) for n, car in enumerate((EARLY, LATE, EARLY))]
    for number in numbers[:2]:
        reserve(shop, number, STAMP)
    with pytest.raises(Refusal, match="is short"):
        reserve(shop, numbers[2], STAMP)
    assert free(shop, HOOD) == 500
    stretches = sorted((one.from_mm, one.to_mm) for number in numbers for one in look(shop, number).holds)
    assert all(first[1] <= second[0] for first, second in pairwise(stretches))
    assert not audit(shop).faults


# --- one lot -------------------------------------------------------------------------------------------------------


TWO_LOTS = (roll(HOOD, 1500, "A"), roll(HOOD, 1600, "B"))


def test_two_lots_that_only_together_would_do_are_a_shortage_with_that_reason(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, *TWO_LOTS)
    number = ordered(shop, "hood", choices=SEWN)
    with pytest.raises(Refusal, match=r"No single dye lot is long enough") as refused:
        reserve(shop, number, STAMP)
    assert "Lot A beside lot B: check by eye in daylight; there is no reading of lot A and none of lot B." in str(
        refused.value
    )
    assert "Somebody must approve the mix with initials, having looked in daylight at lot A beside lot B." in str(
        refused.value
    )
    assert refused.value.faults[0] == (
        f"To approve a mix of lots: stockroom reserve {number} --approve-mix {HOOD} --lot A --lot B "
        "--because WHY --by AB"
    )
    (short,) = look(shop, number).shortages
    assert sorted(short.would_mix) == ["A", "B"]
    (mix,) = ticket(shop, number, TODAY).mixes
    assert (mix.item, sorted(mix.lots)) == (HOOD, ["A", "B"])
    done = reserve_what_there_is(shop, number, STAMP)
    assert (done.would_mix, look(shop, number).lots(HOOD)) == ((HOOD,), {"B"})
    assert not audit(shop).faults


def test_an_approved_mix_is_held_from_both_lots_and_kept_with_initials_and_reason(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, *TWO_LOTS)
    number = ordered(shop, "hood", choices=SEWN)
    with pytest.raises(Refusal, match="what nobody was shown cannot be approved"):
        approve_mix(shop, number, HOOD, "side by side by daylight, no difference", LATER)
    assert reserve_all(shop, number, STAMP).mixes == (ProposedMix(HOOD, ("A", "B")),)
    approve_mix(shop, number, HOOD, "side by side by daylight, no difference", LATER)
    reserve(shop, number, STAMP)
    looked = look(shop, number)
    assert (looked.lots(HOOD), looked.wholly_held) == ({"A", "B"}, True)
    assert any("mixed" in reason or "mix " in reason for one in looked.holds for reason in one.reasons), looked.holds
    with shop.read() as tx:
        kept = (MixApproval.by, MixApproval.at, MixApproval.because, MixApproval.group, MixApproval.lots)
        assert tx.execute(select(*kept)).all() == [
            ("CD", LATER.at, "side by side by daylight, no difference", "top", ["A", "B"])
        ]
    assert "(CD, 2026-11-26 09:15 UTC)" in ticket(shop, number, TODAY).history[0]
    assert not audit(shop).faults


def test_what_is_approved_is_what_was_shown_and_no_other_lots_are_used_for_it(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, *TWO_LOTS)
    number = ordered(shop, "hood", choices=SEWN)
    assert reserve_all(shop, number, STAMP).mixes == (ProposedMix(HOOD, ("A", "B")),)
    reserve(shop, ordered(shop, "tonneau", car=LATE), STAMP)  # of A, which is the older
    receive(shop, fresh_roll("new", HOOD, 1100, "C"))
    approve_mix(shop, number, HOOD, "no difference", LATER, ["A", "B"])
    done = reserve_all(shop, number, LATER)
    assert (look(shop, number).holds, done.mixes) == ((), (ProposedMix(HOOD, ("B", "C")),)), "another mix is not used"
    with pytest.raises(Refusal, match=r"is another mix now: Hood cloth, fawn: .* B and C together would do"):
        approve_mix(shop, number, HOOD, "no difference", LATER, ["A", "B"])
    approve_mix(shop, number, HOOD, "no difference", LATER, ["C", "B"])
    reserve(shop, number, LATER)
    assert look(shop, number).lots(HOOD) == {"B", "C"}
    assert not audit(shop).faults


def test_the_colours_of_the_lots_are_read_once_and_only_where_one_lot_is_not_enough(shop: Shop, tmp_path: Path) -> None:
    greys = {"A": 50.0, "B": 50.4, "C": 53.0, "D": 50.2}
    stock_shop(shop, tmp_path, *(roll(HOOD, 1400, lot, L=str(grey), a="0", b="0") for lot, grey in greys.items()))
    ordered(shop, "tonneau", number="alone", car=LATE)
    number = ordered(shop, "hood", choices=SEWN)
    with count_statements(shop) as enough:
        reserve(shop, "alone", STAMP)
    assert not any("FROM reading" in one or "FROM eye_verdict" in one for one in enough.sent)
    with count_statements(shop) as too_little:
        found = reserve_all(shop, number, STAMP)
    asked = [one for one in too_little.sent if "FROM reading" in one or "FROM eye_verdict" in one]
    assert len(asked) == 2
    assert found.mixes == (ProposedMix(HOOD, ("B", "D")),), "A has too little now, and C matches neither"
    assert "Lot B beside lot D: matches; ΔE00 is 0.20; Hood cloth matches up to 1." in found.short[0]


def test_a_mix_that_was_approved_for_one_order_is_not_for_another(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, *TWO_LOTS)
    first = ordered(shop, "hood", choices=SEWN)
    reserve_all(shop, first, STAMP)
    approve_mix(shop, first, HOOD, "no difference", LATER)
    other = ordered(shop, "hood", car=LATE, choices=SEWN)
    with pytest.raises(Refusal, match="must approve the mix"):
        reserve(shop, other, STAMP)


@pytest.mark.parametrize(
    ("item", "because", "said"),
    [
        ("carpet/red", "no difference", "needs no 'carpet/red', so there is no mix"),
        (HOOD, "  ", "approved with a reason"),
    ],
)
def test_a_mix_of_what_is_not_needed_or_without_a_reason_is_refused(
    full_shop: Shop, item: str, because: str, said: str
) -> None:
    number = ordered(full_shop, "tonneau")
    before = dump(full_shop)
    with pytest.raises(Refusal, match=said):
        approve_mix(full_shop, number, item, because, STAMP)
    assert dump(full_shop) == before


def test_a_car_s_matching_group_keeps_to_its_lot_across_orders_and_another_car_does_not(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 1200, "A", remnant="yes"), roll(HOOD, 4000, "B"))
    first = ordered(shop, "hood", choices=SEWN)
    second, other = ordered(shop, "tonneau"), ordered(shop, "tonneau", car=LATE)
    for number in (first, second, other):
        reserve(shop, number, STAMP)
    assert [look(shop, number).lots(HOOD) for number in (first, second, other)] == [{"B"}, {"B"}, {"A"}]
    assert "which this car's matching group has already" in look(shop, second).holds[0].reasons[0]
    assert not audit(shop).faults


def test_a_later_order_of_a_car_is_short_when_its_lot_is_used_up(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 2500, "A"))
    reserve(shop, ordered(shop, "hood", choices=SEWN), STAMP)
    receive(shop, fresh_roll("new", HOOD, 9000, "B"))
    number = ordered(shop, "tonneau")
    with pytest.raises(Refusal, match="It must match lot A, which this car's matching group has already"):
        reserve(shop, number, STAMP)
    approve_mix(shop, number, HOOD, "no difference", STAMP)
    reserve(shop, number, STAMP)
    assert look(shop, number).lots(HOOD) == {"B"}
    assert not audit(shop).faults


# --- which stock ---------------------------------------------------------------------------------------------------


def test_a_remnant_is_used_up_before_a_long_roll_is_cut(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, PLENTY, "A"), roll(HOOD, 1100, "B", remnant="yes"))
    number = ordered(shop, "tonneau")
    reserve(shop, number, STAMP)
    assert look(shop, number).lots(HOOD) == {"B"}
    assert any("emnant" in reason for reason in look(shop, number).holds[0].reasons)


def test_what_is_quarantined_is_never_held(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, PLENTY, quarantined="damp"))
    number = ordered(shop, "tonneau")
    with pytest.raises(Refusal, match="Nothing of it is free"):
        reserve(shop, number, STAMP)
    receive(shop, fresh_roll("dry", HOOD, 1200, "2"))
    reserve(shop, number, STAMP)
    assert look(shop, number).lots(HOOD) == {"2"}
    assert not audit(shop).faults


def test_a_cut_keeps_off_the_flaws_of_its_roll(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 2100, flaws="900-1000 slub"))
    reserve(shop, number := ordered(shop, "tonneau"), STAMP)
    ((from_mm, to_mm),) = [(one.from_mm, one.to_mm) for one in look(shop, number).holds]
    assert from_mm >= 1000
    assert to_mm <= 2100
    with pytest.raises(Refusal, match="is short"):
        reserve(shop, ordered(shop, "tonneau", car=LATE), STAMP)
    assert not audit(shop).faults


def test_counted_goods_come_from_several_bins_in_walking_order(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 5000), bin_of("clip", 4, place="B2"), bin_of("clip", 4, place="B1"))
    reserve(shop, number := ordered(shop, "header-rail"), STAMP)
    assert [(one.place, one.quantity) for one in look(shop, number).holds if one.item == "clip"] == [
        ("B1", 4),
        ("B2", 2),
    ]


def test_more_that_comes_into_a_bin_or_onto_a_reel_is_added_to_what_is_held_of_it(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 1200), bin_of("clip", 4))
    number = ordered(shop, "header-rail", 2)
    reserve_what_there_is(shop, number, STAMP)
    with shop.write() as tx:
        job = ledger.begin_job(tx, "count", LATER)
        (clips,), (reel,) = stock.bins_of(tx, "clip"), stock.rolls_of(tx, "binding/red")
        ledger.append(tx, job, LATER, [Entry(clips.holding_id, "counted", 20), Entry(reel.holding_id, "counted", 2000)])
    reserve(shop, number, LATER)
    looked = look(shop, number)
    assert (looked.held("clip"), looked.held("binding/red"), looked.wholly_held) == (12, 1800, True)
    assert not audit(shop).faults


def test_counted_goods_of_two_lots_serve_one_matching_group(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("carpet/red", 5000), roll("binding/red", 5000), bin_of("stud", 3, "x"),
               bin_of("stud", 3, "y"))  # fmt: skip
    reserve(shop, number := ordered(shop, "boot-set"), STAMP)
    assert look(shop, number).lots("stud") == {"x", "y"}
    assert not audit(shop).faults


# --- made-up pieces ------------------------------------------------------------------------------------------------


def test_blanks_come_from_stock_first_and_then_materials_for_as_many_as_are_lacking(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, bin_of("tool-bag-blank", 1), roll("leathercloth/red", 5000), bin_of("stud", 20))
    number = ordered(shop, "tool-bag", 3)
    reserve(shop, number, STAMP)
    looked = look(shop, number)
    assert (looked.held("tool-bag-blank"), looked.held("stud")) == (1, 2 * 3)
    assert looked.needed("leathercloth/red") == 2
    assert looked.held("leathercloth/red") in range(800, 820)
    assert looked.wholly_held
    assert not audit(shop).faults


def test_no_material_is_held_where_there_are_blanks_enough(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, bin_of("tool-bag-blank", 5), roll("leathercloth/red", 5000), bin_of("stud", 20))
    reserve(shop, number := ordered(shop, "tool-bag", 3), STAMP)
    assert [(one.item, one.quantity) for one in look(shop, number).holds] == [("tool-bag-blank", 3)]


def test_a_blank_that_comes_in_is_used_instead_of_material_that_is_not_there(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("leathercloth/red", 500), bin_of("stud", 4))
    number = ordered(shop, "tool-bag", 2)
    reserve_what_there_is(shop, number, STAMP)
    receive(shop, OpeningBin("tool-bag-blank", "", "B1", 1, 0))
    reserve(shop, number, LATER)
    looked = look(shop, number)
    assert looked.wholly_held
    assert (looked.held("tool-bag-blank"), looked.held("leathercloth/red"), looked.held("stud")) == (1, 400, 3)
    assert not audit(shop).faults


# --- as many statements, whatever the stock ------------------------------------------------------------------------


def test_taking_and_reserving_sends_as_many_statements_with_ten_times_the_rolls_and_a_hundred_times_the_movements(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, PLENTY), *(roll("carpet/red", 9000, str(n)) for n in range(5)),
               roll("binding/red", PLENTY), bin_of("stud", 400))  # fmt: skip
    reserve(shop, ordered(shop, "boot-set"), STAMP)  # what is read once is read

    def statements(number: str) -> tuple[int, int]:
        with count_statements(shop) as taking:
            ordered(shop, "boot-set", car=LATE if number == "none" else EARLY, number=number)
        with count_statements(shop) as reserving:
            reserve(shop, number, STAMP)
        return taking.count, reserving.count

    few = statements("few")
    with shop.write() as tx:
        job = ledger.begin_job(tx, "receive", STAMP)
        stock.write_rolls(tx, job, STAMP, [fresh_roll(f"more {n}", "carpet/red", 9000, str(n % 9)) for n in range(50)])
        (studs,) = stock.bins_of(tx, "stud")
        ledger.append(tx, job, STAMP, [Entry(studs.holding_id, "counted", (-1) ** n, 0) for n in range(1000)])
    assert statements("many") == few
