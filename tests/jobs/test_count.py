"""Counting: blind, again where the figure is too far off, and right whatever moves while it goes on."""

from __future__ import annotations

import json
from contextlib import suppress
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stockroom.cli.asked import plain
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.audit import audit
from stockroom.jobs.count import begin, close, closing, enter, leave, sheet, sheets
from stockroom.jobs.count_due import due
from stockroom.jobs.cut import cut
from stockroom.jobs.move import move_part
from stockroom.jobs.pick import pick, walk
from stockroom.jobs.quarantine import quarantine, release
from stockroom.jobs.scrap import scrap
from stockroom.store.database import Shop
from tests.databases import Database
from tests.jobs.test_moving import HOOD, LATE_WANTED, SOON, clips_for, facts, sound, tags, tonneau
from tests.jobs.test_races import race
from tests.shops import LATE, LATER, STAMP, bin_of, changed_tables, dump, free, load_files, roll, stock_shop

SHOP = 'format = 1\nname = "Lindow Trim"\ntime_zone = "Europe/London"\ncurrency = "GBP"\n'


def counting(shop: Shop, what: str = "B1") -> int:
    """The number of a sheet that is begun."""
    return begin(shop, what, STAMP).sheet.number


def test_the_books_figure_is_not_shown_until_the_count_is_in(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, bin_of("stud", 437), bin_of("clip", 61), roll(HOOD, 7_777))
    stud, clip = tags(shop, "stud")[0], tags(shop, "clip")[0]
    number = counting(shop)
    blind = json.dumps(plain(sheet(shop, number))) + json.dumps(plain(sheets(shop)))
    assert "437" not in blind
    assert "61" not in blind
    near = enter(shop, number, stud, "434", STAMP)
    assert (near.state, near.expected) == ("counted", "437"), "within one in a hundred"
    far = enter(shop, number, clip, "60", STAMP)
    assert (far.state, far.expected) == ("count again", "")
    assert "61" not in far.sentence
    on_sheet = [(one.state, one.figure, one.expected, one.by) for one in sheet(shop, number).lines]
    assert on_sheet == [("count again", "", "", "AB"), ("counted", "434", "437", "AB")]
    with pytest.raises(Refusal, match="Count again before sheet 1 is closed: Clip"):
        close(shop, number, LATER)
    second = enter(shop, number, clip, "59", LATER)
    assert (second.state, second.expected, second.left) == ("counted", "61", 0)
    assert free(shop, "clip") == 61, "nothing is booked before the sheet is closed"
    done = close(shop, number, LATER)
    assert [(one.tag, one.booked) for one in done.differences] == [(stud, -3), (clip, -2)]
    assert (free(shop, "stud"), free(shop, "clip")) == (434, 59)
    roll_sheet = counting(shop, "hood cloth fawn")
    assert enter(shop, roll_sheet, tags(shop, HOOD)[0], "25 ft 4 in", LATER).state == "counted", "within 1 %"
    close(shop, roll_sheet, LATER)
    assert free(shop, HOOD) == 7_721
    assert sound(shop)


def test_a_shop_says_itself_how_far_off_is_counted_again(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path, bin_of("clip", 50), roll(HOOD, 9_000))
    load_files(sqlite_shop, tmp_path, {"shop.toml": f"{SHOP}recount_count = 10\nrecount_length = 0\n"})
    number, racks = counting(sqlite_shop), counting(sqlite_shop, "R1")
    assert enter(sqlite_shop, number, tags(sqlite_shop, "clip")[0], "45", STAMP).state == "counted"
    assert enter(sqlite_shop, racks, tags(sqlite_shop, HOOD)[0], "8.94 m", STAMP).state == "count again"
    assert "count within 10 %" in due(sqlite_shop, _in_days(1)).tolerance
    for wrong in ("'some'", "101", "true", "1.5"):
        with pytest.raises(Refusal) as refused:
            load_files(sqlite_shop, tmp_path, {"shop.toml": f"{SHOP}recount_count = {wrong}\n"})
        assert "whole per cent were expected, 0 to 100" in "".join(refused.value.faults) + refused.value.sentence


def test_what_is_picked_and_cut_while_the_count_goes_on_is_no_difference(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 9_000), roll(HOOD, 5_000), bin_of("clip", 20))
    clips, cloth = clips_for(shop), tonneau(shop)
    (clip,), (hood,) = tags(shop, "clip"), tags(shop, HOOD)
    number, racks = counting(shop), counting(shop, "R1")
    for _ in range(2):
        enter(shop, number, clip, "17", STAMP)
    enter(shop, racks, hood, "5.02 m", STAMP)
    pick(shop, clips, clip, LATER)
    cut(shop, cloth, hood, LATER)
    closed = close(shop, number, LATER), close(shop, racks, LATER, left=tags(shop, "binding/red"))
    assert [one.booked for done in closed for one in done.differences] == [-3, 20]
    assert (free(shop, "clip"), free(shop, HOOD)) == (11, 4_020)
    assert closed[1].left == tuple(tags(shop, "binding/red"))
    assert sound(shop)


