"""Taking an order: the car is kept, what cannot be is refused with nothing written, what is not known waits."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from stockroom.domain.facts import Overruling
from stockroom.domain.order import CarRequest, LineRequest, OrderRequest
from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.rail import rail
from stockroom.jobs.reserve import reserve
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.store import cars, ledger
from stockroom.store.database import Shop
from stockroom.store.stock import write_bins
from tests.shops import (
    BOOK_2,
    EARLY,
    LATE,
    LATER,
    SECOND,
    STAMP,
    TODAY,
    change,
    dump,
    line,
    load_files,
    look,
    order,
)

IMPOSSIBLE = {
    "a kit that does not exist": (order(line("boot-sett")), "There is no kit 'boot-sett'. The nearest name is"),
    "a piece that is not in the kit": (order(line("hood", pieces=("BF",))), "There is no piece in kit 'hood' 'BF'"),
    "a car that the order does not tell of": (
        replace(order(line("hood")), lines=(LineRequest("hood", 1, "RP 9999"),)),
        "There is no car 'RP 9999'",
    ),
    "a colour that does not exist": (
        order(line("hood", car=replace(EARLY, hood_colour="mauve")), cars=[replace(EARLY, hood_colour="mauve")]),
        "There is no colour 'mauve'",
    ),
    "a series that does not exist": (order(line("hood"), cars=[replace(EARLY, series="s9")]), "no series 's9'"),
    "an option that does not exist": (order(line("hood", choices={"windw": "sewn"})), "no option 'windw'"),
    "a choice that does not exist": (
        order(line("hood", choices={"window": "glass"})),
        "no choice for 'window' 'glass'",
    ),
    "a rule that does not exist": (
        order(line("hood", overruled={"carpets": Overruling("red", "AB", "asked")})),
        "no rule list to overrule 'carpets'",
    ),
    "a measurement nobody asks for": (
        order(line("hood", measurements={"How long is the bonnet?": "1 m"})),
        "no measurement asked for kit 'hood'",
    ),
    "a book that does not exist": (order(line("hood"), book="heron"), "There is no kit book 'heron'"),
    "none of a kit": (order(line("hood", 0)), "'0' of kit 'hood' cannot be made"),
    "fewer than none": (order(line("hood", -2)), "'-2' of kit 'hood' cannot be made"),
    "half a kit": (order(line("hood", 1.5)), "'1.5' of kit 'hood' cannot be made"),  # type: ignore[arg-type]
    "a kit counted in words": (order(line("hood", "two")), "'two' of kit 'hood' cannot be made"),  # type: ignore[arg-type]
    "a kit counted by yes": (order(line("hood", True)), "'True' of kit 'hood' cannot be made"),
    "nothing at all": (order(), "The order asks for nothing"),
    "a slip of the pen": (order(line("hood", 10_000)), "Give a whole number from 1 to 1000"),
    "two changes that contradict": (
        order(line("boot-set", changes=(_cut := change("hole", "BF", panel="top", part="filler", made="cut"),
                                        replace(_cut, made="solid")))),
        "contradict each other",
    ),
    "a chassis number of the other series": (
        order(line("hood"), cars=[replace(EARLY, series="s2")]),
        "",
    ),
}  # fmt: skip


@pytest.mark.parametrize("asked", IMPOSSIBLE)
def test_what_cannot_be_is_refused_with_a_sentence_and_nothing_is_written(full_shop: Shop, asked: str) -> None:
    request, said = IMPOSSIBLE[asked]
    before = dump(full_shop)
    with pytest.raises(Refusal) as refused:
        take(full_shop, request, STAMP)
    assert said in str(refused.value)
    assert str(refused.value).rstrip().endswith((".", "?"))
    assert dump(full_shop) == before


def test_one_bad_line_of_three_refuses_the_whole_order(full_shop: Shop) -> None:
    before = dump(full_shop)
    with pytest.raises(Refusal, match="There is no kit 'bonnet'"):
        take(full_shop, order(line("hood"), line("tonneau", car=LATE), line("bonnet")), STAMP)
    assert dump(full_shop) == before


def test_an_order_is_kept_with_its_lines_number_tag_stamp_and_whether_it_is_fitted_here(full_shop: Shop) -> None:
    asked = order(line("boot-set", 2), line("hood", car=LATE), fitted_here=True, note="Ring first.")
    taken = take(full_shop, asked, STAMP)
    kept = look(full_shop, taken.number).order
    assert (kept.customer, kept.note, kept.fitted_here, kept.state) == ("Ann Example", "Ring first.", True, "open")
    assert (kept.taken_by, kept.taken_at, kept.tag) == ("AB", STAMP.at, taken.tag)
    assert [(one.number, one.title) for one in kept.lines] == [(1, "Full boot set"), (2, "Hood")]
    assert [one.request for one in kept.lines] == list(asked.lines)
    assert look(full_shop, taken.tag.lower()).order == kept
    assert not audit(full_shop).faults


def test_orders_without_a_number_get_the_next_and_one_with_a_number_keeps_it(full_shop: Shop) -> None:
    first = take(full_shop, order(line("hood")), STAMP).number
    own = take(full_shop, order(line("hood"), number="L-7"), STAMP).number
    assert own == "L-7"
    assert int(take(full_shop, order(line("tonneau")), STAMP).number) == int(first) + 1


def test_a_number_given_by_hand_is_passed_over_when_its_turn_comes(full_shop: Shop) -> None:
    take(full_shop, order(line("hood"), number="1001"), STAMP)
    assert take(full_shop, order(line("tonneau")), STAMP).number == "1002"


def test_a_number_that_is_taken_is_refused(full_shop: Shop) -> None:
    take(full_shop, order(line("hood"), number="L-7"), STAMP)
    before = dump(full_shop)
    with pytest.raises(Refusal, match=r"There is an order L-7 already\. Give this one another number"):
        take(full_shop, order(line("tonneau"), number="L-7"), STAMP)
    assert dump(full_shop) == before


def test_the_same_order_twice_is_refused_and_taken_with_a_number_of_its_own(full_shop: Shop) -> None:
    first = take(full_shop, order(line("hood")), STAMP).number
    before = dump(full_shop)
    with pytest.raises(Refusal, match=f"Order {first} asks for exactly the same"):
        take(full_shop, order(line("hood")), LATER)
    assert dump(full_shop) == before
    assert take(full_shop, order(line("hood"), number="again"), LATER).number == "again"


@pytest.mark.parametrize("spelled", ["rp1500", "RP-1500", " Rp 15 00 ", "RP.1500"])
def test_a_car_is_found_again_by_another_spelling_of_its_chassis_number(full_shop: Shop, spelled: str) -> None:
    take(full_shop, order(line("boot-set")), STAMP)
    again = CarRequest(spelled, spelled)
    taken = take(full_shop, order(line("hood", car=again), cars=[again]), STAMP)
    assert taken.cars_found == ("RP 1500",)
    with full_shop.read() as tx:
        (car,) = cars.cars_by_key(tx, ["RP 1500"]).values()
    assert car.told == EARLY
    assert [one.car_id for one in look(full_shop, taken.number).order.lines] == [car.id]


def test_one_car_written_in_two_ways_in_one_order_is_one_car(full_shop: Shop) -> None:
    other = CarRequest("rp1500")
    taken = take(full_shop, order(line("boot-set"), line("hood", car=other), cars=[other]), STAMP)
    first, second = look(full_shop, taken.number).order.lines
    assert first.car_id == second.car_id


def test_what_a_later_order_tells_of_a_car_is_added_to_what_is_known(full_shop: Shop) -> None:
    bare = CarRequest("RP 1500", "RP 1500", hood_colour="fawn")
    take(full_shop, order(line("tonneau", car=bare), cars=[bare]), STAMP)
    take(full_shop, order(line("boot-set")), STAMP)
    with full_shop.read() as tx:
        (car,) = cars.cars_by_key(tx, ["RP 1500"]).values()
    assert car.told == EARLY


def test_a_later_order_that_contradicts_the_car_is_refused(full_shop: Shop) -> None:
    take(full_shop, order(line("boot-set")), STAMP)
    before = dump(full_shop)
    green = replace(EARLY, trim_colour="green")
    with pytest.raises(Refusal, match="trim colour of car RP 1500 is kept as 'red'; this order says 'green'"):
        take(full_shop, order(line("hood", car=green), cars=[green]), STAMP)
    assert dump(full_shop) == before


def test_an_order_keeps_the_version_of_the_book_it_was_taken_under(full_shop: Shop, tmp_path: Path) -> None:
    old = take(full_shop, order(line("boot-set")), STAMP)
    load_files(full_shop, tmp_path, {"plover.toml": BOOK_2})
    new = take(full_shop, order(line("boot-set", car=LATE)), STAMP)
    assert look(full_shop, old.number).needed("stud") == 4 + 1
    assert look(full_shop, new.number).needed("stud") == 5 + 1
    assert ticket(full_shop, old.number, TODAY).book == "Ravensworth Plover, version 1"
    assert ticket(full_shop, new.number, TODAY).book == "Ravensworth Plover, version 2"


def test_single_pieces_are_required_without_the_rest_of_the_kit_or_its_spares(full_shop: Shop) -> None:
    taken = take(full_shop, order(line("boot-set", pieces=("BSL",))), STAMP)
    looked = look(full_shop, taken.number)
    assert [one.requirement.key[2:5] for one in looked.requirements] == [("BSL", "side", "left")]
    assert list(looked.tags) == [(1, "BSL", 1)]


def test_a_kit_of_kits_for_two_cars_is_exploded_for_each_in_its_own_colours(full_shop: Shop) -> None:
    taken = take(full_shop, order(line("touring"), line("touring", car=LATE)), STAMP)
    looked = look(full_shop, taken.number)
    for number, colour in ((1, "red"), (2, "black")):
        mine = [one.requirement for one in looked.requirements if one.requirement.key.line == number]
        assert {one.item for one in mine if one.need == "panel" and not one.key.unit} == {f"carpet/{colour}"}
        assert {one.key.path for one in mine} == {
            "touring/boot-set",
            "touring/tool-bag",
            "touring/tool-bag/made",
        }
    assert len(set(looked.tags.values())) == len(looked.tags) == 2 * (3 + 1 + 1), "and a packet a boot set"
    reserve(full_shop, taken.number, STAMP)
    assert look(full_shop, taken.number).wholly_held
    assert not audit(full_shop).faults


def test_the_wanted_date_may_be_open_or_past_and_is_then_shown_as_overdue(full_shop: Shop) -> None:
    wanted = {"past": date(2026, 11, 20), "open": None, "coming": date(2026, 12, 24)}
    for number, day in wanted.items():
        take(full_shop, order(line("hood"), number=number, wanted=day), STAMP)
    assert [(one.number, one.wanted, one.overdue_days) for one in rail(full_shop, TODAY)] == [
        ("past", date(2026, 11, 20), 5),
        ("coming", date(2026, 12, 24), 0),
        ("open", None, 0),
    ]
    assert ticket(full_shop, "past", TODAY).overdue_days == 5


def test_what_is_not_known_waits_by_name_and_the_rest_goes_on(full_shop: Shop) -> None:
    taken = take(
        full_shop, order(line("hood"), line("header-rail", car=SECOND), line("side-curtains"), line("tonneau")), STAMP
    )
    assert [(number, wait.kind, wait.name, wait.holds_up) for number, wait in taken.waits] == [
        (1, "option", "window", ("HZ",)),
        (2, "fact", "works", ("RT",)),
        (3, "measurement", "How high is the door top?", ()),
    ]
    assert look(full_shop, taken.number).pieces() == {"HL", "HR", "TN"}


def test_hardware_that_is_on_the_car_already_is_listed_and_not_required(full_shop: Shop) -> None:
    taken = take(full_shop, order(line("boot-set")), STAMP)
    assert look(full_shop, taken.number).needed("clip") == 0
    (shown,) = ticket(full_shop, taken.number, TODAY).lines
    assert shown.on_car == ("2 × Clip",)


def test_an_order_of_a_shop_without_a_book_says_to_load_one(shop: Shop) -> None:
    with pytest.raises(Refusal, match=r"no kit book yet\. Load one"):
        take(shop, order(line("hood")), STAMP)


def test_names_with_markup_are_kept_as_they_are(full_shop: Shop) -> None:
    asked: OrderRequest = order(line("hood"), customer="[red]<b>Ann</b>", note="=1+1")
    taken = take(full_shop, asked, STAMP)
    shown = ticket(full_shop, taken.number, TODAY)
    assert (shown.customer, shown.note) == ("[red]<b>Ann</b>", "=1+1")


def test_more_of_what_is_stocked_does_not_change_what_is_required(full_shop: Shop) -> None:
    first = take(full_shop, order(line("touring"), number="a"), STAMP)
    with full_shop.write() as tx:
        from stockroom.domain.catalogue import OpeningBin

        job = ledger.begin_job(tx, "receive", STAMP)
        write_bins(tx, job, STAMP, [OpeningBin("tool-bag-blank", "", "B1", 9, 0)])
    second = take(full_shop, order(line("touring"), number="b"), STAMP)
    assert [one.requirement for one in look(full_shop, first.number).requirements] == [
        one.requirement for one in look(full_shop, second.number).requirements
    ]
