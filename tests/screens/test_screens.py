"""What the screens do, driven by keys alone."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import date
from random import Random
from time import monotonic

import pytest
from textual import events
from textual.widgets import ContentSwitcher

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import make_tag
from stockroom.jobs.rail import RailEntry
from stockroom.jobs.show import Shown
from stockroom.jobs.ticket import Ticket
from stockroom.screens import message_line
from stockroom.screens.app import StockroomApp
from stockroom.screens.calls import already_open
from stockroom.screens.errands import SLOW_SECONDS
from stockroom.screens.frame import Frame
from stockroom.screens.key_line import KeyLine
from stockroom.screens.keys import keys_of
from stockroom.screens.page import Page
from stockroom.screens.stock_pages import STOCK_PAGES
from stockroom.screens.ticket_page import TicketPage
from tests.screens.driving import Driver, in_a_loop, press, scan_line, screen_text, settle, shows
from tests.screens.made_up import ORDER, PIECE, RAIL, ROLL, SHOWN_ROLL, TICKET, jobs, shown_for

UNKNOWN = make_tag("R", 999)
MISTYPED = ROLL[:-1] + ("A" if ROLL[-1] != "A" else "B")


def heading(pilot: Driver) -> str:
    return shows(pilot, "#heading")


@pytest.fixture
def bells(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Grows by one each time the terminal's bell rings."""
    rung: list[str] = []
    monkeypatch.setattr(StockroomApp, "bell", lambda _app: rung.append("bell"))
    return rung


# The rail


@in_a_loop
async def test_the_rail_says_when_each_order_is_wanted_how_ready_it_is_and_what_is_short() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        text = screen_text(pilot)
        for words in ("OVERDUE 11 d", " 4 Dec 2026", "open", "short", "waits 2", "not held yet", "███· 31/40"):
            assert words in text
        assert "OVERDUE 11 days" in text, "the highlighted order is shown in full below"
        assert "boot carpet, red: 1.20 m; turn-button fastener: 4" in text


@in_a_loop
async def test_more_columns_are_seen_on_a_wider_screen() -> None:
    async with StockroomApp(jobs()).run_test(size=(160, 50)) as pilot:
        await settle(pilot)
        text = screen_text(pilot)
        assert "14 Nov 2026  OVERDUE 11 days" in text
        assert "held 31 of 40" in text
        assert "hood cloth, fawn: 3.10 m" in text


@in_a_loop
async def test_enter_opens_the_highlighted_order_and_escape_comes_back_to_it() -> None:
    asked: list[str] = []

    def ticket(number: str, _today: date) -> Ticket:
        asked.append(number)
        return replace(TICKET, number=number)

    def show(text: str) -> Shown:
        return Shown("", "order", "", (), order=text)

    async with StockroomApp(jobs(ticket=ticket, show=show)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "down", "down", "enter")
        assert asked == ["L-1044"]
        assert "Ticket L-1044" in heading(pilot)
        await press(pilot, "escape")
        assert "Rail" in heading(pilot)
        await press(pilot, "enter")
        assert asked == ["L-1044", "L-1044"], "the highlight is where it was"


@pytest.mark.parametrize("words", ["fletcher", "1044", "touring", "CHASSIS not"])
@in_a_loop
async def test_the_filter_narrows_the_rail_by_customer_number_kit_or_car(words: str) -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f3", *words)
        assert shows(pilot, "#filter-count") == "1 of 5 orders"
        await press(pilot, "enter")
        assert pilot.app.focused is scan_line(pilot), "the scan line is ready again"
        assert "L-1044" in screen_text(pilot)
        assert "L-1043" not in screen_text(pilot)
        await press(pilot, "escape")
        assert "L-1043" in screen_text(pilot)


@in_a_loop
async def test_a_filter_that_matches_nothing_says_how_to_take_it_away() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "slash", *"zzz")
        assert "Nothing here matches 'zzz'." in screen_text(pilot)
        await press(pilot, "escape")
        assert "L-1042" in screen_text(pilot)


