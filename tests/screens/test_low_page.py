"""What runs out is put on the buying list by a scan, and tags are given anew, on the screen, by keys alone."""

from __future__ import annotations

from stockroom.screens.app import StockroomApp
from tests.screens.driving import in_a_loop, press, screen_text, settle, shows
from tests.screens.made_up import ROLL, jobs
from tests.screens.made_up_low import GLUE, GLUE_BIN, NEW_TAG, MadeUpLow
from tests.screens.made_up_printing import MadeUpPrinting

INITIALS = ("f8", *"AB", "enter")


@in_a_loop
async def test_a_scan_of_a_shelf_tag_says_that_it_runs_out_on_any_page_and_twice_is_once() -> None:
    low = MadeUpLow()
    async with StockroomApp(jobs(running_low=low.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f6", *GLUE_BIN, "enter", *"AB", "enter")
        assert low.done == [("low", GLUE_BIN, "AB")]
        assert "Contact adhesive is low: it is on the buying list. Taken back with ^Y, Enter;" in shows(
            pilot, "#message"
        )
        assert "Highly flammable." in screen_text(pilot), "what is in the bin is shown as well"
        await press(pilot, *GLUE_BIN, "enter")
        assert "on the buying list already" in shows(pilot, "#message")
        assert low.to_buy.count(GLUE) == 1


@in_a_loop
async def test_a_roll_that_is_scanned_and_a_bin_that_is_opened_from_a_list_say_nothing() -> None:
    low = MadeUpLow()
    async with StockroomApp(jobs(running_low=low.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, *ROLL, "enter", *"low", "enter", "down", "enter")
        assert GLUE_BIN in shows(pilot, "#heading"), "opened from the list"
        assert not low.done


@in_a_loop
async def test_the_list_shows_what_is_to_be_bought_and_what_has_a_day_with_what_is_to_be_minded() -> None:
    async with StockroomApp(jobs(running_low=MadeUpLow().jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *"LOW", "enter")
        text = screen_text(pilot)
        for words in ("Low  ·  1 to buy, 2 near their day", "to buy", "EXPIRED", "15 d left", "P-77"):
            assert words in text
        await press(pilot, "down")
        words = shows(pilot, "#low-text Static")
        for part in (
            "do not use it",
            "Highly flammable.",
            "In the solvent cabinet.",
            "Not by air.",
            "own rules come first",
        ):
            assert part in words


@in_a_loop
async def test_on_the_list_any_shelf_tag_or_code_goes_on_and_a_key_takes_one_off() -> None:
    low = MadeUpLow()
    async with StockroomApp(jobs(running_low=low.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, *"low", "enter", *GLUE_BIN, "enter", "ctrl+home", "ctrl+n")
        await press(pilot, "ctrl+o", *"adhesive", "enter")
        assert low.done == [("low", GLUE_BIN, "AB"), ("not wanted", "thread-black", "AB"), ("low", "adhesive", "AB")]
        await press(pilot, "ctrl+end", "ctrl+n")
        assert "Highlight something on the buying list" in shows(pilot, "#message")
        await press(pilot, *ROLL, "enter")
        assert "is no roll or bin of this shop" in shows(pilot, "#message")


@in_a_loop
async def test_nothing_to_buy_says_how_something_comes_there() -> None:
    async with StockroomApp(jobs(running_low=MadeUpLow((), ()).jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *"low", "enter", "enter", "ctrl+n")
        assert "Nothing is on the buying list, and nothing is near its day." in screen_text(pilot)


@in_a_loop
async def test_what_lost_its_tag_gets_a_new_one_which_is_printed_first() -> None:
    printing = MadeUpPrinting()
    async with StockroomApp(jobs(printing=printing)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, *ROLL, "enter", "ctrl+n", *"torn", "enter")
        assert f"Ctrl and P prints tag {NEW_TAG}." in shows(pilot, "#message")
        assert NEW_TAG in shows(pilot, "#heading")
        await press(pilot, "ctrl+p", "enter")
        assert printing.done == [(f"tag {NEW_TAG}", "AB")]
        await press(pilot, "escape")
        assert "Rail" in shows(pilot, "#heading"), "Esc does not lead to the tag that is void"
