"""The screens, opened from the shell. A call that names no verb comes here before anything else is loaded."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from stockroom.cli.place import WrongCall, keep_logs_off_the_terminal, must_be_there, where


def shop_alone(words: Sequence[str], environment: str | None) -> str | None:
    """The shop that a call without a verb names, or else the environment; '' where neither does.

    `None` for a call that says anything else: it is read with all the rest of the command line.

    >>> shop_alone(["--shop", "shop.db"], None), shop_alone([], "other.db"), shop_alone(["rail"], "other.db")
    ('shop.db', 'other.db', None)
    """
    match words:
        case []:
            return environment or ""
        case ["--shop", shop] if shop and not shop.startswith("-"):
            return shop
        case [word] if word.startswith("--shop="):
            return word.removeprefix("--shop=") or None
    return None


def open_screens(shop: str | None) -> None:
    """Open the terminal screens on a shop.

    Whatever a first look at it does not settle (a shop to be upgraded, one that is none) is settled before there is a
    screen.
    """
    from datetime import UTC, datetime

    from stockroom.cli.outlet import outlet_of
    from stockroom.jobs.first_look import first_look

    place = must_be_there(where(shop))
    outlet = outlet_of(place)
    keep_logs_off_the_terminal()
    look = first_look(place, datetime.now(UTC))
    if look is not None:
        _refuse_without_a_terminal()
        from stockroom.screens import run_and_open

        run_and_open(place, look, outlet)
        return
    from stockroom.jobs.about import about_of
    from stockroom.screens import run
    from stockroom.store.database import Shop

    with Shop.open(place) as found:
        if found.upgraded:
            print(found.upgraded, file=sys.stderr)
        _refuse_without_a_terminal()
        run(found, about_of(found), outlet)


def _refuse_without_a_terminal() -> None:
    """In a pipe, or on a terminal that can only print lines, screens would draw rubbish and wait for ever."""
    if not (sys.stdin and sys.stdin.isatty() and sys.stdout and sys.stdout.isatty()):
        raise WrongCall(
            "The screens need a terminal. Elsewhere name a verb: 'stockroom rail' lists the orders in hand."
        )
    if os.environ.get("TERM") == "dumb":
        raise WrongCall("The screens need more than a dumb terminal. 'stockroom rail' lists the orders in hand.")
