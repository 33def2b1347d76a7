"""One order from rail to sent in a real terminal, which is lost on the way: what was confirmed is kept."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from stockroom.jobs.audit import audit
from stockroom.jobs.pack import packing_list
from stockroom.jobs.pick import walk
from stockroom.store.database import Shop
from tests.cli.terminal import Terminal, terminal
from tests.jobs.workshop import taken_order
from tests.shops import line, plenty, stock_shop

F4, F6, F7, F8 = "\x1bOS", "\x1b[17~", "\x1b[18~", "\x1b[19~"
CTRL_L, CTRL_Q, CTRL_T = "\x0c", "\x11", "\x14"


@contextmanager
def at_the_rail(shop: Path) -> Iterator[Terminal]:
    """The screens on a shop, with initials given."""
    with terminal("--shop", shop, cwd=shop.parent, columns=80, rows=24) as screen:
        screen.wait_for("in hand")
        screen.press(F8)
        screen.wait_for("Initials ▸")
        screen.press("AB\r")
        screen.wait_for("AB  ·")
        yield screen


def fetch(screen: Terminal, shop: Shop, number: str) -> None:
    """Scan the first stop of the walk; a roll is cut as planned."""
    first, *others = walk(shop, [number]).stops
    screen.press(f"{first.tag}\r")
    if first.how == "cut":
        screen.wait_for("Cut ▸")
        screen.press("\r")
    screen.wait_for(f"{len(others)} stop{'' if len(others) == 1 else 's'} left")


def test_an_order_is_picked_packed_and_sent_though_the_terminal_is_lost_on_the_way(tmp_path: Path) -> None:
    path = tmp_path / "shop.db"
    with Shop.make(path) as shop:
        stock_shop(shop, tmp_path, *plenty())
        number = taken_order(shop, line("boot-set"))
        with at_the_rail(path) as screen:
            screen.press(F4)
            screen.wait_for("stops left")
            fetch(screen, shop, number)
            left = walk(shop, [number]).stops
            screen.running.send_signal(signal.SIGHUP)
            screen.end()
        assert walk(shop, [number]).stops == left, "what was confirmed is kept, and no more than that"

        with at_the_rail(path) as screen:
            screen.press(F4)
            screen.wait_for(f"{len(left)} stop")
            while walk(shop, [number]).stops:
                fetch(screen, shop, number)
            screen.press(F6)
            screen.wait_for("Bench  ·")
            screen.press(CTRL_T)
            screen.wait_for("Tie which order")
            screen.press(f"{number}\r")
            screen.wait_for("Print the tags")
            screen.press(F7)
            screen.wait_for(f"Pack {number}")
            screen.press("".join(f"{piece.tag}\r" for piece in packing_list(shop, number).pieces))
            screen.wait_for("0 pieces left")
            screen.press(CTRL_L)
            screen.wait_for("is complete ▸")
            screen.press("\r")
            screen.wait_for(f"Order {number} is sent")
            screen.press(CTRL_Q)
            assert screen.end() == 0
        assert packing_list(shop, number).state == "sent"
        assert audit(shop).faults == ()
