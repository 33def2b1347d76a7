"""The best mix of lots: what is chosen is what trying everything finds, and no chain of matches fools it.

Readings here are greys, for which ΔE00 is reckoned by hand: of two that differ in L* alone it is
ΔL* / (1 + 0.015 (L̄* − 50)² / √(20 + (L̄* − 50)²)), and near L* 50 that is ΔL* itself but for a thousandth.
"""

from __future__ import annotations

import doctest
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from itertools import combinations, product
from math import inf

import pytest

from stockroom.domain import portions
from stockroom.domain.allocation import plan_cuts
from stockroom.domain.catalogue import Reading
from stockroom.domain.cut_plans import CutPlan
from stockroom.domain.cutting import RollFree
from stockroom.domain.group_rule import LotColours, MatchingGroup
from stockroom.domain.lay import Lay, PanelToLay, arrange
from stockroom.domain.matching import BEYOND, EyeVerdict, Match, Verdict
from stockroom.domain.requirement import PanelShape
from stockroom.domain.shortage import Short
from stockroom.domain.takes import LengthsPlan, ReelFree, RunNeeded, plan_lengths
from tests.domain.books import cloth

DAY = date(2026, 11, 25)
FELT = cloth("felt", shortest_useful_mm=300, colour_tolerance=1.0)
GAP = 5


def colours(lightness: dict[str, float], **verdicts: Verdict) -> LotColours:
    """Grey lots by their L*; a verdict is on the two lots whose letters its name has."""
    seen = {frozenset(pair): EyeVerdict(verdict, "HM", "daylight", DAY) for pair, verdict in verdicts.items()}
    return LotColours("felt/grey", FELT, {lot: [Reading(grey, 0, 0)] for lot, grey in lightness.items()}, seen)


def group(known: LotColours, bound_to: str = "", to_match: str = "") -> MatchingGroup:
    """A matching group; each letter is a lot."""
    return MatchingGroup(frozenset(bound_to), frozenset(to_match), colours=lambda: known)


def across(*lengths: int) -> list[PanelToLay]:
    """Pieces of one panel each, too wide to lie beside each other."""
    return [
        PanelToLay(n, PanelShape(((0, 0), (1300, 0), (1300, mm), (0, mm)), 1300, mm, "along"), f"piece {n}")
        for n, mm in enumerate(lengths)
    ]


def rolls(**lengths: int | tuple[int, ...]) -> list[RollFree]:
    """Rolls 1.40 m wide by lot, of these lengths in mm."""
    every = [(lot, mm) for lot, some in lengths.items() for mm in (some if isinstance(some, tuple) else (some,))]
    return [RollFree(n, f"R{n}", lot, 1400, mm, ((0, mm),), False, n) for n, (lot, mm) in enumerate(every, start=1)]


def proposed(panels: Sequence[PanelToLay], stock: Sequence[RollFree], of: MatchingGroup) -> Short:
    """What is short, with the mix that is proposed."""
    found = plan_cuts(panels, stock, FELT, of)
    assert isinstance(found, Short)
    return found


def lots_of(found: Short) -> str:
    """The lots that the group would have, in the order of their letters."""
    return "".join(sorted(found.would_mix))


# --- worked by hand ----------------------------------------------------------------------------------------------


