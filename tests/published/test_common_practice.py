"""What the trade does. Common practice, no source:

tool, jack and handles bags are black whatever the trim, the side-curtain bag matches the trim; a handles bag exists in
two lengths and the order must say which; early cars have boot carpet in the trim colour, later ones black, and piping
likewise first in the body colour, later black; a set is labelled in the order in which its pieces are fitted.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockroom.domain.explosion import Explosion, explode
from stockroom.domain.facts import CarFacts
from stockroom.domain.kitbook import Ask, Edging, Kit, Option, Role
from tests.domain.books import (
    EARLY,
    LATE,
    ask_option,
    book,
    catalogue,
    early_or_late,
    line,
    panel,
    piece,
)
from tests.domain.seed_book import SERIES_1_EARLY, SERIES_1_LATE, SERIES_2_LATE, demo_book, demo_catalogue

TRIMS = ("red", "tan", "biscuit", "dark-green", "black")


def in_the_demo(kit: str, car: CarFacts, **choices: str) -> Explosion:
    given = {code.replace("_", "-"): choice for code, choice in choices.items()}
    return explode(demo_book(), demo_catalogue(), [line(kit, car=car, choices=given)])


def colours(done: Explosion, cloth: str) -> set[str]:
    return {r.item.split("/")[1] for r in done.requirements if r.item.split("/")[0] == cloth}


# --- small books ------------------------------------------------------------------------------------------------


def test_carpet_follows_the_trim_on_early_cars_and_is_black_on_later_ones() -> None:
    mat = piece("MAT", panel("top", role="carpet"))
    carpet = Role("carpet", Ask("carpet-colour"), "")
    what = book(mat, roles=(carpet,), rules=(early_or_late("carpet-colour", "@trim", "black"),))
    assert [r.item for r in explode(what, catalogue(), [line(car=EARLY)]).requirements] == ["carpet/red"]
    assert [r.item for r in explode(what, catalogue(), [line(car=LATE)]).requirements] == ["carpet/black"]


def test_piping_follows_the_body_on_early_cars_and_is_black_on_later_ones() -> None:
    piped = piece("DOOR", panel("face", edging=(Edging("piped", ("front",), "binding", "piping"),)))
    piping = Role("piping", Ask("piping-colour"), "")
    what = book(piped, roles=(piping,), rules=(early_or_late("piping-colour", "@body", "black"),))
    early, late = (explode(what, catalogue(), [line(car=car)]) for car in (EARLY, LATE))
    assert (colours(early, "binding"), colours(late, "binding")) == ({"green"}, {"black"})


def test_a_handles_bag_must_be_asked_for_by_its_length() -> None:
    lengths = Option("bag-length", "Long or short?", {"long": "long", "short": "short"})
    bag = piece("BAG", panel("side"), present=Ask("by-bag-length"))
    kits = (Kit("set", "Set", ("BAG",), options=("bag-length",)),)
    what = book(bag, kits=kits, options=(lengths,), rules=(ask_option("bag-length", long=True, short=True),))
    done = explode(what, catalogue(), [line()])
    assert not done.requirements
    assert [(wait.kind, wait.name) for _, wait in done.waits] == [("option", "bag-length")]


# --- the demo's own book ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("trim", TRIMS)
@pytest.mark.parametrize("kit", ["tool-bag", "jack-bag", "handles-bag"])
def test_tool_jack_and_handles_bags_are_black_whatever_the_trim(kit: str, trim: str) -> None:
    for car in (SERIES_1_EARLY, SERIES_2_LATE):
        done = in_the_demo(kit, replace(car, trim_colour=trim), bag_length="short")
        assert colours(done, "leathercloth") == {"black"}
        assert not done.waits


@pytest.mark.parametrize("trim", TRIMS)
def test_the_side_curtain_bag_matches_the_trim(trim: str) -> None:
    done = in_the_demo("side-curtain-bag", replace(SERIES_1_LATE, trim_colour=trim))
    assert colours(done, "leathercloth") == {trim}


def test_the_demos_handles_bag_waits_for_its_length_and_the_answer_decides_the_blank() -> None:
    done = in_the_demo("handles-bag", SERIES_1_LATE)
    assert not done.requirements
    assert [(wait.kind, wait.name, set(wait.choices)) for _, wait in done.waits] == [
        ("option", "bag-length", {"long", "short"})
    ]
    blanks = {
        length: [
            r.item
            for r in in_the_demo("handles-bag", SERIES_1_LATE, bag_length=length).requirements
            if r.need == "made"
        ]
        for length in ("long", "short")
    }
    assert blanks == {"long": ["handles-bag-long-blank"], "short": ["handles-bag-short-blank"]}


def test_the_demos_boot_carpet_is_first_in_the_trim_colour_and_later_black() -> None:
    assert colours(in_the_demo("full-boot-set", SERIES_1_EARLY), "ribbed-carpet") == {"red"}
    assert colours(in_the_demo("full-boot-set", SERIES_1_LATE), "ribbed-carpet") == {"black"}
    assert colours(in_the_demo("full-boot-set", SERIES_2_LATE), "loop-carpet") == {"black"}


def test_the_demos_piping_is_first_in_the_body_colour_and_later_black() -> None:
    assert colours(in_the_demo("door-opening-trim", SERIES_1_EARLY), "piping") == {"ivory"}
    assert colours(in_the_demo("door-opening-trim", SERIES_2_LATE), "piping") == {"black"}


def test_a_set_is_labelled_in_the_order_in_which_its_pieces_are_fitted() -> None:
    done = in_the_demo("full-boot-set", SERIES_1_EARLY)
    firsts = [piece_made.steps[0] for piece_made in done.pieces if piece_made.piece]
    assert len(firsts) >= 20
    assert firsts == sorted(firsts)
