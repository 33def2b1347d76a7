"""Things are moved, adjusted, quarantined, released and scrapped; what they were promised to follows, or is named."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import make_tag
from stockroom.jobs.adjust import adjust
from stockroom.jobs.audit import audit
from stockroom.jobs.load import load
from stockroom.jobs.move import move, move_part
from stockroom.jobs.parts import receive
from stockroom.jobs.pick import walk
from stockroom.jobs.quarantine import quarantine, quarantine_stretch, release
from stockroom.jobs.racks import in_hand, look_up, looked_over, place_contents, places, where_is
from stockroom.jobs.scrap import scrap
from stockroom.jobs.show import show
from stockroom.jobs.undo import undo
from stockroom.store import stock
from stockroom.store.database import Shop
from tests.jobs.workshop import taken_order
from tests.shops import (
    LATE,
    LATER,
    STAMP,
    TODAY,
    bin_of,
    changed_tables,
    dump,
    free,
    line,
    load_files,
    look,
    roll,
    stock_shop,
)

HOOD = "hood-cloth/fawn"
SOON, LATE_WANTED = date(2026, 12, 1), date(2027, 2, 1)


def tags(shop: Shop, item: str) -> list[str]:
    """The tags of an item's rolls and bins, oldest first."""
    with shop.read() as tx:
        return [*(one.tag for one in stock.rolls_of(tx, item)), *(one.tag for one in stock.bins_of(tx, item))]


def facts(shop: Shop, tag: str) -> dict[str, str]:
    return dict(show(shop, tag).facts)


def clips_for(shop: Shop, wanted: date | None = None, **more: Any) -> str:
    """The number of an order that holds 900 mm of binding and 6 clips."""
    return taken_order(shop, line("header-rail", **more), wanted=wanted)


def tonneau(shop: Shop, wanted: date | None = None, **more: Any) -> str:
    """The number of an order that holds 1 m of hood cloth."""
    return taken_order(shop, line("tonneau", **more), wanted=wanted)


def sound(shop: Shop) -> bool:
    return audit(shop).faults == ()


# --- moving --------------------------------------------------------------------------------------------------------


def test_many_things_are_put_in_one_place_and_their_promises_go_with_them(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 5_000), roll("binding/red", 9_000), bin_of("clip", 20))
    number = clips_for(shop)
    scanned = [*tags(shop, HOOD), *tags(shop, "binding/red"), *tags(shop, "clip")]
    part = receive(shop, number, "hood frame", "R1", STAMP).tag
    done = move(shop, [*scanned, scanned[0], part], "b2", LATER)
    assert done.place == "B2"
    assert [one.tag_now for one in done.things] == [*scanned, part], "whole things keep their tags"
    assert {facts(shop, tag)["Place"] for tag in scanned} == {"B2"}
    assert {stop.place for stop in walk(shop, [number]).stops} == {"B2"}
    assert not any(one.changed_anything for one in move(shop, scanned, "B2", LATER).things)
    assert sound(shop)


def test_a_bin_goes_into_the_one_of_its_item_and_lot_that_is_there(shop: Shop, tmp_path: Path) -> None:
    stock_shop(
        shop, tmp_path, roll("binding/red", 9_000), bin_of("clip", 10), bin_of("clip", 5, place="B2"),
        bin_of("clip", 4, "X", place="B2"),
    )  # fmt: skip
    number = clips_for(shop)
    first, second, other_lot = tags(shop, "clip")
    (thing,) = move(shop, [first], "B2", LATER).things
    assert (thing.tag_now, thing.is_new) == (second, False)
    assert [facts(shop, tag)["Held"] for tag in (first, second, other_lot)] == ["0", "15", "4"]
    assert {stop.tag for stop in walk(shop, [number]).stops if stop.item == "clip"} == {second}
    with pytest.raises(Refusal, match=f"is empty, and B2 has a bin of it: {second}"):
        move(shop, [first], "B2", LATER)
    assert sound(shop)


def test_of_a_part_what_is_free_goes_first_and_the_promises_that_do_not_stay_go_along(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 9_000), bin_of("clip", 10))
    number = clips_for(shop)
    (was,) = tags(shop, "clip")
    done = move_part(shop, was, "6", "B2", LATER)
    assert done.is_new
    at = {stop.tag: stop.amount for stop in walk(shop, [number]).stops if stop.item == "clip"}
    assert at == {was: "4", done.tag_now: "2"}
    move_part(shop, was, "1", "B2", LATER)
    move(shop, [done.tag_now], "B1", LATER)
    assert look(shop, number).wholly_held
    assert facts(shop, was)["Held"] == "10"
    assert sound(shop)


