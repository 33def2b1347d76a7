"""Allocation: nothing promised that is not free, one dye lot, remnants first, no useless ends, and reasons in words."""

from __future__ import annotations

import doctest
from collections import Counter
from collections.abc import Sequence
from itertools import pairwise, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain import allocation
from stockroom.domain.allocation import free_stretches, plan_cuts
from stockroom.domain.cut_plans import CutPlan
from stockroom.domain.cutting import EXHAUSTIVE_PANELS, EXHAUSTIVE_STRETCHES, RollFree
from stockroom.domain.group_rule import SEEN_BESIDE_NOTHING, MatchingGroup
from stockroom.domain.lay import GAP_MM, Lay, PanelToLay, arrange
from stockroom.domain.requirement import PanelShape
from stockroom.domain.shortage import Short
from stockroom.domain.takes import (
    BinFree,
    CountsPlan,
    LengthsPlan,
    ReelFree,
    RunNeeded,
    lengths_for_what_there_is,
    plan_counts,
    plan_lengths,
)
from stockroom.domain.what_there_is import cuts_for_what_there_is
from tests.domain.books import cloth

CARPET = cloth("carpet", shortest_useful_mm=300)


def bound_to(*lots: str, approved: tuple[str, ...] = ()) -> MatchingGroup:
    """A group that has these lots already, where a mix of them and `approved` may be had."""
    return MatchingGroup(frozenset(lots), approved=(frozenset({*lots, *approved}),) if approved else ())


def approved_of(found: Short) -> MatchingGroup:
    """A group for which somebody approved the mix that was proposed."""
    return MatchingGroup(approved=(frozenset(found.would_mix),))


def shape(width: int, length: int) -> PanelShape:
    return PanelShape(((0, 0), (width, 0), (width, length), (0, length)), width, length, "along")


def panels(*sizes: tuple[int, int], piece: str = "") -> list[PanelToLay]:
    return [PanelToLay(number, shape(*size), piece) for number, size in enumerate(sizes)]


def full_width(*lengths: int) -> list[PanelToLay]:
    """Panels that cannot lie beside each other."""
    return panels(*((1300, length) for length in lengths))


def roll(holding: int, lot: str, *free: tuple[int, int], remnant: bool = False, width: int = 1400) -> RollFree:
    """A roll with these free stretches; the higher its number, the younger it is."""
    held = max((to for _, to in free), default=0)
    return RollFree(holding, f"R{holding}", lot, width, held, free, remnant, holding)


def remnant(holding: int, lot: str, length: int, width: int = 1400) -> RollFree:
    return roll(holding, lot, (0, length), remnant=True, width=width)


def planned(found: CutPlan | Short) -> CutPlan:
    assert isinstance(found, CutPlan), found.sentence
    return found


def short(found: CutPlan | LengthsPlan | CountsPlan | Short) -> Short:
    assert isinstance(found, Short)
    return found


def cuts(found: CutPlan | Short) -> list[tuple[int, int, int]]:
    return [(cut.holding_id, cut.from_mm, cut.to_mm) for cut in planned(found).cuts]


def test_the_examples_in_the_docstrings_are_true() -> None:
    assert doctest.testmod(allocation).failed == 0


# --- the order of preference ------------------------------------------------------------------------------------


def test_a_cut_is_taken_from_the_outer_end_of_a_free_stretch() -> None:
    assert cuts(plan_cuts(full_width(1000), [roll(1, "A", (0, 8000))], CARPET)) == [(1, 7000, 8000)]
    assert cuts(plan_cuts(full_width(1000), [roll(1, "A", (500, 2000), (2100, 2600))], CARPET)) == [(1, 1000, 2000)]


def test_a_remnant_is_used_before_a_long_roll_even_one_of_another_lot() -> None:
    found = plan_cuts(full_width(1000), [roll(1, "A", (0, 8000)), remnant(2, "B", 1500)], CARPET)
    assert cuts(found) == [(2, 500, 1500)]
    assert "Remnant R2, used up before a long roll is cut" in planned(found).cuts[0].reasons[-1]


