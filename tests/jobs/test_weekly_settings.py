"""What a shop says to its weekly run: who is forecast, what can no longer be ordered; and runs shown again."""

from __future__ import annotations

import json
from datetime import date

import pytest
from sqlalchemy import insert, update

from stockroom.domain.refusal import Refusal
from stockroom.jobs.last_order import Notice, give_notice, notice_ends, notices
from stockroom.jobs.planning import plan_group, plan_item, plans
from stockroom.jobs.reorder import reorder
from stockroom.jobs.reorder_inputs import digest_of
from stockroom.jobs.reorder_report import ReorderLine, ReorderReport
from stockroom.jobs.reorder_runs import inputs_of, made_runs, shown_again, working_of, working_then
from stockroom.jobs.undo import last_of, undo
from stockroom.store import tables as t
from stockroom.store.database import Shop
from tests.reorder_shop import BAG, BINDING, CARPET, STAMP, STUD, Ordering, Stocking, fill
from tests.shops import LATER

TODAY = date(2026, 11, 25)
WEEK = "2026-W48"


def run(shop: Shop) -> ReorderReport:
    return reorder(shop, WEEK, TODAY, STAMP)


def line(report: ReorderReport, item: str) -> ReorderLine:
    return report.line(item)


def past_use(shop: Shop, item: str, each_week: int) -> None:
    """So much of an item was used in each of the three years' weeks before the run."""
    with shop.write() as tx:
        holding = tx.execute(
            insert(t.Holding)
            .values(
                kind="past", item=item, lot="", held=0, reserved=0, quarantined=False, quarantined_because="",
                last_number=0, value_minor=0,
            )
            .returning(t.Holding.id)
        ).scalar_one()  # fmt: skip
        job = tx.execute(insert(t.Job).values(what="load", by="AB", at=STAMP.at).returning(t.Job.id)).scalar_one()
        tx.execute(
            insert(t.Movement),
            [
                {
                    "holding_id": holding, "number": number, "kind": "issued", "quantity": -each_week, "balance": 0,
                    "value_minor": 0, "job_id": job, "by": "AB", "at": STAMP.at.replace(year=2023) + week * number,
                    "note": "",
                }
                for week in (date(2026, 1, 8) - date(2026, 1, 1),)
                for number in range(1, 157)
            ],
        )  # fmt: skip


def test_a_group_is_forecast_and_an_item_of_it_may_say_otherwise(shop: Shop) -> None:
    fill(shop)
    with shop.write() as tx:
        tx.execute(update(t.Item).where(t.Item.code.in_((STUD, BINDING))).values(group="metal", least=None, most=None))
        tx.execute(update(t.Item).where(t.Item.code == BAG).values(least=None))
    past_use(shop, STUD, 5)
    assert [(one.what, one.planned_by) for one in plans(shop)] == [("group metal", "limits")]
    with pytest.raises(Refusal, match="no line"):
        line(run(shop), STUD)
    planned = plan_group(shop, "metal", "forecast", STAMP, "shelf", 980)
    assert (planned.planned_by, planned.target) == ("forecast", "98 % of demand met from the shelf")
    found = line(run(shop), STUD)
    assert (found.method, found.basis) == ("forecast", "forecast: smooth use, smoothed")
    assert found.quantity == 15, "five a week, for 14 days and a week: use that never strays needs nothing beside"
    plan_item(shop, STUD, "limits", STAMP)
    assert [(one.what, one.planned_by) for one in plans(shop)][1:] == [(f"item {STUD}", "limits")]
    with pytest.raises(Refusal, match="no line"):
        line(run(shop), STUD)
    plan_item(shop, STUD, "", STAMP)
    assert line(run(shop), STUD).method == "forecast"
    with pytest.raises(Refusal, match="nearest name is 'metal'"):
        plan_group(shop, "metl", "forecast", STAMP)
    with pytest.raises(Refusal, match="no item 'stud'"):
        plan_item(shop, "stud", "limits", STAMP)
    with pytest.raises(Refusal, match="Say limits or forecast"):
        plan_group(shop, "metal", "guess", STAMP)
    with pytest.raises(Refusal, match=r"50 to 99\.9 per cent, not 2"):
        plan_group(shop, "metal", "forecast", STAMP, "", 20)


