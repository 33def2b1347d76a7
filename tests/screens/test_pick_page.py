"""Picking and cutting on the screen, by keys alone."""

from __future__ import annotations

import threading
from datetime import date

import pytest
from textual import events

from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import make_tag
from stockroom.jobs.pick import Picked, WalkStop
from stockroom.jobs.ticket import Ticket
from stockroom.screens.app import StockroomApp
from stockroom.screens.pick_page import PickPage
from stockroom.screens.rail_page import RailPage
from tests.screens.driving import Driver, in_a_loop, press, scan_line, screen_text, settle, shows
from tests.screens.made_up import RAIL, TICKET, jobs, ticket_for
from tests.screens.made_up_walk import (
    BINDING,
    CARPET,
    CLIPS,
    OTHER_CARPET,
    OTHER_LOT,
    SHORT,
    STOPS,
    STRANGER,
    STUDS,
    WAITING,
    MadeUpWalk,
)

INITIALS = ("f8", *"AB", "enter")
PICKING = (*INITIALS, *TICKET.number, "enter", "f4")


def scan(tag: str) -> tuple[str, ...]:
    """The keys that a scanner presses."""
    return (*tag, "enter")


def app(walk: MadeUpWalk) -> StockroomApp:
    """The screens on a made-up walk."""
    return StockroomApp(jobs(picking=walk.jobs))


def stop(pilot: Driver) -> WalkStop | None:
    """The highlighted stop."""
    row: WalkStop | None = pilot.app.screen.query_one(PickPage).rows.row
    return row


@pytest.fixture
def bells(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Grows by one each time the terminal's bell rings."""
    rung: list[str] = []
    monkeypatch.setattr(StockroomApp, "bell", lambda _app: rung.append("bell"))
    return rung


@in_a_loop
async def test_the_walk_of_the_order_on_the_ticket_is_one_key_away() -> None:
    async with app(MadeUpWalk()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING)
        text = screen_text(pilot)
        assert "Pick L-1042  ·  3 stops left" in text
        for words in (BINDING, "Rack 3", "cut", "1.30 m", "D17", "CHANGED", "BF, BSL"):
            assert words in text
        assert WAITING[0][:40] in text
        assert SHORT[0][:40] in " ".join(text.split())


@in_a_loop
async def test_a_whole_order_is_picked_and_cut_by_scans() -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING)
        await press(pilot, *scan(BINDING))
        assert f"Order L-1042: 3.10 m of Edge binding, red taken from {BINDING}." in shows(pilot, "#message")
        assert stop(pilot) == STOPS[1], "the next stop is highlighted"
        assert scan_line(pilot).value == ""
        await press(pilot, *scan(CARPET))
        assert f"Cut 1.30 m from {CARPET} for order L-1042" in shows(pilot, "#message")
        assert walk.done[-1][0] == "pick", "nothing is cut before it is said"
        await press(pilot, "enter")
        assert walk.done[-1:] == [("cut", "L-1042", CARPET, 1300, "AB")]
        assert f"3.70 m is left on {CARPET}" in shows(pilot, "#message")
        await press(pilot, *scan(STUDS))
        assert "There is nothing left to fetch." in screen_text(pilot)
        assert "0 stops left" in shows(pilot, "#heading")


@pytest.mark.parametrize(("typed", "mm"), [("1.25", 1250), ("1250", 1250), ("1.25 m", 1250), ("50 in", 1270)])
@in_a_loop
async def test_another_length_is_typed_in_any_unit(typed: str, mm: int) -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, *scan(CARPET), *typed, "enter")
        if "." in typed and "m" not in typed:
            assert walk.done == [], "1.25 of what? It is asked again"
            assert scan_line(pilot).spent
            await press(pilot, *f"{typed} m", "enter")
        assert walk.done == [("cut", "L-1042", CARPET, mm, "AB")]


@pytest.mark.parametrize(
    ("said", "done"), [("all", ["cut, all out"]), ("Part", ["cut, what goes"]), ("", []), ("so", [])]
)
@in_a_loop
async def test_what_was_got_out_of_a_cut_too_short_for_its_panels_is_asked(said: str, done: list[str]) -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, *scan(CARPET), *"0.9 m", "enter")
        assert "! Panel face of BF does not go on 0.90 m.  Nothing is booked yet." in shows(pilot, "#message")
        assert (shows(pilot, "#scan-label"), walk.done) == ("What was got out ▸", [])
        await press(pilot, *said, "enter")
        assert [one[0] for one in walk.done] == done
        assert shows(pilot, "#scan-label") == ("Scan ▸" if done else "What was got out ▸")


