"""Cutting: the true length is booked, the rest finds its place, and every other promise is kept or named."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.cut import cut, keep_side_piece, mark_flaw, measure
from stockroom.jobs.pick import walk
from stockroom.jobs.reserve import reserve
from stockroom.jobs.shorter import DoesNotGo, Shorter
from stockroom.jobs.show import show
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from tests.jobs.test_pick import tags_of
from tests.shops import LATE, LATER, STAMP, Stocked, changed_tables, dump, free, line, look, order, roll, stock_shop

HOOD = "hood-cloth/fawn"
SOON, LATE_WANTED = date(2026, 12, 1), date(2027, 2, 1)


def stocked(shop: Shop, tmp_path: Path, *stock: Stocked) -> None:
    stock_shop(shop, tmp_path, *stock)


def tonneau(shop: Shop, wanted: date | None = None, **more: object) -> str:
    """The number of an order that holds 1 m of hood cloth."""
    number = take(shop, order(line("tonneau", **more), wanted=wanted), STAMP).number  # type: ignore[arg-type]
    reserve(shop, number, STAMP)
    return number


def the_roll(shop: Shop, number: str) -> str:
    (stop,) = walk(shop, [number]).stops
    return stop.tag


def test_a_cut_is_booked_at_its_planned_length(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 10_000))
    number = tonneau(shop)
    done = cut(shop, number, the_roll(shop, number), LATER)
    assert (done.planned_mm, done.cut_mm, done.left_mm) == (1_000, 1_000, 9_000)
    assert free(shop, HOOD) == 9_000
    assert walk(shop, [number]).stops == ()
    assert look(shop, number).wholly_held
    assert audit(shop).faults == ()


def test_the_true_length_is_booked_and_the_difference_told(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 10_000))
    number = tonneau(shop)
    done = cut(shop, number, the_roll(shop, number), LATER, 1_040)
    assert "0.04 m more than the 1.00 m planned." in done.sentences
    assert free(shop, HOOD) == 8_960
    assert audit(shop).faults == ()


def hood(shop: Shop, tmp_path: Path) -> tuple[str, str]:
    """An order whose hood, two panels of 1 m, is planned as one cut of 2.005 m; and its roll."""
    stocked(shop, tmp_path, roll(HOOD, 10_000))
    number = take(shop, order(line("hood", choices={"window": "sewn"})), STAMP).number
    reserve(shop, number, STAMP)
    return number, the_roll(shop, number)


def test_a_cut_too_short_for_its_panels_is_not_believed_until_somebody_says_what_was_got_out(
    shop: Shop, tmp_path: Path
) -> None:
    number, tag = hood(shop, tmp_path)
    before = dump(shop)
    with pytest.raises(DoesNotGo, match=r"panel half of Hood cover, right does not go on it. Say whether all"):
        cut(shop, number, tag, LATER, 1_500)
    with pytest.raises(DoesNotGo, match=r"planned for order .*: panel half of Hood cover, left and panel half of Hood"):
        cut(shop, number, tag, LATER, 900)
    with pytest.raises(Refusal, match="So nothing is cut for the order"):
        cut(shop, number, tag, LATER, 900, shorter=Shorter.WHAT_GOES)
    assert changed_tables(before, dump(shop)) == set()
    done = cut(shop, number, tag, LATER, 1_990, shorter=Shorter.ALL_OUT)
    assert done.left_mm == 8_010
    assert walk(shop, [number]).stops == ()
    assert audit(shop).faults == ()


def test_a_knife_thinner_than_planned_is_believed(shop: Shop, tmp_path: Path) -> None:
    number, tag = hood(shop, tmp_path)
    assert cut(shop, number, tag, LATER, 2_000).left_mm == 8_000


def test_of_a_cut_too_short_only_what_goes_on_it_is_cut_and_the_rest_is_planned_again(
    shop: Shop, tmp_path: Path
) -> None:
    number, tag = hood(shop, tmp_path)
    done = cut(shop, number, tag, LATER, 1_500, shorter=Shorter.WHAT_GOES)
    assert "Still to be cut: panel half of Hood cover, right." in done.sentences
    assert (done.left_mm, done.short) == (8_500, ())
    (stop,) = walk(shop, [number]).stops
    assert (stop.tag, stop.amount, stop.for_what) == (tag, "1.00 m", ("HR right",))
    assert audit(shop).faults == ()
    cut(shop, number, tag, LATER)
    assert look(shop, number).wholly_held
    assert audit(shop).faults == ()


def test_a_rest_too_short_to_be_useful_goes_to_the_scrap_bin(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 1_250))
    number = tonneau(shop)
    done = cut(shop, number, the_roll(shop, number), LATER)
    assert done.left_mm == 0
    assert any("scrap bin" in sentence for sentence in done.sentences)
    assert free(shop, HOOD) == 0
    assert audit(shop).faults == ()


def test_cutting_twice_is_refused_in_words(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 10_000))
    number = tonneau(shop)
    tag = the_roll(shop, number)
    cut(shop, number, tag, LATER)
    before = dump(shop)
    with pytest.raises(Refusal, match="nothing of that is left to cut"):
        cut(shop, number, tag, LATER)
    assert changed_tables(before, dump(shop)) == set()


def test_another_roll_of_the_same_lot_will_do(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 10_000), roll(HOOD, 12_000))
    number = tonneau(shop)
    planned = the_roll(shop, number)
    other = next(tag for tag in tags_of(shop, HOOD) if tag != planned)
    done = cut(shop, number, other, LATER)
    assert done.tag == other
    assert free(shop, HOOD) == 21_000
    assert audit(shop).faults == ()


def test_another_lot_and_another_colour_are_refused(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 10_000, "1"), roll(HOOD, 12_000, "2"), roll("hood-cloth/black", 9_000))
    number = tonneau(shop)
    planned = the_roll(shop, number)
    other = next(tag for tag in tags_of(shop, HOOD) if tag != planned)
    with pytest.raises(Refusal, match=r"dye lot \d; order .* holds dye lot \d"):
        cut(shop, number, other, LATER)
    with pytest.raises(Refusal, match="Put it back"):
        cut(shop, number, tags_of(shop, "hood-cloth/black")[0], LATER)


def test_a_roll_the_panels_do_not_go_on_is_refused_and_the_plan_stays(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 10_000), roll(HOOD, 700))
    number = tonneau(shop)
    before = dump(shop)
    short = next(tag for tag in tags_of(shop, HOOD) if tag != the_roll(shop, number))
    with pytest.raises(Refusal, match="do not go on what is free"):
        cut(shop, number, short, LATER)
    assert changed_tables(before, dump(shop)) == set()


def test_who_cuts_first_takes_the_outer_end_and_the_other_moves_inwards(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 10_000))
    outer, inner = tonneau(shop), tonneau(shop, car=LATE)
    tag = the_roll(shop, inner)
    done = cut(shop, inner, tag, LATER)
    assert done.left_mm == 9_000
    (stop,) = walk(shop, [outer]).stops
    assert (stop.from_mm, stop.to_mm) == (8_000, 9_000)
    assert audit(shop).faults == ()
    cut(shop, outer, tag, LATER)
    assert free(shop, HOOD) == 8_000


def test_a_cut_that_takes_too_much_leaves_the_latest_wanted_order_short(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 3_000))
    now, soon, late = tonneau(shop), tonneau(shop, SOON, car=LATE), tonneau(shop, LATE_WANTED)
    done = cut(shop, now, the_roll(shop, now), LATER, 1_500)
    assert [sentence for sentence in done.short if late in sentence]
    assert look(shop, soon).wholly_held
    assert not look(shop, late).wholly_held
    assert audit(shop).faults == ()


def test_more_than_the_roll_has_cannot_be_cut(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 3_000))
    number = tonneau(shop)
    with pytest.raises(Refusal, match="cannot be cut from"):
        cut(shop, number, the_roll(shop, number), LATER, 3_001)
    with pytest.raises(Refusal, match="at least 1 mm"):
        cut(shop, number, the_roll(shop, number), LATER, 0)


def test_a_flawed_outer_end_comes_off_and_is_kept_as_a_remnant_or_scrapped(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 5_000, flaws="4200-4300 stain"))
    number = take(shop, order(line("tonneau")), STAMP).number
    reserve(shop, number, STAMP)
    tag = the_roll(shop, number)
    (stop,) = walk(shop, [number]).stops
    assert stop.to_mm == 4_200, "the stretch beyond the flaw is too short for the panel"
    done = cut(shop, number, tag, LATER)
    assert done.left_mm == 3_200
    assert done.offcut
    kept = dict(show(shop, done.offcut).facts)
    assert kept["Held"] == "0.80 m"
    assert kept["Dye lot"] == "1"
    assert "stain" in kept["Flaws"]
    assert audit(shop).faults == ()


def test_a_side_piece_becomes_a_remnant_of_its_own_width_and_lot(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 5_000, "7"))
    number = tonneau(shop)
    tag = the_roll(shop, number)
    cut(shop, number, tag, LATER)
    side = keep_side_piece(shop, tag, 1_000, 150, "B1", LATER)
    facts = dict(show(shop, side).facts)
    assert (facts["Dye lot"], facts["Usable width"], facts["Held"], facts["Place"]) == ("7", "0.15 m", "1.00 m", "B1")
    assert audit(shop).faults == ()
    with pytest.raises(Refusal, match="too short to be useful"):
        keep_side_piece(shop, tag, 100, 150, "B1", LATER)
    with pytest.raises(Refusal, match="narrower than the roll"):
        keep_side_piece(shop, tag, 1_000, 1_500, "B1", LATER)
    with pytest.raises(Refusal, match="no place"):
        keep_side_piece(shop, tag, 1_000, 150, "nowhere", LATER)


def test_a_roll_that_measures_short_is_planned_again_at_once(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 3_000, measured="no"), roll(HOOD, 1_200))
    first, second = tonneau(shop, SOON), tonneau(shop, LATE_WANTED, car=LATE)
    tag = max(tags_of(shop, HOOD), key=lambda one: dict(show(shop, one).facts)["Held"])
    done = measure(shop, tag, 900, LATER)
    assert done.left_mm == 900
    assert dict(show(shop, tag).facts)["Length"] == "measured"
    together = look(shop, first), look(shop, second)
    assert sum(one.wholly_held for one in together) == 1
    assert len(done.short) == 1
    assert audit(shop).faults == ()


def test_a_flaw_met_on_the_table_moves_what_was_planned_over_it(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 5_000))
    number = tonneau(shop)
    done = mark_flaw(shop, the_roll(shop, number), 4_400, 4_500, "slub", LATER)
    assert done.moved == 1
    (stop,) = walk(shop, [number]).stops
    assert stop.to_mm <= 4_400
    assert audit(shop).faults == ()
    with pytest.raises(Refusal, match="lies between"):
        mark_flaw(shop, the_roll(shop, number), 6_000, 6_100, "slub", LATER)
    with pytest.raises(Refusal, match="Say what the flaw is"):
        mark_flaw(shop, the_roll(shop, number), 100, 200, " ", LATER)


def test_nothing_is_cut_from_quarantine(shop: Shop, tmp_path: Path) -> None:
    stocked(shop, tmp_path, roll(HOOD, 5_000), roll(HOOD, 9_000, quarantined="wrong shade"))
    number = tonneau(shop)
    other = next(tag for tag in tags_of(shop, HOOD) if tag != the_roll(shop, number))
    with pytest.raises(Refusal, match="quarantine: wrong shade"):
        cut(shop, number, other, LATER)