@in_a_loop
async def test_an_empty_rail_says_how_to_take_an_order() -> None:
    async with StockroomApp(jobs(rail=lambda _today: ())).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "stockroom take ORDER.toml" in screen_text(pilot)


@in_a_loop
async def test_refreshing_keeps_the_highlight_on_its_order() -> None:
    rails = [RAIL, RAIL[1:]]
    async with StockroomApp(jobs(rail=lambda _today: rails.pop(0))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "down", "down", "f5")
        assert "▸ 11 Dec 2026  L-1044" in screen_text(pilot)


# The ticket


@in_a_loop
async def test_the_ticket_says_what_it_is_for_what_it_waits_for_what_is_short_and_why() -> None:
    async with StockroomApp(jobs()).run_test(size=(160, 50)) as pilot:
        await press(pilot, *TICKET.number, "enter")
        text = screen_text(pilot)
        for words in (
            "Wanted 14 Nov 2026, OVERDUE 11 days",
            "RP 2417, Series 1, Ashgate, trim red, body green, hood black",
            "! This car: BF top: the filler hole is left solid",
            "Is the handles bag the long one or the short one?",
            "0.31 m of that lot is free.",
            "because chassis RP 2417 is before the change at RP 3000.",
            "Held from 2.10 m to 3.40 m, R1042L at Rack 3, upper, lot D17",
        ):
            assert words in text.replace("\n", " "), words


@in_a_loop
async def test_the_reasons_follow_the_highlighted_requirement() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *TICKET.number, "enter")
        await press(pilot, "ctrl+end")
        assert "Tool bags are black whatever the trim." in screen_text(pilot)


@in_a_loop
async def test_a_scanned_piece_is_highlighted_on_its_orders_ticket() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *PIECE, "enter")
        assert "Ticket L-1042" in heading(pilot)
        row = pilot.app.screen.query_one(TicketPage).rows.row
        assert row is not None
        assert (row.piece, row.hand) == ("BSL", "left")


@in_a_loop
async def test_the_filter_of_the_ticket_finds_what_is_short() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *TICKET.number, "enter")
        await press(pilot, "f3", *"short")
        assert shows(pilot, "#filter-count") == "1 of 6 requirements"
        assert "The rear board is covered in the boot carpet." in screen_text(pilot)


@in_a_loop
async def test_enter_on_a_requirement_opens_the_roll_where_it_is_held_or_says_that_there_is_none() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *TICKET.number, "enter")
        await press(pilot, "enter")
        assert f"Roll {ROLL}" in heading(pilot)
        await press(pilot, "escape", "ctrl+end", "enter")
        assert "Nothing is held for TB shell yet" in shows(pilot, "#message")


@in_a_loop
async def test_tab_lets_the_arrows_scroll_the_other_parts_of_a_ticket() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *TICKET.number, "enter")
        assert "Changed: CD 3 Nov 2026" not in screen_text(pilot)
        await press(pilot, "tab", "ctrl+end")
        assert "Changed: CD 3 Nov 2026" in screen_text(pilot)


@in_a_loop
async def test_going_back_shows_no_other_order_under_its_name_while_it_is_read() -> None:
    go = threading.Event()
    go.set()

    def ticket(number: str, _today: date) -> Ticket:
        assert go.wait(20)
        return replace(TICKET, number=number, customer=f"Customer of {number}")

    def show(text: str) -> Shown:
        return Shown("", "order", "", (), order=text)

    async with StockroomApp(jobs(ticket=ticket, show=show)).run_test(size=(80, 24)) as pilot:
        await press(pilot, *"L-1", "enter")
        await press(pilot, *"L-2", "enter")
        assert "Customer of L-2" in heading(pilot)
        go.clear()
        await pilot.press("escape")
        assert "L-2" not in screen_text(pilot)
        go.set()
        await settle(pilot)
        assert "Customer of L-1" in heading(pilot)


# Scanning