def test_the_best_mix_for_a_set_of_felt_worked_by_hand() -> None:
    """Five felt pads for the boot of a Ravensworth Plover, each 0.60 m of the roll.

    Side by side on one length they take 5 × 0.60 m and four gaps of 5 mm for the knife: 3.02 m. Two take 1.205 m, three
    1.81 m. Felt matches up to ΔE00 1.0, and up to 1.5 the eye decides.
    """
    pads = across(600, 600, 600, 600, 600)
    lengths = {"A": 1900, "B": 1300, "C": 1300, "D": 1250, "E": 1205, "F": 1300}
    greys = {"A": 50.0, "B": 51.2, "C": 50.9, "D": 50.5, "E": 49.5, "F": 52.0}

    def best(lots: str) -> Short:
        known = colours({lot: greys[lot] for lot in lots})
        return proposed(pads, rolls(**{lot: lengths[lot] for lot in lots}), group(known))

    # Step 1. No lot takes all five. B and C take two each, four in all: not enough. A takes three, so A and B do it.
    assert lots_of(best("BC")) == ""
    # A and B are 1.2 apart: at the limit. It is proposed, and whoever approves it must look.
    assert lots_of(best("AB")) == "AB"
    assert "having looked in daylight at lot A beside lot B" in best("AB").sentence
    # Step 2. A and C are 0.9 apart and match: no pair is at the limit, so C is better than B.
    assert lots_of(best("ABC")) == "AC"
    assert best("ABC").sentence.endswith(
        "A and C together would do. Lot A beside lot C: matches; ΔE00 is 0.90; Felt matches up to 1. "
        "Somebody must approve the mix with initials."
    )
    # Step 3. A and D are 0.5 apart, nearer than A and C: the least largest difference. That D leaves 45 mm that nobody
    # can use, and C 95 mm, does not matter yet.
    assert lots_of(best("ABCD")) == "AD"
    # Step 4. A and E are 0.5 apart as well. D leaves 1250 - 1205 = 45 mm that nobody can use, E nothing: E wastes least
    # (felt is useful from 0.30 m on, and what A leaves of its 1.90 m is the same with either).
    assert lots_of(best("ABCDE")) == "AE"
    # Step 5. F is 2.0 lighter than A; midway, at L* 51, that is 2.0 / (1 + 0.015 × 1 / √21) = 1.99. Beyond 1.5 it never
    # comes into a mix with A, though there were nothing else.
    assert lots_of(best("AF")) == ""
    assert best("AF").sentence.endswith(
        "Lot A and lot F together would have enough, but may not be used here. "
        "Lot A beside lot F: does not match; ΔE00 is 1.99; Felt matches up to 1."
    )


# --- the group rule ----------------------------------------------------------------------------------------------


def test_a_chain_of_matches_is_no_mix() -> None:
    """A and B are 0.9 apart, B and C 0.9; A and C are 1.8 apart, beyond 1.5: they do not match."""
    stock, pads = rolls(A=1000, B=1000, C=1000), across(900, 900, 900)
    chain = proposed(pads, stock, group(colours({"A": 50.0, "B": 50.9, "C": 51.8})))
    assert chain.would_mix == ()
    assert "Lot A beside lot C: does not match; ΔE00 is 1.80" in chain.sentence
    near = proposed(pads, stock, group(colours({"A": 50.0, "B": 50.7, "C": 51.4})))
    assert lots_of(near) == "ABC"
    assert "having looked in daylight at lot A beside lot C." in near.sentence, "the one pair of the chain at the limit"


def test_a_new_lot_must_match_every_lot_that_the_group_has_from_any_of_its_orders() -> None:
    stock, pads = rolls(B=5000, C=5000), across(900, 900)
    known = colours({"A": 50.0, "Z": 51.4, "B": 52.0, "C": 50.7})
    assert lots_of(proposed(pads, stock, group(known, bound_to="A"))) == "AC"
    assert lots_of(proposed(pads, stock, group(known, bound_to="Z"))) == "BZ", "0.6 apart; C is 0.7 from it"
    assert lots_of(proposed(pads, stock, group(known, bound_to="AZ"))) == "ACZ", "B matches Z and not A"
    assert proposed(pads, stock[:1], group(known, bound_to="AZ")).would_mix == ()


def test_a_group_has_never_more_than_three_lots_in_all_of_its_orders() -> None:
    known = colours({"A": 50.0, "B": 50.1, "C": 50.2, "D": 50.3})
    full = proposed(across(900), rolls(D=5000), group(known, bound_to="ABC"))
    assert full.would_mix == ()
    assert full.sentence.endswith("The set has lot A, lot B and lot C already, and never has more than three lots.")
    assert lots_of(proposed(across(900), rolls(D=5000), group(known, bound_to="AB"))) == "ABD"


def test_an_eye_stands_above_the_numbers_in_a_mix() -> None:
    stock, pads = rolls(A=1000, B=1000, C=1000), across(900, 900)
    greys = {"A": 50.0, "B": 50.2, "C": 53.0}
    assert lots_of(proposed(pads, stock, group(colours(greys)))) == "AB"
    assert lots_of(proposed(pads, stock, group(colours(greys, AB="no-match", AC="match")))) == "AC"
    near = proposed(pads, stock, group(colours(greys, AB="no-match", AC="near")))
    assert "HM saw them side by side on 2026-11-25, light: daylight: near." in near.sentence
    nothing = proposed(pads, stock, group(colours(greys, AB="no-match")))
    assert nothing.would_mix == ()


