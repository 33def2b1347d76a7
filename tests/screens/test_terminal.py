"""One order from rail to sent in a real terminal, which is lost on the way: what was confirmed is kept.

The tags are printed on the way, read back from the paper, and scanned in the next step.
"""

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
from tests.labels.reading import codes
from tests.shops import line, plenty, stock_shop

F2, F4, F6, F8 = "\x1bOQ", "\x1bOS", "\x1b[17~", "\x1b[19~"
CTRL_L, CTRL_P, CTRL_Q, CTRL_T = "\x0c", "\x10", "\x11", "\x14"


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


def printed(screen: Terminal, paper: Path, answer: str = "") -> list[str]:
    """Print from where one is; the codes on the paper that is there then, as a scanner reads them."""
    assert not paper.exists()
    screen.press(CTRL_P)
    screen.wait_for("Print ▸")
    screen.press(f"{answer}\r")
    screen.wait_for("Printed in")
    return [code for page in codes(paper.read_bytes(), 300) for code in page]


def test_an_order_is_picked_packed_and_sent_though_the_terminal_is_lost_on_the_way(tmp_path: Path) -> None:
    path = tmp_path / "shop.db"
    with Shop.make(path) as shop:
        stock_shop(shop, tmp_path, *plenty())
        number = taken_order(shop, line("boot-set"))
        paper = tmp_path / "paper"
        with at_the_rail(path) as screen:
            pieces = printed(screen, paper / f"tags-{number}.pdf", "2")
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
            (bundle,) = printed(screen, paper / f"bundle-tags-{number}.pdf")
            screen.press(f"{bundle}\r")
            screen.wait_for("goes to ▸")
            screen.press("1, Mary\r")
            screen.wait_for("Mary")
            screen.press(f"{bundle}\r")
            screen.wait_for("goes to ▸")
            screen.press("\r")
            screen.wait_for("back at the bench")
            screen.press(F2)
            screen.wait_for("in hand")
            screen.press(f"{bundle}\r")
            screen.wait_for(f"Pack {number}")
            screen.press("".join(f"{tag}\r" for tag in pieces))
            screen.wait_for("0 pieces left")
            (kit,) = printed(screen, paper / f"kit-tags-{number}.pdf")
            screen.press(CTRL_L)
            screen.wait_for("is complete ▸")
            screen.press("\r")
            screen.wait_for(f"Order {number} is sent")
            screen.press(f"{kit}\r")
            screen.wait_for(f"Parcel {kit}")
            screen.press(CTRL_Q)
            assert screen.end() == 0
        assert packing_list(shop, number).state == "sent"
        assert audit(shop).faults == ()