def test_of_several_remnants_the_tightest_that_leaves_no_useless_end_is_cut() -> None:
    stock = [remnant(1, "A", 1100), remnant(2, "A", 2500), remnant(3, "A", 1400)]
    assert cuts(plan_cuts(full_width(1000), stock, CARPET)) == [(3, 400, 1400)]


def test_remnants_are_used_up_and_a_roll_gives_the_rest() -> None:
    found = plan_cuts(full_width(1000, 900, 800), [roll(1, "A", (0, 9000)), remnant(2, "A", 1000)], CARPET)
    assert cuts(found) == [(2, 0, 1000), (1, 9000 - 900 - 800 - GAP_MM, 9000)]


def test_a_roll_is_not_left_with_a_useless_end_where_another_would_not_be() -> None:
    stock = [roll(1, "A", (0, 1100)), roll(2, "A", (0, 4000))]
    assert cuts(plan_cuts(full_width(1000), stock, CARPET)) == [(2, 3000, 4000)]
    apart = [roll(1, "A", (0, 1100)), roll(2, "B", (0, 4000))]
    assert cuts(plan_cuts(full_width(1000), apart, CARPET)) == [(2, 3000, 4000)]


def test_a_useless_end_is_avoided_however_many_lots_there_are() -> None:
    stock = [roll(number, f"lot {number}", (0, 1100)) for number in range(1, 40)] + [roll(99, "Z", (0, 4000))]
    assert cuts(plan_cuts(full_width(1000), stock, CARPET)) == [(99, 3000, 4000)]


def test_the_oldest_roll_goes_first() -> None:
    assert cuts(plan_cuts(full_width(1000), [roll(2, "B", (0, 4000)), roll(1, "A", (0, 9000))], CARPET))[0][0] == 1


def test_several_rolls_of_one_lot_may_serve() -> None:
    stock = [roll(1, "A", (0, 1200)), roll(2, "A", (0, 1000)), roll(3, "B", (0, 1900))]
    found = plan_cuts(full_width(1000, 1000), stock, CARPET)
    assert planned(found).lots == ("A",)
    assert sorted(cuts(found)) == [(1, 200, 1200), (2, 0, 1000)]


def test_a_narrow_remnant_takes_only_what_goes_on_it() -> None:
    stock = [remnant(1, "A", 2000, width=500), roll(2, "A", (0, 5000))]
    found = plan_cuts(panels((1300, 600), (400, 900)), stock, CARPET)
    assert sorted(cuts(found)) == [(1, 1100, 2000), (2, 4400, 5000)]


def test_the_group_keeps_to_the_lot_it_has() -> None:
    stock = [remnant(1, "A", 1500), roll(2, "B", (0, 9000))]
    found = plan_cuts(full_width(1000), stock, CARPET, bound_to("B"))
    assert cuts(found) == [(2, 8000, 9000)]
    assert "which this car's matching group has already" in planned(found).cuts[0].reasons[0]
    lacking = short(plan_cuts(full_width(1000), stock[:1], CARPET, bound_to("B")))
    assert lacking.sentence.startswith(
        "It must match lot B, which this car's matching group has already: nothing of it"
    )
    assert lacking.would_mix == ("A", "B"), "all that the group would have"
    assert "A would do. Lot A beside lot B: check by eye in daylight; there is no reading of lot A" in lacking.sentence
    mixed = plan_cuts(full_width(1000), stock[:1], CARPET, bound_to("B", approved=("A",)))
    assert planned(mixed).lots == ("A",)


def test_one_panel_given_twice_is_two_panels() -> None:
    (one,) = full_width(1000)
    found = plan_cuts([one, one], [roll(1, "A", (0, 1200)), roll(2, "A", (0, 1200))], CARPET)
    assert len(cuts(found)) == 2