@in_a_loop
async def test_escape_leaves_the_cut_and_the_roll_can_be_scanned_again() -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, *scan(CARPET), "escape")
        assert shows(pilot, "#scan-label") == "Scan ▸"
        await press(pilot, *scan(CARPET), *scan(CARPET))
        assert shows(pilot, "#scan-label") == "Cut ▸"
        assert walk.done == []


@in_a_loop
async def test_another_roll_of_the_lot_has_the_cut_planned_on_it_at_the_scan_and_that_is_said(bells: list[str]) -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, *scan(OTHER_CARPET))
        assert walk.done == [("pick", "L-1042", OTHER_CARPET, "AB")]
        assert f"! {OTHER_CARPET} will do too: it was planned on {CARPET}." in shows(pilot, "#message")
        assert shows(pilot, "#scan-label") == "Cut ▸"
        await press(pilot, "enter")
        assert walk.done[-1:] == [("cut", "L-1042", OTHER_CARPET, 1300, "AB")]
        assert bells == []


@in_a_loop
async def test_another_lot_is_refused_until_somebody_approves_the_mix_with_a_reason(bells: list[str]) -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, *scan(OTHER_LOT))
        assert f"! {OTHER_LOT} is dye lot D21" in shows(pilot, "#message")
        assert (bells, walk.done) == (["bell"], [])
        assert shows(pilot, "#scan-label") == "Mix approved, because ▸"
        await press(pilot, "escape", *scan(OTHER_LOT), *scan(CARPET))
        assert (shows(pilot, "#scan-label"), walk.done) == ("Cut ▸", []), "the right roll is scanned instead"
        await press(pilot, *scan(OTHER_LOT), *"under the lid", "enter")
        assert walk.done == [("mix, under the lid", "L-1042", OTHER_LOT, "AB")]
        assert shows(pilot, "#scan-label") == "Cut ▸"


@in_a_loop
async def test_what_no_order_of_the_walk_needs_is_refused_in_words_and_with_the_bell(bells: list[str]) -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, *scan(STRANGER))
        assert f"! {STRANGER} is something else; order L-1042 needs nothing from there." in shows(pilot, "#message")
        assert bells == ["bell"]
        assert walk.done == []
        assert "Pick L-1042" in shows(pilot, "#heading")


@in_a_loop
async def test_a_refusal_in_a_rush_of_scans_stays_before_what_is_told_of_the_next() -> None:
    async with app(MadeUpWalk()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, *scan(STRANGER), *scan(BINDING))
        told = shows(pilot, "#message")
        assert told.startswith(f"! {STRANGER} is something else")
        assert told.endswith(f"taken from {BINDING}.")


@in_a_loop
async def test_scanning_the_same_thing_twice_does_no_harm_and_says_so() -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, *scan(BINDING), *scan(BINDING))
        assert "was taken already. Nothing is taken again." in shows(pilot, "#message")
        assert walk.done == [("pick", "L-1042", BINDING, "AB")]


@in_a_loop
async def test_several_marked_orders_are_picked_in_one_walk_each_scan_for_the_first_that_needs_it() -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "space", "space")
        assert "2 marked" in shows(pilot, "#heading")
        assert "✓ L-1043" in screen_text(pilot)
        await press(pilot, "f4")
        assert "Pick L-1042, L-1043  ·  5 stops left" in shows(pilot, "#heading")
        await press(pilot, *scan(STUDS))
        assert "! 4 of it for order L-1043 too." in shows(pilot, "#message")
        await press(pilot, *scan(STUDS))
        assert len(walk.done) == 1, "a scanner reads twice now and then"
        assert f"{STUDS} was just scanned, and is done. Order L-1043 wants 4 of it too." in shows(pilot, "#message")
        await press(pilot, *scan(STUDS), *scan(CLIPS))
        assert [done[:3] for done in walk.done] == [
            ("pick", "L-1042", STUDS),
            ("pick", "L-1043", STUDS),
            ("pick", "L-1043", CLIPS),
        ]


@pytest.mark.parametrize(
    ("keys", "taken"),
    [(("enter",), [STUDS, STUDS]), (("escape",), [STUDS]), (scan(CLIPS), [STUDS, CLIPS])],
    ids=["enter takes it", "escape leaves it", "something else is scanned"],
)
@in_a_loop
async def test_what_the_next_order_wants_of_the_same_bin_is_asked_for(keys: tuple[str, ...], taken: list[str]) -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "space", "space", "f4", *scan(STUDS), *scan(STUDS))
        assert shows(pilot, "#scan-label") == "4 for L-1043 ▸"
        await press(pilot, *keys)
        assert [done[2] for done in walk.done] == taken
        assert shows(pilot, "#scan-label") == "Scan ▸"