def test_a_folder_that_is_loaded_again_knows_bins_that_were_carried_elsewhere_or_set_apart(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, bin_of("clip", 10), bin_of("stud", 8))
    move(shop, tags(shop, "clip"), "B2", LATER)
    quarantine(shop, tags(shop, "stud")[0], "rusty", LATER)
    report = load(shop, next(tmp_path.glob("files-*")), STAMP, opening=TODAY)
    assert [(one.added, one.changes) for one in report.written if one.what == "bins"] == [(0, ())]
    assert len(tags(shop, "clip") + tags(shop, "stud")) == 2


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        (lambda tag: ([tag], "B3"), "There is no place 'B3'. The nearest name is"),
        (lambda _: ([], "B2"), "Scan what is moved"),
        (lambda tag: ([tag, "B1"], "B2"), "is not a tag"),
        (lambda tag: ([tag, make_tag("L", 1)], "B2"), "is the tag of a place"),
        (lambda tag: ([tag, make_tag("B", 99)], "B2"), "No bin in this shop has the tag"),
        (lambda tag: ([tag], tag), "Scan the tag of a place"),
    ],
)
def test_where_one_thing_cannot_be_moved_none_is(
    sqlite_shop: Shop, tmp_path: Path, asked: Callable[[str], tuple[list[str], str]], sentence: str
) -> None:
    stock_shop(sqlite_shop, tmp_path, bin_of("clip", 10))
    before = dump(sqlite_shop)
    wrong = asked(tags(sqlite_shop, "clip")[0])
    with pytest.raises(Refusal, match=sentence):
        move(sqlite_shop, *wrong, LATER)
    assert changed_tables(before, dump(sqlite_shop)) == set()


def test_what_is_where_is_told_by_place_and_by_item(sqlite_shop: Shop, tmp_path: Path) -> None:
    shop = sqlite_shop
    stock_shop(shop, tmp_path, roll("binding/red", 9_000), bin_of("clip", 10), bin_of("clip", 4, place="B2"))
    number = clips_for(shop)
    first, second = tags(shop, "clip")
    apart = quarantine(shop, second, "rusty", LATER, "3").tag_now
    part = receive(shop, number, "hood frame", "B2", STAMP).tag
    there = place_contents(shop, "b2")
    assert [(one.tag, one.amount, one.free, one.quarantined) for one in there.things] == [
        (second, "1", "1", ""), (apart, "3", "nothing", "rusty"),
    ]  # fmt: skip
    assert [part in one for one in there.no_stock] == [True]
    (clips,) = where_is(shop, "clip")
    assert (clips.held, clips.reserved, clips.free, clips.quarantined) == ("14", "6", "5", "3")
    assert [one.place for one in clips.things] == ["B1", "B2", "B2"]
    assert look_up(shop, first) == (clips,)
    assert look_up(shop, "B2") == there
    assert [(one.code, one.things, one.quarantined) for one in places(shop)] == [
        ("R1", 1, 0),
        ("B1", 1, 0),
        ("B2", 2, 1),
    ]
    assert [(one.place, one.held, one.promised, one.quarantined, one.no_stock) for one in looked_over(shop)] == [
        ("R1", 1, 1, 0, ()), ("B1", 1, 1, 0, ()), ("B2", 2, 0, 1, there.no_stock),
    ]  # fmt: skip
    assert [(one.tags, one.amount, one.reserved, one.quarantined) for one in looked_over(shop)[2].lying] == [
        ((one.tag,), one.amount, one.reserved, one.quarantined) for one in there.things
    ]
    with pytest.raises(Refusal, match=r"There is no place and no item 'klip'\. The nearest name is 'clip'"):
        where_is(shop, "klip")