# --- shortages --------------------------------------------------------------------------------------------------


def test_two_lots_that_only_together_would_do_are_a_shortage_with_that_reason() -> None:
    stock = [roll(1, "A", (0, 1200)), roll(2, "B", (0, 2100))]
    lacking = short(plan_cuts(full_width(900, 900, 1000), stock, CARPET))
    assert lacking.sentence == (
        "No single dye lot is long enough: lot B has 2.10 m free, lot A has 1.20 m free; 2.81 m are needed. "
        "A and B together would do. Lot A beside lot B: check by eye in daylight; there is no reading of lot A and "
        "none of lot B. Somebody must approve the mix with initials, having looked in daylight at lot A beside lot B."
    )
    assert (lacking.refs, lacking.missing, lacking.longest_lot) == ((0, 1, 2), 2810, "B")
    assert set(lacking.would_mix) == {"A", "B"}


def test_an_approved_mix_uses_the_fewest_lots_and_never_two_for_one_piece() -> None:
    stock = [roll(1, "A", (0, 1500)), roll(2, "B", (0, 1500)), roll(3, "C", (0, 1500))]
    together = [*panels((1300, 700), (1300, 700), piece="MAT"), PanelToLay(9, shape(1300, 1400))]
    found = planned(plan_cuts(together, stock, CARPET, approved_of(short(plan_cuts(together, stock, CARPET)))))
    assert len(found.lots) == 2
    lots = {1: "A", 2: "B", 3: "C"}
    of_mat = {lots[cut.holding_id] for cut in found.cuts for place in cut.placements if place.ref in (0, 1)}
    assert len(of_mat) == 1
    assert "no single lot is enough, and this mix is approved. Lot A beside lot" in found.cuts[0].reasons[0]


def test_no_mix_where_one_lot_will_do() -> None:
    stock = [roll(1, "A", (0, 1500)), roll(2, "B", (0, 5000))]
    approved = MatchingGroup(approved=(frozenset("AB"),))
    assert planned(plan_cuts(full_width(1000, 1000), stock, CARPET, approved)).lots == ("B",)
    assert planned(plan_cuts(full_width(1000, 1000), stock, CARPET, SEEN_BESIDE_NOTHING)).lots == ("B",)


def test_no_more_than_three_lots_are_ever_mixed() -> None:
    stock = [roll(number, f"lot {number}", (0, 1000)) for number in range(1, 6)]
    lacking = short(plan_cuts(full_width(*[1000] * 4), stock, CARPET))
    assert lacking.would_mix == ()
    assert lacking.sentence.endswith("No mix of lots has enough either.")


def test_a_panel_wider_than_all_there_is_is_said_to_be() -> None:
    lacking = short(plan_cuts(panels((1500, 400), (300, 300)), [roll(1, "A", (0, 9000))], CARPET))
    assert lacking.refs == (0,)
    assert "1.50 m wide" in lacking.sentence


def test_nothing_free_is_said_plainly() -> None:
    assert short(plan_cuts(full_width(1000), [], CARPET)).sentence == "Nothing of it is free; 1.00 m is needed."


def test_what_there_is_is_held_and_the_rest_is_named() -> None:
    plan, lacking = cuts_for_what_there_is(full_width(900, 800, 700), [roll(1, "A", (0, 1800))], CARPET)
    assert lacking is not None
    assert (lacking.refs, lacking.missing) == ((2,), 700)
    assert sum(cut.to_mm - cut.from_mm for cut in plan.cuts) == 900 + 800 + GAP_MM
    whole, nothing = cuts_for_what_there_is(full_width(900), [roll(1, "A", (0, 1800))], CARPET)
    assert nothing is None
    assert len(whole.cuts) == 1


# --- properties -------------------------------------------------------------------------------------------------

sizes = st.tuples(st.integers(100, 1400), st.integers(50, 1500))
panel_sets = st.lists(sizes, min_size=1, max_size=7).map(lambda some: panels(*some))


