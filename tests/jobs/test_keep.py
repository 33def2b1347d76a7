"""What no order takes: an order is cancelled after it was begun, what was made is kept, offered, used and let go."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from stockroom.domain.order import FOR_STOCK
from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.bundle import bench, out, tie
from stockroom.jobs.change import cancel, change_line, set_quantity
from stockroom.jobs.cut import cut
from stockroom.jobs.keep import keep
from stockroom.jobs.left_over import left_over
from stockroom.jobs.offer import offers_of
from stockroom.jobs.pack import close, pack, packing_list, tick
from stockroom.jobs.pick import pick, put_back, walk
from stockroom.jobs.quarantine import quarantine
from stockroom.jobs.rail import rail
from stockroom.jobs.reserve import reserve
from stockroom.jobs.scrap import scrap
from stockroom.jobs.show import show
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.jobs.use import unuse, use
from stockroom.store.database import Shop
from tests.jobs.workshop import cut_all, made_order, pick_all, piece_tag, take_all, taken_order
from tests.shops import (
    LATE,
    LATER,
    STAMP,
    TODAY,
    change,
    dump,
    free,
    line,
    look,
    order,
    plenty,
    roll,
    stock_shop,
)


def good(shop: Shop) -> None:
    assert audit(shop).faults == ()


def left_side(shop: Shop, number: str = "O-1") -> str:
    """A left boot side that is stock, of a boot set for the early car that was cancelled; its tag."""
    made_order(shop, line("boot-set"), number=number)
    cancel(shop, number, LATER)
    return keep(shop, piece_tag(shop, number, "BSL"), "B2", LATER).tag


# --- cancelling what is begun --------------------------------------------------------------------------------------


def test_an_order_that_is_begun_is_cancelled_and_what_lies_about_is_told_until_it_is_put_away(full_shop: Shop) -> None:
    number = taken_order(full_shop, line("boot-set"))
    cut(full_shop, number, look(full_shop, number).holds[0].tag, STAMP)
    studs = next(one.tag for one in look(full_shop, number).holds if one.item == "stud")
    pick(full_shop, number, studs, STAMP)
    before = free(full_shop, "stud")
    done = cancel(full_shop, number, LATER)
    assert not look(full_shop, number).holds
    assert [one for one in done.left_over if "put it back" in one and studs in one]
    assert [one for one in done.left_over if "keep it as stock, or scrap it" in one]
    told = ticket(full_shop, number, TODAY).left_over
    assert told == done.left_over
    assert {value for name, value in show(full_shop, number).facts if name == "Left over"} == set(told)
    assert all(any(sentence in one for one in audit(full_shop).lying_about) for sentence in told)
    good(full_shop)
    assert "is back in" in put_back(full_shop, number, studs, LATER).sentence
    assert free(full_shop, "stud") == before + 5
    for sentence in ticket(full_shop, number, TODAY).left_over:
        scrap(full_shop, sentence.partition("(")[2].partition(")")[0], "nobody wants it", LATER)
    assert ticket(full_shop, number, TODAY).left_over == ()
    assert left_over(full_shop) == ((), ())
    good(full_shop)


def test_a_packed_order_that_is_cancelled_is_taken_apart_and_its_bundle_is_left_over(full_shop: Shop) -> None:
    number = made_order(full_shop, line("boot-set"))
    (bundle,) = tie(full_shop, number, STAMP).bundles
    pack(full_shop, number, piece_tag(full_shop, number, "BSL"), STAMP)
    done = cancel(full_shop, number, LATER)
    assert "Parcel 1 (" in done.unpacked[0]
    (on_bench,) = bench(full_shop, LATER.at)
    assert (on_bench.tag, on_bench.where) == (bundle.tag, "at the bench, left over")
    with pytest.raises(Refusal, match="which is cancelled: keep it, or scrap it"):
        out(full_shop, bundle.tag, "sewing", "", STAMP)
    kept = keep(full_shop, bundle.tag, "B2", LATER)
    assert kept.tag.startswith("K")
    assert bench(full_shop, LATER.at) == ()
    good(full_shop)


def test_a_bundle_that_is_out_is_scanned_back_before_its_kit_is_kept(full_shop: Shop) -> None:
    number = made_order(full_shop, line("boot-set"))
    (bundle,) = tie(full_shop, number, STAMP).bundles
    out(full_shop, bundle.tag, "sewing", "", STAMP)
    cancel(full_shop, number, LATER)
    with pytest.raises(Refusal, match=f"bundle {bundle.tag} is out. Scan it back"):
        keep(full_shop, bundle.tag, "B2", LATER)


# --- keeping -------------------------------------------------------------------------------------------------------


def test_a_piece_of_a_cancelled_order_becomes_stock_with_a_tag_a_place_and_the_worth_of_what_is_in_it(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, *(one for one in plenty() if one.row["item"] != "hood-cloth/fawn"),
               roll("hood-cloth/fawn", 10_000, "W1", value="100.00"))  # fmt: skip
    number = made_order(shop, line("tonneau"))
    cancel(shop, number, LATER)
    old = piece_tag(shop, number, "TN")
    kept = keep(shop, old, "b2", LATER)
    assert (kept.place, kept.lacks, kept.worth_minor, kept.still) == ("B2", (), 1000, ())
    shown = show(shop, kept.tag)
    assert (shown.kind, shown.title) == ("finished piece", "Tonneau cover")
    assert {("State", "in stock, free"), ("Place", "B2"), ("Dye lots", "W1")} <= set(shown.facts)
    assert f"kept for stock, as {kept.tag}" in dict(show(shop, old).facts)["What became of it"]
    ((thing,), lying) = left_over(shop)
    assert (thing.tag, thing.car, lying) == (kept.tag, "RP 1500", ())
    with pytest.raises(Refusal, match=f"was kept for stock, as {kept.tag} already"):
        keep(shop, old, "B2", LATER)
    good(shop)


def test_what_a_kept_piece_lacks_is_written_down_and_what_is_in_it_is_not_put_back(full_shop: Shop) -> None:
    number = taken_order(full_shop, line("boot-set", 2))
    take_all(full_shop, number)
    studs = next(row[2] for row in dump(full_shop)["holding"] if row[3] == "stud")
    cancel(full_shop, number, LATER)
    floor = keep(full_shop, piece_tag(full_shop, number, "BF", 2), "B2", LATER)
    assert floor.lacks == ()
    before = free(full_shop, "stud")
    assert put_back(full_shop, number, studs, LATER).sentence.startswith("6 of Stud")
    assert free(full_shop, "stud") == before + 6
    with pytest.raises(Refusal, match="is in pieces that were kept or scrapped"):
        put_back(full_shop, number, studs, LATER)
    assert keep(full_shop, piece_tag(full_shop, number, "BF", 1), "B2", LATER).lacks == ("4 of Stud",)
    good(full_shop)


def test_only_what_is_cut_and_of_an_order_that_nobody_wants_is_kept(full_shop: Shop) -> None:
    number = taken_order(full_shop, line("boot-set"))
    tag = piece_tag(full_shop, number, "BSL")
    with pytest.raises(Refusal, match="is in hand, and its pieces are packed for Ann Example"):
        keep(full_shop, tag, "B2", LATER)
    with pytest.raises(Refusal, match="Only what is left over is scrapped"):
        scrap(full_shop, tag, "no", LATER)
    cancel(full_shop, number, LATER)
    with pytest.raises(Refusal, match="is not made: side is not cut"):
        keep(full_shop, tag, "B2", LATER)
    with pytest.raises(Refusal, match=r"[Pp]lace"):
        keep(full_shop, tag, "Z9", LATER)
    with pytest.raises(Refusal, match="there is nothing to scrap"):
        scrap(full_shop, tag, "no", LATER)


# --- for stock -----------------------------------------------------------------------------------------------------


def test_an_order_for_stock_is_made_as_any_other_and_kept_instead_of_packed(full_shop: Shop) -> None:
    made_for = order(line("boot-set"), number="S-1", customer=FOR_STOCK, for_stock=True)
    number = take(full_shop, made_for, STAMP).number
    assert [(one.number, one.customer) for one in rail(full_shop, TODAY)] == [("S-1", "for stock")]
    reserve(full_shop, number, STAMP)
    with pytest.raises(Refusal, match="is not ready: panel side of"):
        keep(full_shop, piece_tag(full_shop, number, "BSL"), "B2", STAMP)
    take_all(full_shop, number)
    tie(full_shop, number, STAMP)
    with pytest.raises(Refusal, match="not packed but kept"):
        pack(full_shop, number, piece_tag(full_shop, number, "BSL"), STAMP)
    kept = keep(full_shop, number, "B2", LATER)
    assert (kept.tag[0], kept.title, kept.lacks, kept.still) == ("K", "Full boot set", (), ())
    assert look(full_shop, number).order.state == "kept"
    assert rail(full_shop, TODAY) == ()
    good(full_shop)


def test_an_order_for_stock_names_no_customer_and_is_fitted_to_no_car(full_shop: Shop) -> None:
    for asked in (order(line("hood"), for_stock=True), order(line("hood"), customer=FOR_STOCK, for_stock=True,
                                                             fitted_here=True)):  # fmt: skip
        with pytest.raises(Refusal, match="order for stock"):
            take(full_shop, asked, STAMP)


def test_what_is_made_for_stock_binds_no_cars_lot(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 1_000, "old"), roll("hood-cloth/fawn", 1_000, "new"))
    take(shop, order(line("tonneau"), number="S-1", customer=FOR_STOCK, for_stock=True), STAMP)
    reserve(shop, "S-1", STAMP)
    taken_order(shop, line("tonneau"), number="O-1")
    assert look(shop, "S-1").lots("hood-cloth/fawn") != look(shop, "O-1").lots("hood-cloth/fawn")
    good(shop)


# --- offering and using --------------------------------------------------------------------------------------------


def test_a_kept_piece_is_offered_to_the_next_order_it_fits_and_used_it_need_not_be_made(full_shop: Shop) -> None:
    tag = left_side(full_shop)
    taken = take(full_shop, order(line("boot-set"), number="O-2"), STAMP)
    assert len(taken.offers) == 1
    assert f"{tag} in B2, Boot side, left (made for O-1, lot 1), fits line 1, Boot side, left" in taken.offers[0]
    reserved = reserve(full_shop, "O-2", STAMP)
    assert reserved.offers == tuple(one.sentence for one in ticket(full_shop, "O-2", TODAY).offers)
    assert "must then be of lot 1 in carpet/red" in taken.offers[0]
    assert "must" not in reserved.offers[0]
    held = look(full_shop, "O-2").held("carpet/red")
    done = use(full_shop, tag, "O-2", STAMP)
    assert done.pieces == (piece_tag(full_shop, "O-2", "BSL"),)
    assert look(full_shop, "O-2").held("carpet/red") < held
    assert look(full_shop, "O-2").wholly_held
    assert offers_of(full_shop, "O-2") == ()
    good(full_shop)
    (stop,) = [one for one in walk(full_shop, ["O-2"]).stops if one.tag == tag]
    assert (stop.place, stop.how, stop.for_what) == ("B2", "pick", ("BSL left",))
    take_all(full_shop, "O-2")
    (bundle,) = tie(full_shop, "O-2", STAMP).bundles
    assert done.pieces[0] not in dict(bundle.pieces)
    with pytest.raises(Refusal, match=f"{tag} .* not fetched from B2 yet"):
        pack(full_shop, "O-2", tag, STAMP)
    assert pick(full_shop, "O-2", tag, STAMP).left == 0
    assert not pick(full_shop, "O-2", tag, STAMP).changed_anything
    good(full_shop)
    assert pack(full_shop, "O-2", tag, STAMP).tag == done.pieces[0]
    for one in packing_list(full_shop, "O-2").pieces:
        (pack if one.must_scan else tick)(full_shop, "O-2", one.tag, STAMP)
    assert close(full_shop, "O-2", LATER).owed == ()
    assert dict(show(full_shop, tag).facts)["State"] == "fetched for order O-2"
    good(full_shop)


def test_a_whole_kit_is_offered_for_a_whole_kit_and_leaves_nothing_to_make(full_shop: Shop) -> None:
    made_order(full_shop, line("touring"), number="O-1")
    cancel(full_shop, "O-1", LATER)
    kit = keep(full_shop, "O-1", "B2", LATER).tag
    boot = taken_order(full_shop, line("boot-set"), number="O-2")
    assert offers_of(full_shop, boot) == ()
    with pytest.raises(Refusal, match="asks for no Touring set"):
        use(full_shop, kit, boot, LATER)
    taken_order(full_shop, line("touring"), number="O-3")
    (offer,) = offers_of(full_shop, "O-3")
    assert (offer.tag, len(offer.pieces)) == (kit, 5)
    use(full_shop, kit, "O-3", LATER)
    assert look(full_shop, "O-3").holds == ()
    assert not any(one.needed for one in look(full_shop, "O-3").requirements)
    good(full_shop)
    pick(full_shop, "O-3", kit, STAMP)
    assert [one.state for one in packing_list(full_shop, "O-3").pieces] == ["ready"] * 5
    good(full_shop)


def test_what_a_used_piece_lacks_is_still_picked(full_shop: Shop) -> None:
    number = taken_order(full_shop, line("boot-set"), number="O-1")
    cut_all(full_shop, number)
    cancel(full_shop, number, LATER)
    kept = keep(full_shop, piece_tag(full_shop, number, "BF"), "B2", LATER)
    assert kept.lacks == ("1.68 m of Edge binding, red", "4 of Stud")
    taken_order(full_shop, line("boot-set"), number="O-2")
    use(full_shop, kept.tag, "O-2", LATER)
    assert look(full_shop, "O-2").held("stud") == 5
    pick(full_shop, "O-2", kept.tag, STAMP)
    floor = piece_tag(full_shop, "O-2", "BF")
    with pytest.raises(Refusal, match=r"not ready: 1\.68 m of Edge binding, red not picked yet"):
        pack(full_shop, "O-2", floor, STAMP)
    pick_all(full_shop, "O-2")
    assert pack(full_shop, "O-2", floor, STAMP).changed_anything
    good(full_shop)


MISFITS: dict[str, tuple[Callable[[Shop], object], str]] = {
    "colour": (lambda shop: taken_order(shop, line("boot-set", car=LATE), number="O-2"), "carpet/black is asked for"),
    "change": (
        lambda shop: taken_order(
            shop,
            line("boot-set", changes=(change("overlong", "BSL", panel="side", part="slope", mm=20),)),
            number="O-2",
        ),
        "this car is not like it: Changed for this car",
    ),
    "kit": (lambda shop: taken_order(shop, line("tonneau"), number="O-2"), "asks for no Boot side, left"),
    "made": (lambda shop: made_order(shop, line("boot-set"), number="O-2"), "is picked or cut already"),
    "packed": (lambda shop: _packed(shop, made_order(shop, line("boot-set"), number="O-2")), "it is packed"),
}


def _packed(shop: Shop, number: str) -> None:
    pack(shop, number, piece_tag(shop, number, "BSL"), STAMP)


@pytest.mark.parametrize("what", MISFITS)
def test_what_does_not_fit_is_not_offered_and_asked_for_it_says_why(full_shop: Shop, what: str) -> None:
    tag = left_side(full_shop)
    prepare, because = MISFITS[what]
    prepare(full_shop)
    before = dump(full_shop)
    assert offers_of(full_shop, "O-2") == ()
    with pytest.raises(Refusal, match=because):
        use(full_shop, tag, "O-2", LATER)
    assert dump(full_shop) == before


def test_a_piece_of_another_lot_than_the_set_has_does_not_fit_and_used_first_it_binds_the_set(
    shop: Shop, tmp_path: Path
) -> None:
    remnant = roll("hood-cloth/fawn", 1_000, "old", remnant="yes")
    stock_shop(shop, tmp_path, remnant, roll("hood-cloth/fawn", 4_000, "new"))
    made_order(shop, line("tonneau"), number="O-1")
    cancel(shop, "O-1", LATER)
    tag = keep(shop, "O-1", "B2", LATER).tag
    assert left_over(shop)[0][0].lots == ("old",)
    both = (line("tonneau"), line("hood", choices={"window": "sewn"}))
    reserve(shop, take(shop, order(*both, number="O-2"), STAMP).number, STAMP)
    assert offers_of(shop, "O-2") == ()
    with pytest.raises(Refusal, match="it is of lot old, and the set has lot new"):
        use(shop, tag, "O-2", LATER)
    late = tuple(replace(one, car=LATE.key) for one in both)
    take(shop, order(*late, number="O-3"), STAMP)
    assert use(shop, tag, "O-3", LATER).binds == (
        "The rest of the set (top) must then be of lot old in hood-cloth/fawn.",
    )
    with pytest.raises(Refusal, match="is short"):
        reserve(shop, "O-3", STAMP)
    good(shop)


def test_what_is_used_is_let_go_again_and_the_order_makes_its_own(full_shop: Shop) -> None:
    tag = left_side(full_shop)
    taken_order(full_shop, line("boot-set"), number="O-2")
    needed = look(full_shop, "O-2").needed("carpet/red")
    use(full_shop, tag, "O-2", LATER)
    assert look(full_shop, "O-2").needed("carpet/red") == needed - 1
    unuse(full_shop, tag, LATER)
    assert look(full_shop, "O-2").needed("carpet/red") == needed
    assert look(full_shop, "O-2").wholly_held
    with pytest.raises(Refusal, match="is promised to no order"):
        unuse(full_shop, tag, LATER)
    good(full_shop)


def test_a_thing_is_used_once_and_is_not_scrapped_while_it_is_promised(full_shop: Shop) -> None:
    tag = left_side(full_shop)
    for number in ("O-2", "O-3"):
        take(full_shop, order(line("boot-set"), number=number), STAMP)
    use(full_shop, tag, "O-2", LATER)
    for refused in (
        lambda: use(full_shop, tag, "O-3", LATER),
        lambda: pick(full_shop, "O-3", tag, LATER),
        lambda: scrap(full_shop, tag, "old", LATER),
        lambda: quarantine(full_shop, tag, "the moth is in it", LATER),
    ):
        with pytest.raises(Refusal, match="is promised to order O-2"):
            refused()
    unuse(full_shop, tag, LATER)
    assert scrap(full_shop, tag, "the moth was in it", LATER).left == 0
    assert left_over(full_shop)[0] == ()
    good(full_shop)


def test_cancelling_the_order_lets_what_it_uses_go_and_what_was_fetched_is_put_back(full_shop: Shop) -> None:
    tag = left_side(full_shop)
    taken_order(full_shop, line("boot-set"), number="O-2")
    use(full_shop, tag, "O-2", LATER)
    pick(full_shop, "O-2", tag, STAMP)
    with pytest.raises(Refusal, match=f"Put it back first: stockroom put-back O-2 {tag}"):
        unuse(full_shop, tag, LATER)
    done = cancel(full_shop, "O-2", LATER)
    assert any(tag in one and "put it back" in one for one in done.left_over)
    good(full_shop)
    put_back(full_shop, "O-2", tag, LATER)
    assert ticket(full_shop, "O-2", TODAY).left_over == ()
    taken_order(full_shop, line("boot-set"), number="O-3")
    use(full_shop, tag, "O-3", LATER)
    assert tag in " ".join(cancel(full_shop, "O-3", LATER).let_go)
    assert left_over(full_shop)[0][0].is_free
    good(full_shop)


def test_a_change_of_the_order_keeps_what_still_fits_and_lets_go_of_what_does_not(full_shop: Shop) -> None:
    tag = left_side(full_shop)
    taken_order(full_shop, line("boot-set"), number="O-2")
    use(full_shop, tag, "O-2", LATER)
    set_quantity(full_shop, "O-2", 1, 2, LATER)
    assert not left_over(full_shop)[0][0].is_free
    assert look(full_shop, "O-2").wholly_held
    good(full_shop)
    done = change_line(full_shop, "O-2", 1, change("colour", "BSL", to="black"), LATER)
    assert any(f"({tag}) was let go: " in one for one in done.what)
    assert left_over(full_shop)[0][0].is_free
    assert look(full_shop, "O-2").wholly_held is (not done.reserved or not done.reserved.short)
    good(full_shop)


def test_a_made_up_bag_of_a_cancelled_order_is_kept_and_used_like_any_piece(full_shop: Shop) -> None:
    made_order(full_shop, line("tool-bag", 2), number="O-1")
    cancel(full_shop, "O-1", LATER)
    tag = keep(full_shop, piece_tag(full_shop, "O-1", "TB", 2), "B2", LATER).tag
    keep(full_shop, piece_tag(full_shop, "O-1", "TB", 1), "B2", LATER)
    number = taken_order(full_shop, line("tool-bag", 2), number="O-2")
    assert len(offers_of(full_shop, number)) == 2
    use(full_shop, tag, number, LATER)
    assert look(full_shop, number).held("stud") == 3
    good(full_shop)
    pick(full_shop, number, tag, STAMP)
    take_all(full_shop, number)
    assert {one.state for one in packing_list(full_shop, number).pieces} == {"ready"}
    good(full_shop)
    unused = taken_order(full_shop, line("tool-bag"), number="O-3")
    assert [one.pieces for one in offers_of(full_shop, unused)] == [(piece_tag(full_shop, unused, "TB"),)]