def test_what_is_taken_in_hand_says_what_it_is_and_when_it_is_too_heavy_for_one(
    sqlite_shop: Shop, tmp_path: Path
) -> None:
    shop = sqlite_shop
    stock_shop(
        shop, tmp_path, roll(HOOD, 60_000, "7"), roll(HOOD, 1_000), roll("binding/red", 9_000), bin_of("clip", 10)
    )
    number = clips_for(shop)
    titles = "code,title,kind,width,mass_g_m2,nap,shortest_useful,colour_tolerance"
    load_files(shop, tmp_path, {"cloths.csv": f"{titles}\nhood-cloth,Hood cloth,cloth,1500,500,yes,300,1\n"})
    frame = receive(shop, number, "hood frame", "B1", STAMP).tag
    long, short = (in_hand(shop, tag) for tag in tags(shop, HOOD))
    assert [len(one.cautions) for one in (long, short)] == [1, 0]
    assert long.cautions[0].startswith("45.0 kg. Heavy: two people or a roll stand.")
    assert (long.title, long.amount, long.place) == ("Hood cloth, fawn, lot 7", "60.00 m", "R1")
    (clip,) = (in_hand(shop, tag.lower()) for tag in tags(shop, "clip"))
    assert (clip.is_bin, clip.by_length, long.by_length) == (True, False, True)
    assert in_hand(shop, frame).title == "hood frame"
    for tag, why in ((make_tag("P", 1), "is the tag of a piece"), (make_tag("R", 999), "may be from another shop")):
        with pytest.raises(Refusal, match=why):
            in_hand(shop, tag)


# --- adjusting -----------------------------------------------------------------------------------------------------


def test_found_less_lets_go_of_who_is_wanted_latest_and_names_the_order(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 9_000), bin_of("clip", 20), roll(HOOD, 3_000))
    late, soon, at_no_date = clips_for(shop, LATE_WANTED), clips_for(shop, SOON), clips_for(shop)
    (clip,) = tags(shop, "clip")
    done = adjust(shop, clip, "14", "miscounted when it came", LATER)
    assert [sentence.split(":")[0] for sentence in done.promises.short] == [f"Order {at_no_date}"]
    assert look(shop, at_no_date).held("clip") == 2, "what is there, it still has"
    assert look(shop, late).wholly_held
    assert look(shop, soon).wholly_held
    cloth = [tonneau(shop, wanted) for wanted in (LATE_WANTED, SOON)]
    done = adjust(shop, tags(shop, HOOD)[0], "1.5 m", "the roll was shorter", LATER)
    assert [sentence.split(":")[0] for sentence in done.promises.short] == [f"Order {cloth[0]}"]
    assert look(shop, cloth[1]).wholly_held
    assert facts(shop, tags(shop, HOOD)[0])["Length"] == "measured"
    assert sound(shop)


def test_what_is_lost_here_is_looked_for_elsewhere(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 1_000), roll("binding/red", 1_200), bin_of("clip", 20))
    number = clips_for(shop)
    reel = next(stop.tag for stop in walk(shop, [number]).stops if stop.item == "binding/red")
    done = adjust(shop, reel, "50 cm", "cut and not booked", LATER)
    assert (done.promises.planned_elsewhere, done.promises.short) == ((number,), ())
    assert look(shop, number).wholly_held
    assert sound(shop)


def test_what_was_gone_is_found_again(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 3_000))
    (tag,) = tags(shop, HOOD)
    adjust(shop, tag, "0", "nowhere to be seen", LATER)
    assert free(shop, HOOD) == 0
    with pytest.raises(Refusal, match="used up or gone by the books"):
        move(shop, [tag], "B1", LATER)
    done = adjust(shop, tag, "9 ft 6 in", "behind the rack", LATER)
    assert "found again" in done.sentence
    assert free(shop, HOOD) == 2_895
    assert sound(shop)


@pytest.mark.parametrize(
    ("item", "figure", "sentence"),
    [
        (HOOD, "1250 m", "too long for a roll"),
        (HOOD, "12", "Say the unit: 12 m, 12 yd or 12 mm"),
        (HOOD, "minus 3 m", "is not a length"),
        ("clip", "12 m", "is no count"),
        ("clip", "1.5", "is no count"),
        ("clip", "-1", "is no count"),
        ("clip", "99999999", "too many to be in one bin"),
    ],
)
def test_a_figure_that_cannot_be_meant_is_refused(
    sqlite_shop: Shop, tmp_path: Path, item: str, figure: str, sentence: str
) -> None:
    stock_shop(sqlite_shop, tmp_path, bin_of("clip", 10), roll(HOOD, 3_000))
    before = dump(sqlite_shop)
    for job in (adjust, lambda shop, tag, said, why, stamp: scrap(shop, tag, why, stamp, said)):
        with pytest.raises(Refusal, match=sentence):
            job(sqlite_shop, tags(sqlite_shop, item)[0], figure, "counted", LATER)
    with pytest.raises(Refusal, match="Say why"):
        adjust(sqlite_shop, tags(sqlite_shop, item)[0], "3 m", " ", LATER)
    assert changed_tables(before, dump(sqlite_shop)) == set()


# --- quarantine and release ----------------------------------------------------------------------------------------


