"""What is known of items besides orders in hand: forecasts where they are asked for, last buys, what lies idle."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from stockroom.domain.catalogue import Item, ItemGroup, Plan, Supplier, Terms
from stockroom.domain.idle import Idle, idle
from stockroom.domain.last_buy import LastOrder
from stockroom.domain.offer import Offer
from stockroom.domain.outlook import HISTORY_WEEKS, Past, outlooks
from stockroom.domain.reorder import Outlook, Reckoned, reckon
from stockroom.domain.standing import Due, OpenNeed, Standing
from stockroom.domain.weeks import Week

W48 = Week(2026, 48)
MONDAY = date(2026, 11, 23)
FORECAST = {"metal": ItemGroup("metal", "forecast", "cycle", 950)}
BUSY = (1,) * HISTORY_WEEKS
"""The shop booked something every week."""


def stud(held: int = 0, *, lead_days: int = 14, planned_by: Plan | None = None, **rest: object) -> Standing:
    item = Item("stud", "Stud", "hardware", group="metal", planned_by=planned_by or "")
    terms = Terms("mill", "stud", lead_days, 1, 1, ())
    return Standing(item, held, 0, 0, (), (), (Offer(Supplier("mill", "The mill", 7, "GBP"), terms),), **rest)  # type: ignore[arg-type]


def past(weekly: tuple[int, ...], lead_days: tuple[int, ...] = ()) -> Past:
    return Past({"stud": weekly}, BUSY, {}, {"stud": lead_days} if lead_days else {})


def outlook(one: Standing, known: Past, groups: dict[str, ItemGroup] = FORECAST, **notices: LastOrder) -> Outlook:
    return outlooks([one], groups, known, notices, W48).get("stud", Outlook())


def reckoned(one: Standing, known: Past, groups: dict[str, ItemGroup] = FORECAST, **notices: LastOrder) -> Reckoned:
    return reckon(one, W48, outlook(one, known, groups, **notices))


STEADY = (4, 6, 5) * 52
"""Five a week, give or take one."""


def test_without_being_asked_for_nothing_is_forecast() -> None:
    assert outlook(stud(), past(STEADY), {}) == Outlook()
    assert outlook(stud(planned_by="limits"), past(STEADY)) == Outlook(), "the item's word goes before its group's"


def test_a_forecast_covers_lead_time_and_the_week_between_runs() -> None:
    """Five a week, 14 days and a week: 15 expected. At 95 % a few more are kept, for use so steady."""
    found = reckoned(stud(), past(STEADY))
    assert found.proposal is not None
    assert found.proposal.method == "forecast"
    assert found.proposal.basis == "forecast: smooth use, smoothed"
    (cover,) = found.lack.covered
    assert cover.cover.until == MONDAY + timedelta(weeks=3)
    assert 15 < found.proposal.quantity == cover.cover.quantity < 22
    assert any("supplier's word" in step for step in found.steps)


def test_what_orders_in_hand_will_use_is_not_bought_twice() -> None:
    """Orders of the next weeks take 12 of the 15 or so: no more is bought than without them, until they take more."""
    alone = reckoned(stud(), past(STEADY)).lack.must
    needs = (OpenNeed(Week(2026, 49), 12, ("L-1",)),)
    assert reckoned(_with(stud(), needs), past(STEADY)).lack.must == alone
    more = (OpenNeed(Week(2026, 49), alone + 30, ("L-1",)),)
    assert reckoned(_with(stud(), more), past(STEADY)).lack.must == alone + 30


def _with(one: Standing, needs: tuple[OpenNeed, ...], dues: tuple[Due, ...] = ()) -> Standing:
    return Standing(one.item, one.held, one.reserved, 0, dues, needs, one.offers)


def test_a_lead_time_that_strays_keeps_more() -> None:
    steady = reckoned(stud(), past(STEADY, (14, 14, 14, 14))).lack.must
    straying = reckoned(stud(), past(STEADY, (5, 30, 7, 14))).lack.must
    assert straying > steady


def test_what_has_no_forecast_goes_by_its_limits_and_says_so() -> None:
    new = (0,) * (HISTORY_WEEKS - 3) + (2, 1, 2)
    found = reckoned(_with(stud(), (OpenNeed(Week(2026, 50), 3, ("L-1",)),)), past(new))
    assert found.proposal is not None
    assert (found.proposal.method, found.proposal.quantity) == ("limits", 3)
    assert found.proposal.basis.startswith("no forecast (")


def test_a_notice_brings_a_last_buy_for_the_stated_time() -> None:
    """Five a week; until 21 December 4 weeks, and 26 after it: 30 weeks are 150; 20 are there."""
    notice = LastOrder(date(2026, 12, 21), 26, "the mill closes")
    found = reckoned(stud(20), past(STEADY), {}, stud=notice)
    assert found.proposal is not None
    assert (found.proposal.method, found.proposal.latest_day) == ("last buy", date(2026, 12, 21))
    assert abs(found.proposal.quantity - 130) <= 4, "as it is forecast"
    assert any("(the mill closes)" in step for step in found.steps)
    urgent = reckoned(stud(20), past(STEADY), {}, stud=LastOrder(date(2026, 11, 27), 26))
    assert urgent.proposal is not None
    assert urgent.proposal.urgency == "urgent"


def test_what_can_no_longer_be_ordered_is_not_bought_but_named_where_orders_need_it() -> None:
    past_day = LastOrder(date(2026, 11, 20), 26)
    assert reckoned(stud(0), past(STEADY), {}, stud=past_day).proposal is None
    found = reckoned(_with(stud(), (OpenNeed(Week(2026, 50), 3, ("L-1",)),)), past(STEADY), {}, stud=past_day).proposal
    assert found is not None
    assert (found.action, found.why) == (
        "no terms", "orders short by 3 in 2026-W50; could be ordered until 2026-11-20 only",
    )  # fmt: skip


def test_a_discontinued_cloth_that_is_still_sold_has_a_last_buy() -> None:
    """Used in the last year only, 52 in all, too seldom for a forecast: a year more takes as much."""
    seldom = (0,) * 153 + (26, 0, 26)
    found = reckoned(stud(2, discontinued=True), past(seldom), {})
    assert found.proposal is not None
    assert (found.proposal.method, found.proposal.quantity) == ("last buy", 50)
    assert reckoned(stud(2, discontinued=True), past((0,) * HISTORY_WEEKS), {}).proposal is None


def test_dead_and_excess_stock_is_named_by_stated_rules() -> None:
    """104 weeks without use or receipt: dead. Two years at last year's 26: 52 are enough, 8 of 60 are over."""
    unused, slow = (0,) * HISTORY_WEEKS, (0, 1) * 78
    assert idle(stud(7, worth_minor=700), unused, None) == Idle(
        "stud", "Stud", False, True, 7, 7, 700, "nothing used or received in 104 weeks"
    )
    assert idle(stud(7), unused, 80) == Idle("stud", "Stud", False, False, 7, 7, 0, "0 used in 52 weeks"), (
        "it came 80 weeks ago: not dead, but more than anybody uses"
    )
    assert idle(stud(7), unused, 20) is None, "it came within the year"
    over = idle(stud(60, worth_minor=600), slow, None)
    assert over is not None
    assert (over.dead, over.over, over.worth_minor) == (False, 8, 80)
    assert idle(stud(52), slow, None) is None
    assert idle(stud(7), (None,) * 60 + (0,) * 96, None) is not None, "a year is on the books"
    assert idle(stud(7), (None,) * 130 + (0,) * 26, None) is None, "they do not reach back a year"
    assert idle(_with(stud(7), (OpenNeed(None, 7, ("L-1",)),)), unused, None) is None


histories = st.lists(st.integers(0, 9), min_size=HISTORY_WEEKS, max_size=HISTORY_WEEKS).map(tuple)


@settings(max_examples=25)
@given(histories, st.integers(0, 60), st.integers(1, 30), st.integers(0, 60), st.integers(1, 60))
def test_more_stock_never_buys_more_and_a_longer_lead_time_never_keeps_less(
    weekly: tuple[int, ...], held: int, more: int, days: int, longer: int
) -> None:
    known = past(weekly)

    def bought(stock: int, lead_days: int) -> int:
        found = reckoned(stud(stock, lead_days=lead_days), known).proposal
        return 0 if found is None else found.quantity

    assert bought(held + more, days) <= bought(held, days)
    assert bought(held, days + longer) >= bought(held, days)
