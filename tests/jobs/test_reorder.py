"""The weekly reorder run on a small shop: a table worked by hand, and what a person and a timer count on."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, date, datetime

import pytest
from sqlalchemy import func, select, update

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.reorder import reorder
from stockroom.jobs.reorder_paper import reorder_paper
from stockroom.jobs.reorder_report import ReorderReport
from stockroom.store.database import Shop
from stockroom.store.tables import Item, ReorderRun, Supplier, Terms
from tests.reorder_shop import BAG, BINDING, CARPET, SHELL, STAMP, STUD, Ordering, Stocking, fill

TODAY = date(2026, 11, 25)


def run(shop: Shop, week: str | None = "2026-W48", today: date = TODAY, stamp: Stamp = STAMP) -> ReorderReport:
    return reorder(shop, week, today, stamp)


def lindow(shop: Shop) -> None:
    """Stock, purchases and orders of the hand-worked week."""
    fill(shop)
    with shop.write() as tx:
        stock = Stocking(tx)
        stock.roll(CARPET, 3500)
        stock.roll(BINDING, 9000)
        stock.bin(STUD, 18)
        stock.purchase(STUD, 30, date(2026, 12, 16))
        early = Ordering(tx, "L-1001", date(2026, 12, 4))
        early.need(STUD, 10)
        early.panels(CARPET, 900, 1200, count=3)
        later = Ordering(tx, "L-1002", date(2026, 12, 11))
        later.need(STUD, 20)
        later.need(BAG, 1, need="made")
        late = Ordering(tx, "L-1003", date(2026, 12, 22))
        late.need(STUD, 25)
        late.need(BINDING, 12000, need="length")
        undated = Ordering(tx, "L-1004", None)
        undated.need(STUD, 4)
        undated.need(SHELL, 2)


def test_a_hand_worked_week(shop: Shop) -> None:
    """Run of 2026-W48, Monday 23 November.

    A tool bag is made here: 1 wanted in W50 and 2 to be kept: make 3, in W50. One takes 2 turn-buttons and 400 mm of
    carpet; three laid together take 1210, 5 between two for the knife. That is needed in W50 too.

    Turn-buttons, sold in fives from 10 on, 14 days: 18 free. W49 takes 10 (8 left), W50 takes 20 and the bags 6 (18
    short), 30 come in W51, W52 takes 25 and the undated order 4: in the end 18 + 30 - 65 = -17. The least of 20 asks
    for 37, the most of 60 for 77: 75 at 0.40 is 30.00. W50 less 14 days is this Monday: urgent.

    Carpet, 21 days, from 5 m in whole metres: three panels of 900 x 1200 on a roll 1000 wide take 3610; 3500 are free:
    110 short in W49, whose Monday less 21 days is 9 November: late; the bags take 1210 in W50, 1320 short. In the end
    -1320; the least of 2 m asks for 3320, which is 5 m as sold; the most of 20 m asks for 21.32 m, 21 m in whole
    metres. At 15.00 that is 315.00.

    Binding, 7 days, by the reel of 25 m: 9 m free, 12 m wanted in W52: 3 m short, one reel, 10.00. W52 (21 December)
    less 7 days is 14 December: normal.

    Nobody sells the bag shell: 2 of it.
    """
    lindow(shop)
    report = run(shop)
    found = {
        line.item: (line.quantity, line.needed, line.cost_minor, line.urgency, line.latest_day)
        for _, _, lines in report.groups()
        for line in lines
    }
    assert found == {
        STUD: (75, 37, 3000, "urgent", date(2026, 11, 23)),
        CARPET: (21000, 3320, 31500, "late", date(2026, 11, 9)),
        BINDING: (25000, 3000, 1000, "normal", date(2026, 12, 14)),
        BAG: (3, 3, None, "normal", date(2026, 12, 7)),
        SHELL: (2, 2, None, "normal", None),
    }
    assert [one.code for one in report.suppliers] == ["mill", "stud"]
    assert [line.item for line in report.suppliers[0].lines] == [CARPET, BINDING], "the late line stands first"
    assert report.suppliers[0].carriage == "Carriage is paid from 500.00 GBP; 175.00 GBP to go."
    assert report.line(SHELL).steps[-1] == "Nobody sells it: add terms."
    assert report.lines() == (
        "Reorder report of Lindow Trim, 2026-W48",
        "",
        "The carpet mill (mill)",
        "  2 lines, 325.00 GBP. Carriage is paid from 500.00 GBP; 175.00 GBP to go.",
        "  LATE 21.00 m of carpet/red, Boot carpet, red; 315.00 GBP; order by 2026-11-09; "
        "orders and what is to be made short by 1.32 m in 2026-W49; by orders, least and most",
        "  25.00 m of binding/red, Edge binding, red; 10.00 GBP; order by 2026-12-14; "
        "orders short by 3.00 m in 2026-W52; by orders, least and most",
        "",
        "Studs (stud)",
        "  1 line, 30.00 GBP.",
        "  URGENT 75 of turn-button, Turn-button fastener; 30.00 GBP; order by 2026-11-23; "
        "orders and what is to be made short by 18 in 2026-W50; by orders, least and most",
        "",
        "To make here",
        "  3 of tool-bag, Tool bag; start by 2026-12-07; orders short by 1 in 2026-W50; by orders, least and most",
        "",
        "Nobody sells it, or on impossible terms: add or correct terms",
        "  2 of bag-shell, Bag shell; orders short by 2; nobody sells it: add terms; by orders, least and most",
    )


def test_the_same_week_on_unchanged_stock_is_the_kept_run(shop: Shop) -> None:
    lindow(shop)
    first = run(shop)
    other = Stamp("CD", datetime(2027, 3, 1, 9, 0, tzinfo=UTC))
    again = run(shop, today=date(2027, 3, 1), stamp=other)
    assert json.dumps(again.to_dict()) == json.dumps(first.to_dict())
    assert run(shop, None) == first, "without a week: the week of today"
    with shop.read() as tx:
        assert tx.execute(select(ReorderRun.by, ReorderRun.week)).all() == [("AB", "2026-W48")]


def test_what_changed_makes_another_run_and_the_first_stays(shop: Shop) -> None:
    lindow(shop)
    first = run(shop)
    with shop.write() as tx:
        Stocking(tx).roll(CARPET, 40000)
    second = run(shop)
    assert second.digest != first.digest
    assert CARPET not in {line.item for _, _, lines in second.groups() for line in lines}
    with shop.read() as tx:
        assert tx.scalar(select(func.count()).select_from(ReorderRun)) == 2


def test_a_report_survives_being_kept(shop: Shop) -> None:
    lindow(shop)
    report = run(shop)
    assert ReorderReport.from_dict(json.loads(json.dumps(report.to_dict()))) == report


def test_the_last_week_of_a_year_of_53(shop: Shop) -> None:
    """3 January 2027 is in 2026-W53 (ISO 8601); wanted in 2027-W02, less 14 days: Monday of W53, 28 December."""
    fill(shop)
    with shop.write() as tx:
        tx.execute(update(Item).where(Item.code == BAG).values(least=None))
        Ordering(tx, "L-1001", date(2027, 1, 15)).need(STUD, 4)
    report = run(shop, None, date(2027, 1, 3))
    assert report.week == "2026-W53"
    (line,) = report.suppliers[0].lines
    assert (line.item, line.urgency, line.latest_day) == (STUD, "urgent", date(2026, 12, 28))


def test_impossible_terms_are_named_and_the_rest_still_comes(shop: Shop) -> None:
    lindow(shop)
    with shop.write() as tx:
        tx.execute(update(Terms).where(Terms.item == CARPET).values(multiple=0))
    report = run(shop)
    assert report.faults == (
        "The terms of mill for carpet/red are impossible: the multiple is 0, and nothing comes in multiples of that. "
        "Correct them.",
    )
    assert [(line.item, line.action) for line in report.unsold] == [(CARPET, "bad terms"), (SHELL, "no terms")]
    assert [line.item for one in report.suppliers for line in one.lines] == [STUD, BINDING], "what presses comes first"
    assert report.faults[0] in report.lines()


def test_what_is_wanted_after_the_horizon_is_shown_and_not_bought(shop: Shop) -> None:
    fill(shop)
    with shop.write() as tx:
        Ordering(tx, "L-1001", date(2027, 5, 21)).need(BINDING, 5000, need="length")
    report = run(shop)
    assert BINDING not in {line.item for _, _, lines in report.groups() for line in lines}
    place = report.lines().index("Wanted later than is bought for now: shown, not bought")
    assert report.lines()[place + 1] == "  5.00 m of binding/red, Edge binding, red"


def test_what_waits_for_an_answer_is_told_and_not_bought(shop: Shop) -> None:
    fill(shop)
    with shop.write() as tx:
        order = Ordering(tx, "L-1001", date(2026, 12, 4))
        order.need(BINDING, 5000, need="length")
        order.waits()
    report = run(shop)
    assert BINDING not in {line.item for _, _, lines in report.groups() for line in lines}
    assert report.remarks() == ("1 requirement hangs on an answer that is not given yet: nothing is bought for that.",)


def test_nothing_to_buy_is_said(shop: Shop) -> None:
    fill(shop)
    with shop.write() as tx:
        tx.execute(update(Item).values(least=None))
    report = run(shop)
    assert report.lines() == (
        "Reorder report of Lindow Trim, 2026-W48",
        "Nothing is to be bought or made this week.",
    )
    assert reorder_paper(report).startswith(b"%PDF")


def test_no_such_week_and_no_such_line_are_refused(shop: Shop) -> None:
    fill(shop)
    with pytest.raises(Refusal, match="no week '2027-W53'"):
        run(shop, "2027-W53")
    with pytest.raises(Refusal, match="no line for 'felt/black'"):
        run(shop).line("felt/black")


def test_an_empty_shop_is_refused(shop: Shop) -> None:
    with pytest.raises(Refusal, match="empty"):
        run(shop)


def test_csv_has_a_line_an_item_and_no_formula(shop: Shop) -> None:
    lindow(shop)
    with shop.write() as tx:
        tx.execute(update(Item).where(Item.code == STUD).values(title="=HYPERLINK(1)\x07"))
    rows = list(csv.DictReader(io.StringIO(run(shop).csv(), newline="")))
    assert [row["item"] for row in rows] == [CARPET, BINDING, STUD, BAG, SHELL]
    stud = rows[2]
    assert stud["title"] == "'=HYPERLINK(1)\\u0007"
    assert (stud["quantity"], stud["unit"], stud["cost"], stud["latest_day"]) == ("75", "count", "30.00", "2026-11-23")
    assert (rows[0]["quantity"], rows[0]["unit"]) == ("21000", "mm")


def test_the_paper_says_what_to_order_and_why(shop: Shop) -> None:
    import pypdfium2

    lindow(shop)
    with shop.write() as tx:
        tx.execute(update(Supplier).where(Supplier.code == "mill").values(name="<b>The [red] mill</b>"))
    with pypdfium2.PdfDocument(reorder_paper(run(shop))) as document:
        text = " ".join(document[0].get_textpage().get_text_range().split())
    for told in (
        "Lindow Trim",
        "2026-W48",
        "<b>The [red] mill</b>",
        "21.00 m",
        "315.00 GBP",
        "LATE",
        "URGENT",
        "Nobody",
    ):
        assert told in text
    assert "short by 18 in 2026-W50" in text