def test_quarantining_a_part_of_a_roll_makes_a_roll_of_its_lot_that_nothing_is_held_on(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 4_000, "7", flaws="3500-3600 stain"))
    late, soon = tonneau(shop, LATE_WANTED), tonneau(shop, SOON)
    (tag,) = tags(shop, HOOD)
    done = quarantine(shop, tag, "another shade towards the end", LATER, "2.5 m")
    assert [sentence.split(":")[0] for sentence in done.promises.short] == [f"Order {late}"]
    assert look(shop, soon).wholly_held
    apart = facts(shop, done.tag_now)
    assert (apart["Held"], apart["Dye lot"], apart["Place"], apart["Free"]) == ("2.50 m", "7", "R1", "nothing")
    assert "2.00 m to 2.10 m: stain" in apart["Flaws"]
    assert facts(shop, tag)["Held"] == "1.50 m"
    assert sound(shop)
    back = release(shop, done.tag_now, "the customer has seen it", LATER)
    assert back.waited_for == (late,)
    assert free(shop, HOOD) == 3_000
    assert sound(shop)


def test_a_stretch_out_of_the_middle_leaves_three_rolls_and_a_promise_moves_to_the_good_end(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 4_000))
    first, second = tonneau(shop, SOON), tonneau(shop)
    (tag,) = tags(shop, HOOD)
    done = quarantine_stretch(shop, tag, "1.2 m", "2 m", "a fold that does not come out", LATER)
    assert [facts(shop, one)["Held"] for one in (tag, done.tag_now, done.also_new)] == ["1.20 m", "0.80 m", "2.00 m"]
    assert done.promises.short == ()
    assert {stop.tag for stop in walk(shop, [first, second]).stops} <= {tag, done.also_new}
    inner = quarantine_stretch(shop, done.also_new, "0", "0.5 m", "stained too", LATER)
    assert facts(shop, done.also_new)["Held"] == "1.50 m"
    assert inner.also_new == ""
    assert sound(shop)


def test_quarantining_a_part_of_a_bin_makes_a_second_one_there_and_release_puts_them_together(
    shop: Shop, tmp_path: Path
) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 9_000), bin_of("clip", 10))
    number = clips_for(shop)
    (good,) = tags(shop, "clip")
    done = quarantine(shop, good, "rusty", LATER, "6")
    assert [sentence.split(":")[0] for sentence in done.promises.short] == [f"Order {number}"]
    assert look(shop, number).held("clip") == 4
    more = quarantine(shop, good, "bent", LATER)
    assert (more.tag_now, more.is_new) == (done.tag_now, False)
    assert facts(shop, done.tag_now)["Quarantined"] == "rusty; bent"
    with pytest.raises(Refusal, match="in quarantine already: rusty; bent"):
        quarantine(shop, done.tag_now, "rusty", LATER)
    moved = move(shop, [done.tag_now], "B2", LATER).things[0]
    assert facts(shop, moved.tag_now)["Quarantined"] == "rusty; bent"
    move(shop, [moved.tag_now], "B1", LATER)
    back = release(shop, moved.tag_now, "cleaned", LATER)
    assert (back.tag_now, back.waited_for) == (good, (number,))
    assert (free(shop, "clip"), facts(shop, good)["Held"]) == (10, "10")
    with pytest.raises(Refusal, match="is not in quarantine"):
        release(shop, good, "cleaned", LATER)
    assert sound(shop)


def test_scrap_leaves_the_books_with_its_worth_and_names_who_goes_without(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 3_000, value="30.00"), bin_of("clip", 20))
    late, soon = clips_for(shop, LATE_WANTED, car=LATE), clips_for(shop, SOON)
    (reel,) = tags(shop, "binding/red")
    done = scrap(shop, reel, "mildew", LATER, "2 m")
    assert (done.scrapped, done.left, done.worth_minor) == (2_000, 1_000, 2_000)
    assert [sentence.split(":")[0] for sentence in done.promises.short] == [f"Order {late}"]
    assert look(shop, soon).wholly_held
    quarantined = quarantine(shop, reel, "mildew", LATER)
    assert [sentence.split(":")[0] for sentence in quarantined.promises.short] == [f"Order {soon}"]
    scrap(shop, reel, "mildew", LATER)
    with pytest.raises(Refusal, match="nothing to scrap"):
        scrap(shop, reel, "mildew", LATER)
    assert sound(shop)


