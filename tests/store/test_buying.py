"""What the reorder run is reckoned from, read from a real shop."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from sqlalchemy import select

from stockroom.domain.catalogue import PastMovement
from stockroom.domain.refusal import Refusal
from stockroom.domain.reorder import reckon
from stockroom.domain.shortfall import shortfall
from stockroom.domain.standing import Due, OneLot, OpenNeed, Standing
from stockroom.domain.weeks import Week
from stockroom.store.buying import read_standings, read_wantings
from stockroom.store.database import Shop
from stockroom.store.history import write_history
from stockroom.store.ledger import Entry, append, begin_job, reverse
from stockroom.store.runs import keep_run, run_of_digest
from stockroom.store.tables import Holding
from stockroom.store.weekly_use import clock_set_back, lead_days, weekly_use
from tests.databases import count_statements
from tests.reorder_shop import BAG, BINDING, CARPET, STAMP, STUD, Ordering, Stocking, fill

W48 = Week(2026, 48)
IN_W50 = date(2026, 12, 9)


def standing_of(shop: Shop, item: str) -> Standing:
    with shop.read() as tx:
        return {one.item.code: one for one in read_standings(tx, read_wantings(tx))}[item]


def test_position_counts_what_is_held_and_leaves_quarantine_out(shop: Shop) -> None:
    fill(shop)
    with shop.write() as tx:
        stock = Stocking(tx)
        stock.roll(CARPET, 4000)
        stock.roll(CARPET, 1500, lot="2")
        stock.roll(CARPET, 900, lot="3", quarantined="wet")
    one = standing_of(shop, CARPET)
    assert (one.held, one.reserved, one.quarantined) == (5500, 0, 900)


def test_the_past_before_the_books_is_no_stock(shop: Shop) -> None:
    fill(shop)
    with shop.write() as tx:
        job = begin_job(tx, "load", STAMP)
        past = [PastMovement(date(2026, 11, 12), STUD, "issued", 7)]
        write_history(tx, job, STAMP, past, date(2026, 11, 23), "Europe/London")
    assert standing_of(shop, STUD).held == 0


def test_on_order_is_what_has_not_come(shop: Shop) -> None:
    fill(shop)
    with shop.write() as tx:
        stock = Stocking(tx)
        stock.purchase(STUD, 50, IN_W50, received=20)
        stock.purchase(STUD, 5, date(2026, 12, 1), received=5, reference="P-8")
    assert standing_of(shop, STUD).dues == (Due("P-7", IN_W50, 30),)


def test_needs_are_what_open_orders_do_not_hold_by_week(shop: Shop) -> None:
    fill(shop)
    with shop.write() as tx:
        first = Ordering(tx, "L-1001", IN_W50)
        first.need(STUD, 10, held=4)
        first.need(STUD, 3, held=3)
        Ordering(tx, "L-1002", date(2026, 12, 7)).need(STUD, 5)
        Ordering(tx, "L-1003", None).need(STUD, 2)
        Ordering(tx, "L-1004", IN_W50, state="cancelled").need(STUD, 100)
        Ordering(tx, "L-1005", IN_W50, state="sent").need(STUD, 100)
    assert standing_of(shop, STUD).needs == (
        OpenNeed(Week(2026, 50), 11, ("L-1001", "L-1002")),
        OpenNeed(None, 2, ("L-1003",)),
    )


def test_panels_not_held_are_a_length_never_too_short(shop: Shop) -> None:
    """Roll 1000 wide. One of two 600 × 800 is held; besides two 400 × 500 and one 300 × 900 that lies across.

    5 mm are left for the knife. Shelves: the 800 long one (400 + 5 beside 600 does not go on 1000), the two 500 long
    ones, the 300 long one: 800 + 5 + 500 + 5 + 300.
    """
    fill(shop)
    with shop.write() as tx:
        order = Ordering(tx, "L-1001", IN_W50)
        order.panels(CARPET, 600, 800, count=2, held=1)
        order.panels(CARPET, 400, 500, count=2)
        order.panels(CARPET, 300, 900, count=1, way="across")
    (need,) = standing_of(shop, CARPET).needs
    assert need.quantity == 1610


def test_a_panel_too_wide_for_the_roll_is_still_needed(shop: Shop) -> None:
    """1200 across on cloth of 1000: 500 for the other panel, and the longer side of this one."""
    fill(shop)
    with shop.write() as tx:
        order = Ordering(tx, "L-1001", IN_W50)
        order.panels(CARPET, 1200, 700, count=1)
        order.panels(CARPET, 400, 500, count=1)
    (need,) = standing_of(shop, CARPET).needs
    assert need.quantity == 1700


def test_what_is_seen_together_comes_anew_in_one_lot_with_what_is_held_of_it(shop: Shop) -> None:
    """Two mats of 2 m are seen together. One is held in a lot that has no more; the 3 m of another lot do not serve the
    other, so 4 m and 5 mm for the knife have to come in one lot, until a roll is there that has them all."""
    fill(shop)
    with shop.write() as tx:
        Stocking(tx).roll(CARPET, 3000, lot="2")
        order = Ordering(tx, "L-1001", IN_W50, group="boot")
        order.panels(CARPET, 900, 2000, count=1, held=1)
        order.panels(CARPET, 900, 2000, count=1)
        order.short(CARPET, 2000)
    (need,) = standing_of(shop, CARPET).needs
    assert (need.quantity, need.out_of_reach, need.in_one_lot) == (2000, 4005, (OneLot("L-1001", 4005),))
    with shop.write() as tx:
        Stocking(tx).roll(CARPET, 4005, lot="3")
    (need,) = standing_of(shop, CARPET).needs
    assert (need.quantity, need.out_of_reach, need.in_one_lot) == (2000, 0, ())
    assert need.from_one_lot == (OneLot("L-1001", 4005),), "that roll serves one such order and no second"


def test_a_shortage_that_only_a_mix_would_cure_is_out_of_reach(shop: Shop) -> None:
    """Two lots of 3 m; 2 + 2 m and 5 mm for the knife wanted in one: nothing free will do till a roll is so long."""
    fill(shop)
    with shop.write() as tx:
        stock = Stocking(tx)
        stock.roll(CARPET, 3000, lot="1")
        stock.roll(CARPET, 3000, lot="2")
        order = Ordering(tx, "L-1001", IN_W50)
        order.panels(CARPET, 900, 2000, count=2)
        order.short(CARPET, 1000, would_mix=("1", "2"))
    (need,) = standing_of(shop, CARPET).needs
    assert (need.quantity, need.out_of_reach) == (4005, 4005)
    assert need.in_one_lot == (OneLot("L-1001", 4005),)
    with shop.write() as tx:
        Stocking(tx).roll(CARPET, 4005, lot="3")
    (need,) = standing_of(shop, CARPET).needs
    assert (need.quantity, need.out_of_reach, need.in_one_lot) == (4005, 0, ())


def test_what_was_never_reserved_shares_the_free_lots_as_what_was_found_short_does(shop: Shop) -> None:
    """Three orders of 2 m and 5 mm for the knife; of two lots, 3 m and 2.5 m are free: by length 515 mm lack,
    by lot 2.005 m. What is in quarantine is no lot, and what is not seen together needs none."""
    fill(shop)
    with shop.write() as tx:
        stock = Stocking(tx)
        stock.roll(CARPET, 1000, lot="1")
        stock.roll(CARPET, 2000, lot="1")
        stock.roll(CARPET, 2500, lot="2")
        stock.roll(CARPET, 9000, lot="3", quarantined="wet")
        for number in range(1, 4):
            Ordering(tx, f"L-{number}", IN_W50, group="boot").panels(CARPET, 600, 1000, count=2)
        Ordering(tx, "L-4", IN_W50).panels(CARPET, 600, 400, count=1)
    one = standing_of(shop, CARPET)
    (need,) = one.needs
    assert one.lots == (3000, 2500)
    assert (need.quantity, need.out_of_reach) == (3 * 2005 + 400, 0)
    assert need.from_one_lot == (OneLot("L-1", 2005), OneLot("L-2", 2005), OneLot("L-3", 2005))
    found = reckon(one, W48).proposal
    assert found is not None
    assert shortfall(one, W48, found.lead_days).for_needs == 2005
    assert found.ask == "ask for 2.005 m in one dye lot (order L-3)"


def test_nothing_is_needed_for_what_waits_for_an_answer(shop: Shop) -> None:
    fill(shop)
    with shop.write() as tx:
        part = Ordering(tx, "L-1001", IN_W50)
        part.need(STUD, 4)
        part.need(BINDING, 700, need="length")
        part.waits("P1")
        whole = Ordering(tx, "L-1002", IN_W50)
        whole.need(BAG, 1, need="made")
        whole.waits()
    with shop.read() as tx:
        wantings = read_wantings(tx)
    assert [(one.order, one.item, one.quantity) for one in wantings.known] == [("L-1001", BINDING, 700)]
    assert wantings.waiting == 2


def test_offers_come_with_their_supplier_and_lead_time(shop: Shop) -> None:
    fill(shop)
    assert [(one.supplier.code, one.lead_days) for one in standing_of(shop, BINDING).offers] == [("mill", 7)]
    assert [(one.supplier.code, one.lead_days) for one in standing_of(shop, CARPET).offers] == [("mill", 21)]


def test_weekly_use_counts_local_weeks_and_leaves_out_what_was_reversed(shop: Shop) -> None:
    """London is an hour ahead of UTC in summer: 23:30 UTC on Sunday 4 October 2026 is Monday there, in week 41."""
    fill(shop)
    with shop.write() as tx:
        Stocking(tx).bin(STUD, 100)
    with shop.write() as tx:
        (holding,) = tx.execute(select(Holding.id)).scalars()
        job = begin_job(tx, "pick", STAMP)

        def moved(quantity: int, at: datetime, kind: str = "issued") -> int:
            return append(tx, job, STAMP, [Entry(holding, kind, quantity, at=at)])[0]  # type: ignore[arg-type]

        moved(-3, datetime(2026, 10, 4, 22, 30, tzinfo=UTC))
        moved(-5, datetime(2026, 10, 4, 23, 30, tzinfo=UTC))
        moved(-2, datetime(2026, 10, 7, 12, 0, tzinfo=UTC), "scrapped")
        moved(4, datetime(2026, 10, 7, 12, 0, tzinfo=UTC), "returned")
        wrong = moved(-50, datetime(2026, 10, 8, 12, 0, tzinfo=UTC))
        moved(-9, datetime(2026, 11, 23, 12, 0, tzinfo=UTC))
        reverse(tx, job, STAMP, wrong)
    with shop.read() as tx:
        used = weekly_use(tx, W48, "Europe/London", 26)
    expected = [0] * 26
    expected[26 - Week(2026, 40).until(W48)] = 3
    expected[26 - Week(2026, 41).until(W48)] = 5 + 2 - 4
    moves = [0] * 26
    moves[26 - Week(2026, 40).until(W48)] = 1
    moves[26 - Week(2026, 41).until(W48)] = 3
    assert used.by_item == {STUD: tuple(expected)}
    assert used.moves == tuple(moves)
    assert used.last_came == {}, "what the shop opened with has not come in"


def test_statements_do_not_grow_with_the_orders(shop: Shop) -> None:
    fill(shop)

    def statements() -> int:
        with count_statements(shop) as sent, shop.read() as tx:
            read_standings(tx, read_wantings(tx))
            weekly_use(tx, W48, "Europe/London", 156)
            lead_days(tx, "Europe/London")
            clock_set_back(tx)
        return sent.count

    before = statements()
    with shop.write() as tx:
        for number in range(12):
            order = Ordering(tx, f"L-{number}", IN_W50)
            order.panels(CARPET, 600, 800, count=2)
            order.need(STUD, 4)
            order.short(CARPET, 800)
    assert statements() == before


def test_a_run_is_kept_once(shop: Shop) -> None:
    with shop.write() as tx:
        keep_run(tx, "2026-W48", "a" * 64, {"lines": [1]}, "", STAMP)
    with shop.read() as tx:
        kept = run_of_digest(tx, "2026-W48", "a" * 64)
        assert kept is not None
        assert kept.report == {"lines": [1]}
        assert run_of_digest(tx, "2026-W49", "a" * 64) is None
        assert run_of_digest(tx, "2026-W48", "b" * 64) is None
    with pytest.raises(Refusal, match="just made the same"), shop.write() as tx:
        keep_run(tx, "2026-W48", "a" * 64, {"lines": [2]}, "", STAMP)