def test_a_notice_brings_a_last_buy_until_it_ends(shop: Shop) -> None:
    fill(shop)
    with shop.write() as tx:
        tx.execute(update(t.Item).where(t.Item.code.in_((STUD, BAG))).values(least=None, most=None))
    past_use(shop, STUD, 5)
    assert give_notice(shop, STUD, date(2026, 12, 21), STAMP, 26, "the mill closes").changed_anything
    assert not give_notice(shop, STUD, date(2026, 12, 21), STAMP, 26, "the mill closes").changed_anything
    assert notices(shop) == (Notice(STUD, "Turn-button fastener", date(2026, 12, 21), 26, "the mill closes", "AB"),)
    found = line(run(shop), STUD)
    assert (found.method, found.latest_day, found.quantity) == ("last buy", date(2026, 12, 21), 150)
    give_notice(shop, STUD, date(2026, 12, 21), LATER, 10)
    assert line(run(shop), STUD).quantity == 70
    undo(shop, last_of(shop, "CD"), LATER)
    assert line(run(shop), STUD).quantity == 150, "the notice before holds again"
    notice_ends(shop, STUD, "bought enough", LATER)
    assert notices(shop) == ()
    undo(shop, last_of(shop, "CD"), LATER)
    assert [one.item for one in notices(shop)] == [STUD]
    with pytest.raises(Refusal, match="no item 'no-such'"):
        give_notice(shop, "no-such", TODAY, STAMP)
    with pytest.raises(Refusal, match="made here"):
        give_notice(shop, BAG, TODAY, STAMP)
    with pytest.raises(Refusal, match="0 weeks cannot be"):
        give_notice(shop, STUD, TODAY, STAMP, 0)
    with pytest.raises(Refusal, match=r"2025-12-21 is past.* Is the year right\?"):
        give_notice(shop, STUD, date(2025, 12, 21), STAMP)
    with pytest.raises(Refusal, match="no notice of 'carpet/red'"):
        notice_ends(shop, CARPET, "", STAMP)


def test_a_run_is_shown_again_with_all_that_went_in(shop: Shop) -> None:
    fill(shop)
    with shop.write() as tx:
        Ordering(tx, "L-1001", date(2026, 12, 11)).need(BINDING, 12000, need="length")
    first = run(shop)
    with shop.write() as tx:
        Stocking(tx).roll(BINDING, 40000)
    second = run(shop)
    assert [(one.number, one.week, one.by) for one in made_runs(shop)] == [(2, WEEK, "AB"), (1, WEEK, "AB")]
    assert made_runs(shop)[1].summary == first.summary()
    assert (shown_again(shop, 1), shown_again(shop, 2)) == (first, second)
    went_in = inputs_of(shop, 1)
    assert digest_of(went_in) == first.digest
    told = {one["item"]["code"]: one for one in json.loads(went_in)["standings"]}
    assert told[BINDING]["needs"][0]["quantity"] == 12000
    assert working_then(first, BINDING).steps == first.line(BINDING).steps
    with pytest.raises(Refusal, match="no reorder run 7"):
        shown_again(shop, 7)
    with shop.write() as tx:
        tx.execute(update(t.ReorderRun).where(t.ReorderRun.id == 1).values(report={"form": 3}, inputs=None))
    for older in (shown_again, inputs_of):
        with pytest.raises(Refusal, match="older program"):
            older(shop, 1)
    assert made_runs(shop)[1].summary == "made by an older program"


def test_an_item_explains_itself_whether_it_has_a_line_or_not(shop: Shop) -> None:
    """12 m of binding are wanted in W50 and 3 to make 3 of nothing: the table has the weeks in which anything is."""
    fill(shop)
    with shop.write() as tx:
        Stocking(tx).roll(BINDING, 40000)
        Ordering(tx, "L-1001", date(2026, 12, 11)).need(BINDING, 12000, need="length")
    told = working_of(shop, WEEK, BINDING, TODAY)
    assert told.lines()[-3:] == (
        "",
        "      week   needed  forecast  comes     left  to be ready",
        "  2026-W50  12.00 m         0      0  28.00 m            0",
    )
    assert told.steps[-1] == "Nothing is to be bought or made."
    assert working_of(shop, WEEK, CARPET, TODAY).steps == run(shop).line(CARPET).steps
    with pytest.raises(Refusal, match="nearest name is 'binding/red'"):
        working_of(shop, WEEK, "binding/rd", TODAY)


def test_clocks_set_back_and_weeks_that_nobody_wrote_down_are_named_and_the_report_comes(shop: Shop) -> None:
    fill(shop)
    past_use(shop, STUD, 5)
    with shop.write() as tx:
        later = STAMP.at.replace(year=2028)
        for at in (later, STAMP.at):
            tx.execute(insert(t.Job).values(what="load", by="AB", at=at))
    report = run(shop)
    assert report.books == (
        "A clock was set back from 2028-11-23 to 2026-11-23: what was booked about then may stand in the wrong week.",
    )
    assert report.books[0] in report.lines()
    assert report.line(CARPET).quantity > 0
