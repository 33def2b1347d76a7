"""Swatches: cut from a lot, tagged and placed; sent to a customer while enough of the lot is held; answered."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.answer import answer
from stockroom.jobs.audit import audit
from stockroom.jobs.change import cancel
from stockroom.jobs.cut import measure
from stockroom.jobs.move import move
from stockroom.jobs.racks import place_contents
from stockroom.jobs.rail import rail
from stockroom.jobs.reorder import reorder
from stockroom.jobs.reserve import reserve, reserve_all
from stockroom.jobs.show import show
from stockroom.jobs.swatch_awaited import list_awaited
from stockroom.jobs.swatch_sent import answer_swatch, send, wait_longer
from stockroom.jobs.swatches import cut, list_swatches, lots_without_swatch, throw_away
from stockroom.jobs.tag_paper import swatch_tags
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.jobs.undo import list_done, undo
from stockroom.jobs.verdict import give_verdict
from stockroom.store import margins, tagged
from stockroom.store.database import Shop
from tests.shops import (
    LATE,
    LATER,
    STAMP,
    TODAY,
    Stocked,
    changed_tables,
    dump,
    free,
    line,
    look,
    order,
    roll,
    stock_shop,
)

CLOTH = "hood-cloth/fawn"
TONNEAU_MM = 1000
UNTIL = TODAY + timedelta(days=14)
PAST = Stamp("EF", STAMP.at + timedelta(days=15))
"""The day after `UNTIL`."""


def shop_with(shop: Shop, folder: Path, *stocked: Stocked) -> dict[str, str]:
    """A shop with these rolls of hood cloth; label → tag."""
    stock_shop(shop, folder, *stocked)
    with shop.read() as tx:
        return {one.lot: one.tag for one in tagged.holdings_by_tag(tx, [])}


def swatch_of(shop: Shop, tag: str, length: str = "0") -> str:
    """A swatch of a roll, in B1; its tag."""
    return cut(shop, tag, length, "B1", STAMP).tags[0]


def tonneau(shop: Shop, **more: Any) -> str:
    """An order of a tonneau cover, which takes a metre of hood cloth; its number."""
    return take(shop, order(line("tonneau", **more)), STAMP).number


def other_tonneau(shop: Shop) -> str:
    """The same for another car; its number."""
    return take(shop, order(line("tonneau", car=LATE)), STAMP).number


def undo_last(shop: Shop) -> None:
    """Takes back the last job that still stands."""
    last = next(one for one in list_done(shop, 9) if one.undoes is None and not one.undone_by)
    undo(shop, last.number, STAMP)


def assert_good(shop: Shop) -> None:
    """The books prove."""
    assert audit(shop).faults == ()


# --- the swatch itself -----------------------------------------------------------------------------------------------


def test_a_swatch_takes_its_length_off_the_roll_and_has_a_tag_and_a_place(shop: Shop, tmp_path: Path) -> None:
    rolls = shop_with(shop, tmp_path, roll(CLOTH, 5000, "A"), roll(CLOTH, 4000, "B"))
    give_verdict(shop, CLOTH, ("A", "B"), "near", "daylight", STAMP)
    before = dump(shop)
    done = cut(shop, rolls["A"], "60 mm", "b1", STAMP, count=2)
    assert done.sentence == (
        f"Swatches {done.tags[0]} and {done.tags[1]} of Hood cloth, fawn, lot A, 0.12 m off {rolls['A']}, lie in B1. "
        "Print their tags and put them on."
    )
    assert free(shop, CLOTH) == 9000 - 120
    shown = show(shop, done.tags[0])
    assert (shown.kind, shown.title) == ("swatch", "Swatch of Hood cloth, fawn, lot A")
    assert dict(shown.facts)["Where"] == "in B1"
    assert dict(shown.facts)["Beside lot B"] == f"near, as AB saw it in daylight, {TODAY}"
    assert [one.code for one in swatch_tags(shop)] == list(done.tags)
    assert [one.lot for one in lots_without_swatch(shop)] == ["B"]
    assert f"Swatch of Hood cloth, fawn, lot A ({done.tags[0]})" in place_contents(shop, "B1").no_stock
    assert move(shop, [done.tags[0]], "R1", STAMP).things[0].changed_anything
    assert [one.where for one in list_swatches(shop)] == ["in R1", "in B1"]
    assert_good(shop)
    undo_last(shop)
    undo_last(shop)
    assert changed_tables(before, dump(shop)) == {"job", "movement", "counter", "holding", "printed"}
    assert free(shop, CLOTH) == 9000
    assert_good(shop)


def test_one_from_an_offcut_takes_nothing_and_one_that_faded_is_no_longer_there(shop: Shop, tmp_path: Path) -> None:
    rolls = shop_with(shop, tmp_path, roll(CLOTH, 5000, "A"))
    tag = swatch_of(shop, rolls["A"])
    assert (free(shop, CLOTH), lots_without_swatch(shop)) == (5000, ())
    throw_away(shop, tag, "faded", STAMP)
    assert (list_swatches(shop), [one.lot for one in lots_without_swatch(shop)]) == ((), ["A"])
    with pytest.raises(Refusal, match=r"is gone: faded\. Cut another"):
        move(shop, [tag], "R1", STAMP)
    undo_last(shop)
    assert dict(show(shop, tag).facts)["Where"] == "in B1"
    assert_good(shop)


def test_what_is_planned_at_the_outer_end_keeps_its_place_or_the_swatch_is_refused(shop: Shop, tmp_path: Path) -> None:
    rolls = shop_with(shop, tmp_path, roll(CLOTH, TONNEAU_MM + 100, "A"))
    number = tonneau(shop)
    reserve(shop, number, STAMP)
    swatch_of(shop, rolls["A"], "100 mm")
    assert look(shop, number).wholly_held
    assert_good(shop)
    before = dump(shop)
    with pytest.raises(Refusal, match=f"promised to its outer end, for order {number}"):
        swatch_of(shop, rolls["A"], "5 cm")
    assert dump(shop) == before


@pytest.mark.parametrize(
    ("length", "place", "sentence"),
    [
        ("6 m", "B1", "6.00 m is no swatch"),
        ("sixty", "B1", "sixty"),
        ("60 mm", "Z9", "Z9"),
        ("-1 mm", "B1", "-1"),
    ],
)
def test_what_is_no_swatch_is_refused_in_words(
    sqlite_shop: Shop, tmp_path: Path, length: str, place: str, sentence: str
) -> None:
    rolls = shop_with(sqlite_shop, tmp_path, roll(CLOTH, 5000, "A"))
    before = dump(sqlite_shop)
    with pytest.raises(Refusal, match=sentence):
        cut(sqlite_shop, rolls["A"], length, place, STAMP)
    with pytest.raises(Refusal, match="is the tag of a place"):
        cut(sqlite_shop, show(sqlite_shop, number_of_place(sqlite_shop)).tag, "0", "B1", STAMP)
    assert dump(sqlite_shop) == before


def number_of_place(shop: Shop) -> str:
    """The tag of a place."""
    with shop.read() as tx:
        return tagged.places(tx)[0][0]


# --- sent to a customer ----------------------------------------------------------------------------------------------


def test_enough_of_the_lot_is_held_till_the_yes_and_the_line_goes_on_with_that_lot(shop: Shop, tmp_path: Path) -> None:
    rolls = shop_with(shop, tmp_path, roll(CLOTH, 1200, "A"), roll(CLOTH, 5000, "B"))
    number = tonneau(shop, swatches=("the hood cloth",))
    tag = swatch_of(shop, rolls["A"])
    done = send(shop, tag, number, UNTIL, STAMP)
    assert (done.name, done.held_mm) == ("the hood cloth", TONNEAU_MM)
    assert done.sentence.endswith(f"1.00 m of lot A is held until {UNTIL}.")
    assert dict(show(shop, tag).facts)["Where"] == f"with Ann Example, order {number}: awaited until {UNTIL}"
    other = other_tonneau(shop)
    reserve(shop, other, STAMP)
    assert look(shop, other).lots(CLOTH) == {"B"}
    late = send(shop, swatch_of(shop, rolls["A"]), other, UNTIL, STAMP, hold="0")
    assert "see them side by side" not in late.sentence
    undo_last(shop)
    again = take(shop, order(line("tonneau", 2, car=LATE)), STAMP).number
    late = send(shop, swatch_of(shop, rolls["A"]), again, UNTIL, STAMP, hold="0")
    assert late.sentence.endswith("This car has lot B of it already: see them side by side before it goes.")
    cancel(shop, again, STAMP)
    assert_good(shop)
    answered = answer_swatch(shop, tag, "yes", "Ann's daughter", LATER, "by telephone")
    assert "Ann's daughter said yes to swatch" in answered.sentence
    kept = look(shop, number)
    assert (kept.wholly_held, kept.lots(CLOTH)) == (True, {"A"})
    assert_good(shop)
    undo_last(shop)
    assert [one.tag for one in list_awaited(shop, TODAY)] == [tag]
    with shop.read() as tx:
        assert [one.lot for one in margins.held_for_swatches(tx, kept.order.id)] == ["A"]
    assert_good(shop)


def test_the_agreed_lot_binds_though_it_is_short_by_then(shop: Shop, tmp_path: Path) -> None:
    rolls = shop_with(shop, tmp_path, roll(CLOTH, 1200, "A"), roll(CLOTH, 5000, "B"))
    number = tonneau(shop)
    tag = swatch_of(shop, rolls["A"])
    send(shop, tag, number, UNTIL, STAMP, hold="0")
    measure(shop, rolls["A"], 400, STAMP)
    answered = answer_swatch(shop, tag, "Y", "Ann", LATER)
    assert answered.reserved is not None
    (short,) = answered.reserved.short
    assert short.endswith("The customer agreed to lot A by its swatch; for another lot, send a swatch of that.")
    assert look(shop, number).lots(CLOTH) == set()
    second = swatch_of(shop, rolls["B"])
    send(shop, second, number, UNTIL, LATER)
    answer_swatch(shop, second, "yes", "Ann", LATER)
    assert look(shop, number).lots(CLOTH) == {"B"}
    assert_good(shop)


def test_what_is_seen_beside_nothing_is_of_the_agreed_lot_too(sqlite_shop: Shop, tmp_path: Path) -> None:
    rolls = shop_with(sqlite_shop, tmp_path, roll(CLOTH, 1200, "A"), roll(CLOTH, 5000, "B"))
    curtains = line("side-curtains", measurements={"How high is the door top?": "40 cm"})
    number = take(sqlite_shop, order(curtains), STAMP).number
    tag = swatch_of(sqlite_shop, rolls["A"])
    with pytest.raises(Refusal, match=r"all that the line needs cannot be held, as 1\.20 m of it is free; lot B"):
        send(sqlite_shop, tag, number, UNTIL, STAMP)
    send(sqlite_shop, tag, number, UNTIL, STAMP, hold="1 m")
    done = answer_swatch(sqlite_shop, tag, "yes", "Ann", LATER)
    assert done.reserved is not None
    assert ["The customer agreed to lot A" in one for one in done.reserved.short] == [True]
    assert look(sqlite_shop, number).lots(CLOTH) == set()
    assert_good(sqlite_shop)


def test_a_no_frees_the_lot_names_the_others_and_leaves_the_line_waiting(shop: Shop, tmp_path: Path) -> None:
    rolls = shop_with(shop, tmp_path, roll(CLOTH, 1200, "A"), roll(CLOTH, 5000, "B"))
    number = tonneau(shop)
    first, second = swatch_of(shop, rolls["A"]), swatch_of(shop, rolls["B"])
    send(shop, first, number, UNTIL, STAMP)
    assert look(shop, number).requirements == ()
    done = answer_swatch(shop, first, "no", "Ann Example", LATER, "too pale")
    assert done.others == (f"Hood cloth, fawn, lot B: 5.00 m free, swatch {second}.",)
    assert (free(shop, CLOTH), look(shop, number).requirements) == (6200, ())
    with pytest.raises(Refusal, match="answered already: no, Ann Example"):
        answer_swatch(shop, first, "yes", "Ann Example", LATER)
    send(shop, second, number, UNTIL, LATER)
    told = answer(shop, number, "Hood cloth, fawn", "yes", LATER)
    assert "Ann Example said yes" in told.told[0]
    assert look(shop, number).lots(CLOTH) == {"B"}
    assert_good(shop)


def test_of_two_swatches_the_customer_chooses_one_and_the_other_is_let_go(shop: Shop, tmp_path: Path) -> None:
    rolls = shop_with(shop, tmp_path, roll(CLOTH, 1200, "A"), roll(CLOTH, 5000, "B"))
    number = tonneau(shop, swatches=("the hood cloth",))
    first, second = swatch_of(shop, rolls["A"]), swatch_of(shop, rolls["B"])
    send(shop, first, number, UNTIL, STAMP)
    send(shop, second, number, UNTIL, STAMP)
    with pytest.raises(Refusal, match=rf"Say which is answered: {first} \(lot A\) or {second} \(lot B\)"):
        answer(shop, number, "the hood cloth", "yes", LATER)
    answer_swatch(shop, second, "yes", "Ann", LATER)
    assert (look(shop, number).lots(CLOTH), list_awaited(shop, TODAY)) == ({"B"}, ())
    assert free(shop, CLOTH) == 6200 - TONNEAU_MM
    assert_good(shop)


def test_without_an_answer_the_lot_is_free_once_its_day_is_past(shop: Shop, tmp_path: Path) -> None:
    rolls = shop_with(shop, tmp_path, roll(CLOTH, 1200, "A"))
    number = tonneau(shop)
    tag = swatch_of(shop, rolls["A"])
    send(shop, tag, number, UNTIL, STAMP)
    other = other_tonneau(shop)
    last_day = replace(PAST, at=STAMP.at + timedelta(days=14))
    assert reserve_all(shop, other, last_day).short
    assert list_awaited(shop, UNTIL)[0].overdue_days == 0
    overdue = list_awaited(shop, PAST.at.date())[0]
    assert (overdue.tag, overdue.overdue_days, overdue.held) == (tag, 1, "nothing")
    assert "overdue" in overdue.sentence
    assert [(one.number, one.answer_overdue_days) for one in rail(shop, PAST.at.date())] == [(number, 1), (other, 0)]
    reserve(shop, other, PAST)
    assert look(shop, other).wholly_held
    assert any(f"No answer to swatch {tag} came by {UNTIL}" in one for one in ticket(shop, number, TODAY).history)
    assert_good(shop)
    with pytest.raises(Refusal, match=r"1\.00 m cannot be held, as 0\.20 m of it is free"):
        wait_longer(shop, tag, UNTIL + timedelta(days=30), PAST)
    cancel(shop, other, PAST)
    wait_longer(shop, tag, UNTIL + timedelta(days=30), PAST)
    assert free(shop, CLOTH) == 200
    assert_good(shop)


def test_the_weekly_run_counts_what_nobody_answered_for_as_free(shop: Shop, tmp_path: Path) -> None:
    rolls = shop_with(shop, tmp_path, roll(CLOTH, 1200, "A"))
    send(shop, swatch_of(shop, rolls["A"]), tonneau(shop), UNTIL, STAMP)
    reorder(shop, None, UNTIL, replace(PAST, at=STAMP.at + timedelta(days=14)))
    assert free(shop, CLOTH) == 200
    reorder(shop, None, PAST.at.date(), PAST)
    assert free(shop, CLOTH) == 1200
    assert_good(shop)


def test_what_is_held_moves_along_its_roll_or_to_another_of_its_lot(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(CLOTH, 2000, "A"), roll(CLOTH, 3000, "A"))
    with shop.read() as tx:
        short, long = (one.tag for one in tagged.holdings_by_tag(tx, []))
    number = tonneau(shop)
    send(shop, swatch_of(shop, short), number, UNTIL, STAMP)
    with shop.read() as tx:
        (held,) = margins.held_for_swatches(tx, look(shop, number).order.id)
    measure(shop, held.tag, 500, STAMP)
    with shop.read() as tx:
        (now,) = margins.held_for_swatches(tx, look(shop, number).order.id)
    assert (now.tag, now.to_mm - now.from_mm) == (long if held.tag == short else short, TONNEAU_MM)
    assert_good(shop)


def test_an_order_that_is_cancelled_waits_for_no_swatch(shop: Shop, tmp_path: Path) -> None:
    rolls = shop_with(shop, tmp_path, roll(CLOTH, 1200, "A"))
    number = tonneau(shop)
    tag = swatch_of(shop, rolls["A"])
    send(shop, tag, number, UNTIL, STAMP)
    cancel(shop, number, STAMP)
    assert (free(shop, CLOTH), list_awaited(shop, TODAY)) == (1200, ())
    with pytest.raises(Refusal, match=r"waits for the answer to .* no more"):
        answer_swatch(shop, tag, "yes", "Ann", LATER)
    assert_good(shop)
    undo_last(shop)
    assert [one.tag for one in list_awaited(shop, TODAY)] == [tag]
    assert_good(shop)


def test_a_swatch_that_cannot_be_sent_is_refused_in_words(sqlite_shop: Shop, tmp_path: Path) -> None:
    shop = sqlite_shop
    rolls = shop_with(shop, tmp_path, roll(CLOTH, 1200, "A"), roll("carpet/red", 4000, "C"), roll(CLOTH, 300, "D"))
    number = take(shop, order(line("tonneau"), line("boot-set"), line("tonneau", car=LATE)), STAMP).number
    hood, carpet, little = (swatch_of(shop, rolls[lot]) for lot in "ACD")
    before = dump(shop)
    for words, sentence in (
        ((hood, number, TODAY - timedelta(days=1)), "is past"),
        ((hood, number, date(2099, 1, 1)), "more than a year away"),
        ((hood, number, UNTIL, STAMP, 9), "has no line 9; it has 1, 2 and 3"),
        ((hood, number, UNTIL), "has several lines"),
        ((carpet, number, UNTIL, STAMP, 1), "takes nothing of Boot carpet, red. It takes Hood cloth, fawn"),
        ((little, number, UNTIL, STAMP, 1), "all that the line needs cannot be held, as 0.30 m of it is free; lot A"),
        ((rolls["A"], number, UNTIL), "is the tag of a roll. Scan the tag of a swatch"),
    ):
        given = words if len(words) > 3 else (*words, STAMP)
        with pytest.raises(Refusal, match=sentence):
            send(shop, *given)
    assert dump(shop) == before
    send(shop, hood, number, UNTIL, STAMP, 1)
    with pytest.raises(Refusal, match="is with Ann Example, for order"):
        send(shop, hood, number, UNTIL, STAMP, 3)
    with pytest.raises(Refusal, match="yes or no; 'maybe' is neither"):
        answer_swatch(shop, hood, "maybe", "Ann", STAMP)
    with pytest.raises(Refusal, match="Say who of the customer's"):
        answer_swatch(shop, hood, "yes", " ", STAMP)
