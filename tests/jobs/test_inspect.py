"""A roll that was received is measured and looked over: what is short or flawed is the supplier's to answer for."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from stockroom.domain.arrival import Arrival
from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.claim_paper import claim
from stockroom.jobs.cut import measure
from stockroom.jobs.inspect import inspect
from stockroom.jobs.pick import walk
from stockroom.jobs.receive import receive
from stockroom.jobs.show import show
from stockroom.jobs.undo import done, undo
from stockroom.store.database import Shop
from tests.jobs.workshop import taken_order
from tests.labels.reading import texts
from tests.shops import LATER, STAMP, changed_tables, dump, line, load_files, look, stock_shop

HOOD = "hood-cloth/fawn"
SUPPLIERS = "code,name,lead_days\nwesting,Westing Coated Cloths,35\nhollin,Hollin Cloth Mill,21\n"
TERMS = f"supplier,item\nhollin,{HOOD}\n"
PURCHASES = f"reference,supplier,item,quantity,ordered,due\nP-1,westing,{HOOD},25 m,opening-9d,opening\n"
SHOP = 'format = 1\nname = "Lindow Trim"\ntime_zone = "Europe/London"\ncurrency = "GBP"\nmost_points = 12\n'


@pytest.fixture
def tag(shop: Shop, tmp_path: Path) -> str:
    """A roll of 20 m, 1.50 m wide, that came with purchase P-1; by the supplier's word."""
    stock_shop(shop, tmp_path)
    load_files(shop, tmp_path, {"suppliers.csv": SUPPLIERS, "terms.csv": TERMS, "purchases.csv": PURCHASES})
    load_files(shop, tmp_path, {"shop.toml": SHOP})
    (roll,) = receive(shop, Arrival(HOOD, ("20 m",), "R1", "P-1", lot="W5", delivery="4711"), STAMP).new_tags
    return roll


def test_a_roll_that_measures_short_is_claimed_from_whoever_sold_it(shop: Shop, tag: str) -> None:
    numbers = [taken_order(shop, line("tonneau", 9), wanted=day) for day in (date(2026, 12, 1), date(2027, 1, 1))]
    found = measure(shop, tag, 15_000, LATER)
    assert found.claimable_mm == 5_000
    assert [number for number in numbers if not look(shop, number).wholly_held] == numbers[1:], "the later one is short"
    assert numbers[1] in found.short[0]
    said = " ".join(texts(claim(shop, tag, STAMP))[0].split())
    for words in ("supplier Westing Coated Cloths", "purchase P-1", "delivery note 4711", "SHORT 5.00 m less"):
        assert words in said, words
    assert measure(shop, tag, 20_000, LATER).claimable_mm == 0
    assert audit(shop).is_good


def test_what_is_met_on_a_roll_gives_points_and_is_kept_clear(shop: Shop, tag: str) -> None:
    number = taken_order(shop, line("tonneau"))
    (before,) = walk(shop, [number]).stops
    assert (before.from_mm, before.to_mm) == (19_000, 20_000)
    found = inspect(shop, tag, ["19.5 m:10 in:slub", "2.4m:3in:knot", "3 m: 7 in : stain: yellow"], LATER)
    assert found.points == 4 + 1 + 3
    # 8 × 3600 / (59.055 in × 21.872 yd) = 22.3
    assert (found.per_100_yd2, found.most_points, found.is_over) == (22.3, 12, True)
    assert "8 × 3600 / (59.06 in × 21.87 yd)" in found.working
    assert found.promises.moved == 1
    (stop,) = walk(shop, [number]).stops
    assert (stop.from_mm, stop.to_mm) == (18_500, 19_500)
    shown = dict(show(shop, tag).facts)
    assert "3.00 m to 3.178 m: stain: yellow" in shown["Flaws"]
    assert shown["Came in"] == "2026-11-25, purchase P-1, Westing Coated Cloths, delivery note 4711"
    assert "22.3 per 100 yd²" in shown["Inspection"]
    assert "22.3 per 100 yd²" in " ".join(texts(claim(shop, tag, STAMP))[0].split())
    assert audit(shop).is_good


def test_an_inspection_is_undone_with_the_flaws_it_made(shop: Shop, tag: str) -> None:
    number = taken_order(shop, line("tonneau"))
    before = {name: rows for name, rows in dump(shop).items() if name not in ("job", "order_change")}
    inspect(shop, tag, ["19.5 m:10 in:slub"], LATER)
    assert "Flaws" in dict(show(shop, tag).facts)
    undo(shop, done(shop)[0].number, LATER)
    assert changed_tables(before, dump(shop)) == set()
    assert look(shop, number).wholly_held


def test_the_same_fault_met_again_is_one_flaw_and_a_good_roll_is_not_over(shop: Shop, tag: str) -> None:
    for _ in range(2):
        found = inspect(shop, tag, ["1 m:3 in:slub"], LATER, length="10 m")
    assert (found.points, found.is_over) == (1, False)
    assert dict(show(shop, tag).facts)["Flaws"] == "1.00 m to 1.077 m: slub"
    assert inspect(shop, tag, [], LATER).points == 0


@pytest.mark.usefixtures("tag")
def test_a_roll_in_quarantine_is_measured_and_looked_over_all_the_same(shop: Shop) -> None:
    said = Arrival(HOOD, ("5 m",), "R1", lot="W6", quarantine="damp")
    (damp,) = receive(shop, said, STAMP).new_tags
    assert inspect(shop, damp, ["1 m:3 in:stain"], LATER).is_quarantined
    assert measure(shop, damp, 4_900, LATER).claimable_mm == 100
    assert audit(shop).is_good


def test_a_fault_that_is_none_is_refused_in_words(shop: Shop, tag: str) -> None:
    before = dump(shop)
    for faults, length, words in (
        (["3 m"], "", "is not a fault"),
        (["3 m:0 in:slub"], "", "has no length"),
        (["3 m:two:slub"], "", "is not a length"),
        (["20 m:3 in:slub"], "", "lies beyond"),
        (["12 m:3 in:slub"], "10 m", "lies beyond the 10.00 m"),
        ([], "21 m", "cannot have been looked over"),
    ):
        with pytest.raises(Refusal, match=words):
            inspect(shop, tag, faults, LATER, length)
    assert changed_tables(before, dump(shop)) == set()
