"""The screens once for real: in a pseudo-terminal, by the command that the demo prints, with the keys of a person."""

from __future__ import annotations

import shlex

import pytest

from tests.cli.conftest import Desk
from tests.cli.terminal import terminal
from tests.labels.reading import codes

F1, CTRL_C, CTRL_Q = "\x1bOP", "\x03", "\x11"
SIZES = pytest.mark.parametrize(("columns", "rows"), [(80, 24), (160, 50)])


@SIZES
def test_rail_ticket_scan_help_and_quit(desk: Desk, columns: int, rows: int) -> None:
    printed = desk.call("paper", "tags", "L-1048", "-o", "-").well().raw
    tag = codes(printed, 300)[0][0]
    piece = dict(desk.call("show", tag, "--json").json["facts"])["Piece"]
    before = desk.shop.read_bytes()

    with terminal("--shop", desk.shop, cwd=desk.folder, columns=columns, rows=rows) as screen:
        for words in ("Lindow Trim", "OVERDUE", "L-1048"):
            screen.wait_for(words)

        screen.press("L-1041\r")
        for words in ("Ticket L-1041", "Lőrinc", "RP 1983", "AUR right"):
            screen.wait_for(words)

        screen.press(f"{tag}\r")
        for words in ("Ticket L-1048", "Szűcs"):
            screen.wait_for(words)
        screen.wait_for(lambda text: any(line.startswith("▸") and f" {piece} " in line for line in text.splitlines()))

        screen.press("L-9999\r")
        screen.wait_for("There is no order 'L-9999'")

        screen.press(F1)
        for words in ("Keys on this page", "leave (Ctrl and Q"):
            screen.wait_for(words)

        screen.press(CTRL_Q)
        assert screen.end() == 0
    assert desk.shop.read_bytes() == before, "looking changed the shop"


def test_ctrl_c_in_the_screens_harms_nothing(desk: Desk) -> None:
    before = desk.shop.read_bytes()
    with terminal(cwd=desk.folder, columns=80, rows=24, STOCKROOM_SHOP=str(desk.shop)) as screen:
        screen.wait_for("L-1041")
        screen.press("L-10")
        screen.press(CTRL_C)
        assert screen.end() == 0
        assert "Traceback" not in screen.text
    assert desk.shop.read_bytes() == before
    assert desk.call("audit").status == 0


def test_screens_whose_terminal_goes_away_without_a_word_end(desk: Desk) -> None:
    before = desk.shop.read_bytes()
    with terminal("--shop", desk.shop, cwd=desk.folder, columns=80, rows=24) as screen:
        screen.wait_for("L-1041")
        assert screen.go_away() == 0
    assert desk.shop.read_bytes() == before


def test_the_command_that_the_demo_prints_opens_them(demo_made: Desk) -> None:
    words = shlex.split(demo_made.account.splitlines()[-1])
    assert words[0] == "stockroom"
    with terminal(*words[1:], cwd=demo_made.folder.parent, columns=80, rows=24) as screen:
        screen.wait_for("L-1048")
        screen.press(CTRL_Q)
        assert screen.end() == 0


def test_the_screens_of_a_shop_without_orders(desk: Desk) -> None:
    (desk.folder / "shop.toml").write_text(
        'format = 1\nname = "Lindow Trim"\ntime_zone = "Europe/London"\ncurrency = "GBP"\n'
    )
    desk.call("load", "shop.toml", "--shop", "new.db").well()
    with terminal("--shop", "new.db", cwd=desk.folder, columns=80, rows=24) as screen:
        screen.wait_for("No orders in hand")
        screen.press(CTRL_Q)
        assert screen.end() == 0


def test_without_a_terminal_there_are_no_screens(demo_made: Desk) -> None:
    demo_made.call_apart().refused("The screens need a terminal", "stockroom rail", status=2)


def test_a_dumb_terminal_is_told_what_to_do_instead(demo_made: Desk) -> None:
    with terminal("--shop", demo_made.shop, cwd=demo_made.folder, columns=80, rows=24, TERM="dumb") as screen:
        assert screen.end() == 2
        assert "dumb terminal" in screen.text