@in_a_loop
async def test_a_tag_opens_its_page_with_promises_and_movements() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *ROLL, "enter")
        text = screen_text(pilot)
        assert f"Roll {ROLL}" in heading(pilot)
        assert "for L-1042, Ann Carpenter" in text
        assert "cut 0.80 m, 5.40 m left (AB)" in text
        assert scan_line(pilot).value == "", "what was opened is cleared from the line"
        await press(pilot, *ORDER, "enter")
        assert "Ticket L-1042" in heading(pilot)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        (MISTYPED, "was mistyped: its check character does not fit"),
        (UNKNOWN, f"No {UNKNOWN} in this shop."),
        ("L-999", "There is no order 'L-999'."),
    ],
)
@in_a_loop
async def test_what_names_nothing_is_refused_in_words_and_with_the_bell(
    typed: str, sentence: str, bells: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(message_line, "REFUSAL_STAYS_SECONDS", 0.0)
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *typed, "enter")
        assert sentence in shows(pilot, "#message")
        assert bells == ["bell"]
        assert "Rail" in heading(pilot)
        assert scan_line(pilot).spent, "it stays readable, selected, for the next scan to replace"
        await press(pilot, *ROLL, "enter")
        assert f"Roll {ROLL}" in heading(pilot)
        assert shows(pilot, "#message") == ""
        assert bells == ["bell"]


@in_a_loop
async def test_moving_after_a_refusal_opens_the_row_and_not_the_refused_text_again(bells: list[str]) -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await press(pilot, *MISTYPED, "enter")
        await press(pilot, "down", "up", "enter")
        assert "Ticket L-1042" in heading(pilot)
        assert bells == ["bell"]


@in_a_loop
async def test_thirty_codes_that_come_all_at_once_are_opened_in_order(bells: list[str]) -> None:
    codes = [make_tag("R", serial) for serial in range(100, 130)]
    seen: list[str] = []

    def show(text: str) -> Shown:
        seen.append(text)
        if text == codes[3]:
            raise Refusal(f"No {text} in this shop.")
        return replace(SHOWN_ROLL, tag=text)

    app = StockroomApp(jobs(show=show))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for code in codes:
            for character in code:
                app.post_message(events.Key(character, character))
            app.post_message(events.Key("enter", "\r"))
        for _ in range(200):
            await settle(pilot)
            if len(seen) == len(codes):
                break
        await settle(pilot)
        assert seen == codes
        assert f"Roll {codes[-1]}" in heading(pilot)
        assert "No R103" in shows(pilot, "#message"), "what was refused on the way can still be read"
        assert bells == ["bell"]
        assert scan_line(pilot).value == ""


