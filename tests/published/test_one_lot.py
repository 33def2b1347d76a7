"""Common practice, no source: the pieces of one colour that are seen together in one car come from one dye lot."""

from __future__ import annotations

from collections import defaultdict

from stockroom.domain.allocation import plan_cuts
from stockroom.domain.cut_plans import CutPlan
from stockroom.domain.cutting import RollFree
from stockroom.domain.explosion import explode
from stockroom.domain.lay import PanelToLay
from stockroom.domain.shortage import Short
from tests.domain.books import book, catalogue, line, panel, piece
from tests.domain.seed_book import SERIES_1_EARLY, demo_book, demo_catalogue


def rolls(lengths: dict[str, tuple[int, ...]]) -> list[RollFree]:
    """Rolls 1400 mm wide by lot."""
    numbered = [(lot, length) for lot, some in lengths.items() for length in some]
    return [
        RollFree(n, f"R{n}", lot, 1400, length, ((0, length),), False, n) for n, (lot, length) in enumerate(numbered)
    ]


def test_two_pieces_seen_together_are_cut_from_one_lot_though_an_older_one_has_some() -> None:
    what = book(piece("A", panel("x"), group="boot"), piece("B", panel("x"), group="boot"))
    done = explode(what, catalogue(), [line(quantity=2)])
    panels = [PanelToLay(n, r.shape) for n, r in enumerate(done.requirements) if r.shape for _ in range(r.quantity)]
    assert len(panels) == 4
    plan = plan_cuts(panels, rolls({"old": (1200,), "new": (1500, 1500)}), catalogue().cloths["carpet"])
    assert isinstance(plan, CutPlan)
    assert plan.lots == ("new",)
    lacking = plan_cuts(panels, rolls({"old": (1100,), "new": (1100,)}), catalogue().cloths["carpet"])
    assert isinstance(lacking, Short)
    assert set(lacking.would_mix) == {"old", "new"}


def test_a_full_boot_set_of_the_demo_takes_one_lot_of_each_cloth_and_colour() -> None:
    done = explode(demo_book(), demo_catalogue(), [line("full-boot-set", car=SERIES_1_EARLY)])
    by_item: dict[tuple[str, str], list[PanelToLay]] = defaultdict(list)
    for number, need in enumerate(done.requirements):
        if need.shape is not None and need.group:
            by_item[need.group, need.item] += [PanelToLay(number, need.shape, need.key.piece)] * need.quantity
    assert by_item
    stock = rolls({"A": (900, 900), "B": (1500, 1500, 1500, 1500), "C": (20_000,)})
    for (_, item), panels in by_item.items():
        plan = plan_cuts(panels, stock, demo_catalogue().cloths[item.split("/")[0]])
        assert isinstance(plan, CutPlan), plan.sentence
        assert len(plan.lots) == 1
        assert sum(len(cut.placements) for cut in plan.cuts) == len(panels)