def test_a_pair_that_nobody_read_or_saw_comes_after_one_that_is_known_to_be_at_the_limit() -> None:
    stock, pads = rolls(A=1000, B=1000, C=1000), across(900, 900)
    assert lots_of(proposed(pads, stock, group(colours({"A": 50.0, "C": 51.4})))) == "AC"
    assert lots_of(proposed(pads, stock, group(colours({}, BC="near")))) == "BC"


def test_two_lots_are_better_than_three_that_match_better() -> None:
    stock = rolls(A=1000, B=1000, C=1000, D=2000, E=2000)
    known = colours({"A": 50.0, "B": 50.0, "C": 50.0, "D": 50.0, "E": 51.3})
    assert lots_of(proposed(across(900, 900, 900, 900), stock, group(known))) == "DE"


def test_an_approved_mix_is_used_while_it_does_and_another_waits_for_its_own_approval() -> None:
    stock, pads = rolls(A=1000, B=1000, C=1000), across(900, 900)
    known = colours({"A": 50.0, "B": 50.9, "C": 50.2})
    assert lots_of(proposed(pads, stock, group(known))) == "AC"
    approved = MatchingGroup(approved=(frozenset("AB"),), colours=lambda: known)
    found = plan_cuts(pads, stock, FELT, approved)
    assert isinstance(found, CutPlan)
    assert set(found.lots) == {"A", "B"}, "somebody looked at these"
    assert "Lot A beside lot B: matches; ΔE00 is 0.90" in found.cuts[0].reasons[0]
    assert lots_of(proposed(pads, [one for one in stock if one.lot != "B"], approved)) == "AC"
    since = colours({"A": 50.0, "B": 50.9, "C": 50.2}, AB="no-match")
    assert lots_of(proposed(pads, stock, MatchingGroup(approved=(frozenset("AB"),), colours=lambda: since))) == "AC"


# --- to match what went out -----------------------------------------------------------------------------------------


def test_what_is_to_match_an_earlier_order_comes_from_its_lot_then_from_the_nearest_that_matches_it() -> None:
    """The bag ordered today is to match the trim that went out in lot K."""
    bag = across(900, 900)
    asked = group(colours({"K": 50.0, "A": 50.8, "B": 50.3, "C": 50.1}), to_match="K")
    own = plan_cuts(bag, rolls(A=5000, K=2000), FELT, asked)
    assert isinstance(own, CutPlan)
    assert (own.lots, own.cuts[0].reasons[0]) == (("K",), "From lot K, which went out before and is to be matched.")
    near = plan_cuts(bag, rolls(A=5000, B=5000, C=1500), FELT, asked)  # C is nearer, and has not enough
    assert isinstance(near, CutPlan)
    assert near.lots == ("B",)
    assert near.cuts[0].reasons[0] == (
        "From lot B, the nearest that has enough to what went out before and is to be matched. "
        "Lot B beside lot K: matches; ΔE00 is 0.30; Felt matches up to 1."
    )


def test_where_nothing_matches_what_went_out_it_says_how_far_the_nearest_is() -> None:
    asked = group(colours({"K": 50.0, "A": 53.0, "B": 52.0, "C": 51.4}), to_match="K")
    far = proposed(across(900), rolls(A=5000, B=5000), asked)
    assert far.would_mix == ()
    assert far.sentence.startswith(
        "It must match lot K, which went out before: nothing of it is free; 0.90 m is needed."
    )
    assert "Lot B beside lot K: does not match; ΔE00 is 1.99" in far.sentence
    limit = proposed(across(900), rolls(A=5000, B=5000, C=5000), asked)
    assert lots_of(limit) == "C", "an eye may see it good enough"
    assert "having looked in daylight at lot C beside lot K." in limit.sentence


# --- narrow goods ---------------------------------------------------------------------------------------------------