@st.composite
def stocks(draw: st.DrawFn, most_rolls: int = 6) -> list[RollFree]:
    """Rolls and remnants of few lots, with stretches that are promised or flawed."""
    rolls = []
    for holding in range(1, draw(st.integers(0, most_rolls)) + 1):
        held = draw(st.integers(0, 5000))
        taken = draw(st.lists(st.tuples(st.integers(0, 5000), st.integers(1, 900)), max_size=3))
        free = free_stretches(held, [(first, first + more) for first, more in taken])
        width = draw(st.sampled_from([500, 1000, 1400]))
        lot = draw(st.sampled_from("ABC"))
        rolls.append(RollFree(holding, f"R{holding}", lot, width, held, free, draw(st.booleans()), holding))
    return rolls


def check_cuts(plan: CutPlan, wanted: Sequence[PanelToLay], rolls: Sequence[RollFree], most_lots: int) -> None:
    """Nothing that is not free, nothing twice, everything inside, and no more lots than allowed."""
    by_id = {one.holding_id: one for one in rolls}
    shapes = {panel.ref: panel.shape for panel in wanted}
    for cut in plan.cuts:
        one = by_id[cut.holding_id]
        assert any(first <= cut.from_mm < cut.to_mm <= last for first, last in one.free)
        for place in cut.placements:
            assert place.turned == 0
            assert place.x_mm + shapes[place.ref].width_mm <= one.width_mm
            assert place.y_mm + shapes[place.ref].length_mm <= cut.to_mm - cut.from_mm
    for holding in by_id:
        spans = sorted((cut.from_mm, cut.to_mm) for cut in plan.cuts if cut.holding_id == holding)
        assert all(before[1] <= after[0] for before, after in pairwise(spans))
    lots = {by_id[cut.holding_id].lot for cut in plan.cuts}
    assert lots == set(plan.lots)
    assert len(lots) <= most_lots
    assert all(cut.reasons for cut in plan.cuts)


@given(panel_sets, stocks())
def test_a_plan_takes_only_what_is_free_and_serves_every_panel(wanted: list[PanelToLay], rolls: list[RollFree]) -> None:
    found, most = plan_cuts(wanted, rolls, CARPET), 1
    if isinstance(found, Short) and found.would_mix:
        found, most = plan_cuts(wanted, rolls, CARPET, approved_of(found)), 3
        assert isinstance(found, CutPlan), "a mix that would do is used once it is approved"
    if isinstance(found, CutPlan):
        check_cuts(found, wanted, rolls, most)
        assert Counter(p.ref for cut in found.cuts for p in cut.placements) == Counter(p.ref for p in wanted)


@given(panel_sets, stocks(), st.sampled_from([MatchingGroup(), SEEN_BESIDE_NOTHING, bound_to("A", approved=("B",))]))
def test_what_there_is_never_takes_too_much_and_names_all_the_rest(
    wanted: list[PanelToLay], rolls: list[RollFree], group: MatchingGroup
) -> None:
    plan, lacking = cuts_for_what_there_is(wanted, rolls, CARPET, group)
    check_cuts(plan, wanted, rolls, 1 if group == MatchingGroup() else 3)
    assert not group.bound_to or {"A", "B"}.issuperset(plan.lots)
    served = Counter(p.ref for cut in plan.cuts for p in cut.placements)
    assert served + Counter(lacking.refs if lacking else ()) == Counter(p.ref for p in wanted)


@given(panel_sets, stocks())
def test_where_all_go_on_one_stretch_a_plan_is_found(wanted: list[PanelToLay], rolls: list[RollFree]) -> None:
    lays = [arrange(wanted, one.width_mm, CARPET.nap) for one in rolls]
    possible = any(
        isinstance(lay, Lay) and lay.length_mm <= last - first
        for lay, one in zip(lays, rolls, strict=True)
        for first, last in one.free
    )
    if possible:
        assert isinstance(plan_cuts(wanted, rolls, CARPET), CutPlan)


