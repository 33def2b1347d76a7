"""How the screens look, at the smallest size and at a large one. Look at a changed picture before you accept it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from stockroom.screens.app import StockroomApp
from stockroom.screens.calls import Jobs
from tests.screens.driving import Driver, press, settle
from tests.screens.made_up import PIECE, RAIL, ROLL, TICKET, jobs
from tests.screens.made_up_bench import BOOT, LEFT, OTHERS_LEFT, MadeUpBench
from tests.screens.made_up_goods import MadeUpGoods
from tests.screens.made_up_left_over import FROM_STOCK, LYING, OFFER, TO_PUT_AWAY
from tests.screens.made_up_low import GLUE_BIN
from tests.screens.made_up_walk import BINDING, CARPET, OTHER_CARPET, STRANGER, STUDS, MadeUpWalk

Compare = Callable[..., bool]
SIZES = pytest.mark.parametrize("size", [(80, 24), (160, 50)], ids=["80x24", "160x50"])
INITIALS = ("f8", *"AB", "enter")
MANY = tuple(replace(RAIL[number % 5], number=f"L-{2000 + number}") for number in range(5000))


@pytest.fixture(autouse=True)
def in_colour(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the tests are run must not change the picture."""
    monkeypatch.delenv("NO_COLOR", raising=False)


def same(compare: Compare, size: tuple[int, int], *keys: str, given: Jobs | None = None) -> bool:
    """Whether the screen looks as it did, after these keys."""

    async def drive(pilot: Driver) -> None:
        await settle(pilot)
        await press(pilot, *keys)

    return compare(StockroomApp(given or jobs()), terminal_size=size, run_before=drive)


@SIZES
def test_rail(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "down")


@SIZES
def test_rail_of_five_thousand_orders_at_its_end(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "ctrl+end", given=jobs(rail=lambda _today: MANY))


@SIZES
def test_rail_without_orders(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, given=jobs(rail=lambda _today: ()))


@SIZES
def test_rail_filtered(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "f3", *"hood")


@SIZES
def test_rail_in_the_light_theme(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "f9")


@SIZES
def test_ticket(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *TICKET.number, "enter")


@SIZES
def test_ticket_with_a_scanned_piece(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *PIECE, "enter")


@SIZES
def test_ticket_with_its_writing_scrolled(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *TICKET.number, "enter", "tab", "down", "down")


@SIZES
def test_ticket_offers_what_is_in_finished_stock(snap_compare: Compare, size: tuple[int, int]) -> None:
    offered = replace(TICKET, offers=(OFFER,), from_stock=(FROM_STOCK,))
    assert same(snap_compare, size, *TICKET.number, "enter", "ctrl+l", given=jobs(ticket=lambda *_: offered))


@SIZES
def test_ticket_of_a_cancelled_order(snap_compare: Compare, size: tuple[int, int]) -> None:
    cancelled = replace(
        TICKET, state="cancelled", needs=(), waits=(), shortages=(), left_over=LYING.sentences, to_put_away=TO_PUT_AWAY
    )
    assert same(snap_compare, size, *TICKET.number, "enter", "ctrl+l", given=jobs(ticket=lambda *_: cancelled))


@SIZES
def test_tag(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *ROLL, "enter")


@SIZES
def test_help(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *TICKET.number, "enter", "f1")


@SIZES
def test_refusal(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *"L-999", "enter")


@SIZES
def test_rail_with_marked_orders(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "space", "space")


@SIZES
def test_initials_asked(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "f4", *BINDING, "enter")


@SIZES
def test_pick_of_several_orders(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, "space", "space", "f4", "down")


@SIZES
def test_pick_after_a_scan(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, "f4", *BINDING, "enter")


@SIZES
def test_pick_refused(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, "f4", *STRANGER, "enter")


@SIZES
def test_pick_of_another_roll(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, "f4", *OTHER_CARPET, "enter")


@SIZES
def test_cut_offered(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, "f4", *CARPET, "enter")


@SIZES
def test_pick_with_nothing_left(snap_compare: Compare, size: tuple[int, int]) -> None:
    walk = MadeUpWalk()
    keys = (*BINDING, "enter", *CARPET, "enter", "enter", *STUDS, "enter")
    assert same(snap_compare, size, *INITIALS, "f4", *keys, given=jobs(picking=walk.jobs))


@SIZES
def test_pick_in_the_light_theme(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, "f9", "f4", "down")


@SIZES
def test_bench(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "f6")


@SIZES
def test_bench_asks_where_a_bundle_goes(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, "f6", *BOOT, "enter")


@SIZES
def test_bench_without_bundles(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "f6", given=jobs(bench=MadeUpBench(()).jobs))


@SIZES
def test_pack(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, "f7", *LEFT, "enter")


@SIZES
def test_pack_refuses_a_second_left_one(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, "f7", *LEFT, "enter", *OTHERS_LEFT, "enter")


@SIZES
def test_pack_sent_incomplete(snap_compare: Compare, size: tuple[int, int]) -> None:
    keys = (*LEFT, "enter", "ctrl+k", *"the car leaves today", "enter")
    assert same(snap_compare, size, *INITIALS, "f7", *keys)


@SIZES
def test_help_of_pick(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "f4", "f1")


@SIZES
def test_print_offered(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *TICKET.number, "enter", "ctrl+p")


@SIZES
def test_help_of_pack(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "f7", "f1")


@SIZES
def test_undo(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "ctrl+y", "down")


@SIZES
def test_undone_with_paper_to_throw_away(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, "ctrl+y", *("down",) * 3, "enter", "enter")


@SIZES
def test_running_low(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *"low", "enter", "down")


@SIZES
def test_a_shelf_tag_was_scanned(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, *GLUE_BIN, "enter")


GOODS_SAID = (*INITIALS, "ctrl+g", "enter", *"W4470", "enter", *"27 m", "enter", "enter", "enter", "enter")


@SIZES
def test_goods_in(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "ctrl+g", "down")


@SIZES
def test_goods_in_without_purchases(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "ctrl+g", given=jobs(goods=MadeUpGoods(()).jobs))


@SIZES
def test_goods_in_said_back_with_what_is_not_likely_asked(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *GOODS_SAID)


@SIZES
def test_goods_in_received(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *GOODS_SAID, *"yes", "enter", "enter")


@SIZES
def test_goods_in_without_a_purchase(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "ctrl+g", "ctrl+n", *"turn")


@SIZES
def test_goods_in_more_to_say(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, *INITIALS, "ctrl+g", "enter", *"W4470", "enter", "ctrl+o")


@SIZES
def test_help_of_goods_in(snap_compare: Compare, size: tuple[int, int]) -> None:
    assert same(snap_compare, size, "ctrl+g", "f1")