def test_narrow_goods_obey_the_same_rule_and_no_piece_is_of_two_lots() -> None:
    reels = [ReelFree(n, f"R{n}", lot, 2500, False, n) for n, lot in enumerate("ABC", start=1)]
    edges = [
        RunNeeded(7, 1000, 1000, "floor mat"),
        RunNeeded(8, 1000, 1000, "floor mat"),
        RunNeeded(9, 2200, 1100, "side", copies=2),
    ]
    known = group(colours({"A": 50.0, "B": 52.0, "C": 50.3}))
    found = plan_lengths(edges, reels, 200, known)
    assert isinstance(found, Short)
    assert lots_of(found) == "AC"
    mixed = plan_lengths(edges, reels, 200, MatchingGroup(approved=(frozenset("AC"),), colours=known.colours))
    assert isinstance(mixed, LengthsPlan)
    lots = dict(enumerate("ABC", start=1))
    of_mat = {lots[take.holding_id] for take in mixed.takes if take.ref in (7, 8)}
    assert len(of_mat) == 1, "both edges of the mat are of one lot"
    assert sum(take.quantity for take in mixed.takes if take.ref == 9) == 2200
    chain = plan_lengths([RunNeeded(n, 2400, 2400) for n in range(3)], reels, 200, known)
    assert isinstance(chain, Short)
    assert chain.would_mix == ()


# --- against trying everything ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Case:
    """A small case, and everything that there is to try of it."""

    pieces: tuple[tuple[int, ...], ...]
    """Lengths in mm of the panels of each piece, all across the roll."""
    stock: tuple[RollFree, ...]
    known: LotColours
    bound_to: str
    to_match: str

    def group(self, *approved: str) -> MatchingGroup:
        mixes = (frozenset(approved),) if approved else ()
        return MatchingGroup(frozenset(self.bound_to), frozenset(self.to_match), mixes, lambda: self.known)

    def new_pairs(self, new: Sequence[str]) -> list[tuple[str, str]]:
        """The pairs that new lots make, among them and with those that they are to be seen beside."""
        return [*combinations(new, 2), *product(new, sorted({*self.bound_to, *self.to_match} - set(new)))]

    def panels(self) -> list[PanelToLay]:
        return [
            PanelToLay(n, PanelShape(((0, 0), (1300, 0), (1300, mm), (0, mm)), 1300, mm, "along"), f"piece {n}")
            for n, lengths in enumerate(self.pieces)
            for mm in lengths
        ]

    def lots(self) -> list[str]:
        return sorted({one.lot for one in self.stock})

    def waste(self, lot: str, pieces: frozenset[int]) -> float:
        """The least waste of these pieces on a lot, whichever panel lies on whichever roll of it; ∞: they do not go."""
        rolls_of_it = [one for one in self.stock if one.lot == lot]
        mine = [panel for panel in self.panels() if panel.ref in pieces]
        best = inf
        for shares in product(range(len(rolls_of_it)), repeat=len(mine)):
            wasted = 0.0
            for number, one in enumerate(rolls_of_it):
                here = [panel for panel, share in zip(mine, shares, strict=True) if share == number]
                if here:
                    lay = arrange(here, one.width_mm, FELT.nap)
                    assert isinstance(lay, Lay)
                    rest = one.held_mm - lay.length_mm
                    used = lay.length_mm + (rest if rest < FELT.shortest_useful_mm else 0)
                    covered = sum(panel.shape.width_mm * panel.shape.length_mm for panel in here)
                    wasted += used * one.width_mm - covered if rest >= 0 else inf
            best = min(best, wasted)
        return best

    def far(self, one: str, other: str) -> tuple[bool, float]:
        """Whether a pair is at the limit, and how far it counts as apart; it must not be one that does not match."""
        judged = self.known.judged(one, other)
        number = inf if judged.de00 is None else round(judged.de00, 4)
        if judged.seen is not None:
            low, high = {"match": (0.0, 1.0), "near": (1.0, BEYOND)}[judged.seen.verdict]
            number = min(max(number, low), high)
        return judged.match is Match.BY_EYE, number

    def every_mix(self) -> Iterator[tuple[int, int, float, float]]:
        """How good every mix is that there is: new lots, pairs at the limit, largest difference, waste."""
        has, there = set(self.bound_to), self.lots()
        waste = lru_cache(None)(self.waste)
        for count in range(3 - len(has) + 1):
            for new in combinations([lot for lot in there if lot not in has], count):
                pairs = self.new_pairs(new)
                if any(self.known.judged(*pair).match is Match.NO_MATCH for pair in pairs):
                    continue
                far = [self.far(*pair) for pair in pairs]
                taken_from = [*new, *(lot for lot in there if lot in has)]
                if len(taken_from) < 2 and not has and not self.to_match:
                    continue
                for shares in product(range(len(taken_from)), repeat=len(self.pieces)):
                    if not set(range(len(new))) <= set(shares):
                        continue
                    of = [
                        frozenset(n for n, share in enumerate(shares) if share == at) for at in range(len(taken_from))
                    ]
                    wasted = sum(waste(lot, some) for lot, some in zip(taken_from, of, strict=True) if some)
                    if wasted < inf:
                        yield len(new), sum(one for one, _ in far), max((d for _, d in far), default=0.0), wasted


