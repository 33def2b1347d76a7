"""Law 7: what is not known waits for a named answer; nothing that hangs on it is held, the rest goes on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest
from sqlalchemy import select

from stockroom.domain.order import CarRequest
from stockroom.domain.refusal import Refusal
from stockroom.jobs.answer import answer
from stockroom.jobs.audit import audit
from stockroom.jobs.change import cancel, retake
from stockroom.jobs.rail import rail
from stockroom.jobs.reserve import reserve, reserve_what_there_is
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.store.database import Shop
from stockroom.store.tables import Waiting
from tests.shops import EARLY, LATE, LATER, SECOND, STAMP, TODAY, dump, line, look, order

HEIGHT = "How high is the door top?"


def waits(shop: Shop, number: str) -> list[tuple[int, str, str]]:
    return [(one.line, one.kind, one.name) for one in ticket(shop, number, TODAY).waits]


def answered(shop: Shop) -> Sequence[Any]:
    with shop.read() as tx:
        return tx.execute(
            select(Waiting.kind, Waiting.name, Waiting.answer, Waiting.answered_by, Waiting.answered_at)
            .where(Waiting.answered_at.is_not(None))
            .order_by(Waiting.id)
        ).all()


def test_nothing_that_hangs_on_an_option_is_held_and_the_rest_is(full_shop: Shop) -> None:
    number = take(full_shop, order(line("hood")), STAMP).number
    reserved = reserve(full_shop, number, STAMP)
    looked = look(full_shop, number)
    assert (reserved.held_now, reserved.needed, looked.held("hood-cloth/fawn"), looked.held("zip/fawn")) == (
        2,
        2,
        2005,
        0,
    )  # fmt: skip
    assert waits(full_shop, number) == [(1, "option", "window")]
    assert [one.ready for one in rail(full_shop, TODAY)] == ["waits"]


def test_an_option_answered_lets_its_piece_go_on_and_holds_it_where_the_order_held_something(full_shop: Shop) -> None:
    number = take(full_shop, order(line("hood")), STAMP).number
    reserve(full_shop, number, STAMP)
    before = look(full_shop, number)
    done = answer(full_shop, number, "window", "zipped", LATER)
    after = look(full_shop, number)
    assert done.still_waits == ()
    assert done.reserved is not None
    assert done.reserved.held_now == 1
    assert (after.held("zip/fawn"), after.wholly_held) == (1200, True)
    assert set(before.holds) < set(after.holds)
    assert before.tags.items() < after.tags.items()
    assert not audit(full_shop).faults


def test_an_answer_holds_nothing_for_an_order_of_which_nothing_was_held(full_shop: Shop) -> None:
    number = take(full_shop, order(line("hood")), STAMP).number
    assert answer(full_shop, number, "window", "zipped", LATER).reserved is None
    assert look(full_shop, number).holds == ()
    assert look(full_shop, number).needed("zip/fawn") == 1200


def test_an_option_that_rules_a_piece_out_leaves_nothing_waiting_and_no_piece(full_shop: Shop) -> None:
    number = take(full_shop, order(line("hood")), STAMP).number
    assert answer(full_shop, number, "window", "sewn", LATER).still_waits == ()
    assert look(full_shop, number).pieces() == {"HL", "HR"}


@pytest.mark.parametrize("name", ["window", "Window", " WINDOW ", "option window"])
def test_the_name_of_what_waits_is_found_whatever_its_case_and_blanks(full_shop: Shop, name: str) -> None:
    number = take(full_shop, order(line("hood")), STAMP).number
    assert answer(full_shop, number, name, "sewn", LATER).still_waits == ()


def test_a_fact_is_told_of_the_car_and_every_open_order_of_it_goes_on(full_shop: Shop) -> None:
    first = take(full_shop, order(line("header-rail", car=SECOND), number="first"), STAMP).number
    second = take(full_shop, order(line("header-rail", 2, car=SECOND), number="second"), STAMP).number
    gone = take(full_shop, order(line("header-rail", 3, car=SECOND), number="gone"), STAMP).number
    other_car = CarRequest("RP 6000", "RP 6000", trim_colour="red")
    other = take(full_shop, order(line("header-rail", car=other_car), cars=[other_car]), STAMP).number
    cancel(full_shop, gone, STAMP)
    assert reserve(full_shop, first, STAMP).waiting == 0
    done = answer(full_shop, first, "works", "fenmoor", LATER)
    assert (done.still_waits, done.orders_touched) == ((), ("second",))
    assert [look(full_shop, number).needed("clip") for number in (first, second, gone, other)] == [4, 8, 0, 0]
    assert waits(full_shop, other) == [(1, "fact", "works")]
    assert not audit(full_shop).faults


def test_a_car_s_colour_that_is_not_known_waits_and_can_be_answered(full_shop: Shop) -> None:
    bare = CarRequest("RP 1600", "RP 1600", trim_colour="red")
    number = take(full_shop, order(line("tonneau", car=bare), line("header-rail", car=bare), cars=[bare]), STAMP).number
    assert waits(full_shop, number) == [(1, "fact", "hood colour")]
    assert reserve(full_shop, number, STAMP).held_now == 2
    done = answer(full_shop, number, "hood colour", "fawn", LATER)
    assert done.still_waits == ()
    assert look(full_shop, number).held("hood-cloth/fawn") == 1000
    # Kept with the car: the next order does not ask again.
    again = CarRequest("RP 1600")
    assert take(full_shop, order(line("hood", car=again, choices={"window": "sewn"}), cars=[again]), STAMP).waits == ()


def test_a_chassis_number_lets_the_rules_go_on(full_shop: Shop) -> None:
    nameless = CarRequest("the green one", series="s1", trim_colour="red", hood_colour="fawn")
    number = take(full_shop, order(line("boot-set", car=nameless), cars=[nameless]), STAMP).number
    assert ("fact", "chassis") in {one[1:] for one in waits(full_shop, number)}
    answer(full_shop, number, "chassis", "RP 1700", LATER)
    assert waits(full_shop, number) == []
    assert look(full_shop, number).needed("carpet/red") == 3


def test_a_swatch_holds_up_its_whole_line_until_the_customer_says_yes(full_shop: Shop) -> None:
    number = take(full_shop, order(line("boot-set", swatches=("carpet in red",)), line("tonneau")), STAMP).number
    assert waits(full_shop, number) == [(1, "swatch", "carpet in red")]
    reserve(full_shop, number, STAMP)
    assert look(full_shop, number).pieces() == {"TN"}
    with pytest.raises(Refusal, match=r"is answered with 'yes'.* change the order"):
        answer(full_shop, number, "carpet in red", "no", LATER)
    answer(full_shop, number, "carpet in red", "yes", LATER)
    looked = look(full_shop, number)
    assert looked.pieces() == {"TN", "BF", "BSL", "BSR"}
    assert looked.wholly_held


def test_what_was_answered_once_is_waited_for_again_where_the_order_leaves_it_open(full_shop: Shop) -> None:
    number = take(full_shop, order(line("jack-bag")), STAMP).number
    answer(full_shop, number, "bag-length", "long", LATER)
    retake(full_shop, number, order(line("jack-bag")), LATER)
    assert waits(full_shop, number) == [(1, "option", "bag-length")]


def test_two_swatches_are_answered_one_by_one(full_shop: Shop) -> None:
    number = take(full_shop, order(line("boot-set", swatches=("carpet", "binding"))), STAMP).number
    answer(full_shop, number, "binding", "Yes", LATER)
    assert waits(full_shop, number) == [(1, "swatch", "carpet")]
    assert look(full_shop, number).requirements == ()


def test_a_measurement_lets_its_kit_go_on_and_an_empty_one_does_not(full_shop: Shop) -> None:
    number = take(full_shop, order(line("side-curtains")), STAMP).number
    before = dump(full_shop)
    with pytest.raises(Refusal, match="needs an answer; it is empty"):
        answer(full_shop, number, HEIGHT, "  ", LATER)
    assert dump(full_shop) == before
    assert answer(full_shop, number, HEIGHT, "512 mm", LATER).still_waits == ()
    looked = look(full_shop, number)
    assert looked.needed("hood-cloth/fawn") == 2
    assert looked.order.lines[0].request.measurements == {HEIGHT: "512 mm"}


def test_answered_waits_and_the_change_are_written_down_with_who_and_when(full_shop: Shop) -> None:
    number = take(full_shop, order(line("hood"), line("side-curtains")), STAMP).number
    answer(full_shop, number, "window", "zipped", LATER)
    answer(full_shop, number, HEIGHT, "512 mm", LATER)
    assert answered(full_shop) == [
        ("option", "window", "zipped", "CD", LATER.at),
        ("measurement", HEIGHT, "512 mm", "CD", LATER.at),
    ]
    assert ticket(full_shop, number, TODAY).history == (
        "Is the rear window sewn in or zipped? zipped (CD, 2026-11-26 09:15 UTC)",
        "How high is the door top? 512 mm (CD, 2026-11-26 09:15 UTC)",
    )


WRONG = {
    "a choice that is not one": ("window", "glass", None, "no choice of window 'glass'. Known: 'sewn' and 'zipped'"),
    "an unknown name": ("widow", "sewn", None, "waits for 'widow'. It waits for"),
    "a line that does not wait": ("window", "sewn", 2, "Nothing in line 2 of order L-1 waits for 'window'"),
    "a works that does not exist": ("works", "elsewhere", None, "no works 'elsewhere'"),
    "an empty works": ("works", " ", None, ""),
    "a works that never built the series": ("works", "fenmoor", 3, "Nothing in line 3"),
}


@pytest.mark.parametrize("wrong", WRONG)
def test_a_wrong_answer_is_refused_and_nothing_is_written(full_shop: Shop, wrong: str) -> None:
    name, said, number, sentence = WRONG[wrong]
    take(full_shop, order(line("hood"), line("header-rail", car=SECOND), line("tonneau"), number="L-1"), STAMP)
    before = dump(full_shop)
    with pytest.raises(Refusal) as refused:
        answer(full_shop, "L-1", name, said, LATER, number)
    assert sentence in str(refused.value)
    assert dump(full_shop) == before


def test_a_chassis_number_without_a_figure_is_no_answer(full_shop: Shop) -> None:
    nameless = CarRequest("the green one", series="s1", trim_colour="red")
    number = take(full_shop, order(line("boot-set", car=nameless), cars=[nameless]), STAMP).number
    before = dump(full_shop)
    with pytest.raises(Refusal, match="chassis number"):
        answer(full_shop, number, "chassis", "not known", LATER)
    assert dump(full_shop) == before


def test_a_day_built_that_is_no_day_is_refused() -> None:
    from stockroom.jobs.answer import day_built

    assert day_built("1953-06").isoformat() == "1953-06-01"
    assert day_built("1953-06-17").isoformat() == "1953-06-17"
    for said in ("June 1953", "1953", "1953-13", ""):
        with pytest.raises(Refusal, match=r"is not a day\. Write 1953-06-01"):
            day_built(said)


def test_an_order_that_waits_for_nothing_or_is_cancelled_takes_no_answer(full_shop: Shop) -> None:
    number = take(full_shop, order(line("tonneau")), STAMP).number
    with pytest.raises(Refusal, match="waits for no answer"):
        answer(full_shop, number, "window", "sewn", LATER)
    cancel(full_shop, number, STAMP)
    with pytest.raises(Refusal, match="is cancelled: it waits for nothing"):
        answer(full_shop, number, "window", "sewn", LATER)


def test_one_answer_serves_every_line_that_waits_for_it_unless_one_line_is_named(full_shop: Shop) -> None:
    both = take(full_shop, order(line("hood"), line("hood", car=LATE), number="both"), STAMP).number
    assert answer(full_shop, both, "window", "sewn", LATER).still_waits == ()
    one = take(full_shop, order(line("hood"), line("hood", car=LATE), number="one"), STAMP).number
    answer(full_shop, one, "window", "zipped", LATER, 2)
    assert waits(full_shop, one) == [(1, "option", "window")]
    assert [one_line.request.choices for one_line in look(full_shop, one).order.lines] == [{}, {"window": "zipped"}]


def test_two_cars_that_wait_for_one_fact_need_the_line_named(full_shop: Shop) -> None:
    other = CarRequest("RP 6000", "RP 6000", trim_colour="red")
    number = take(
        full_shop, order(line("header-rail", car=SECOND), line("header-rail", car=other), cars=[other]), STAMP
    )
    with pytest.raises(Refusal, match=r"Several cars .* wait for works\. Say which line is meant"):
        answer(full_shop, number.number, "works", "fenmoor", LATER)
    answer(full_shop, number.number, "works", "fenmoor", LATER, 2)
    assert waits(full_shop, number.number) == [(1, "fact", "works")]


def test_what_a_rule_does_not_cover_is_named_and_sends_the_person_to_overrule_it(full_shop: Shop) -> None:
    """A measurement short of stock does not make a wait go away: reserve what there is and it is still there."""
    number = take(full_shop, order(line("hood"), line("boot-set", car=EARLY)), STAMP).number
    reserve_what_there_is(full_shop, number, STAMP)
    assert waits(full_shop, number) == [(1, "option", "window")]
