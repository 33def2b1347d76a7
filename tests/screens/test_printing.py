"""Printing from every page, by keys alone."""

from __future__ import annotations

import pytest

from stockroom.screens.app import StockroomApp
from tests.screens.driving import in_a_loop, press, settle, shows
from tests.screens.made_up import ROLL, TICKET, jobs
from tests.screens.made_up_bench import BOOT, FLOOR, LEFT, PACKET, RIGHT, MadeUpPacking
from tests.screens.made_up_printing import MadeUpPrinting
from tests.screens.made_up_walk import CARPET, MadeUpWalk

INITIALS = ("f8", *"AB", "enter")


@pytest.mark.parametrize(
    ("way", "answer", "titles"),
    [
        ((), "", ["pick list of L-1042"]),
        ((), "2 3", ["piece tags of L-1042", "fitting sheet of L-1042"]),
        (
            ("space", "space"),
            "all",
            [f"{what} of L-1042, L-1043" for what in ("pick list", "piece tags", "fitting sheet")],
        ),
        ((*TICKET.number, "enter"), "2", ["piece tags of L-1042"]),
        ((*ROLL, "enter"), "", [f"tag {ROLL}"]),
        (("f4",), "", ["pick list of L-1042"]),
        (("f6",), "", [f"tag {BOOT}"]),
        (("f6",), "2", ["bundle tags of L-1042"]),
        (("f7",), "", ["packing list of L-1042"]),
        (("f7",), "3", [f"tag {FLOOR}"]),
    ],
)
@in_a_loop
async def test_one_key_prints_what_makes_sense_where_one_is(
    way: tuple[str, ...], answer: str, titles: list[str]
) -> None:
    printing = MadeUpPrinting()
    async with StockroomApp(jobs(printing=printing)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, *way, "ctrl+p")
        assert titles[0] in shows(pilot, "#message")
        assert printing.done == [], "nothing is printed before Enter"
        await press(pilot, *answer, "enter")
        assert printing.done == [(title, "AB") for title in titles]
        assert "Printed in /shop/paper" in shows(pilot, "#message")
        assert shows(pilot, "#scan-label") == "Scan ▸"


@in_a_loop
async def test_initials_are_asked_before_the_first_paper_and_then_it_is_printed() -> None:
    printing = MadeUpPrinting()
    async with StockroomApp(jobs(printing=printing)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "ctrl+p", "enter")
        assert shows(pilot, "#scan-label") == "Initials ▸"
        await press(pilot, *"AB", "enter")
        assert printing.done == [("pick list of L-1042", "AB")]


@pytest.mark.parametrize("typed", ["4", "0", "tags", "1 9"])
@in_a_loop
async def test_what_is_none_of_the_papers_is_refused_and_asked_again(typed: str) -> None:
    printing = MadeUpPrinting()
    async with StockroomApp(jobs(printing=printing)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "ctrl+p", *typed, "enter")
        assert f"'{typed}' is none of the papers. Type 1 to 3, or 'all'" in shows(pilot, "#message")
        await press(pilot, "1", "enter")
        assert printing.done == [("pick list of L-1042", "AB")]


@in_a_loop
async def test_where_there_is_nothing_to_print_it_says_so() -> None:
    async with StockroomApp(jobs(rail=lambda _today: ())).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "ctrl+p")
        assert shows(pilot, "#message") == "There is nothing to print here."


@in_a_loop
async def test_a_printer_that_fails_rings_and_says_where_the_paper_is(monkeypatch: pytest.MonkeyPatch) -> None:
    rung: list[str] = []
    monkeypatch.setattr(StockroomApp, "bell", lambda _app: rung.append("bell"))
    printing = MadeUpPrinting("bench did not take pick-list.pdf: it is on fire. The PDF is kept.")
    async with StockroomApp(jobs(printing=printing)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "ctrl+p", "enter")
        message = shows(pilot, "#message")
        assert "! bench did not take pick-list.pdf: it is on fire. The PDF is kept." in message
        assert "Printed in /shop/paper: pick-list.pdf." in message
        assert rung == ["bell"]


@in_a_loop
async def test_a_new_remnant_is_offered_first_until_its_tag_is_printed() -> None:
    printing, walk = MadeUpPrinting(), MadeUpWalk(offcut="R3001B")
    async with StockroomApp(jobs(printing=printing, picking=walk.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "f4", *CARPET, "enter", "enter")
        assert "Ctrl and P prints tag R3001B." in shows(pilot, "#message")
        await press(pilot, "ctrl+p", *"at 5", "enter")
        assert printing.start_at == 5, "the sheet of labels was used before"
        await press(pilot, "ctrl+p", "enter")
        assert [title for title, _ in printing.done] == ["tag R3001B", "pick list of L-1042"]


@in_a_loop
async def test_the_kit_tags_are_offered_first_when_the_last_piece_is_packed() -> None:
    printing, packing = MadeUpPrinting(), MadeUpPacking()
    packing.pieces.pop(PACKET)
    async with StockroomApp(jobs(printing=printing, packing=packing.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "f7", *LEFT, "enter", *RIGHT, "enter")
        assert "Ctrl and P" not in shows(pilot, "#message")
        await press(pilot, *FLOOR, "enter")
        assert "Every piece is packed. Ctrl and P prints kit tags of L-1042." in shows(pilot, "#message")
        await press(pilot, "ctrl+p", "enter")
        assert printing.done == [("kit tags of L-1042", "AB")]
