"""Fitting: one list of steps for all the kits of a car."""

from __future__ import annotations

from stockroom.domain.explosion import explode
from stockroom.domain.fitting import KitOnCar, fitting_steps, steps_of
from stockroom.domain.kitbook import Kit, Step
from tests.domain.books import book, catalogue, line, panel, piece

BOOT = Kit(
    "boot",
    "Boot set",
    ("A", "B"),
    steps=(
        Step(10, "Take out the seat.", unbolt="seat", caution="Disconnect the battery first."),
        Step(20, "Glue the front.", ("A",)),
        Step(40, "Finish the rear.", ("A", "B"), refit="seat"),
    ),
)
RAIL = Kit("rail", "Header-rail trim", ("C",), steps=(Step(30, "Fit the rail.", ("C",)),))


def test_the_steps_of_two_kits_are_interleaved_and_a_piece_may_come_up_twice() -> None:
    steps = fitting_steps([KitOnCar(BOOT, True), KitOnCar(RAIL, True)], {"A", "B", "C"})
    assert [(s.number, s.kit, s.pieces) for s in steps] == [
        (1, "boot", ()),
        (2, "boot", ("A",)),
        (3, "rail", ("C",)),
        (4, "boot", ("A", "B")),
    ]
    assert (steps[0].unbolt, steps[0].caution, steps[3].refit) == ("seat", "Disconnect the battery first.", "seat")
    assert steps_of(steps, "A") == (2, 4)


def test_a_step_for_pieces_that_are_absent_is_dropped() -> None:
    steps = fitting_steps([KitOnCar(BOOT, True)], {"B"})
    assert [s.do for s in steps] == ["Take out the seat.", "Finish the rear."]
    assert [s.number for s in steps] == [1, 2]


def test_single_pieces_bring_the_steps_around_them_and_no_others() -> None:
    assert [s.do for s in fitting_steps([KitOnCar(BOOT, False)], {"B"})] == ["Take out the seat.", "Finish the rear."]
    assert not fitting_steps([KitOnCar(BOOT, False)], set())


def test_a_kit_ordered_twice_for_one_car_has_its_steps_once() -> None:
    assert len(fitting_steps([KitOnCar(BOOT, True), KitOnCar(BOOT, True)], {"A", "B"})) == 3


def test_an_exploded_order_puts_the_steps_on_its_pieces_car_by_car() -> None:
    what = book(piece("A", panel("x")), piece("B", panel("x")), piece("C", panel("x")), kits=(BOOT, RAIL))
    lines = [
        line("boot", 2, key="RP 1", number=1),
        line("rail", key="RP 1", number=2),
        line("rail", key="RP 2", number=3),
    ]
    done = explode(what, catalogue(), lines)
    tags = {(p.line, p.piece, p.copy): (p.steps, p.steps_in_all) for p in done.pieces}
    assert tags == {
        (1, "A", 1): ((2, 4), 4),
        (1, "A", 2): ((2, 4), 4),
        (1, "B", 1): ((4,), 4),
        (1, "B", 2): ((4,), 4),
        (2, "C", 1): ((3,), 4),
        (3, "C", 1): ((1,), 1),
    }


def test_tags_come_set_by_set_in_the_order_of_fitting_whatever_the_order_in_the_book() -> None:
    first_b = Kit("set", "Set", ("A", "B"), steps=(Step(1, "B first.", ("B",)), Step(2, "Then A.", ("A", "B"))))
    what = book(piece("A", panel("x"), count=2), piece("B", panel("x")), kits=(first_b,))
    done = explode(what, catalogue(), [line(quantity=2)])
    assert [(p.piece, p.copy) for p in done.pieces] == [("B", 1), ("A", 1), ("A", 2), ("B", 2), ("A", 3), ("A", 4)]