@given(st.lists(sizes, min_size=1, max_size=4).map(lambda some: panels(*some)), stocks(most_rolls=3))
def test_a_small_set_is_found_wherever_any_sharing_out_over_one_lot_does_it(
    wanted: list[PanelToLay], rolls: list[RollFree]
) -> None:
    found = plan_cuts(wanted, rolls, CARPET)
    for lot in {one.lot for one in rolls}:
        stretches = [(one, first, last) for one in rolls if one.lot == lot for first, last in one.free]
        if len(stretches) > EXHAUSTIVE_STRETCHES or len(wanted) > EXHAUSTIVE_PANELS:
            continue
        for shares in product(range(len(stretches)), repeat=len(wanted)):
            if all(_goes(wanted, shares, number, *stretch) for number, stretch in enumerate(stretches)):
                assert isinstance(found, CutPlan), f"lot {lot} would do"


def _goes(wanted: list[PanelToLay], shares: tuple[int, ...], number: int, one: RollFree, first: int, last: int) -> bool:
    mine = [panel for panel, share in zip(wanted, shares, strict=True) if share == number]
    lay = arrange(mine, one.width_mm, CARPET.nap)
    return isinstance(lay, Lay) and lay.length_mm <= last - first


# --- narrow goods -----------------------------------------------------------------------------------------------


def reel(holding: int, lot: str, free: int, remnant: bool = False) -> ReelFree:
    return ReelFree(holding, f"R{holding}", lot, free, remnant, holding)


def taken(found: LengthsPlan | Short) -> list[tuple[int, int, int]]:
    assert isinstance(found, LengthsPlan), found.sentence
    return sorted((take.holding_id, take.ref, take.quantity) for take in found.takes)


def test_narrow_goods_come_from_a_remnant_first_and_from_one_lot() -> None:
    reels = [reel(1, "A", 50_000), reel(2, "B", 3000, remnant=True)]
    assert taken(plan_lengths([RunNeeded(7, 1000, 1000), RunNeeded(8, 1500, 900)], reels, 200)) == [
        (2, 7, 1000),
        (2, 8, 1500),
    ]
    assert taken(plan_lengths([RunNeeded(7, 4000, 1000)], reels, 200)) == [(1, 7, 4000)]


def test_a_run_is_never_pieced_from_two_ends() -> None:
    reels = [reel(1, "A", 1500), reel(2, "A", 1500)]
    assert taken(plan_lengths([RunNeeded(7, 2000, 1000)], reels, 0)) == [(1, 7, 1000), (2, 7, 1000)]
    lacking = short(plan_lengths([RunNeeded(7, 2000, 2000)], reels, 0))
    assert "in 2 reels, the longest 1.50 m" in lacking.sentence


def test_a_reel_is_not_left_with_a_useless_end_where_another_would_not_be() -> None:
    reels = [reel(1, "A", 1050), reel(2, "A", 5000)]
    assert taken(plan_lengths([RunNeeded(7, 1000, 1000)], reels, 200)) == [(2, 7, 1000)]


def test_narrow_goods_of_two_lots_are_a_shortage_until_the_mix_is_approved() -> None:
    runs, reels = [RunNeeded(7, 1000, 1000), RunNeeded(8, 1000, 1000)], [reel(1, "A", 1200), reel(2, "B", 1200)]
    lacking = short(plan_lengths(runs, reels, 0))
    assert set(lacking.would_mix) == {"A", "B"}
    mixed = plan_lengths(runs, reels, 0, approved_of(lacking))
    assert sorted((holding, quantity) for holding, _, quantity in taken(mixed)) == [(1, 1000), (2, 1000)]
    assert isinstance(plan_lengths(runs, reels, 0, MatchingGroup(approved=(frozenset("AC"),))), Short)
    alone = plan_lengths([RunNeeded(9, 2000, 500)], reels, 0, SEEN_BESIDE_NOTHING)
    assert taken(alone) == [(1, 9, 1000), (2, 9, 1000)], "what is seen beside nothing may be of several lots"
    plan, rest = lengths_for_what_there_is(runs, reels, 0)
    assert (len(plan.takes), rest and rest.refs, rest and rest.missing) == (1, (8,), 1000)
    bound = plan_lengths(runs[:1], reels, 0, bound_to("B"))
    assert taken(bound) == [(2, 7, 1000)]