def test_blanks_that_are_lost_are_made_again_from_their_cloth(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("leathercloth/red", 900), bin_of("tool-bag-blank", 2), bin_of("stud", 20))
    number = taken_order(shop, line("tool-bag", 2))
    assert look(shop, number).held("tool-bag-blank") == 2
    done = scrap(shop, tags(shop, "tool-bag-blank")[0], "moths", LATER)
    assert done.promises.planned_elsewhere == (number,)
    assert look(shop, number).held("leathercloth/red") >= 800
    assert sound(shop)


def test_what_was_done_is_taken_back_with_the_promises_that_followed_it(shop: Shop, tmp_path: Path) -> None:
    stock_shop(
        shop, tmp_path, roll(HOOD, 3_000), roll("binding/red", 9_000), bin_of("clip", 14), bin_of("clip", 3, place="B2")
    )
    numbers = [clips_for(shop, SOON), clips_for(shop, LATE_WANTED), tonneau(shop, SOON), tonneau(shop, LATE_WANTED)]
    (clip, beside), (hood,) = tags(shop, "clip"), tags(shop, HOOD)
    for job in (
        lambda: move(shop, [hood, clip], "B2", LATER),
        lambda: move_part(shop, clip, "12", "B2", LATER),
        lambda: move_part(shop, clip, "12", "R1", LATER),
        lambda: adjust(shop, clip, "7", "counted", LATER),
        lambda: adjust(shop, hood, "1.2 m", "measured", LATER),
        lambda: quarantine(shop, clip, "rusty", LATER, "9"),
        lambda: quarantine(shop, beside, "rusty", LATER),
        lambda: quarantine(shop, hood, "stained", LATER),
        lambda: scrap(shop, hood, "mildew", LATER, "1.5 m"),
    ):
        before = _standing(shop, numbers)
        job()
        assert _standing(shop, numbers) != before
        undo(shop, _latest_job(shop), LATER)
        assert _standing(shop, numbers) == before
    cut_out = quarantine_stretch(shop, hood, "0.2 m", "0.4 m", "stained", LATER)
    with pytest.raises(Refusal, match=f"does not grow together again. .* stockroom release {cut_out.tag_now}"):
        undo(shop, _latest_job(shop, "quarantine"), LATER)
    assert sound(shop)


def _latest_job(shop: Shop, what: str = "") -> int:
    """The number of the latest job; of the latest quarantine, since it may have reserved afterwards."""
    return max(int(row[0]) for row in dump(shop)["job"] if str(row[1]).startswith(what))


def _standing(shop: Shop, numbers: list[str]) -> object:
    """What holds something and where, and what is held of it for whom."""
    held = [facts(shop, tag) for item in ("clip", HOOD) for tag in tags(shop, item) if facts(shop, tag)["Held"] != "0"]
    stops = sorted((stop.order, stop.tag, stop.amount, stop.from_mm) for stop in walk(shop, numbers).stops)
    return held, stops, [look(shop, number).wholly_held for number in numbers]


# --- any order of them ---------------------------------------------------------------------------------------------

DONE = st.tuples(
    st.sampled_from(["move", "part", "adjust", "quarantine", "release", "scrap"]), st.integers(0, 9), st.integers(0, 9)
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(DONE, max_size=8))
def test_whatever_is_done_to_bins_and_rolls_the_books_stay_sound(
    sqlite_shop: Shop, tmp_path_factory: pytest.TempPathFactory, asked: list[tuple[str, int, int]]
) -> None:
    """Each example goes on with the shop that the ones before it have left."""
    shop = sqlite_shop
    if not dump(shop)["holding"]:
        bins = (bin_of("clip", 10), bin_of("clip", 6, place="B2"), bin_of("clip", 3, "X"))
        stock_shop(shop, tmp_path_factory.mktemp("stock"), roll("binding/red", 9_000), roll("binding/red", 900), *bins)
        clips_for(shop, SOON)
        clips_for(shop, LATE_WANTED)
    for what, which, amount in asked:
        known = [*tags(shop, "clip"), *tags(shop, "binding/red")]
        tag = known[which % len(known)]
        figure = f"{amount * 100} mm" if tag.startswith("R") else str(amount)
        with suppress(Refusal):
            if what == "move":
                move(shop, [tag], ("B1", "B2")[amount % 2], LATER)
            elif what == "part":
                move_part(shop, tag, figure, ("B1", "B2")[which % 2], LATER)
            elif what == "adjust":
                adjust(shop, tag, figure, "counted", LATER)
            elif what == "release":
                release(shop, tag, "looked at", LATER)
            else:
                (quarantine if what == "quarantine" else scrap)(shop, tag, "rust", LATER, figure)
    assert sound(shop)
