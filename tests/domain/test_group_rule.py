"""The group rule's pairs: what is reckoned of all of them at once is what is said of each, from either side."""

from __future__ import annotations

import doctest
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockroom.domain import many_differences
from stockroom.domain.catalogue import Reading
from stockroom.domain.group_rule import LotColours, new_pairs, pairs_of
from stockroom.domain.matching import BEYOND, EyeVerdict, Match, Verdict
from tests.domain.books import cloth

DAY = date(2026, 11, 25)
CARPET = cloth("carpet", colour_tolerance=1.0)
LOTS = ("A", "B", "C", "D", "E")


def saw(verdict: Verdict) -> EyeVerdict:
    """What somebody saw."""
    return EyeVerdict(verdict, "HM", "daylight", DAY)


readings = st.builds(
    Reading,
    st.floats(36, 41),
    st.floats(50, 54),
    st.floats(29, 33),
    st.sampled_from(["D65", "D65", "A"]),
    st.sampled_from(["10", "10", "2"]),
)
verdicts = st.sampled_from(["match", "near", "no-match"]).map(saw)  # type: ignore[arg-type]
known = st.builds(
    LotColours,
    st.just("carpet/red"),
    st.just(CARPET),
    st.dictionaries(st.sampled_from(LOTS), st.lists(readings, max_size=3)),
    st.dictionaries(st.sets(st.sampled_from(LOTS), min_size=2, max_size=2).map(frozenset), verdicts, max_size=4),
    st.sampled_from(["1:1:1", "2:1:1"]),
)


@settings(deadline=None)  # the first one loads what is slow to load
@given(known)
def test_all_pairs_at_once_are_what_is_said_of_each_of_them_and_alike_from_either_side(colours: LotColours) -> None:
    found = pairs_of(colours, LOTS)
    for array in (found.never, found.at_limit, found.apart):
        assert np.array_equal(array, array.T)
    for one, lot in enumerate(LOTS):
        assert not found.never[one, one]
        for other in range(one):
            judged, back = colours.judged(lot, LOTS[other]), colours.judged(LOTS[other], lot)
            assert (judged.match, judged.de00) == (back.match, back.de00 and pytest.approx(back.de00, abs=1e-9))
            assert found.never[one, other] == (judged.match is Match.NO_MATCH)
            assert found.at_limit[one, other] == (judged.match is Match.BY_EYE)
            if judged.seen is None:
                assert found.apart[one, other] == pytest.approx(
                    np.inf if judged.de00 is None else judged.de00, abs=1e-4
                )


@pytest.mark.parametrize(
    ("verdict", "lighter", "counts_as"),
    [
        ("match", 0.0, 0.0),  # the number, where it is within what the word allows
        ("match", 9.0, 1.0),  # an eye's match is no farther than the tolerance
        ("match", None, 1.0),
        ("near", 0.0, 1.0),  # what is near is no nearer than the tolerance
        ("near", 9.0, BEYOND),
        ("near", None, BEYOND),
        (None, None, float("inf")),  # neither read nor seen: farther than any number
    ],
)
def test_how_far_a_pair_counts_as_lying_apart_follows_the_eye_and_then_the_number(
    verdict: Verdict | None, lighter: float | None, counts_as: float
) -> None:
    read = {"A": [Reading(38.6, 52.4, 30.7)]}
    if lighter is not None:
        read["B"] = [Reading(38.6 + lighter, 52.4, 30.7)]
    seen = {} if verdict is None else {frozenset("AB"): saw(verdict)}
    assert pairs_of(LotColours("carpet/red", CARPET, read, seen), "AB").apart[0, 1] == pytest.approx(counts_as)


def test_two_lots_read_under_two_lights_are_compared_alike_from_either_side() -> None:
    day, lamp = Reading(38.6, 52.4, 30.7), Reading(40.0, 55.0, 33.0, "A")
    colours = LotColours("carpet/red", CARPET, {"A": [lamp, day], "B": [day, Reading(44.0, 55.0, 33.0, "A")]})
    assert colours.judged("A", "B").de00 == colours.judged("B", "A").de00 == 0, "the light that is usual in textiles"


def test_new_pairs_are_those_that_new_lots_make() -> None:
    assert new_pairs(frozenset("CD"), frozenset("AB")) == [
        ("C", "D"), ("C", "A"), ("C", "B"), ("D", "A"), ("D", "B"),
    ]  # fmt: skip
    assert new_pairs(frozenset("A"), frozenset("AB")) == []


def test_the_examples_in_the_docstrings_are_true() -> None:
    assert doctest.testmod(many_differences).attempted > 0
    assert doctest.testmod(many_differences).failed == 0
