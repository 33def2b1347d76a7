"""Bundles moved and orders packed on the screen, by keys alone."""

from __future__ import annotations

import pytest

from stockroom.screens import message_line
from stockroom.screens.app import StockroomApp
from stockroom.screens.bench_page import BenchPage
from stockroom.screens.pack_page import PackPage
from tests.screens.driving import in_a_loop, press, scan_line, screen_text, settle, shows
from tests.screens.made_up import ROLL, TICKET, jobs
from tests.screens.made_up_bench import (
    BOOT,
    FLOOR,
    HOOD,
    LEFT,
    OTHERS_LEFT,
    PACKET,
    RIGHT,
    MadeUpBench,
    MadeUpPacking,
)

INITIALS = ("f8", *"AB", "enter")
PACKING = (*INITIALS, *TICKET.number, "enter", "f7")


def scan(tag: str) -> tuple[str, ...]:
    """The keys that a scanner presses."""
    return (*tag, "enter")


@pytest.fixture
def bells(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Grows by one each time the terminal's bell rings."""
    rung: list[str] = []
    monkeypatch.setattr(StockroomApp, "bell", lambda _app: rung.append("bell"))
    return rung


# The bench


@in_a_loop
async def test_the_bench_says_where_each_bundle_is_since_when_and_who_moved_it() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f6")
        text = screen_text(pilot)
        for words in ("Bench  ·  2 bundles", BOOT, "out: Binding", "at the bench", "5 d", "OVERDUE 11 d"):
            assert words in text
        assert "since 20 Nov 2026 09:05 (5 days)" in text
        assert "1 Binding,  2 Sewing,  3 Outworker" in " ".join(text.split(" ")).replace("\n", "")


@pytest.mark.parametrize(
    ("typed", "moved"),
    [("2", ("sew", "")), ("sewing", ("sew", "")), ("SEW", ("sew", "")), ("3, Mary", ("out", "Mary"))],
)
@in_a_loop
async def test_a_scanned_bundle_goes_out_to_the_stage_that_is_typed(typed: str, moved: tuple[str, str]) -> None:
    bench = MadeUpBench()
    async with StockroomApp(jobs(bench=bench.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "f6", *scan(HOOD))
        row = pilot.app.screen.query_one(BenchPage).rows.row
        assert row is not None
        assert row.tag == HOOD
        await press(pilot, *typed, "enter")
        assert bench.done == [(HOOD, *moved, "AB")]
        assert f"Bundle {HOOD} is out" in shows(pilot, "#message")
        assert shows(pilot, "#scan-label") == "Scan ▸"


@in_a_loop
async def test_enter_takes_a_bundle_that_is_out_back_in_and_so_does_a_key() -> None:
    bench = MadeUpBench()
    async with StockroomApp(jobs(bench=bench.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "f6", *scan(BOOT), "enter")
        assert bench.done == [(BOOT, "", "", "AB")]
        await press(pilot, *scan(HOOD), "enter")
        assert len(bench.done) == 1, "what is at the bench needs a stage"
        await press(pilot, "escape", "down", "ctrl+o", *"bind", "enter", "ctrl+n")
        assert bench.done[1:] == [(HOOD, "bind", "", "AB"), (HOOD, "", "", "AB")]


@in_a_loop
async def test_a_scanned_piece_of_several_panels_is_sewn_and_where_its_bundle_is_out_that_is_asked() -> None:
    bench = MadeUpBench()
    async with StockroomApp(jobs(bench=bench.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "f6")
        assert f"To sew  Boot side, left ({LEFT}) of 2 panels" in screen_text(pilot)
        await press(pilot, *scan(LEFT))
        assert f"{BOOT} is out: Binding" in shows(pilot, "#message")
        await press(pilot, *"no", "enter", "escape", *scan(HOOD), "escape", *scan(BOOT), "escape")
        assert bench.done == []
        await press(pilot, "ctrl+f", "enter")
        assert bench.done == [("sew", LEFT, "bind", "AB")]
        assert f"Ctrl and P prints tag {LEFT}" in shows(pilot, "#message")
        assert f"Sewn, one piece each  Boot side, left ({LEFT}), AB" in screen_text(pilot)


@in_a_loop
async def test_an_unknown_stage_and_an_unknown_bundle_are_refused_in_words(bells: list[str]) -> None:
    bench = MadeUpBench(())
    async with StockroomApp(jobs(bench=bench.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "f6")
        assert "No bundles in the sewing room." in screen_text(pilot)
        await press(pilot, *scan(HOOD), *"glueing", "enter")
        assert "There is no stage 'glueing'" in shows(pilot, "#message")
        await press(pilot, *scan(HOOD), *"1", "enter")
        assert f"No bundle in this shop has the tag {HOOD}" in shows(pilot, "#message")
        assert bells == ["bell", "bell"]


@in_a_loop
async def test_what_is_cut_of_an_order_is_tied_and_what_is_not_is_named() -> None:
    bench = MadeUpBench()
    async with StockroomApp(jobs(bench=bench.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "f6", "ctrl+t", "enter", "ctrl+t", *"L-1043", "enter")
        assert bench.done == [("tie", "L-1042", "AB"), ("tie", "L-1043", "AB")]
        assert "! Not tied: Tool bag (line 2): TB shell is not cut." in shows(pilot, "#message")


@in_a_loop
async def test_the_filter_finds_what_is_with_whom() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f6", "f3", *"binding")
        assert shows(pilot, "#filter-count") == "1 of 2 bundles"


# Packing


@in_a_loop
async def test_one_scan_of_the_bundle_shows_the_list() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *scan(BOOT))
        text = screen_text(pilot)
        assert "Pack L-1042  ·  4 pieces left" in text
        for words in ("ready", "not ready", "Boot side, left", "scan", "or tick", "packet"):
            assert words in text


@in_a_loop
async def test_a_whole_order_is_packed_by_scans_and_a_tick_and_sent() -> None:
    packing = MadeUpPacking()
    async with StockroomApp(jobs(packing=packing.jobs)).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PACKING, *scan(LEFT), *scan(RIGHT), "ctrl+home", "space")
        assert packing.done == [
            ("pack", "L-1042", LEFT, 1, "AB"),
            ("pack", "L-1042", RIGHT, 1, "AB"),
            ("pack", "L-1042", FLOOR, 1, "AB"),
        ]
        assert "1 piece left to pack." in shows(pilot, "#message")
        assert "in 1 (AB)" in screen_text(pilot)
        packing.pieces.pop(PACKET)
        await press(pilot, "f5", "ctrl+l")
        assert packing.done[-1][0] == "pack", "nothing is sent before Enter"
        await press(pilot, "enter")
        assert packing.done[-1:] == [("send", "L-1042", "", "AB")]
        assert "Order L-1042 is sent: 1 parcel" in shows(pilot, "#message")
        assert "sent  ·" in shows(pilot, "#heading")


@in_a_loop
async def test_a_second_left_where_a_right_belongs_is_refused_in_words_and_with_the_bell(bells: list[str]) -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PACKING, *scan(LEFT), *scan(OTHERS_LEFT))
        assert "That is a second left one" in shows(pilot, "#message")
        assert f"what is missing is Boot side, right ({RIGHT})" in shows(pilot, "#message")
        assert bells == ["bell"]
        assert scan_line(pilot).spent


@in_a_loop
async def test_what_must_be_scanned_is_not_ticked_and_what_lacks_something_is_not_packed(
    bells: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(message_line, "REFUSAL_STAYS_SECONDS", 0.0)
    packing = MadeUpPacking()
    async with StockroomApp(jobs(packing=packing.jobs)).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PACKING, "down", "space")
        assert "is not ticked but scanned" in shows(pilot, "#message")
        await press(pilot, *scan(PACKET))
        assert "is not ready: 4 turn-button studs not picked" in shows(pilot, "#message")
        assert packing.done == []
        assert bells == ["bell", "bell"]


@in_a_loop
async def test_scanning_a_piece_twice_does_no_harm_and_says_so() -> None:
    packing = MadeUpPacking()
    async with StockroomApp(jobs(packing=packing.jobs)).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PACKING, *scan(LEFT), *scan(LEFT))
        assert "is in parcel 1 already (AB)" in shows(pilot, "#message")
        assert len(packing.done) == 1


@in_a_loop
async def test_a_piece_is_taken_out_again_and_a_long_parcel_is_begun() -> None:
    packing = MadeUpPacking()
    async with StockroomApp(jobs(packing=packing.jobs)).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PACKING, *scan(LEFT), "ctrl+r")
        assert packing.done[-1:] == [("unpack", "L-1042", LEFT, "AB")]
        await press(pilot, "ctrl+n", *"crate", "enter")
        assert "'box' or 'long parcel', not 'crate'" in shows(pilot, "#message")
        await press(pilot, "ctrl+n", *"long parcel", "enter", *scan(LEFT))
        assert packing.done[-2:] == [("parcel", "L-1042", "long parcel", "AB"), ("pack", "L-1042", LEFT, 2, "AB")]
        await press(pilot, "ctrl+n", *"1", "enter", *scan(RIGHT))
        assert packing.done[-1:] == [("pack", "L-1042", RIGHT, 1, "AB")]
        assert pilot.app.screen.query_one(PackPage).named == ("L-1042",)


@in_a_loop
async def test_an_incomplete_order_is_refused_and_goes_out_only_with_a_reason(bells: list[str]) -> None:
    packing = MadeUpPacking()
    async with StockroomApp(jobs(packing=packing.jobs)).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PACKING, *scan(LEFT), "ctrl+l", "enter")
        assert "Order L-1042 is not complete: Boot floor" in shows(pilot, "#message")
        assert bells == ["bell"]
        await press(pilot, "ctrl+k", "enter")
        assert packing.done[-1][0] == "pack", "without a reason it does not go"
        await press(pilot, *"the car leaves today", "enter")
        assert packing.done[-1:] == [("send", "L-1042", "the car leaves today", "AB")]
        assert "! Owed: Boot floor" in shows(pilot, "#message")
        assert "Sent incomplete: the car leaves today (AB)" in screen_text(pilot)


