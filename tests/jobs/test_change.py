"""Changing and cancelling an order until it is cut: what stays keeps its tags and holds, what goes is free again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from stockroom.domain.facts import Overruling
from stockroom.domain.order import CarRequest
from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.change import cancel, change_line, overrule, retake, set_quantity, set_wanted
from stockroom.jobs.rail import rail
from stockroom.jobs.reserve import approve_mix, reserve, reserve_what_there_is
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.store.database import Shop
from tests.shops import (
    BOOK_2,
    EARLY,
    LATE,
    LATER,
    PLENTY,
    STAMP,
    TODAY,
    Looked,
    bin_of,
    change,
    dump,
    free,
    line,
    load_files,
    look,
    order,
    plenty,
    roll,
    stock_shop,
)

SOLID = change("hole", "BF", panel="top", part="filler", made="solid", because="the filler was moved")
NEED = ("carpet/red", "binding/red", "stud", "hood-cloth/fawn")


def holds_of(looked: Looked, item: str) -> set[object]:
    return {one for one in looked.holds if one.item == item}


def good(shop: Shop) -> bool:
    assert audit(shop).faults == ()
    return True


# --- a difference by key -------------------------------------------------------------------------------------------


def test_a_changed_panel_is_held_anew_and_everything_else_keeps_its_tag_and_its_hold(full_shop: Shop) -> None:
    number = take(full_shop, order(line("boot-set"), line("tonneau")), STAMP).number
    reserve(full_shop, number, STAMP)
    before = look(full_shop, number)
    done = change_line(full_shop, number, 1, SOLID, LATER)
    after = look(full_shop, number)
    assert (done.added, done.dropped, done.altered) == (0, 0, 1)
    assert after.tags == before.tags
    assert after.wholly_held
    for item in ("binding/red", "stud", "hood-cloth/fawn"):
        assert holds_of(after, item) == holds_of(before, item)
    assert holds_of(after, "carpet/red").isdisjoint(holds_of(before, "carpet/red"))
    assert after.held("carpet/red") == before.held("carpet/red")
    assert {one.id for one in after.requirements} == {one.id for one in before.requirements}
    (floor,) = [one.requirement for one in after.requirements if one.requirement.key.part == "top"]
    assert floor.changed
    assert floor.shape is not None
    assert floor.shape.holes[0][4] == "solid"
    assert good(full_shop)


def test_a_piece_left_out_loses_its_tag_and_what_was_held_for_it_is_free(full_shop: Shop) -> None:
    number = take(full_shop, order(line("boot-set"), line("tonneau")), STAMP).number
    reserve(full_shop, number, STAMP)
    before = look(full_shop, number)
    done = change_line(full_shop, number, 1, change("leave-out", "BF"), LATER)
    after = look(full_shop, number)
    assert (done.dropped, done.added) == (3, 0)
    assert after.tags == {key: tag for key, tag in before.tags.items() if key[1] != "BF"}
    assert (after.held("binding/red"), free(full_shop, "binding/red")) == (0, PLENTY)
    assert (after.held("stud"), free(full_shop, "stud")) == (1, 399)
    assert after.held("carpet/red") + free(full_shop, "carpet/red") == PLENTY
    assert holds_of(after, "hood-cloth/fawn") == holds_of(before, "hood-cloth/fawn")
    assert after.wholly_held
    assert good(full_shop)


def test_a_piece_added_gets_a_tag_and_is_held_where_the_order_held_something(full_shop: Shop) -> None:
    number = take(full_shop, order(line("boot-set")), STAMP).number
    reserve(full_shop, number, STAMP)
    before = look(full_shop, number)
    change_line(full_shop, number, 1, change("add", "TN"), LATER)
    after = look(full_shop, number)
    assert before.tags.items() < after.tags.items()
    assert set(before.holds) < set(after.holds)
    assert after.held("hood-cloth/fawn") == 1000
    assert after.wholly_held
    assert good(full_shop)


def test_a_change_of_an_order_that_holds_nothing_holds_nothing(full_shop: Shop) -> None:
    number = take(full_shop, order(line("boot-set")), STAMP).number
    assert change_line(full_shop, number, 1, SOLID, LATER).reserved is None
    assert set_quantity(full_shop, number, 1, 3, LATER).reserved is None
    assert look(full_shop, number).holds == ()
    assert look(full_shop, number).needed("stud") == 3 * 5


def test_another_quantity_keeps_the_tags_there_are_and_lets_the_rest_go_again(full_shop: Shop) -> None:
    number = take(full_shop, order(line("boot-set"), line("tool-bag")), STAMP).number
    reserve(full_shop, number, STAMP)
    one = look(full_shop, number)
    set_quantity(full_shop, number, 1, 3, LATER)
    three = look(full_shop, number)
    assert one.tags.items() < three.tags.items()
    assert len(three.tags) == 3 * (3 + 1) + 1, "three pieces and a packet each, and the bag"
    assert (three.held("stud"), three.held("binding/red"), three.wholly_held) == (3 * 5 + 3, 3 * 1680, True)
    assert holds_of(three, "leathercloth/red") == holds_of(one, "leathercloth/red")
    set_quantity(full_shop, number, 1, 1, LATER)
    again = look(full_shop, number)
    assert again.tags == one.tags
    assert [again.held(item) for item in NEED] == [one.held(item) for item in NEED]
    assert free(full_shop, "stud") == 400 - 5 - 3
    assert good(full_shop)


@pytest.mark.parametrize(("blanks", "first", "then"), [(0, 2, 1), (0, 1, 3), (1, 2, 1), (1, 1, 3), (3, 1, 3)])
def test_bags_are_as_many_as_are_ordered_whatever_was_made_or_in_stock(
    shop: Shop, tmp_path: Path, blanks: int, first: int, then: int
) -> None:
    stock_shop(shop, tmp_path, roll("leathercloth/red", PLENTY), bin_of("stud", 40), bin_of("tool-bag-blank", blanks))
    number = take(shop, order(line("tool-bag", first), line("tonneau")), STAMP).number
    reserve_what_there_is(shop, number, STAMP)
    set_quantity(shop, number, 1, then, LATER)
    looked = look(shop, number)
    bags = [one for one in looked.requirements if one.requirement.key.piece == "TB"]
    assert looked.held("tool-bag-blank") + looked.held("stud") // 3 == then
    assert all(one.held == one.needed for one in bags)
    assert looked.needed("leathercloth/red") == looked.held("stud") // 3
    assert good(shop)


def test_when_a_change_makes_an_order_short_the_rest_stays_held_and_the_shortage_is_told(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 1500), roll("binding/red", 5000), bin_of("clip", 12))
    number = take(shop, order(line("tonneau"), line("header-rail")), STAMP).number
    reserve(shop, number, STAMP)
    done = set_quantity(shop, number, 1, 2, LATER)
    assert done.reserved is not None
    assert len(done.reserved.short) == 1
    looked = look(shop, number)
    assert (looked.held("clip"), looked.held("hood-cloth/fawn")) == (6, 1000)
    assert [one.ready for one in rail(shop, TODAY)] == ["short"]
    set_quantity(shop, number, 1, 1, LATER)
    assert (look(shop, number).shortages, look(shop, number).wholly_held) == ((), True)
    assert good(shop)


# --- the wanted date and the log -----------------------------------------------------------------------------------


def test_another_date_changes_nothing_else_and_stands_in_the_history(full_shop: Shop) -> None:
    number = take(full_shop, order(line("tonneau"), wanted=date(2026, 12, 1)), STAMP).number
    reserve(full_shop, number, STAMP)
    before = look(full_shop, number)
    set_wanted(full_shop, number, date(2026, 11, 20), LATER)
    shown = ticket(full_shop, number, TODAY)
    assert (shown.wanted, shown.overdue_days) == (date(2026, 11, 20), 5)
    set_wanted(full_shop, number, None, LATER)
    shown = ticket(full_shop, number, TODAY)
    assert (shown.wanted, shown.overdue_days) == (None, 0)
    assert shown.history == (
        "Wanted 2026-11-20 (CD, 2026-11-26 09:15 UTC)",
        "Wanted open (CD, 2026-11-26 09:15 UTC)",
    )
    assert look(full_shop, number).holds == before.holds


def test_every_change_stands_in_the_history_with_its_reason_initials_and_moment(full_shop: Shop) -> None:
    number = take(full_shop, order(line("boot-set")), STAMP).number
    change_line(full_shop, number, 1, SOLID, LATER)
    set_quantity(full_shop, number, 1, 2, LATER)
    assert ticket(full_shop, number, TODAY).history == (
        "Piece BF: Changed for this car: the hole 'filler' of panel top is left solid, because the filler was moved "
        "(AB). (CD, 2026-11-26 09:15 UTC)",
        "Line 1: quantity 2 (CD, 2026-11-26 09:15 UTC)",
    )


# --- overruling ----------------------------------------------------------------------------------------------------


def test_a_rule_overruled_for_one_car_follows_into_every_line_that_hangs_on_it_with_initials_and_reason(
    full_shop: Shop,
) -> None:
    number = take(full_shop, order(line("boot-set")), STAMP).number
    other = take(full_shop, order(line("boot-set"), number="other"), STAMP).number
    reserve(full_shop, number, STAMP)
    before = look(full_shop, number)
    overrule(full_shop, number, 1, "carpet-colour", Overruling("black", "EF", "the owner kept his old one"), LATER)
    after = look(full_shop, number)
    assert {one.requirement.item for one in after.requirements} == {"carpet/black", "binding/black", "stud"}
    assert free(full_shop, "carpet/red") == PLENTY
    assert (after.wholly_held, after.tags) == (True, before.tags)
    floor = next(one.requirement for one in after.requirements if one.requirement.key.part == "top")
    assert floor.changed
    assert any("EF" in reason and "the owner kept his old one" in reason for reason in floor.reasons)
    (shown,) = ticket(full_shop, number, TODAY).lines
    assert "Rule 'carpet-colour' overruled: black, because the owner kept his old one (EF)." in shown.changes
    assert look(full_shop, other).needed("carpet/red") == 3
    assert good(full_shop)


@pytest.mark.parametrize(
    ("rule", "said", "sentence"),
    [
        ("carpet-colour", Overruling("black", "EF", " "), "overruled with a reason"),
        ("carpet-colour", Overruling("black", "", "because"), "with initials"),
        ("carpet-colour", Overruling("mauve", "EF", "because"), "no colour 'mauve'"),
        ("carpet", Overruling("black", "EF", "because"), "no rule list to overrule 'carpet'"),
    ],
)
def test_a_rule_is_not_overruled_without_a_reason_and_initials_or_by_what_does_not_exist(
    full_shop: Shop, rule: str, said: Overruling, sentence: str
) -> None:
    number = take(full_shop, order(line("boot-set")), STAMP).number
    before = dump(full_shop)
    with pytest.raises(Refusal, match=sentence):
        overrule(full_shop, number, 1, rule, said, LATER)
    assert dump(full_shop) == before


# --- proved on the car ---------------------------------------------------------------------------------------------


def filler(shop: Shop, number: str) -> str:
    (top,) = [one.requirement for one in look(shop, number).requirements if one.requirement.key.part == "top"]
    assert top.shape is not None
    return top.shape.holes[0][4]


def test_a_change_proved_on_the_car_is_made_in_its_next_order_and_not_for_another_car(full_shop: Shop) -> None:
    first = take(full_shop, order(line("boot-set")), STAMP).number
    change_line(full_shop, first, 1, replace(SOLID, proved=True), LATER)
    again = CarRequest("rp1500")
    second = take(full_shop, order(line("boot-set", 2, car=again), cars=[again]), STAMP).number
    other = take(full_shop, order(line("boot-set", car=LATE)), STAMP).number
    assert [filler(full_shop, number) for number in (first, second, other)] == ["solid", "solid", "marked"]
    cancel(full_shop, first, LATER)
    third = take(full_shop, order(line("boot-set", 3)), STAMP).number
    assert filler(full_shop, third) == "solid"
    assert good(full_shop)


def test_a_change_that_is_not_proved_is_for_its_own_order_only(full_shop: Shop) -> None:
    first = take(full_shop, order(line("boot-set", changes=(SOLID,))), STAMP).number
    second = take(full_shop, order(line("boot-set", 2)), STAMP).number
    assert [filler(full_shop, number) for number in (first, second)] == ["solid", "marked"]


def test_a_change_proved_when_the_order_was_taken_is_kept_once_however_often_it_is_said(full_shop: Shop) -> None:
    proved = replace(SOLID, proved=True)
    number = take(full_shop, order(line("boot-set", changes=(proved,))), STAMP).number
    set_quantity(full_shop, number, 1, 2, LATER)
    second = take(full_shop, order(line("boot-set", 5, changes=(proved,))), STAMP).number
    assert len(dump(full_shop)["car_change"]) == 1
    assert [filler(full_shop, one) for one in (number, second)] == ["solid", "solid"]


# --- retaking ------------------------------------------------------------------------------------------------------


def test_an_order_taken_again_with_the_same_changes_nothing_but_the_log(full_shop: Shop) -> None:
    asked = order(line("boot-set"), line("hood"), number="L-1")
    take(full_shop, asked, STAMP)
    reserve(full_shop, "L-1", STAMP)
    before, looked = dump(full_shop), look(full_shop, "L-1")
    done = retake(full_shop, "L-1", asked, LATER)
    assert (done.added, done.dropped, done.altered, done.what) == (0, 0, 0, ("Taken again, with nothing different",))
    after = dump(full_shop)
    for table in ("requirement", "planned_cut", "planned_panel", "reservation", "holding", "piece", "order_line"):
        assert after[table] == before[table]
    assert look(full_shop, "L-1") == looked


def test_lines_may_be_dropped_added_and_moved_to_another_car_and_the_rest_stays(
    full_shop: Shop, tmp_path: Path
) -> None:
    take(full_shop, order(line("boot-set"), line("tonneau"), line("header-rail"), number="L-1"), STAMP)
    reserve(full_shop, "L-1", STAMP)
    before = look(full_shop, "L-1")
    load_files(full_shop, tmp_path, {"plover.toml": BOOK_2})
    asked = order(line("boot-set"), line("tonneau", car=LATE), wanted=date(2026, 12, 24), number="L-1")
    done = retake(full_shop, "L-1", asked, LATER)
    after = look(full_shop, "L-1")
    assert [(one.number, one.request.kit, one.request.car) for one in after.order.lines] == [
        (1, "boot-set", "RP 1500"),
        (2, "tonneau", "RP 3000"),
    ]
    assert {key: tag for key, tag in after.tags.items() if key[0] == 1} == {
        key: tag for key, tag in before.tags.items() if key[0] == 1
    }
    for item in ("carpet/red", "stud"):
        assert holds_of(after, item) == holds_of(before, item)
    assert free(full_shop, "clip") == 100
    assert after.wholly_held
    assert after.order.wanted == date(2026, 12, 24)
    assert after.needed("stud") == 5  # still under the first version of the book
    assert set(done.what) == {
        "Line 2 now asks for: 1 × tonneau",
        "Line 3 dropped: Header-rail trim",
        "Wanted 2026-12-24",
    }
    assert good(full_shop)
    retake(full_shop, "L-1", order(line("boot-set"), line("tonneau"), line("hood"), number="L-1"), LATER)
    assert look(full_shop, "L-1").wholly_held
    assert good(full_shop)


def test_a_line_that_asks_for_another_kit_now_is_exploded_and_named_as_that_kit(full_shop: Shop) -> None:
    take(full_shop, order(line("tonneau"), number="L-1"), STAMP)
    retake(full_shop, "L-1", order(line("boot-set"), number="L-1"), LATER)
    assert look(full_shop, "L-1").pieces() == {"BF", "BSL", "BSR"}
    assert [one.title for one in ticket(full_shop, "L-1", TODAY).lines] == ["Full boot set"]


def test_what_cannot_be_is_refused_when_an_order_is_taken_again_and_nothing_is_written(full_shop: Shop) -> None:
    take(full_shop, order(line("boot-set"), number="L-1"), STAMP)
    reserve(full_shop, "L-1", STAMP)
    before = dump(full_shop)
    green = replace(EARLY, trim_colour="green")
    for asked in (
        order(line("bonnet"), number="L-1"),
        order(line("boot-set", 0), number="L-1"),
        order(number="L-1"),
        order(line("boot-set", car=green), cars=[green], number="L-1"),
        order(line("hood", choices={"window": "glass"}), number="L-1"),
    ):
        with pytest.raises(Refusal):
            retake(full_shop, "L-1", asked, LATER)
        assert dump(full_shop) == before


# --- cancelling ----------------------------------------------------------------------------------------------------


def test_a_cancelled_order_holds_nothing_and_all_of_it_is_free_for_another(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 1200), roll("binding/red", 900), bin_of("clip", 6))
    lines = (line("tonneau"), line("header-rail"))
    first = take(shop, order(*lines, number="first"), STAMP).number
    second = take(shop, order(*lines, number="second"), STAMP).number
    reserve(shop, first, STAMP)
    with pytest.raises(Refusal, match="is short"):
        reserve(shop, second, STAMP)
    done = cancel(shop, first, LATER)
    assert len(done.let_go) == 3
    assert look(shop, first).holds == ()
    assert [free(shop, item) for item in ("hood-cloth/fawn", "binding/red", "clip")] == [1200, 900, 6]
    assert [one.number for one in rail(shop, TODAY)] == ["second"]
    reserve(shop, second, STAMP)
    assert look(shop, second).wholly_held
    assert ticket(shop, first, TODAY).history == ("Cancelled (CD, 2026-11-26 09:15 UTC)",)
    assert good(shop)


CHANGES: dict[str, Callable[[Shop, str], object]] = {
    "cancel": lambda shop, number: cancel(shop, number, LATER),
    "change": lambda shop, number: change_line(shop, number, 1, SOLID, LATER),
    "overrule": lambda shop, number: overrule(shop, number, 1, "carpet-colour", Overruling("black", "EF", "x"), LATER),
    "quantity": lambda shop, number: set_quantity(shop, number, 1, 2, LATER),
    "wanted": lambda shop, number: set_wanted(shop, number, None, LATER),
    "retake": lambda shop, number: retake(shop, number, order(line("hood")), LATER),
    "reserve": lambda shop, number: reserve(shop, number, LATER),
    "reserve what there is": lambda shop, number: reserve_what_there_is(shop, number, LATER),
    "approve a mix": lambda shop, number: approve_mix(shop, number, "carpet/red", "x", LATER),
}


@pytest.mark.parametrize("what", CHANGES)
def test_nothing_can_be_done_to_a_cancelled_order(full_shop: Shop, what: str) -> None:
    number = take(full_shop, order(line("boot-set")), STAMP).number
    cancel(full_shop, number, LATER)
    before = dump(full_shop)
    with pytest.raises(Refusal, match=f"^Order {number} is cancelled: "):
        CHANGES[what](full_shop, number)
    assert dump(full_shop) == before


def test_nothing_can_be_done_to_an_order_that_does_not_exist(full_shop: Shop) -> None:
    for attempt in CHANGES.values():
        with pytest.raises(Refusal, match="There is no order 'L-404'"):
            attempt(full_shop, "L-404")


def test_what_cannot_be_changed_is_refused_and_nothing_is_written(full_shop: Shop) -> None:
    number = take(full_shop, order(line("boot-set")), STAMP).number
    reserve(full_shop, number, STAMP)
    before = dump(full_shop)
    tries: dict[str, Callable[[], object]] = {
        "has no line 2; it has 1": lambda: set_quantity(full_shop, number, 2, 1, LATER),
        "positive whole number; 0 is not": lambda: set_quantity(full_shop, number, 1, 0, LATER),
        "whole number from 1 to 1000": lambda: set_quantity(full_shop, number, 1, 1001, LATER),
        "no piece ordered of kit 'boot-set' 'TB'": lambda: change_line(
            full_shop, number, 1, change("leave-out", "TB"), LATER
        ),
        "no panel in 'BF' 'left'": lambda: change_line(full_shop, number, 1, replace(SOLID, panel="left"), LATER),
        "does not say whether it is cut": lambda: change_line(full_shop, number, 1, replace(SOLID, made=None), LATER),
        "no cloth 'silk'": lambda: change_line(full_shop, number, 1, change("cloth", "BF", to="silk"), LATER),
    }
    for sentence, attempt in tries.items():
        with pytest.raises(Refusal, match=sentence):
            attempt()
        assert dump(full_shop) == before


def test_an_order_taken_anew_says_who_it_is_for_and_how_it_leaves(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, *plenty())
    number = take(shop, order(line("tonneau"), customer="Ann Example", note="ring first"), STAMP).number
    anew = order(line("tonneau"), customer="Ann Sample", fitted_here=True, wanted=date(2027, 1, 15))
    done = retake(shop, number, anew, LATER)
    kept = look(shop, number).order
    assert (kept.customer, kept.fitted_here, kept.wanted, kept.note) == ("Ann Sample", True, date(2027, 1, 15), "")
    assert "Customer 'Ann Sample', was 'Ann Example'" in done.what