def _case(number: int) -> _Case:
    """A case that is as like as not to have several mixes alike in colour."""
    draw = random.Random(number)
    two_panels = draw.random() < 0.3
    pieces = tuple(
        tuple(draw.choice((300, 400, 500, 650)) for _ in range(2 if two_panels and draw.random() < 0.5 else 1))
        for _ in range(draw.randint(2, 4))
    )
    needed = sum(mm + GAP for piece in pieces for mm in piece)
    stock, lots = list[RollFree](), "ABCDE"[: draw.randint(2, 5)]
    for lot in lots:
        # A lot in several rolls only where no piece has several panels: how those are cut is tested with the cutting.
        for _ in range(1 if two_panels else draw.choice((1, 1, 2))):
            mm = int(needed * draw.uniform(0.25, 0.8))
            stock.append(RollFree(len(stock), f"R{len(stock)}", lot, 1400, mm, ((0, mm),), False, len(stock)))
    read = {
        lot: [Reading(draw.choice((50.0, 50.6, 51.2, 51.8)), draw.choice((0.0, 0.0, 0.5)), 0)]
        for lot in [*lots, "Y", "Z"]
        if draw.random() < 0.8
    }
    seen = {
        frozenset(pair): EyeVerdict(draw.choice(("match", "near", "no-match")), "HM", "daylight", DAY)
        for pair in combinations([*lots, "Y", "Z"], 2)
        if draw.random() < 0.15
    }
    bound_to, to_match = draw.choice(
        (("", ""), ("", ""), ("A", ""), ("Z", ""), ("AZ", ""), ("AB", ""), ("", "Z"), ("", "AZ"), ("", "YZ"))
    )
    return _Case(pieces, tuple(stock), LotColours("felt/grey", FELT, read, seen), bound_to, to_match)


@pytest.mark.parametrize("start", range(0, 900, 150))
def test_what_is_proposed_is_the_best_of_all_there_is_to_try(start: int) -> None:
    tried = 0
    for number in range(start, start + 150):
        case = _case(number)
        found = plan_cuts(case.panels(), case.stock, FELT, case.group())
        if isinstance(found, CutPlan):
            assert len(found.lots) == 1, "one lot is enough"
            continue
        ways = sorted(case.every_mix())
        if not ways:
            assert found.would_mix == (), f"case {number}"
            continue
        tried += 1
        new = sorted(set(found.would_mix) - set(case.bound_to))
        far = [case.far(*pair) for pair in case.new_pairs(new)]
        mixed = plan_cuts(case.panels(), case.stock, FELT, case.group(*found.would_mix))
        assert isinstance(mixed, CutPlan)
        got = len(new), sum(one for one, _ in far), max((d for _, d in far), default=0.0), _wasted(case, mixed)
        assert got == pytest.approx(ways[0]), f"case {number}"
    assert tried > 40, "too few cases try anything"


def _wasted(case: _Case, plan: CutPlan) -> float:
    """What a plan wastes, in mm²; it also holds every piece to one lot."""
    by_id = {one.holding_id: one for one in case.stock}
    of_piece: dict[int, set[str]] = {}
    wasted = 0
    for cut in plan.cuts:
        one = by_id[cut.holding_id]
        rest = one.held_mm - (cut.to_mm - cut.from_mm)
        wasted += (cut.to_mm - cut.from_mm + (rest if rest < FELT.shortest_useful_mm else 0)) * one.width_mm
        for place in cut.placements:
            of_piece.setdefault(place.ref, set()).add(one.lot)
    assert all(len(lots) == 1 for lots in of_piece.values())
    return wasted - sum(1300 * mm for piece in case.pieces for mm in piece)


def test_the_examples_in_the_docstrings_are_true() -> None:
    assert doctest.testmod(portions).attempted > 0
    assert doctest.testmod(portions).failed == 0
