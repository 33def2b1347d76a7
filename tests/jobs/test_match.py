"""Candidates by how well they match, two rolls against each other, and the eye's word that stands above a number."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import make_tag
from stockroom.jobs.match import match_item, match_rolls, match_scanned
from stockroom.jobs.undo import done, undo
from stockroom.jobs.verdict import give_verdict
from stockroom.store import stock
from stockroom.store.database import Shop
from tests.shops import LATER, STAMP, bin_of, dump, roll, stock_shop

RED = "leathercloth/red"


def read(lightness: float) -> dict[str, object]:
    """Columns of a reading that differs from others in L* alone."""
    return {"L": lightness, "a": 0, "b": 0, "illuminant": "D65", "observer": 10}


@pytest.fixture
def shades(shop: Shop, tmp_path: Path) -> Shop:
    """Red leathercloth of five lots, and a carpet of one of their shades."""
    stock_shop(
        shop,
        tmp_path,
        roll(RED, 5_000, "A", **read(50)),
        roll(RED, 3_000, "A", place="B1"),
        roll(RED, 2_000, "far", **read(56)),
        roll(RED, 1_000, "near", **read(50.5)),
        roll(RED, 9_000, "unread"),
        roll(RED, 4_000, "damp", **read(50), quarantined="damp"),
        roll("carpet/red", 6_000, "A", **read(50)),
        bin_of("stud", 40),
    )
    return shop


def tag_of(shop: Shop, item: str, lot: str) -> str:
    """The tag of the first roll of a lot."""
    with shop.read() as tx:
        return next(one.tag for one in stock.rolls_of(tx, item) if one.lot == lot)


def test_candidates_come_best_first_each_with_its_reason(shades: Shop) -> None:
    found = match_item(shades, RED, "A")
    assert [(one.lot, one.words, one.free_mm, one.place) for one in found.rolls] == [
        ("A", "same lot", 5_000, "R1"),
        ("A", "same lot", 3_000, "B1"),
        ("near", "matches", 1_000, "R1"),
        ("unread", "check by eye in daylight", 9_000, "R1"),
        ("far", "does not match", 2_000, "R1"),
    ]
    assert all(one.why.endswith(".") for one in found.rolls)
    assert found.ask.endswith(f"stockroom verdict {RED} 'A' 'unread' match|near|no-match --light daylight")
    (scanned,) = match_scanned(shades, tag_of(shades, RED, "near").lower()).groups
    assert [one.lot for one in scanned.rolls] == ["A", "A", "unread", "far"]
    assert {one.words for one in match_item(shades, RED).rolls} == {"check by eye in daylight"}  # the red has no master


def test_an_eye_verdict_is_reused_stands_above_the_number_and_yields_to_a_later_one(shades: Shop) -> None:
    before = dump(shades)["eye_verdict"]
    rolls = tag_of(shades, RED, "far"), tag_of(shades, RED, "A")
    assert match_rolls(shades, *rolls).words == "does not match"
    give_verdict(shades, RED, ("FAR", "a"), "match", "daylight", STAMP, eyes="GH")
    found = match_rolls(shades, *rolls)
    assert (found.words, found.ask) == ("matches", "")
    assert "GH saw them side by side" in found.why
    give_verdict(shades, RED, ("A", "far"), "near", "daylight", LATER)
    assert [one.words for one in match_item(shades, RED, "far").rolls if one.lot == "A"] == [
        "check by eye in daylight"
    ] * 2
    for word in ("matches", "does not match"):
        undo(shades, done(shades, 10)[0].number if word == "matches" else done(shades, 10)[2].number, LATER)
        assert match_rolls(shades, *rolls).words == word
    assert dump(shades)["eye_verdict"] == before


def test_two_rolls_of_two_cloths_are_for_the_eye_and_a_bin_is_no_cloth(shades: Shop) -> None:
    hide, carpet = tag_of(shades, RED, "A"), tag_of(shades, "carpet/red", "A")
    found = match_rolls(shades, hide, carpet)
    assert (found.words, found.dE00) == ("check by eye in daylight", 0.0)
    with pytest.raises(Refusal, match="Scan the tag of a roll"):
        match_rolls(shades, hide, str(make_tag("B", 1)))


@pytest.mark.parametrize(
    ("item", "lots", "verdict", "light", "says"),
    [
        (RED, ("A", "faar"), "match", "daylight", "nearest name is 'far'"),
        (RED, ("A", "a"), "match", "daylight", "is one lot"),
        (RED, ("A", "far"), "good", "daylight", "match, near or no-match"),
        (RED, ("A", "far"), "match", " ", "in which light"),
        ("stud", ("A", "far"), "match", "daylight", "no cloth in a colour 'stud'"),
    ],
)
def test_a_verdict_that_cannot_be_is_refused(
    shades: Shop, item: str, lots: tuple[str, str], verdict: str, light: str, says: str
) -> None:
    with pytest.raises(Refusal, match=says):
        give_verdict(shades, item, lots, verdict, light, STAMP)