def test_more_taken_since_than_there_was_leaves_nothing_and_says_so(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, bin_of("clip", 20))
    (clip,) = tags(shop, "clip")
    number = counting(shop)
    for _ in range(2):
        enter(shop, number, clip, "5", STAMP)
    scrap(shop, clip, "bent", LATER, "12")
    (difference,) = close(shop, number, LATER).differences
    assert difference.booked == -8
    assert "count it again" in difference.sentence
    assert free(shop, "clip") == 0
    assert sound(shop)


def test_what_nobody_counted_is_missing_or_left_and_who_holds_it_is_named(shop: Shop, tmp_path: Path) -> None:
    stock_shop(
        shop, tmp_path, roll(HOOD, 1_200, "1"), roll(HOOD, 1_300, "2"), roll("binding/red", 9_000), bin_of("clip", 8)
    )
    late, soon = tonneau(shop, LATE_WANTED, car=LATE), tonneau(shop, SOON)
    here = {stop.order: stop.tag for stop in walk(shop, [late, soon]).stops}
    (binding,) = tags(shop, "binding/red")
    number = counting(shop, "R1")
    enter(shop, number, binding, "9 m", STAMP)
    to_say = closing(shop, number)
    assert [one.tag for one in to_say.agreed] == [binding]
    assert ({one.tag for one in to_say.not_counted}, to_say.again, to_say.differing) == (set(tags(shop, HOOD)), (), ())
    with pytest.raises(Refusal, match="nobody has counted them") as refused:
        close(shop, number, LATER, missing=[here[soon]])
    assert [here[late] in fault for fault in refused.value.faults] == [True]
    with pytest.raises(Refusal, match="Name only what nobody has counted"):
        close(shop, number, LATER, missing=[binding])
    with pytest.raises(Refusal, match="cannot be both"):
        close(shop, number, LATER, missing=[here[soon]], left=[here[soon], here[late]])
    done = close(shop, number, LATER, missing=[here[soon]], left=None)
    assert done.left == (here[late],)
    assert [sentence.split(":")[0] for sentence in done.promises.short] == [f"Order {soon}"]
    assert facts(shop, here[soon])["Held"] == "0.00 m"
    assert sound(shop)


def test_what_the_books_say_is_gone_or_elsewhere_is_entered_where_it_is_found(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll(HOOD, 4_000), bin_of("clip", 8), bin_of("stud", 30, place="B2"))
    (hood,), (clip,), (stud,) = tags(shop, HOOD), tags(shop, "clip"), tags(shop, "stud")
    scrap(shop, hood, "mildew", STAMP)
    number = counting(shop)
    enter(shop, number, clip, "8", STAMP)
    strange = enter(shop, number, stud, "30", STAMP)
    assert (strange.place, strange.elsewhere) == ("B1", "B2")
    assert strange.sentence.endswith("By the books it lies in B2.")
    found = [enter(shop, number, hood, "3.9 m", STAMP) for _ in range(2)][-1]
    assert (found.state, found.expected) == ("counted", "0.00 m")
    done = close(shop, number, LATER)
    assert [(one.tag, one.place) for one in done.elsewhere] == [(stud, "B1")]
    assert (facts(shop, hood)["Held"], facts(shop, hood)["Place"]) == ("3.90 m", "B1")
    assert sound(shop)


def test_two_people_count_on_one_sheet_and_a_count_that_is_left_books_nothing(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, bin_of("clip", 8), bin_of("stud", 30))
    (clip,) = tags(shop, "clip")
    first, second = begin(shop, "clip", STAMP), begin(shop, "clip", LATER)
    assert (first.is_new, second.is_new, second.sheet.number) == (True, False, first.sheet.number)
    number = first.sheet.number
    enter(shop, number, clip, "8", STAMP)
    before = dump(shop)
    assert not enter(shop, number, clip, "8", LATER).changed_anything
    with pytest.raises(Refusal, match=r"is counted already \(AB\): 8 stands"):
        enter(shop, number, clip, "7", LATER)
    with pytest.raises(Refusal, match="is Stud; sheet 1 counts Clip"):
        enter(shop, number, tags(shop, "stud")[0], "30", LATER)
    with pytest.raises(Refusal, match=r"There is no count sheet 9. Open are 1 \(clip\)"):
        enter(shop, 9, clip, "8", LATER)
    assert changed_tables(before, dump(shop)) == set()
    leave(shop, number, LATER)
    with pytest.raises(Refusal, match=r"sheet 1 \(clip\) is left. Begin another"):
        close(shop, number, LATER)
    assert sheets(shop) == ()
    assert changed_tables(before, dump(shop)) == {"count_sheet", "job"}