@in_a_loop
async def test_what_is_typed_while_a_job_runs_is_kept_when_its_page_opens() -> None:
    go = threading.Event()

    def slow(text: str) -> Shown:
        assert go.wait(20)
        return shown_for(text)

    async with StockroomApp(jobs(show=slow)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press(*ROLL, "enter", *"L-10")
        go.set()
        await settle(pilot)
        assert f"Roll {ROLL}" in heading(pilot)
        assert scan_line(pilot).value == "L-10"


@in_a_loop
async def test_a_scan_while_the_filter_is_typed_into_opens_the_tag_and_leaves_the_filter_as_it_was() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f3", *"hood", *ROLL, "enter")
        assert f"Roll {ROLL}" in heading(pilot)
        await press(pilot, "escape")
        assert shows(pilot, "#filter-count") == "2 of 5 orders"


@in_a_loop
async def test_a_paste_of_several_codes_is_opened_code_by_code_and_obeys_nothing() -> None:
    seen: list[str] = []

    def show(text: str) -> Shown:
        seen.append(text)
        return shown_for(ROLL)

    app = StockroomApp(jobs(show=show))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        scan_line(pilot).post_message(events.Paste(f"{ROLL}\r\n{PIECE}\n\x1b[2Jx"))
        await settle(pilot)
        assert seen == [ROLL, PIECE]
        assert scan_line(pilot).value == r"\x1b[2Jx"


# Trouble, and things that take long


@in_a_loop
async def test_a_job_that_takes_over_half_a_second_says_that_it_is_at_work() -> None:
    go = threading.Event()
    app = StockroomApp(jobs(rail=lambda _today: RAIL if go.wait(20) else ()))
    async with app.run_test(size=(80, 24)) as pilot:
        begun = monotonic()
        while not shows(pilot, "#message") and monotonic() < begun + 20:
            await pilot.pause(SLOW_SECONDS / 10)
        assert shows(pilot, "#message").startswith("Reading the rail …")
        go.set()
        await settle(pilot)
        assert shows(pilot, "#message") == ""
        assert "L-1042" in screen_text(pilot)


@in_a_loop
async def test_a_fault_of_the_program_is_a_sentence_and_the_screen_stays_up(bells: list[str]) -> None:
    answers: list[Exception | tuple[RailEntry, ...]] = [
        OSError("disk gone [red]"),
        Refusal("No shop there.", ("Look again.",)),
        RAIL,
    ]

    def rail(_today: date) -> tuple[RailEntry, ...]:
        answer = answers.pop(0)
        if isinstance(answer, Exception):
            raise answer
        return answer

    async with StockroomApp(jobs(rail=rail)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "OSError: disk gone [red]" in shows(pilot, "#message")
        await press(pilot, "f5")
        assert shows(pilot, "#message") == "! No shop there. Look again."
        await press(pilot, "f5")
        assert "L-1042" in screen_text(pilot)
        assert bells == ["bell", "bell"]


@in_a_loop
async def test_jobs_are_called_off_the_screens_thread() -> None:
    threads: set[int] = set()

    def rail(_today: date) -> tuple[RailEntry, ...]:
        threads.add(threading.get_ident())
        return RAIL

    async with StockroomApp(jobs(rail=rail)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f5")
    assert len(threads) == 1
    assert threading.get_ident() not in threads


@pytest.mark.parametrize("size", [(80, 24), (160, 50), (40, 10), (20, 5)])
@in_a_loop
async def test_markup_and_control_characters_in_names_are_shown_and_obeyed_nowhere(size: tuple[int, int]) -> None:
    name = "[red]x[/] <b>\x1b[2J\u202e[@click=app.quit]y"
    hostile_rail = tuple(replace(entry, customer=name, kits=(name,), cars=(name,), short=(name,)) for entry in RAIL)
    hostile_ticket = replace(
        TICKET, customer=name, note=name, shortages=(name,), history=(name,),
        needs=tuple(replace(need, title=name, reasons=(name,)) for need in TICKET.needs),
        lines=tuple(replace(line, title=name, changes=(name,)) for line in TICKET.lines),
    )  # fmt: skip
    hostile_roll = replace(SHOWN_ROLL, title=name, facts=((name, name),), promises=(name,), movements=(name,))

    def show(text: str) -> Shown:
        return hostile_roll if text == ROLL else shown_for(text)

    app = StockroomApp(
        replace(jobs(lambda _today: hostile_rail, lambda _number, _today: hostile_ticket, show), shop_name=name)
    )
    async with app.run_test(size=size) as pilot:
        for codes in ((), (*TICKET.number, "enter"), (*ROLL, "enter"), ("f1",)):
            await press(pilot, *codes)
            lines = screen_text(pilot).split("\n")
            assert "".join(lines).isprintable()
            if size[0] >= 80:
                assert "[red]x[/] <b>\\x1b[2J\\u202e[@clic" in "".join(lines)


# Keys


WAYS: dict[str, tuple[str, ...]] = {
    "rail": (),
    "ticket": (*TICKET.number, "enter"),
    "tag": (*ROLL, "enter"),
    "pick": ("f4",),
    "bench": ("f6",),
    "goods": ("ctrl+g",),
    "pack": ("f7",),
    "help": ("f1",),
}
"""The keys that lead to each page."""


@pytest.mark.parametrize("name", [name for name in WAYS if name != "help"])
@in_a_loop
async def test_help_lists_every_key_of_the_page_and_fits_the_smallest_screen(name: str) -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *WAYS[name])
        for way_in, way_out in (("f1", "f1"), ("question_mark", "escape")):
            await press(pilot, way_in)
            text = screen_text(pilot)
            page = pilot.app.screen.query_one(f"#{name}", Page)
            assert f"Keys on this page: {name}" in text
            for key in (key for key in keys_of(page) if key.help):
                assert f"{key.shown:<5}" in text
                assert key.help in text
            assert pilot.app.screen.query_one("#help-text").max_scroll_y == 0, "nothing is below the edge"
            await press(pilot, way_out)
            assert "Help" not in heading(pilot)


@pytest.mark.parametrize("name", WAYS)
@in_a_loop
async def test_every_key_of_every_page_fits_eighty_columns(name: str) -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *WAYS[name])
        screen = pilot.app.screen
        keys = keys_of(screen.query_one(f"#{name}", Page))
        assert [key for *_, key in screen.query_one(KeyLine).places()] == [key for key in keys if key.name]


@pytest.mark.parametrize("key", ["ctrl+q", "ctrl+c"])
@in_a_loop
async def test_leaving_is_harmless_also_while_a_job_runs(key: str) -> None:
    go = threading.Event()
    app = StockroomApp(jobs(rail=lambda _today: RAIL if go.wait(20) else ()))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press(key)
        await pilot.pause()
        go.set()
    assert app.return_code == 0


@in_a_loop
async def test_the_other_theme_is_one_key_away() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        dark = pilot.app.current_theme.dark
        await press(pilot, "f9")
        assert pilot.app.current_theme.dark is not dark
        await press(pilot, "f9")
        assert pilot.app.current_theme.dark is dark


@in_a_loop
async def test_keys_that_come_before_the_pages_are_there_do_nothing() -> None:
    app = StockroomApp(jobs())
    early = Frame(already_open(jobs()))
    assert early.check_action("move", (1,)) is False
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert pilot.app.screen.check_action("move", (1,)) is True


@pytest.mark.parametrize("seed", range(3))
@in_a_loop
async def test_any_keys_in_any_order_leave_the_screens_up_and_ready(seed: int) -> None:
    functions = (f"f{number}" for number in range(1, 11))
    own = (f"ctrl+{letter}" for letter in "efgklnoprty")
    words = (*functions, *own, "escape", "up", "down", "pageup", "pagedown", "tab", "ctrl+home", "ctrl+end", "space")
    pool = (*words, "shift+tab", "enter", "enter", "slash", "question_mark", "left", "home", "delete", "backspace", "x")
    dice = Random(seed)
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for _ in range(60):
            code = dice.choice(((), (), (), (*ROLL, "enter"), (*PIECE, "enter"), (*TICKET.number, "enter")))
            for key in (*code, dice.choice(pool)):
                pilot.app.post_message(events.Key(key, key if len(key) == 1 else None))
            if dice.random() < 0.3:
                await settle(pilot)
        await settle(pilot)
        await press(pilot, "f2", "escape", "escape", "escape", "f2", *ROLL, "enter")
        assert f"Roll {ROLL}" in heading(pilot)


# The mouse


@in_a_loop
async def test_a_click_on_a_row_opens_it_and_typing_goes_on() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.click("#rail-rows", offset=(20, 1))
        await settle(pilot)
        assert "Ticket L-1042" in heading(pilot)
        await press(pilot, *ROLL, "enter")
        assert f"Roll {ROLL}" in heading(pilot)


@in_a_loop
async def test_the_key_line_can_be_clicked() -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.click("#keys", offset=(2, 0))
        await settle(pilot)
        assert "Help" in heading(pilot)


@pytest.mark.parametrize("name", [name for name in WAYS if name != "goods"])
@in_a_loop
async def test_the_pages_of_the_stock_are_a_key_or_a_typed_name_away_from_every_page(name: str) -> None:
    async with StockroomApp(jobs()).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for one in STOCK_PAGES:
            pressed = ((one.pressed,),) if one.pressed else ()
            for way in (*pressed, *((*word.upper(), "enter") for word in one.words)):
                await press(pilot, *WAYS[name], *way)
                assert pilot.app.screen.query_one("#pages", ContentSwitcher).current == one.page
                assert scan_line(pilot).value == ""
                await press(pilot, "f2")