runs_needed = st.lists(
    st.tuples(st.integers(1, 4000), st.integers(0, 1500)).map(lambda pair: (max(pair), pair[1])), max_size=5
).map(lambda some: [RunNeeded(number, *pair) for number, pair in enumerate(some)])
reels_free = st.lists(st.tuples(st.sampled_from("ABCD"), st.integers(0, 6000), st.booleans()), max_size=6).map(
    lambda some: [reel(number, *one) for number, one in enumerate(some, start=1)]
)


@given(runs_needed, reels_free)
def test_narrow_goods_never_take_more_than_is_free_and_serve_every_run(
    runs: list[RunNeeded], reels: list[ReelFree]
) -> None:
    found, most = plan_lengths(runs, reels, 200), 1
    if isinstance(found, Short) and found.would_mix:
        found, most = plan_lengths(runs, reels, 200, approved_of(found)), 3
        assert isinstance(found, LengthsPlan), "a mix that would do is used once it is approved"
    plan, lacking = (found, None) if isinstance(found, LengthsPlan) else lengths_for_what_there_is(runs, reels, 200)
    off: Counter[int] = Counter()
    got: Counter[int] = Counter()
    for take in plan.takes:
        assert take.quantity > 0
        off[take.holding_id] += take.quantity
        got[take.ref] += take.quantity
    assert all(off[one.holding_id] <= one.free_mm for one in reels)
    assert len(plan.lots) <= most
    missing = set(lacking.refs) if lacking else set()
    assert got == Counter({run.ref: run.quantity_mm for run in runs if run.ref not in missing})


@given(runs_needed.filter(bool), reels_free)
def test_where_one_reel_holds_them_all_the_runs_are_found(runs: list[RunNeeded], reels: list[ReelFree]) -> None:
    if any(one.free_mm >= sum(run.quantity_mm for run in runs) for one in reels):
        assert isinstance(plan_lengths(runs, reels, 200), LengthsPlan)


# --- counted goods ----------------------------------------------------------------------------------------------


def test_counted_goods_come_from_the_emptiest_bin_that_has_enough() -> None:
    bins = [BinFree(1, "B1", "", 100), BinFree(2, "B2", "", 6), BinFree(3, "B3", "", 3)]
    found = plan_counts(5, bins)
    assert isinstance(found, CountsPlan)
    assert [(take.holding_id, take.quantity) for take in found.takes] == [(2, 5)]


@given(st.integers(0, 60), st.lists(st.integers(0, 20), max_size=6))
def test_counted_goods_are_all_there_or_short(quantity: int, counts: list[int]) -> None:
    bins = [BinFree(number, f"B{number}", "", count) for number, count in enumerate(counts)]
    found = plan_counts(quantity, bins)
    if sum(counts) < quantity:
        assert short(found).missing == quantity - sum(counts)
    else:
        assert isinstance(found, CountsPlan)
        assert sum(take.quantity for take in found.takes) == quantity
        assert all(0 < take.quantity <= counts[take.holding_id] for take in found.takes)


@pytest.mark.parametrize(("free", "says"), [(0, "none is free"), (1, "1 is free"), (3, "3 are free")])
def test_a_shortage_of_counted_goods_reads_well(free: int, says: str) -> None:
    bins = [BinFree(1, "B1", "", free)] if free else []
    assert says in short(plan_counts(9, bins)).sentence
