"""Goods in: what was typed is said back, what is not likely is asked by name, and what is booked is booked once."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.arrival import Arrival, read_arrival
from stockroom.domain.catalogue import Cloth, Item
from stockroom.domain.quantities import MM_IN
from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.change import cancel
from stockroom.jobs.purchasing import Purchase, buy, close_purchase, expected
from stockroom.jobs.racks import where_is
from stockroom.jobs.read_roll import read_roll
from stockroom.jobs.receivable import receivable, to_receive
from stockroom.jobs.receive import receive, receive_check
from stockroom.jobs.reorder import reorder
from stockroom.jobs.reserve import reserve
from stockroom.jobs.take import take
from stockroom.jobs.undo import done, undo
from stockroom.store.database import Shop
from tests.shops import LATER, STAMP, TODAY, bin_of, changed_tables, dump, free, line, load_files, look, order, roll
from tests.shops import stock_shop as stocked

HOOD = "hood-cloth/fawn"
SUPPLIERS = "code,name,lead_days,currency\nwesting,Westing Coated Cloths,35,GBP\ntern,Tern Fasteners,7,EUR\n"
TERMS = 'supplier,item,least_quantity,multiple,price,breaks\nwesting,hood-cloth/fawn,10 m,5 m,38.50,"50 m:35.80"\n'
PURCHASES = (
    "reference,supplier,item,quantity,received,ordered,due,price\n"
    "P-1,westing,hood-cloth/fawn,25 m,0,opening-9d,opening-5d,38.50\n"
    "P-1,westing,carpet/red,10 m,0,opening-9d,opening+5d,20.00\n"
    "P-2,tern,stud,100,60,opening-9d,opening+1d,0.10\n"
)


@pytest.fixture
def goods_shop(shop: Shop, tmp_path: Path) -> Shop:
    """A shop with one roll of hood cloth, a bin of studs, and two purchases on their way."""
    stocked(shop, tmp_path, roll(HOOD, 700, "W4391"), bin_of("stud", 10))
    load_files(shop, tmp_path, {"suppliers.csv": SUPPLIERS, "terms.csv": TERMS, "purchases.csv": PURCHASES})
    return shop


def hood(*amounts: str, **more: Any) -> Arrival:
    """Rolls of hood cloth against purchase P-1, of a lot that is new."""
    return Arrival(HOOD, amounts or ("25 m",), **{"place": "R1", "purchase": "P-1", "lot": "W5000", **more})


def names(shop: Shop, said: Arrival) -> list[str]:
    """What is asked of it."""
    return [one.name for one in receive_check(shop, said, LATER).questions]


def still_due(shop: Shop) -> dict[str, int]:
    """Item → what of it is still expected."""
    return {one.item: one.still_due for one in expected(shop, TODAY)}


def test_what_is_typed_is_said_back_and_nothing_is_booked_by_asking(goods_shop: Shop) -> None:
    before = dump(goods_shop)
    back = receive_check(goods_shop, hood("13 yd", width="58 in"), LATER)
    assert back.lines[0] == "Hood cloth, fawn, lot W5000, into R1: 13 yd = 11.8872 m, booked as 11.887 m."
    assert "Usable width 1.473 m." in back.lines
    assert "The length is the supplier's word until it is measured." in back.lines
    assert "Purchase P-1 of Westing Coated Cloths: 13.113 m of 25.00 m is still due after it." in " ".join(back.lines)
    assert "Worth 457.65 GBP, at 38.50 GBP a metre." in back.lines
    assert back.questions == ()
    assert changed_tables(before, dump(goods_shop)) == set()


def test_rolls_come_in_against_a_purchase_with_a_tag_each(goods_shop: Shop) -> None:
    came = receive(goods_shop, hood("12 m", "13 m", delivery="4711"), LATER)
    assert [one.quantity for one in came.goods] == [12_000, 13_000]
    assert len(set(came.new_tags)) == 2
    assert free(goods_shop, HOOD) == 25_700
    assert still_due(goods_shop) == {"carpet/red": 10_000, "stud": 40}
    rows = dump(goods_shop)
    assert [(row[3], row[6]) for row in rows["receipt"]] == [("4711", 12_000), ("4711", 13_000)]
    assert audit(goods_shop).is_good


def test_counted_goods_go_into_their_bin_and_a_new_lot_into_its_own(goods_shop: Shop) -> None:
    first = receive(goods_shop, Arrival("STUD", ("40",), "b1", "p-2"), LATER)
    assert [(one.holds, one.is_new) for one in first.goods] == [(50, False)]
    assert first.new_tags == ()
    assert any("priced in EUR" in words for words in first.lines), "no money is converted"
    other = receive(goods_shop, Arrival("stud", ("5",), "B1", lot="L2", price="0.10"), LATER)
    assert [(one.holds, one.is_new) for one in other.goods] == [(5, True)]
    again = receive(goods_shop, Arrival(first.goods[0].tag, ("3",), "B1"), LATER)
    assert again.goods[0].tag == first.goods[0].tag
    assert free(goods_shop, "stud") == 58
    assert audit(goods_shop).is_good


def test_what_expires_earliest_in_a_bin_decides(goods_shop: Shop) -> None:
    for day in ("2027-05-31", "2027-03-31", "2027-09-30"):
        receive(goods_shop, Arrival("clip", ("5",), "B2", expires=day), LATER, {"again"})
    assert [row[-1] for row in dump(goods_shop)["holding"] if row[3] == "clip"] == [date(2027, 3, 31)]


def test_what_is_not_likely_is_asked_and_booked_once_it_is_confirmed(goods_shop: Shop) -> None:
    unlikely = [
        (hood(lot="w 4391"), "new-lot"),
        (hood("5 m", lot=""), "no-lot"),
        (hood("25", purchase=""), "length"),
        (hood("300 m", purchase=""), "length"),
        (hood("13 m", purchase="", width="1 m"), "width"),
        (replace(hood("5 m"), item="hood-cloth/red"), "other-item"),
        (hood("5 m", purchase="", expires="2026-11-24"), "expired"),
        (hood("20.5 m", lot="W4391"), "over"),  # 5 m without a lot have come by then
    ]
    for said, name in unlikely:
        before = dump(goods_shop)
        assert names(goods_shop, said) == [name]
        with pytest.raises(Refusal, match=f"--sure {name}"):
            receive(goods_shop, said, LATER)
        assert changed_tables(before, dump(goods_shop)) == set(), name
        if name != "new-lot":  # that one is put right instead: it is all that is due
            receive(goods_shop, said, LATER, {name})
            assert "; confirmed: " in dump(goods_shop)["job"][-1][1], "each confirmation is kept with the job"
    assert audit(goods_shop).is_good


def test_a_roll_received_twice_is_asked_about(goods_shop: Shop) -> None:
    receive(goods_shop, hood("12 m", delivery="4711"), STAMP)
    assert names(goods_shop, hood("12 m", delivery="4711")) == ["again"], "the same delivery note, a day later"
    assert names(goods_shop, hood("12 m", lot="W6000")) == []
    assert names(goods_shop, hood("12 m")) == [], "a day later, and nothing says that it is the same"
    receive(goods_shop, hood("11 m"), LATER)
    assert names(goods_shop, hood("11 m", purchase="")) == ["again"], "the second time without its purchase"
    with pytest.raises(Refusal, match="again") as refused:
        receive(goods_shop, hood("11 m"), LATER)
    assert "received by CD on 2026-11-26" in str(refused.value.faults)


def test_a_wrong_item_stays_what_it_is_and_what_was_bought_stays_due(goods_shop: Shop) -> None:
    came = receive(goods_shop, replace(hood("25 m"), item="hood-cloth/red"), LATER, {"other-item"})
    assert any("is for something else, which stays due" in words for words in came.lines)
    assert still_due(goods_shop)[HOOD] == 25_000
    assert "No price is known: it is booked as worth nothing." in came.lines


def test_a_roll_in_quarantine_is_not_reserved_and_serves_nobody_yet(goods_shop: Shop) -> None:
    number = take(goods_shop, order(line("tonneau")), STAMP).number
    with pytest.raises(Refusal):
        reserve(goods_shop, number, STAMP)
    came = receive(goods_shop, hood("10 m", quarantine="wrong shade"), LATER)
    assert came.waiting == ()
    assert free(goods_shop, HOOD) == 700
    good = receive(goods_shop, hood("9 m", flaws=("1 m-1.2 m stain",)), LATER)
    assert [one.order for one in good.waiting] == [number]
    reserve(goods_shop, number, LATER)
    assert look(goods_shop, number).wholly_held
    assert audit(goods_shop).is_good


def test_a_reading_is_kept_whole_with_its_conditions(goods_shop: Shop) -> None:
    receive(goods_shop, hood("9 m", reading="62,1 4.3 17.9 D65 10°", measured=True), LATER)
    (kept,) = dump(goods_shop)["reading"]
    assert kept[2:8] == (62.1, 4.3, 17.9, "D65", "10", LATER.by)
    with pytest.raises(Refusal) as refused:
        receive(goods_shop, hood("8 m", reading="62.1 4.3 17.9"), LATER)
    assert "lacks the light and the observer" in str(refused.value.faults)


def test_what_cannot_be_is_refused_in_words(goods_shop: Shop) -> None:
    before = dump(goods_shop)
    for said, words in (
        (hood("0 m"), "less than 1 mm"),
        (hood("-5 m"), "is not a length"),
        (hood("200 km"), "is not a length"),
        (hood("200000 m"), "too long to be meant"),
        (hood("1,500 m"), "can be read two ways"),
        (hood("5 m", place="R9"), "no place 'R9'"),
        (hood("5 m", place=" "), "where the goods are put"),
        (hood("5 m", purchase="P-9"), "no purchase 'P-9'"),
        (hood("5 m", supplier="tern"), "is of Westing Coated Cloths"),
        (hood("5 m", purchase="", supplier="mill"), "no supplier 'mill'"),
        (replace(hood("5 m"), item="hood-cloth/faun"), "nearest name is 'hood-cloth/fawn'"),
        (hood("5 m", flaws=("6 m-7 m stain",)), "does not lie on a roll of 5.00 m"),
        (hood("5 m", "6 m", flaws=("1 m-2 m stain",)), "by itself"),
        (hood("5 m", lot="W\n1"), "Lot: found"),
        (Arrival("stud", ("5 m",), "B1"), "is not a count"),
        (Arrival("stud", ("5", "6"), "B1"), "is counted"),
        (Arrival("stud", ("5",), "B1", width="1 m"), "has no width"),
        (hood("5 m", expires="31.5.2027"), "is not a day"),
        (hood("5 m", price="a lot"), "not a sum of money"),
    ):
        with pytest.raises(Refusal) as refused:
            receive(goods_shop, said, LATER)
        assert words in " ".join([refused.value.sentence, *refused.value.faults])
    with pytest.raises(Refusal, match="Nothing is asked about under 'ovr'"):
        receive(goods_shop, hood("5 m"), LATER, {"ovr"})
    assert changed_tables(before, dump(goods_shop)) == set()


def test_a_purchase_is_written_down_by_its_terms_expected_and_closed(goods_shop: Shop) -> None:
    bought = buy(goods_shop, Purchase("P-7", "Westing coated cloths", HOOD, "52 m"), STAMP)
    assert bought.due == date(2026, 12, 30)
    assert bought.lines == (
        "Purchase P-7: 52.00 m of Hood cloth, fawn from Westing Coated Cloths, 35.80 GBP a metre, as in its terms.",
        "Due on 2026-12-30: the lead time is 35 days.",
        "By its terms the supplier sells 55.00 m, not this quantity: ask.",
    )
    assert [one.late_days for one in expected(goods_shop, TODAY)] == [5, 0, 0, 0]
    with pytest.raises(Refusal, match="has hood-cloth/fawn already"):
        buy(goods_shop, Purchase("P-7", "westing", HOOD, "5 m"), STAMP)
    with pytest.raises(Refusal, match="is of Westing"):
        buy(goods_shop, Purchase("P-7", "tern", "clip", "5"), STAMP)
    with pytest.raises(Refusal, match="has passed"):
        buy(goods_shop, Purchase("P-8", "tern", "clip", "5", due="2026-01-01"), STAMP)
    receive(goods_shop, hood("20 m"), LATER)
    closed = close_purchase(goods_shop, "p-1", "the mill has no more", LATER, HOOD)
    assert closed.lines == ("Hood cloth, fawn: 5.00 m of 25.00 m will not come.",)
    assert {one.reference for one in expected(goods_shop, TODAY)} == {"P-1", "P-2", "P-7"}, "its carpet is still due"
    with pytest.raises(Refusal, match="CD: the mill has no more"):
        close_purchase(goods_shop, "P-1", "again", LATER, HOOD)
    assert names(goods_shop, hood("4 m", lot="W9")) == ["closed"]


def test_what_is_closed_is_no_longer_waited_for(goods_shop: Shop) -> None:
    number = take(goods_shop, order(line("tonneau"), wanted=TODAY), STAMP).number
    with pytest.raises(Refusal):
        reserve(goods_shop, number, STAMP)
    before = reorder(goods_shop, None, TODAY, STAMP)
    assert "P-1" in str(before.hurry)
    assert HOOD not in str(before.suppliers)
    close_purchase(goods_shop, "P-1", "the mill has no more", LATER, HOOD)
    after = reorder(goods_shop, None, TODAY, STAMP)
    assert after.hurry == ()
    assert HOOD in str(after.suppliers), "so it is to be bought elsewhere"


def undo_last(shop: Shop) -> tuple[str, ...]:
    """Undoes the latest job that still can be; what was told."""
    return undo(shop, done(shop)[0].number, LATER).sentences


def lasting(shop: Shop) -> dict[str, list[tuple[Any, ...]]]:
    """All that is kept, but for what undoing leaves: the ledger, jobs, emptied holdings, serials that were given."""
    left = ("movement", "job", "holding", "roll", "receipt", "counter", "printed")
    return {name: rows for name, rows in dump(shop).items() if name not in left}


def test_a_receipt_takes_its_reading_along_when_it_is_undone_and_leaves_a_later_one(goods_shop: Shop) -> None:
    receive(goods_shop, hood("9 m", reading="62.1 4.3 17.9 D65 10"), LATER)
    undo_last(goods_shop)
    assert dump(goods_shop)["reading"] == []
    assert audit(goods_shop).is_good
    came = receive(goods_shop, hood("9 m", "8 m", reading="62.1,4.3,17.9 D65/10"), LATER)
    read_roll(goods_shop, came.goods[0].tag, "62.3,4.3,17.9", ("D65", "10"), LATER)
    undone = undo(goods_shop, done(goods_shop)[1].number, LATER)
    assert [row[2] for row in dump(goods_shop)["reading"]] == [62.3]
    assert f"{came.goods[0].tag} was read since: that reading of its lot stays until it is undone itself." in (
        undone.sentences
    )


def test_receiving_buying_and_closing_are_undone(goods_shop: Shop) -> None:
    before = lasting(goods_shop)
    taken = take(goods_shop, order(line("tonneau")), STAMP).number
    with pytest.raises(Refusal):
        reserve(goods_shop, taken, STAMP)
    came = receive(goods_shop, hood("9 m", "8 m"), LATER)
    reserve(goods_shop, taken, LATER)
    receiving = done(goods_shop)[1]
    assert f"is reserved or used by now, for order {taken}." in receiving.why_not
    with pytest.raises(Refusal, match=f"for order {taken}"):
        undo(goods_shop, receiving.number, LATER)
    undo_last(goods_shop)
    undone = undo(goods_shop, receiving.number, LATER)
    assert undone.throw_away == tuple(f"tag {tag}" for tag in came.new_tags)
    assert "Its purchase is due again by so much." in undone.sentences
    assert free(goods_shop, HOOD) == 700
    assert still_due(goods_shop)[HOOD] == 25_000
    assert names(goods_shop, hood("9 m")) == [], "what was taken back is not the same goods again"
    for stud in (Arrival("stud", ("4",), "B1", expires="2027-01-01"), Arrival("clip", ("4",), "B1")):
        receive(goods_shop, stud, LATER)
        undo_last(goods_shop)
    assert free(goods_shop, "stud") == 10
    cancel(goods_shop, taken, LATER)
    buy(goods_shop, Purchase("P-7", "westing", HOOD, "50 m"), LATER)
    undo_last(goods_shop)
    close_purchase(goods_shop, "P-1", "the mill has no more", LATER)
    undo_last(goods_shop)
    assert lasting(goods_shop)["purchase"] == before["purchase"]
    close_purchase(goods_shop, "P-2", "enough", LATER)
    buy(goods_shop, Purchase("P-8", "westing", HOOD, "50 m"), LATER)
    receive(goods_shop, hood("50 m", purchase="P-8", lot="W8"), LATER)
    buying = next(one for one in done(goods_shop) if one.what.startswith("buy") and not one.undone_by)
    assert "Something of it has come" in buying.why_not
    with pytest.raises(Refusal, match="Something of it has come"):
        undo(goods_shop, buying.number, LATER)
    assert audit(goods_shop).is_good


@given(st.integers(1, 10**7), st.sampled_from(sorted(MM_IN)))
def test_no_typed_length_is_booked_longer_than_it_was_said(hundredths: int, unit: str) -> None:
    text = f"{hundredths / 100:.2f} {unit}"
    exact = hundredths * MM_IN[unit] / 100
    item = Item("hood-cloth/fawn", "Hood cloth, fawn", "cloth", "hood-cloth", "fawn")
    cloth = Cloth("hood-cloth", "Hood cloth", "cloth", "", "", 1_500, 0, True, 300, 1.0)
    if exact < 1 or exact > 100_000_000:
        with pytest.raises(Refusal):
            read_arrival(Arrival(item.code, (text,)), item, cloth, "GBP")
        return
    (booked,) = read_arrival(Arrival(item.code, (text,)), item, cloth, "GBP").quantities
    assert booked <= exact < booked + 1


def test_what_may_come_in_is_found_by_its_purchase_its_code_a_tag_or_words(goods_shop: Shop) -> None:
    tag = where_is(goods_shop, HOOD)[0].things[0].tag
    named = {
        text: [(one.goods.code, one.reference, one.due, one.place) for one in to_receive(goods_shop, text)]
        for text in ("p-1", "STUD", "hood fawn", tag, "carpet", "nothing of it")
    }
    assert named["p-1"] == [("carpet/red", "P-1", "10.00 m", ""), (HOOD, "P-1", "25.00 m", "R1")]
    assert named["STUD"] == [("stud", "P-2", "40", "B1"), ("stud", "", "", "B1")], "with its purchase, or without"
    assert named["hood fawn"] == named[tag] == [(HOOD, "P-1", "25.00 m", "R1"), (HOOD, "", "", "R1")]
    assert [code for code, *_ in named["carpet"]] == ["carpet/black", "carpet/fawn", "carpet/green", "carpet/red"]
    assert named["nothing of it"] == []
    close_purchase(goods_shop, "P-1", "the mill has none", LATER)
    assert {one.due for one in to_receive(goods_shop, "P-1")} == {""}, "what comes all the same is still found"
    assert "TB" not in {one.code for one in receivable(goods_shop)}
    assert {one.width for one in receivable(goods_shop) if one.code in (HOOD, "stud")} == {"1.50 m", ""}


@pytest.mark.parametrize(
    ("item", "said"),
    [
        ("p-1", "'P-1' is a purchase, of carpet/red and hood-cloth/fawn. Name the item that came, and the purchase"),
        ("hood fawn", "There is no item 'hood fawn'. Called so: 'hood-cloth/fawn'."),
        (
            "carpet",
            "There is no item 'carpet'. Called so: 'carpet/black', 'carpet/fawn', 'carpet/green' and 'carpet/red'.",
        ),
    ],
)
def test_a_purchase_or_a_name_in_place_of_an_item_is_refused_with_what_to_type(
    goods_shop: Shop, item: str, said: str
) -> None:
    with pytest.raises(Refusal, match=re.escape(said)):
        receive(goods_shop, Arrival(item, ("25 m",), "R1"), LATER)


def test_a_length_without_its_unit_is_not_bought_as_millimetres(goods_shop: Shop) -> None:
    with pytest.raises(Refusal, match=r"'25' is 0\.025 m, and less than 0\.30 m of Hood cloth, fawn is no use"):
        buy(goods_shop, Purchase("P-9", "westing", HOOD, "25"), LATER)
    assert "P-9" not in {one.reference for one in expected(goods_shop, TODAY)}
