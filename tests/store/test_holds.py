"""Holds as they are kept: what a holding has promised, what a requirement holds and the rows between agree."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import func, select, update
from sqlalchemy.exc import IntegrityError

from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.reserve import reserve
from stockroom.jobs.take import take
from stockroom.store import bill, holds, orders, stock
from stockroom.store.database import Shop
from stockroom.store.holds import CutToHold, KeptShortage, TakeToHold
from stockroom.store.tables import Holding, PlannedCut, PlannedPanel, Reservation
from tests.shops import EARLY, LATE, LATER, STAMP, TODAY, bin_of, dump, free, line, look, order, roll, stock_shop

HOOD = "hood-cloth/fawn"


@pytest.fixture
def stocked(shop: Shop, tmp_path: Path) -> Shop:
    stock_shop(
        shop,
        tmp_path,
        roll(HOOD, 5000, "1", flaws="100-200 slub; 4000-4010 stain", remnant="yes"),
        roll(HOOD, 3000, "2", quarantined="damp"),
        roll("binding/red", 2000),
        bin_of("clip", 12),
        bin_of("stud", 0),
    )
    take(shop, order(line("tonneau", 2), line("header-rail"), number="L-1"), STAMP)
    return shop


def candidates(shop: Shop, *items: str) -> dict[str, list[holds.Candidate]]:
    with shop.write() as tx:
        return holds.candidates(tx, items, TODAY)


def test_what_may_be_reserved_is_neither_quarantined_nor_empty_and_tells_its_flaws(stocked: Shop) -> None:
    found = candidates(stocked, HOOD, "clip", "stud", "zip/fawn")
    assert {item: len(some) for item, some in found.items()} == {HOOD: 1, "clip": 1, "stud": 0, "zip/fawn": 0}
    (cloth,), (clips,) = found[HOOD], found["clip"]
    assert (cloth.kind, cloth.lot, cloth.held, cloth.reserved, cloth.remnant) == ("roll", "1", 5000, 0, True)
    assert cloth.flaws == ((100, 200), (4000, 4010))
    assert (clips.kind, clips.held, clips.width_mm, clips.promised) == ("bin", 12, 0, ())


def test_stretches_that_are_promised_are_told_and_what_is_wholly_reserved_is_not_offered(stocked: Shop) -> None:
    reserve(stocked, "L-1", STAMP)
    take(stocked, order(line("header-rail", car=LATE), number="L-2"), STAMP)
    reserve(stocked, "L-2", STAMP)
    found = candidates(stocked, HOOD, "clip")
    assert found["clip"] == []
    (cloth,) = found[HOOD]
    assert cloth.promised == tuple((one.from_mm, one.to_mm) for one in look(stocked, "L-1").holds if one.item == HOOD)
    assert cloth.reserved == sum(to_mm - from_mm for from_mm, to_mm in cloth.promised)


def test_what_is_released_is_free_and_leaves_no_row(stocked: Shop) -> None:
    before = dump(stocked)
    reserve(stocked, "L-1", STAMP)
    assert (free(stocked, "clip"), free(stocked, "binding/red")) == (6, 1100)
    with stocked.write() as tx:
        held = bill.requirements_of(tx, orders.order_by(tx, "L-1").id)
        assert holds.release(tx, [one.id for one in held]) == {one.id for one in held}
        assert holds.release(tx, [one.id for one in held]) == set()
    after = dump(stocked)
    for table in ("holding", "requirement", "planned_cut", "planned_panel", "reservation"):
        assert after[table] == before[table]


def test_a_planned_cut_goes_whole_when_one_of_its_panels_does(stocked: Shop) -> None:
    take(stocked, order(line("hood", choices={"window": "sewn"}), number="L-2"), STAMP)
    reserve(stocked, "L-2", STAMP)
    with stocked.write() as tx:
        left, right = bill.requirements_of(tx, orders.order_by(tx, "L-2").id)
        assert holds.release(tx, [left.id]) == {left.id, right.id}
    assert look(stocked, "L-2").holds == ()
    assert free(stocked, HOOD) == 5000
    assert not audit(stocked).faults


def test_more_than_is_free_cannot_be_held_even_by_a_plan_that_says_so(stocked: Shop) -> None:
    before = dump(stocked)
    with stocked.write() as tx:
        clips = stock.bins_of(tx, "clip")[0].holding_id
        need = next(
            one for one in bill.requirements_of(tx, orders.order_by(tx, "L-1").id) if one.requirement.item == "clip"
        )
    with pytest.raises(Refusal, match="Somebody else has just reserved what this order needs"), stocked.write() as tx:
        holds.hold(tx, [], [TakeToHold(clips, need.id, 13, ("why",))], STAMP)
    with stocked.read() as tx:
        damp = next(one.holding_id for one in stock.rolls_of(tx, HOOD) if one.quarantined)
        cover = bill.requirements_of(tx, orders.order_by(tx, "L-1").id)[0]
    with pytest.raises(Refusal, match="has just been quarantined"), stocked.write() as tx:
        holds.hold(tx, [CutToHold(damp, 0, 1000, ((cover.id, 0, 0, 0),), ("why",))], [], STAMP)
    assert dump(stocked) == before


def test_two_takes_of_one_holding_for_one_requirement_are_one_reservation(stocked: Shop) -> None:
    with stocked.write() as tx:
        clips = stock.bins_of(tx, "clip")[0].holding_id
        need = next(
            one for one in bill.requirements_of(tx, orders.order_by(tx, "L-1").id) if one.requirement.item == "clip"
        )
        holds.hold(tx, [], [TakeToHold(clips, need.id, 2, ("first",))], STAMP)
        holds.hold(tx, [], [TakeToHold(clips, need.id, 3, ("second",))], LATER)
        rows = tx.execute(select(Reservation.quantity, Reservation.reasons, Reservation.by)).all()
    assert rows == [(5, ["second"], "CD")]
    assert look(stocked, "L-1").held("clip") == 5
    assert not audit(stocked).faults


def test_cuts_are_written_with_their_panels_each_on_its_own(stocked: Shop) -> None:
    with stocked.write() as tx:
        cloth = next(one.holding_id for one in stock.rolls_of(tx, HOOD) if not one.quarantined)
        cover = bill.requirements_of(tx, orders.order_by(tx, "L-1").id)[0]
        cuts = [CutToHold(cloth, at, at + 1000, ((cover.id, at // 100, 0, 0),), (f"at {at}",)) for at in (3000, 1000)]
        holds.hold(tx, cuts, [], STAMP)
        laid = tx.execute(
            select(PlannedCut.from_mm, PlannedPanel.x_mm)
            .join(PlannedPanel, PlannedPanel.cut_id == PlannedCut.id)
            .order_by(PlannedCut.from_mm)
        ).all()
    assert laid == [(1000, 10), (3000, 30)]
    assert look(stocked, "L-1").requirements[0].held == 2


def test_the_lots_of_a_car_s_group_are_told_over_all_its_orders_and_not_for_other_cars(stocked: Shop) -> None:
    reserve(stocked, "L-1", STAMP)
    take(stocked, order(line("tonneau", 3), line("tonneau", car=LATE), number="L-2"), STAMP)
    with stocked.read() as tx:
        early, late = (one.car_id for one in orders.order_by(tx, "L-2").lines)
        assert holds.lots_bound(tx, [early, late]) == {(early, "top", HOOD): {"1"}}
    assert early != late
    assert EARLY.key != LATE.key


def test_the_shortages_of_an_order_are_those_that_were_found_last(stocked: Shop) -> None:
    one, other = (KeptShortage(item, "", None, 3, "3 short.", ()) for item in ("clip", "binding/red"))
    with stocked.write() as tx:
        order_id = orders.order_by(tx, "L-1").id
        for found in ([one], [other, one], []):
            holds.rewrite_shortages(tx, order_id, found)
            assert holds.shortages_of(tx, order_id) == found


def test_holds_are_told_in_walking_order(stocked: Shop) -> None:
    reserve(stocked, "L-1", STAMP)
    told = look(stocked, "L-1").holds
    assert [one.walk for one in told] == sorted(one.walk for one in told)
    assert {one.item for one in told} == {HOOD, "binding/red", "clip"}


def test_the_database_itself_refuses_more_reserved_than_held(stocked: Shop) -> None:
    with pytest.raises(IntegrityError, match="reserved_within_held"), stocked.write() as tx:
        tx.execute(update(Holding).where(Holding.item == "clip").values(reserved=13))
    with stocked.read() as tx:
        assert tx.execute(select(func.max(Holding.reserved))).scalar_one() == 0