@in_a_loop
async def test_a_spoilt_panel_is_named_with_the_reason() -> None:
    packing = MadeUpPacking()
    async with StockroomApp(jobs(packing=packing.jobs)).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PACKING, "ctrl+f", *"scissors slipped", "enter")
        assert packing.done == [("spoil", FLOOR, "", "scissors slipped", "AB")]
        assert "is to be cut again from R1042L" in shows(pilot, "#message")


@pytest.mark.parametrize("typed", ["2", "band"])
@in_a_loop
async def test_of_a_piece_sewn_from_several_panels_the_spoilt_one_is_chosen(typed: str, bells: list[str]) -> None:
    packing = MadeUpPacking()
    async with StockroomApp(jobs(packing=packing.jobs)).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PACKING, "down")
        assert "sewn from face and band" in " ".join(screen_text(pilot).split())
        await press(pilot, "ctrl+f")
        assert "is sewn from  1 face,  2 band." in shows(pilot, "#message")
        await press(pilot, *"3", "enter")
        assert "has no panel '3'. Type 1 to 2" in shows(pilot, "#message")
        assert bells == ["bell"]
        await press(pilot, *typed, "enter", *"stained", "enter")
        assert packing.done == [("spoil", LEFT, "band", "stained", "AB")]


@in_a_loop
async def test_a_roll_scanned_while_packing_opens_as_everywhere() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PACKING, *scan(ROLL))
        assert f"Roll {ROLL}" in shows(pilot, "#heading")
        await press(pilot, "escape")
        assert "Pack L-1042" in shows(pilot, "#heading")


@pytest.mark.parametrize("key", ["f4", "f7"])
@in_a_loop
async def test_where_no_order_is_shown_picking_and_packing_say_what_to_do(key: str) -> None:
    async with StockroomApp(jobs(rail=lambda _today: ())).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, key)
        assert "No order is shown here." in shows(pilot, "#message")
