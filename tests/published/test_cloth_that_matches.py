"""Which cloth goes beside which. Common practice, no source:

blacks are blacks: two lots of one black differ so little that they are hardly ever kept apart, and yet a black of one
cloth is held against the black of another by eye, since pile and grain make two blacks of one; the bag that is ordered
today matches the trim that was delivered years ago, and a black bag in the same set has nothing to do with it.
"""

from __future__ import annotations

import csv
from itertools import combinations, product

from stockroom.domain.allocation import plan_cuts
from stockroom.domain.catalogue import Reading
from stockroom.domain.cut_plans import CutPlan
from stockroom.domain.cutting import RollFree
from stockroom.domain.explosion import explode
from stockroom.domain.group_rule import LotColours, MatchingGroup
from stockroom.domain.lay import PanelToLay
from stockroom.domain.matching import Lot, Match, judge_lots
from stockroom.domain.shortage import Short
from tests.domain.books import line
from tests.domain.seed_book import SEED, SERIES_1_EARLY, demo_book, demo_catalogue

TRIM = "leathercloth/red"


def lots_of_the_demo() -> list[Lot]:
    """Every lot of the demo's racks that was read."""
    cloths, found = demo_catalogue().cloths, dict[tuple[str, str], Lot]()
    with (SEED / "rolls.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["L"]:
                reading = Reading(float(row["L"]), float(row["a"]), float(row["b"]))
                at = row["item"], row["lot"]
                found.setdefault(at, Lot(row["item"], cloths[row["item"].split("/")[0]], row["lot"], (reading,)))
    return list(found.values())


def test_blacks_are_blacks_within_a_cloth_and_a_matter_of_the_eye_across_cloths() -> None:
    blacks = [one for one in lots_of_the_demo() if one.item.endswith("/black")]
    assert len({one.item for one in blacks}) >= 4
    for one, other in combinations(blacks, 2):
        judged = judge_lots(one, other, None)
        if one.item == other.item:
            assert judged.match in (Match.MATCHES, Match.BY_EYE), f"{one.lot} and {other.lot}: {judged.why}"
        else:
            assert judged.match is Match.BY_EYE, "no number says of two cloths that they match"


def test_a_step_in_lightness_shows_less_in_black_than_in_a_trim_colour() -> None:
    cloth = demo_catalogue().cloths["leathercloth"]

    def apart(lightness: float) -> float:
        known = LotColours(
            "", cloth, {"one": [Reading(lightness, 0.4, -0.7)], "other": [Reading(lightness - 1, 0.4, -0.7)]}
        )
        return known.judged("one", "other").de00 or 0.0

    assert apart(18) < apart(38)


def panels_of(kit: str, item: str) -> list[PanelToLay]:
    """The panels of a kit in one item, for an early car with red trim."""
    done = explode(demo_book(), demo_catalogue(), [line(kit, car=SERIES_1_EARLY)])
    needs = [one for one in done.requirements if one.item == item and one.shape is not None]
    return [PanelToLay(n, one.shape, one.key.piece) for n, one in enumerate(needs) if one.shape]


def test_the_bag_ordered_today_matches_the_trim_delivered_two_years_ago() -> None:
    """The trim went out in lot T1. Of the others T2 is nearest, T3 matches, T4 is at the limit, T5 does not match."""
    bag, cloth = panels_of("side-curtain-bag", TRIM), demo_catalogue().cloths["leathercloth"]
    assert bag
    lightness = {"T1": 38.0, "T2": 38.4, "T3": 39.0, "T4": 39.5, "T5": 41.0}
    known = LotColours(TRIM, cloth, {lot: [Reading(one, 52.0, 31.0)] for lot, one in lightness.items()})
    asked = MatchingGroup(to_match=frozenset({"T1"}), colours=lambda: known)

    def plan(*lots: str) -> CutPlan | Short:
        racks = [RollFree(n, f"R{n}", lot, 1400, 6000, ((0, 6000),), False, n) for n, lot in enumerate(lots)]
        return plan_cuts(bag, racks, cloth, asked)

    for last, first in product(("T3", "T4", "T5"), ("T1", "T2")):
        found = plan(last, first)
        assert isinstance(found, CutPlan)
        assert found.lots == (first,), "what went out before, then the nearest, however old the others are"
    near = plan("T5", "T4", "T3")
    assert isinstance(near, CutPlan)
    assert near.lots == ("T3",)
    limit, far = plan("T5", "T4"), plan("T5")
    assert isinstance(limit, Short)
    assert limit.would_mix == ("T4",), "it is for an eye to say"
    assert isinstance(far, Short)
    assert (far.would_mix, "Lot T5 beside lot T1: does not match; ΔE00 is 2." in far.sentence) == ((), True)


def test_a_black_bag_has_no_lot_in_common_with_the_trim() -> None:
    for kit in ("tool-bag", "jack-bag"):
        assert not panels_of(kit, TRIM)
        assert panels_of(kit, "leathercloth/black")
