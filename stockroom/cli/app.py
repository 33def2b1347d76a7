"""The command line itself: its verbs, and what happens with none (the screens open)."""

from __future__ import annotations

import os
import sys
from typing import Annotated

import typer

from stockroom.cli import (
    bench,
    books,
    consumables,
    count,
    goods,
    goods_in,
    orders,
    paper,
    parts,
    racks,
    shop,
    table,
    takings,
    undoing,
)
from stockroom.cli.asked import FrontShopOption, WrongCall, name_before_the_verb, opened, say, where
from stockroom.cli.outlet import outlet_of

app = typer.Typer(
    name="stockroom",
    help="Kits and stock for a trim shop: from an ordered kit to held stock and paper.",
    epilog="Begin with: stockroom demo. Each verb explains itself: stockroom VERB --help.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=False,
    context_settings={"help_option_names": ["--help", "-h"]},
)


def _version(asked: bool) -> None:
    if asked:
        from stockroom import __version__

        say(f"stockroom {__version__}")
        raise typer.Exit


def _refuse_without_a_terminal() -> None:
    """In a pipe, or on a terminal that can only print lines, screens would draw rubbish and wait for ever."""
    if not (sys.stdin and sys.stdin.isatty() and sys.stdout and sys.stdout.isatty()):
        raise WrongCall(
            "The screens need a terminal. Elsewhere name a verb: 'stockroom rail' lists the orders in hand."
        )
    if os.environ.get("TERM") == "dumb":
        raise WrongCall("The screens need more than a dumb terminal. 'stockroom rail' lists the orders in hand.")


@app.callback(invoke_without_command=True)
def front(
    context: typer.Context,
    shop: FrontShopOption = None,
    _version_asked: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say the version and stop.")
    ] = False,
) -> None:
    """Kits and stock for a trim shop: from an ordered kit to held stock and paper.

    With no verb the terminal screens open on the shop.
    """
    name_before_the_verb(shop)
    if context.invoked_subcommand is None:
        from stockroom.jobs.about import about_of
        from stockroom.screens import run

        with opened(shop) as here:
            _refuse_without_a_terminal()
            run(here.shop, about_of(here.shop), outlet_of(where(shop)))


for room in (shop, takings, orders, table, bench, parts, goods_in, racks, goods, paper, consumables, undoing):
    room.add_to(app)
app.add_typer(count.app, name="count")
app.add_typer(books.app, name="kitbook")
