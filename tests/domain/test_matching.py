"""What counts as a match: one lot, an eye, a number within one cloth; across cloths and without readings the eye."""

from __future__ import annotations

from datetime import date

import pytest

from stockroom.domain.catalogue import Cloth, Reading
from stockroom.domain.colour_difference import delta_e00
from stockroom.domain.matching import BEYOND, EyeVerdict, Judged, Lot, Match, Verdict, judge_lots

DAY = date(2026, 11, 25)
MASTER = Reading(38.6, 52.4, 30.7)


def cloth(code: str, tolerance: float = 1.0) -> Cloth:
    return Cloth(code, code.capitalize(), "cloth", "", "", 1400, 0, False, 300, tolerance)


CARPET, HIDE = cloth("carpet", 1.5), cloth("leathercloth")


def lot(name: str, *readings: Reading, of: Cloth = HIDE) -> Lot:
    return Lot(f"{of.code}/red", of, name, readings)


def lighter(by: float, *, light: str = "D65") -> Reading:
    """The master, so much lighter in L*."""
    return Reading(MASTER.lightness + by, MASTER.a, MASTER.b, light)


def saw(verdict: Verdict) -> EyeVerdict:
    return EyeVerdict(verdict, "HM", "daylight", DAY)


def judged(one: Lot, other: Lot, seen: EyeVerdict | None = None) -> Judged:
    """The answer, which is the same from either side."""
    found = judge_lots(one, other, seen)
    assert judge_lots(other, one, seen).match is found.match
    assert found.why.endswith(".")
    return found


@pytest.mark.parametrize(
    ("of", "by", "answer"),
    [
        (HIDE, 1.0, Match.MATCHES),
        (HIDE, 1.5, Match.BY_EYE),
        (CARPET, 1.5, Match.MATCHES),  # a carpet forgives more than a leathercloth
        (HIDE, 2.5, Match.NO_MATCH),
        (CARPET, 2.5, Match.BY_EYE),
        (CARPET, 4.0, Match.NO_MATCH),
    ],
)
def test_each_cloth_has_its_own_tolerance(of: Cloth, by: float, answer: Match) -> None:
    """By hand: near L* 39 one unit of L* is about 0.86 to 0.88 of ΔE00, as S_L is about 1.15 there."""
    difference = delta_e00(MASTER, lighter(by))
    assert difference == pytest.approx(0.87 * by, rel=0.02)
    found = judged(lot("A", MASTER, of=of), lot("B", lighter(by), of=of))
    assert (found.match, found.de00) == (answer, difference)


def test_one_lot_matches_itself_whatever_was_read_of_it_and_a_lot_that_is_not_known_matches_nothing() -> None:
    assert judged(lot("A", MASTER), lot("A", lighter(9))).match is Match.SAME_LOT
    assert judged(lot(""), lot("")).match is Match.BY_EYE
    assert judged(lot("A", of=HIDE), lot("A", of=CARPET)).match is Match.BY_EYE


def test_across_cloths_no_number_says_matches() -> None:
    found = judged(lot("A", MASTER, of=CARPET), lot("B", MASTER))
    assert (found.match, found.de00) == (Match.BY_EYE, 0.0)
    assert "two cloths" in found.why


def test_without_a_reading_of_both_the_eye_is_asked() -> None:
    assert "no reading of lot B" in judged(lot("A", MASTER), lot("B")).why
    assert "no reading of lot A and none of lot B" in judge_lots(lot("A"), lot("B"), None).why


@pytest.mark.parametrize(
    ("verdict", "answer"), [("match", Match.MATCHES), ("near", Match.BY_EYE), ("no-match", Match.NO_MATCH)]
)
@pytest.mark.parametrize("read", [(), (lighter(9),), (MASTER,)])
def test_an_eye_stands_above_any_number(verdict: Verdict, answer: Match, read: tuple[Reading, ...]) -> None:
    found = judged(lot("A", MASTER), lot("B", *read), saw(verdict))
    assert (found.match, found.seen) == (answer, saw(verdict))
    assert "HM saw them side by side on 2026-11-25, light: daylight" in found.why
    assert ("the eye stands above it" in found.why) is bool(read)


def test_readings_are_compared_under_a_light_that_both_have_and_else_not_at_all() -> None:
    under_a = lighter(0, light="A")
    assert judged(lot("A", under_a, MASTER), lot("B", lighter(0.5))).match is Match.MATCHES
    found = judged(lot("A", under_a), lot("B", MASTER))
    assert (found.match, found.de00) == (Match.BY_EYE, None)
    assert "only under the same light and observer" in found.why


def test_a_lot_whose_own_readings_lie_apart_bears_no_sure_word() -> None:
    even, uneven = lot("A", MASTER), lot("B", lighter(-0.9), lighter(0.9))
    assert judged(even, lot("B", lighter(0.9))).match is Match.MATCHES
    found = judged(even, lot("B", lighter(0), lighter(1.8)))
    assert (found.match, "of one lot lie up to" in found.why) == (Match.BY_EYE, True)
    far = BEYOND / 0.87 + 0.3
    assert judged(even, lot("B", lighter(far))).match is Match.NO_MATCH
    assert judged(uneven, lot("C", lighter(far))).match is Match.BY_EYE