@in_a_loop
async def test_only_so_much_is_there() -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, "ctrl+end", "ctrl+o", *"a few", "enter")
        assert f"{STUDS} is counted, in whole ones: 'a few' is no count." in shows(pilot, "#message")
        await press(pilot, *"5", "enter")
        assert walk.done == [("only 5", "L-1042", STUDS, "AB")]
        await press(pilot, "ctrl+home", "ctrl+o", *"2", "enter")
        assert "'2' would be 2 mm. Say the unit: 2 m, 2 yd or 2 mm." in shows(pilot, "#message")
        await press(pilot, *"2.5 m", "enter")
        assert walk.done[-1:] == [("only 2500", "L-1042", BINDING, "AB")]


@in_a_loop
async def test_what_was_picked_is_put_back_with_two_keys() -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, *scan(BINDING), "ctrl+r", "enter")
        assert walk.done[-1:] == [("put back", "L-1042", BINDING, "AB")]
        assert "3 stops left" in shows(pilot, "#heading")
        await press(pilot, *scan(STUDS), "ctrl+r", *scan(BINDING))
        assert "Nothing was picked from" in shows(pilot, "#message")


@in_a_loop
async def test_a_flaw_a_true_length_and_a_side_piece_are_written_down_for_the_highlighted_roll() -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, "down")
        await press(pilot, "ctrl+f", *"2 m", "enter", *"2.1 m", "enter", *"a stain", "enter")
        assert walk.done[-1:] == [("flaw", CARPET, 2000, 2100, "a stain", "AB")]
        assert "Planned on another roll now: order L-1050." in shows(pilot, "#message")
        await press(pilot, "ctrl+t", *"4.9 m", "enter")
        assert walk.done[-1:] == [("measure", CARPET, 4900, "AB")]
        assert "! Now short: Order L-1050" in shows(pilot, "#message")
        await press(pilot, "ctrl+k", *"1 m", "enter", *"40 cm", "enter", *"Rack 3", "enter")
        assert walk.done[-1:] == [("side piece", CARPET, 1000, 400, "Rack 3", "AB")]
        assert "prints tag R3000D" in shows(pilot, "#message")


# Initials


@in_a_loop
async def test_initials_are_asked_before_the_first_job_that_writes_and_kept() -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *TICKET.number, "enter", "f4", *scan(BINDING), *scan(STUDS))
        assert shows(pilot, "#scan-label") == "Initials ▸"
        assert walk.done == []
        await press(pilot, *"AB", "enter")
        assert [done[2:] for done in walk.done] == [(BINDING, "AB"), (STUDS, "AB")], "scans that waited, in order"
        assert shows(pilot, "#today").startswith("AB  ·")
        await press(pilot, "f8", *"CD", "enter", "ctrl+r", "enter")
        assert walk.done[-1][-1] == "CD"


@in_a_loop
async def test_initials_that_cannot_be_are_asked_again_and_escape_does_nothing(bells: list[str]) -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *TICKET.number, "enter", "f4", *scan(BINDING), *"Bartholomew", "enter")
        assert "Initials are 1 to 8 printable characters" in shows(pilot, "#message")
        misread = f"{BINDING[:-1]}{'A' if BINDING[-1] != 'A' else 'B'}"
        await press(pilot, *scan(misread))
        assert f"'{misread}' is a tag that was misread, and nobody's initials" in shows(pilot, "#message")
        assert bells == ["bell", "bell"]
        await press(pilot, "escape", "escape")
        assert shows(pilot, "#scan-label") == "Scan ▸"
        await press(pilot, *INITIALS)
        assert walk.done == [], "what was left is not done later"


@in_a_loop
async def test_help_can_be_read_in_the_middle_of_a_question() -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, *scan(CARPET), "f1")
        assert "Help" in shows(pilot, "#heading")
        for way_out in ("f1", "escape"):
            await press(pilot, way_out)
            assert "Pick" in shows(pilot, "#heading")
            assert shows(pilot, "#scan-label") == "Cut ▸"
            await press(pilot, "f1")
        await press(pilot, "f1", "enter")
        assert walk.done == [("cut", "L-1042", CARPET, 1300, "AB")]


@in_a_loop
async def test_going_to_another_page_leaves_the_question_and_says_what_was_not_done() -> None:
    walk = MadeUpWalk()
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *TICKET.number, "enter", "f4", *scan(BINDING))
        await pilot.press("f2")
        assert shows(pilot, "#scan-label") == "Scan ▸"
        await press(pilot, *INITIALS)
        assert walk.done == []


# Rushes, and others