@pytest.mark.parametrize(
    ("what", "sentence"),
    [("B9", "no place and no item 'B9'"), ("carpet", "One item is counted at a time"), (" ", "no place and no item")],
)
def test_a_count_of_what_there_is_not_is_refused(sqlite_shop: Shop, tmp_path: Path, what: str, sentence: str) -> None:
    stock_shop(sqlite_shop, tmp_path)
    with pytest.raises(Refusal, match=sentence):
        begin(sqlite_shop, what, STAMP)


def test_the_valuable_and_the_busy_are_due_more_often_and_each_says_why(sqlite_shop: Shop, tmp_path: Path) -> None:
    shop = sqlite_shop
    stock_shop(
        shop, tmp_path, roll(HOOD, 9_000, value="900.00"), roll("binding/red", 90_000), bin_of("clip", 8),
        bin_of("stud", 9, place="B2"),
    )  # fmt: skip
    assert due(shop, _in_days(1)).due == ()
    number = clips_for(shop)
    pick(shop, number, tags(shop, "clip")[0], Stamp("AB", _in_days(60)))
    found = due(shop, _in_days(90))
    assert [(one.place, one.every_days, one.days) for one in found.due] == [("R1", 90, 90), ("B1", 90, 90)]
    assert "worth 900.00 GBP, more than the average place" in found.due[0].because
    assert [(one.place, one.due) for one in found.to_come] == [("B2", date(2026, 11, 25) + timedelta(days=180))]
    sheet_number = begin(shop, "R1", Stamp("AB", _in_days(90))).sheet.number
    close(shop, sheet_number, Stamp("AB", _in_days(90)), left=None)
    assert [one.place for one in due(shop, _in_days(91)).due] == ["B1"]


def test_a_count_closed_while_somebody_picks_comes_to_the_same(shop: Shop, database: Database, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("binding/red", 9_000), bin_of("clip", 10), bin_of("clip", 10, "X", place="B2"))
    numbers = [clips_for(shop, wanted) for wanted in (SOON, LATE_WANTED)]
    at = {stop.order: stop.tag for stop in walk(shop, numbers).stops if stop.item == "clip"}
    assert len(set(at.values())) == 2
    closes = []
    for number in numbers:
        sheet_number = counting(shop, facts(shop, at[number])["Place"])
        for _ in range(2):
            enter(shop, sheet_number, at[number], "7", STAMP)
        closes.append(f"close {sheet_number}")
    results = race(database, closes, [f"pick {number} {at[number]}" for number in numbers])
    assert results == [("done", "done")] * 2
    assert free(shop, "clip") == 2 * (10 - 6 - 3)
    assert audit(shop).faults == ()


STEP = st.tuples(
    st.sampled_from(["enter", "enter", "enter", "pick", "move", "scrap", "quarantine", "release", "close"]),
    st.integers(0, 5),
    st.integers(0, 12),
)


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(STEP, min_size=3, max_size=12))
def test_whatever_moves_while_counts_go_on_only_their_differences_are_booked(
    sqlite_shop: Shop, tmp_path_factory: pytest.TempPathFactory, steps: list[tuple[str, int, int]]
) -> None:
    """The clips that there are change by what is picked, what is scrapped and what the counts book, and by no more."""
    shop = sqlite_shop
    if not dump(shop)["holding"]:
        bins = (bin_of("clip", 10), bin_of("clip", 9, place="B2"), bin_of("clip", 8, "X"))
        stock_shop(shop, tmp_path_factory.mktemp("stock"), roll("binding/red", 9_000), *bins)
    numbers = [one[1] for one in dump(shop)["customer_order"]] or [clips_for(shop, SOON), clips_for(shop)]
    there = _clips(shop)
    for what, which, amount in steps:
        known = tags(shop, "clip")
        tag, number = known[which % len(known)], begin(shop, ("B1", "B2")[which % 2], STAMP).sheet.number
        with suppress(Refusal):
            if what == "enter":
                enter(shop, number, tag, str(amount), STAMP)
            elif what == "move":
                move_part(shop, tag, str(amount), ("B1", "B2")[amount % 2], LATER)
            elif what == "quarantine":
                quarantine(shop, tag, "rusty", LATER, str(amount))
            elif what == "release":
                release(shop, tag, "cleaned", LATER)
            elif what == "close":
                there += sum(one.booked for one in close(shop, number, LATER, left=None).differences)
            else:
                there -= _taken(shop, what, numbers[which % 2], tag, amount)
        assert _clips(shop) == there
    assert sound(shop)


def _in_days(days: int) -> datetime:
    return STAMP.at + timedelta(days=days)


def _clips(shop: Shop) -> int:
    return sum(int(facts(shop, tag)["Held"]) for tag in tags(shop, "clip"))


def _taken(shop: Shop, what: str, number: str, tag: str, amount: int) -> int:
    before = _clips(shop)
    if what == "pick":
        pick(shop, number, tag, LATER)
    else:
        scrap(shop, tag, "bent", LATER, str(amount))
        assert before - _clips(shop) == amount
    return before - _clips(shop)
