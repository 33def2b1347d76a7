"""Deciding on the lines of a run: what is bought becomes purchases once, what is put off stays so until its day."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import select, update

from stockroom.domain.arrival import Arrival
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.buying import BuyingList, buying_list, decided_words, made_anew, made_list
from stockroom.jobs.decide import accept, asked, change, put_off
from stockroom.jobs.purchase_paper import purchase_order
from stockroom.jobs.purchasing import Purchase, buy, close_purchase, expected
from stockroom.jobs.receive import receive
from stockroom.jobs.reorder import reorder
from stockroom.jobs.undo import done, last_of, undo
from stockroom.store.database import Shop
from stockroom.store.tables import BuyingDecision
from stockroom.store.tables import Purchase as PurchaseRow
from tests.reorder_shop import BINDING, CARPET, STUD, Ordering, Stocking, fill

TODAY = date(2026, 11, 25)
MORNING = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)


def at(minutes: int, by: str = "AB") -> Stamp:
    return Stamp(by, MORNING + timedelta(minutes=minutes))


def lindow(shop: Shop) -> BuyingList:
    """Carpet (20 m to be kept, 2 m at the least) and turn-buttons run out, and an order needs binding."""
    fill(shop)
    with shop.write() as tx:
        Stocking(tx).purchase(STUD, 5, date(2026, 12, 16), reference="P-0615")
        Ordering(tx, "L-1001", date(2026, 12, 4)).need(BINDING, 12_000, need="length")
    return made_list(shop, "2026-W48", TODAY, at(0))


def number(found: BuyingList) -> int:
    assert found.run is not None
    return found.run


def on_order(shop: Shop) -> list[tuple[str, str, int, str, int]]:
    with shop.read() as tx:
        p = PurchaseRow
        rows = tx.execute(select(p.reference, p.item, p.quantity, p.due, p.price_minor).order_by(p.reference, p.item))
        return [(one.reference, one.item, one.quantity, str(one.due), one.price_minor) for one in rows][1:]


def test_the_accepted_lines_of_a_supplier_are_one_purchase_due_after_the_lead_time_at_the_break(shop: Shop) -> None:
    found = lindow(shop)
    assert [(one.supplier, one.proposed.item, one.proposed.quantity) for one in found.lines] == [
        ("mill", CARPET, 20_000),
        ("mill", BINDING, 25_000),
        ("stud", STUD, 55),
    ]
    assert found.carriage["mill"] == "310.00 GBP as proposed. Carriage is paid from 500.00 GBP; 190.00 GBP to go."
    done = accept(shop, number(found), [CARPET, STUD, BINDING], at(5))
    assert on_order(shop) == [
        ("P-0616", BINDING, 25_000, "2026-12-02", 40),
        ("P-0616", CARPET, 20_000, "2026-12-16", 1500),
        ("P-0617", STUD, 55, "2026-12-09", 40),
    ]
    assert [(one.reference, one.supplier) for one in done.orders] == [
        ("P-0616", "The carpet mill"),
        ("P-0617", "Studs"),
    ]
    assert "310.00 GBP, due by 2026-12-16" in done.sentences[0]


def test_what_is_accepted_twice_says_so_and_buys_nothing_also_by_the_run_made_anew(shop: Shop) -> None:
    run = number(lindow(shop))
    accept(shop, run, [CARPET], at(5))
    before = on_order(shop)
    again = accept(shop, run, [CARPET], at(6, "CD"))
    assert not again.changed_anything
    assert again.sentences == (
        f"{CARPET} was bought already, purchase P-0616 (AB, 2026-11-25). Nothing more is bought of it.",
    )
    anew = made_anew(shop, "2026-W48", TODAY, at(7))
    assert anew.run != run
    with pytest.raises(Refusal, match=r"was bought already, purchase P-0616 .* no more of it to buy"):
        accept(shop, number(anew), [CARPET], at(8))
    with pytest.raises(Refusal, match="2026-W40 is past"):
        made_list(shop, "2026-W40", TODAY, at(9))
    assert on_order(shop) == before


def test_the_run_made_anew_on_unchanged_stock_shows_what_was_decided_and_an_undo_makes_it_open_again(
    shop: Shop,
) -> None:
    found = lindow(shop)
    run = number(found)
    put_off(shop, run, [STUD], "the fair is next week", at(5))
    same = made_anew(shop, "2026-W48", TODAY, at(6, "CD"))
    assert same.run == run
    assert [one.decided.words if one.decided else "" for one in same.lines] == [
        "",
        "",
        "put off until 2026-11-30 (AB): the fair is next week",
    ]
    accept(shop, run, [BINDING], at(7))
    bought = buying_list(shop, "2026-W48", TODAY).line(BINDING)
    assert bought.decided is not None
    assert bought.decided.words == "bought 25.00 m in P-0616 (AB)"
    assert made_anew(shop, "2026-W48", TODAY, at(8)).run != run
    undo(shop, last_of(shop, "AB"), at(9))
    back = made_anew(shop, "2026-W48", TODAY, at(10))
    assert (back.run, [one.proposed.item for one in back.open_lines]) == (run, [CARPET, BINDING])
    assert on_order(shop) == []
    report = reorder(shop, "2026-W48", TODAY, at(11))
    put = [line for line in report.lines(decided_words(shop, report, TODAY)) if "ut off until" in line]
    assert len(put) == 1
    assert "Put off until 2026-11-30 (AB): the fair is next week: 55 of turn-button" in put[0]


def test_a_changed_line_takes_a_reason_and_asks_where_it_is_not_what_is_sold(shop: Shop) -> None:
    run = number(lindow(shop))
    with pytest.raises(Refusal, match="Say why"):
        change(shop, run, CARPET, "8 m", " ", at(5))
    with pytest.raises(Refusal, match="is not a count"):
        change(shop, run, STUD, "8 m", "enough", at(5))
    assert [one.name for one in asked(shop, run, {STUD: "12"}, at(5))] == ["not-sold", "too-little"]
    with pytest.raises(Refusal, match="--sure not-sold --sure too-little") as refused:
        change(shop, run, STUD, "12", "enough until the fair", at(5))
    assert refused.value.faults[0] == (
        "not-sold: By its terms Studs sells 15 of Turn-button fastener, not 12. Has it agreed?"
    )
    change(shop, run, STUD, "12", "enough until the fair", at(6), {"not-sold", "too-little"})
    assert on_order(shop) == [("P-0616", STUD, 12, "2026-12-09", 50)]
    line = buying_list(shop, "2026-W48", TODAY).line(STUD)
    assert line.decided is not None
    assert (line.decided.decision, line.decided.because) == ("changed", "enough until the fair")
    with pytest.raises(Refusal, match=r"was bought already, purchase P-0616 .* undo that first"):
        change(shop, run, STUD, "30", "the next break", at(7))


def test_what_is_put_off_is_shown_so_in_the_next_runs_until_its_day_and_can_be_bought_all_the_same(shop: Shop) -> None:
    run = number(lindow(shop))
    put_off(shop, run, [CARPET], "a cheaper mill was asked", at(5), until="2026-12-09")
    put_off(shop, run, [STUD], "next run", at(5))
    next_week = made_list(shop, "2026-W49", date(2026, 12, 1), at(10_000))
    assert [one.proposed.item for one in next_week.lines if not one.is_open] == [CARPET]
    in_time = buying_list(shop, "2026-W49", date(2026, 12, 9))
    assert not [one for one in in_time.lines if not one.is_open], "its day has come"
    accept(shop, number(next_week), [CARPET], at(10_001))
    assert [one[1] for one in on_order(shop)] == [CARPET]
    for typed, why in (("2026-11-25", "is today"), ("2026-11-20", "has passed"), ("soon", "is not a day")):
        with pytest.raises(Refusal, match=why):
            put_off(shop, run, [BINDING], "later", at(6), until=typed)


def test_more_goes_on_the_same_purchase_until_something_of_it_was_closed_and_what_came_is_not_undone(
    shop: Shop,
) -> None:
    run = number(lindow(shop))
    accept(shop, run, [CARPET], at(5))
    accept(shop, run, [BINDING], at(6))
    assert {one[0] for one in on_order(shop)} == {"P-0616"}
    close_purchase(shop, "P-0616", "the mill has no more", at(7), CARPET)
    job = last_of(shop, "AB")
    undo(shop, job, at(8))
    assert len(expected(shop, TODAY)) == 3
    with shop.write() as tx:
        tx.execute(update(PurchaseRow).where(PurchaseRow.item == BINDING).values(received=1_000))
    with pytest.raises(Refusal, match="Something of it has come"):
        undo(shop, job - 1, at(9))
    with shop.read() as tx:
        assert len(tx.execute(select(BuyingDecision)).all()) == 2


def test_what_was_bought_by_telephone_after_the_run_is_asked_about(shop: Shop) -> None:
    run = number(lindow(shop))
    buy(shop, Purchase("T-1", "mill", CARPET, "10 m"), at(3, "CD"))
    assert buying_list(shop, "2026-W48", TODAY).done_since == 1
    with pytest.raises(Refusal) as refused:
        accept(shop, run, [CARPET, BINDING], at(5))
    assert "bought after the run was made, T-1" in refused.value.faults[0]
    with pytest.raises(Refusal, match="Nothing is asked about under 'certain'"):
        accept(shop, run, [CARPET], at(5), {"certain"})
    accept(shop, run, [CARPET], at(5), {"bought-since"})
    assert ("P-0616", CARPET, 20_000, "2026-12-16", 1500) in on_order(shop)


def test_an_order_that_was_printed_is_added_to_no_more_and_the_undo_names_it(shop: Shop) -> None:
    run = number(lindow(shop))
    accept(shop, run, [CARPET], at(5))
    assert purchase_order(shop, "p-0616", at(6)).startswith(b"%PDF")
    accept(shop, run, [BINDING], at(7, "CD"))
    assert [one[:2] for one in on_order(shop)] == [("P-0616", CARPET), ("P-0617", BINDING)]
    assert undo(shop, last_of(shop, "AB"), at(8)).throw_away == ("purchase order P-0616",)
    with pytest.raises(Refusal, match="no purchase 'P-0616'"):
        purchase_order(shop, "P-0616", at(9))
    close_purchase(shop, "P-0617", "not made any more", at(9))
    with pytest.raises(Refusal, match="is closed"):
        purchase_order(shop, "P-0617", at(9))


def test_what_came_of_an_accepted_line_is_received_as_of_any_purchase_and_keeps_it_bought(shop: Shop) -> None:
    run = number(lindow(shop))
    accept(shop, run, [STUD], at(5))
    for much in ("30", "25"):
        said = Arrival(STUD, (much,), "A1", "P-0616", "", "", "", "", False, (), "", "", "", "")
        receive(shop, said, at(60), {"again"})
    assert [one.reference for one in expected(shop, TODAY)] == ["P-0615"], "all of it has come, in two parts"
    with pytest.raises(Refusal, match="cannot be undone"):
        undo(shop, next(one for one in done(shop) if one.what.startswith("buy by")).number, at(70))
