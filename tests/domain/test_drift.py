"""Drift: what is compared with what, the rolls that fall out, and a case reckoned by hand."""

from __future__ import annotations

from datetime import date

import pytest

from stockroom.domain.catalogue import Cloth, Reading
from stockroom.domain.drift import LotRead, OnRack, apart, drift_of, in_words
from stockroom.domain.matching import Judged, Match

CLOTH = Cloth("leathercloth", "Leathercloth", "cloth", "", "", 1370, 0, False, 0, 1.0)
MASTER = Reading(50, 0, 0)
MAY, JUNE, JULY = (date(2026, month, 1) for month in (5, 6, 7))


def grey(lightness: float, light: str = "D65") -> Reading:
    """A reading that differs from the master in L* alone."""
    return Reading(lightness, 0, 0, light)


def test_lots_come_in_their_turn_and_what_was_read_otherwise_is_named_and_left_out() -> None:
    """Between greys of L* near 50, SL is all but 1 and ΔE00 all but ΔL* (CIEDE2000: SL is 1 where L̄' is 50)."""
    lots = [
        LotRead("B", JUNE, (grey(51.3), grey(51.5), grey(80, "A"))),
        LotRead("C", JULY, (grey(50, "A"),)),
        LotRead("A", MAY, (grey(50.4),)),
    ]
    found, left_out = drift_of(lots, MASTER, CLOTH)
    assert [(one.lot, one.number_of_readings) for one in found] == [("A", 1), ("B", 2)]
    first, second = found
    assert first.by_lightness == pytest.approx(0.4)
    assert first.judged.match is Match.MATCHES
    assert first.judged.de00 == pytest.approx(0.4, abs=0.005)
    # The middle of B is L* 51.4, its two readings 0.1 from it: 1.4 less 0.1 is more than 1 and less than 1.5.
    assert second.reading.lightness == pytest.approx(51.4)
    assert second.spread == pytest.approx(0.1, abs=0.005)
    assert second.judged.match is Match.BY_EYE
    assert left_out == tuple(
        f"lot {lot}, read once under A/10°: the master is under D65/10°, and readings are compared only under the same "
        "light and observer."
        for lot in "BC"
    )
    assert in_words(found) == (
        "1 of 2 lots matches the master. The latest, lot B, is lighter than it (ΔE00 1.40: check by eye in daylight)."
    )


def test_a_roll_falls_out_beside_what_lay_there_before_it_and_not_beside_what_is_set_apart() -> None:
    far = {frozenset("AC"), frozenset("BC"), frozenset("BD")}

    def judge(one: str, other: str) -> Judged:
        match = Match.NO_MATCH if frozenset((one, other)) in far else Match.MATCHES
        return Judged(match, 2.0 if one == "A" else None, "")

    rolls = [
        OnRack("R4", "D", "Q1", JULY, quarantined=True),
        OnRack("R3", "C", "R1", JULY, quarantined=False),
        OnRack("R2", "B", "R1", JUNE, quarantined=False),
        OnRack("R1", "A", "R1", MAY, quarantined=False),
        OnRack("R5", "C", "R2", JULY, quarantined=False),
    ]
    found = apart(rolls, judge)
    assert [(one.roll.tag, sorted(one.lots), one.largest) for one in found] == [
        ("R3", ["A", "B"], 2.0),
        ("R5", ["A", "B"], 2.0),
        ("R4", ["B"], None),
    ], "the younger of two falls out; an eye may say so without a number"
    assert apart([rolls[0], rolls[3]], judge) == ()