@in_a_loop
async def test_thirty_scans_in_a_rush_are_all_handled_in_order() -> None:
    tags = [make_tag("B", serial) for serial in range(100, 130)]
    stops = [
        WalkStop(
            "L-1042", "Shelf", place, tag, "clip", "Spring clip", "", "hardware", "", "pick", "1", 0, 0, ("BF",), False
        )
        for place, tag in enumerate(tags)
    ]
    walk = MadeUpWalk(stops)
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING)
        for key in (key for tag in tags for key in scan(tag)):
            pilot.app.post_message(events.Key(key, key if len(key) == 1 else "\r"))
        for _ in range(200):
            await settle(pilot)
            if len(walk.done) == len(tags):
                break
        await settle(pilot)
        assert [done[2] for done in walk.done] == tags
        assert "0 stops left" in shows(pilot, "#heading")
        assert scan_line(pilot).value == ""


@in_a_loop
async def test_what_is_pressed_and_scanned_ahead_of_the_screen_means_what_the_screen_comes_to() -> None:
    walk, go = MadeUpWalk(), threading.Event()

    def slow(number: str, today: date) -> Ticket:
        assert go.wait(20)
        return ticket_for(number, today)

    async with StockroomApp(jobs(ticket=slow, picking=walk.jobs)).run_test(size=(80, 24)) as pilot:
        await press(pilot, *INITIALS, "down")
        assert pilot.app.screen.query_one(RailPage).orders() == (RAIL[1].number,), "another is highlighted"
        ahead = (*TICKET.number, "enter", "f4", *scan(BINDING), *scan(CARPET), *scan("1.2 m"), "f2", "down", "f4")
        for key in ahead:
            pilot.app.post_message(events.Key(key, key if len(key) == 1 else None))
        await pilot.pause()
        go.set()
        await settle(pilot)
        await settle(pilot)
        assert walk.done == [("pick", "L-1042", BINDING, "AB"), ("cut", "L-1042", CARPET, 1200, "AB")]
        assert f"Pick {RAIL[2].number}" in shows(pilot, "#heading")


@in_a_loop
async def test_what_another_does_shows_by_itself_and_what_is_typed_stays() -> None:
    walk = MadeUpWalk()
    count = [1]
    reads: list[int] = []

    def latest() -> int:
        reads.append(count[0])
        return count[0]

    async with StockroomApp(jobs(latest=latest, picking=walk.jobs)).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING, "down", *"R10")
        walk.pick("L-1042", BINDING, Stamp("CD", jobs().now()))
        count[0] = 2
        for _ in range(40):
            await pilot.pause(0.1)
            if "2 stops left" in shows(pilot, "#heading"):
                break
        assert "2 stops left" in shows(pilot, "#heading"), "within two seconds or so, without a key"
        assert scan_line(pilot).value == "R10"
        assert stop(pilot) == STOPS[1], "the highlight stays on its stop"


@in_a_loop
async def test_a_page_is_not_drawn_again_where_nothing_has_changed() -> None:
    count = [1]
    walk = MadeUpWalk()
    async with StockroomApp(jobs(latest=lambda: count[0], picking=walk.jobs)).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING)
        page = pilot.app.screen.query_one(PickPage)
        filled: list[object] = []
        page.fill = filled.append  # type: ignore[method-assign, assignment]
        pilot.app.screen._reader.look()  # type: ignore[attr-defined]
        await settle(pilot)
        count[0] = 2
        pilot.app.screen._reader.look()  # type: ignore[attr-defined]
        await settle(pilot)
        await settle(pilot)
        assert filled == []


@in_a_loop
async def test_a_shop_that_cannot_be_looked_at_is_told_once(bells: list[str]) -> None:
    gone = [False]

    def latest() -> int:
        if gone[0]:
            raise OSError("disk gone")
        return 1

    async with StockroomApp(jobs(latest=latest)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        gone[0] = True
        for _ in range(3):
            pilot.app.screen._reader.look()  # type: ignore[attr-defined]
            await settle(pilot)
        assert "disk gone" in shows(pilot, "#message")
        assert bells == ["bell"]
        gone[0] = False
        pilot.app.screen._reader.look()  # type: ignore[attr-defined]
        await settle(pilot)
        assert shows(pilot, "#message") == ""


@in_a_loop
async def test_leaving_in_the_middle_of_a_pick_loses_nothing_that_was_scanned() -> None:
    go, walk = threading.Event(), MadeUpWalk()
    plain_pick = walk.pick

    def slow(number: str, tag: str, stamp: Stamp) -> Picked:
        assert go.wait(20)
        return plain_pick(number, tag, stamp)

    walk.pick = slow  # type: ignore[method-assign]
    async with app(walk).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PICKING)
        await pilot.press(*BINDING, "enter")
        await pilot.press("ctrl+c")
        go.set()
    for _ in range(2000):
        if walk.done:
            break
        threading.Event().wait(0.01)
    assert walk.done == [("pick", "L-1042", BINDING, "AB")], "the job under way is finished"
