"""When a finished thing of the stock is what an order asks for, and why it is not."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from stockroom.domain.finished import AskedFor, Cover, lacking, lots_it_binds, why_it_does_not_fit
from stockroom.domain.requirement import PanelShape

SHAPE = PanelShape(((0, 0), (400, 0), (400, 500), (0, 500)), 400, 500, "along", (("filler", 80, 80, 60, "cut"),))
PANEL = Cover("", "BSL", "side", "left", "panel", "carpet/red", 1, 0, SHAPE, 1, ("K7",))
BINDING = Cover("", "BSL", "bound:side", "left", "length", "binding/red", 900, 450, None, 900, ("G1",))
STUDS = Cover("", "BSL", "hardware:stud", "left", "count", "stud", 4, 0, None, 2, ("",))
SIDE = (PANEL, BINDING, STUDS)
OWN = "Changed for this car: the hole 'filler' is left solid (AB)."


def asked(**different: Any) -> tuple[AskedFor, ...]:
    """What the bill of an order asks for there; `different` is what its panel has otherwise."""
    same = [
        AskedFor(*one.where, one.need, one.item, one.amount, one.each_mm, one.shape, "boot")
        for one in SIDE
    ]  # fmt: skip
    return replace(same[0], **different), *same[1:]


def why(*, changes: tuple[str, ...] = (), changes_asked: tuple[str, ...] = (), **different: Any) -> str:
    return why_it_does_not_fit(SIDE, changes, asked(**different), changes_asked)


def test_it_fits_where_all_of_it_equals_what_is_asked_even_if_something_of_it_lacks() -> None:
    assert why() == ""
    assert lacking(SIDE) == [STUDS]


@pytest.mark.parametrize(
    ("different", "because"),
    [
        ({"item": "carpet/black"}, r"BSL side left: it is of carpet/red, and carpet/black is asked for"),
        ({"shape": replace(SHAPE, holes=())}, "another shape, or other holes"),
        ({"amount": 2}, "another amount"),
        ({"part": "top"}, "it has no BSL top left"),
        ({"hand": "right"}, "it has no BSL side right"),
    ],
)
def test_it_does_not_fit_where_anything_differs_and_says_what(different: dict[str, Any], because: str) -> None:
    assert because in why(**different)


def test_a_thing_with_something_more_in_it_does_not_fit() -> None:
    assert why_it_does_not_fit(SIDE, (), asked()[:-1], ()) == "BSL hardware:stud left of it is not asked for"


def test_a_cars_own_change_must_be_on_both_or_on_neither() -> None:
    assert why(changes_asked=(OWN,)) == f"this car is not like it: {OWN}"
    assert why(changes=(OWN,)) == "it was changed for another car"
    assert why(changes=(OWN,), changes_asked=(OWN,)) == ""


def test_it_must_be_of_the_lot_that_the_rest_of_the_set_has_unless_a_mix_was_approved() -> None:
    other = frozenset({"K9"})
    assert why(bound_to=other) == "BSL side left: it is of lot K7, and the set has lot K9"
    approved = (frozenset({"K7", "K9"}),)
    assert (
        why(bound_to=frozenset({"K7"})) == why(bound_to=other, approved=approved) == why(bound_to=other, group="") == ""
    )
    assert why(bound_to=other, approved=(frozenset({"K8", "K9"}),)), "another mix was approved"


def test_it_binds_a_set_that_has_no_lot_yet_to_its_own() -> None:
    assert lots_it_binds(SIDE, asked()) == {("boot", "carpet/red"): "K7", ("boot", "binding/red"): "G1"}
    assert lots_it_binds(SIDE, asked(bound_to=frozenset({"K7"}))) == {("boot", "binding/red"): "G1"}


def test_a_thing_of_two_lots_does_not_go_into_a_set() -> None:
    mixed = (PANEL, replace(PANEL, part="end", lots=("K8",)))
    wanted = [AskedFor(*one.where, one.need, one.item, one.amount, one.each_mm, one.shape, "boot") for one in mixed]
    assert (
        why_it_does_not_fit(mixed, (), wanted, ()) == "its carpet/red is of lot K7 and lot K8, and a set is of one lot"
    )
    alone = [replace(one, group="") for one in wanted]
    assert why_it_does_not_fit(mixed, (), alone, ()) == ""
