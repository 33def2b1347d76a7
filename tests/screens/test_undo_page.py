"""What was done is looked through and taken back on the screen, by keys alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockroom.screens.app import StockroomApp
from stockroom.screens.reading import Reader
from stockroom.screens.undo_page import UndoPage
from tests.screens.driving import comes, in_a_loop, press, screen_text, settle, shows
from tests.screens.made_up import jobs
from tests.screens.made_up_undo import DONE, MadeUpUndo, made

INITIALS = ("f8", *"AB", "enter")


@in_a_loop
async def test_it_says_who_did_what_and_when_and_whether_it_can_be_undone() -> None:
    async with StockroomApp(jobs(undoing=MadeUpUndo().jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "ctrl+y")
        # Whether each can be undone is looked up behind the rows, some at a time.
        text = await comes(pilot, "cannot be")
        for words in ("Undo  ·  6 jobs", "25 Nov 08:12", "can be", "cannot be", "undone (CD)", "an undo"):
            assert words in text
        await press(pilot, "down")
        assert "! It cannot be undone.  The cloth is cut. Measure what is left." in screen_text(pilot)
        await press(pilot, "down")
        assert "It took back job 41." in screen_text(pilot)


@in_a_loop
async def test_a_job_is_undone_when_it_was_asked_and_what_was_printed_is_named() -> None:
    undoing = MadeUpUndo()
    async with StockroomApp(jobs(undoing=undoing.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *"Undo", "enter", "down", "down", "down", "enter")
        assert shows(pilot, "#scan-label") == "Undo job 42 ▸"
        assert "Then void: tag R1043J, tag R1042L." in shows(pilot, "#message")
        assert not undoing.done
        await press(pilot, "enter", *"AB", "enter")
        assert undoing.done == [(42, "AB")]
        assert "Undone: receive 12.5 m" in shows(pilot, "#message")
        assert "! Throw away: tag R1043J, tag R1042L." in shows(pilot, "#message")
        assert "undone (AB)" in screen_text(pilot)


@pytest.mark.parametrize("keys", [("escape",), ("n", "enter")])
@in_a_loop
async def test_nothing_is_undone_where_the_answer_is_not_yes(keys: tuple[str, ...]) -> None:
    undoing = MadeUpUndo()
    async with StockroomApp(jobs(undoing=undoing.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "ctrl+y", "ctrl+t", *keys)
        assert not undoing.done
        assert shows(pilot, "#scan-label") == "Scan ▸"


@in_a_loop
async def test_what_cannot_be_undone_is_not_even_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    rung: list[str] = []
    monkeypatch.setattr(StockroomApp, "bell", lambda _app: rung.append("bell"))
    async with StockroomApp(jobs(undoing=MadeUpUndo().jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "ctrl+y", "down", "enter")
        assert "Job 44, cut R1042L for order L-1042, cannot be undone. The cloth is cut." in shows(pilot, "#message")
        assert shows(pilot, "#scan-label") == "Scan ▸"
        assert rung == ["bell"]


@in_a_loop
async def test_only_what_is_in_view_is_looked_at_and_again_when_something_else_was_done() -> None:
    undoing = MadeUpUndo([made(1000 - number, f"move R{number}", "AB", number) for number in range(400)])
    moment = [1]
    async with StockroomApp(jobs(undoing=undoing.jobs, latest=lambda: moment[0])).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "ctrl+y")
        seen = len(undoing.looked_at)
        assert 5 < seen < 24
        await press(pilot, "ctrl+end")
        assert undoing.looked_at[seen] == 601, "the highlighted one first"
        assert len(undoing.looked_at) < 48
        await press(pilot, "ctrl+home")
        undoing.there.insert(0, made(1001, "count B1", "CD", 0))
        moment[0] = 2
        reader: Reader = pilot.app.screen._reader  # type: ignore[attr-defined]  # the clock would do so in a second
        reader.look()
        await settle(pilot)
        page = pilot.app.screen.query_one(UndoPage)
        assert page.rows.row is not None
        assert page.rows.row.number == 1000, "the highlight stays on what it was on"
        assert {1000, 999} <= set(undoing.looked_at[-24:])


@in_a_loop
async def test_the_filter_finds_who_did_what() -> None:
    async with StockroomApp(jobs(undoing=MadeUpUndo().jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "ctrl+y", "f3", *"receive cd")
        assert shows(pilot, "#filter-count") == "1 of 6 jobs"


@in_a_loop
async def test_a_shop_in_which_nothing_was_done_says_so() -> None:
    async with StockroomApp(jobs(undoing=MadeUpUndo(()).jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "ctrl+y", "enter")
        assert "Nothing was done in this shop yet." in screen_text(pilot)
        assert "No job is highlighted." in shows(pilot, "#message")


@in_a_loop
async def test_a_job_that_somebody_else_undid_meanwhile_is_refused() -> None:
    undoing = MadeUpUndo()
    async with StockroomApp(jobs(undoing=undoing.jobs)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *INITIALS, "ctrl+y", "enter")
        undoing.there[0] = replace(DONE[0], why_not="It was undone already.")
        await press(pilot, "y", "enter")
        assert "It was undone already." in shows(pilot, "#message")
        assert not undoing.done
