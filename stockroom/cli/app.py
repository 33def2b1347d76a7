"""The command line itself: its verbs, and what happens with none (the screens open)."""

from __future__ import annotations

from typing import Annotated

import typer

from stockroom.cli import (
    bench,
    books,
    buying,
    colours,
    consumables,
    costs,
    count,
    drift,
    goods,
    goods_in,
    left_over,
    orders,
    paper,
    parts,
    racks,
    shop,
    substitutes,
    swatches,
    table,
    takings,
    undoing,
)
from stockroom.cli.asked import FrontShopOption, say
from stockroom.cli.front import open_screens
from stockroom.cli.place import name_before_the_verb

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
        open_screens(shop)


for room in (
    shop,
    takings,
    orders,
    table,
    bench,
    left_over,
    parts,
    goods_in,
    racks,
    goods,
    buying,
    paper,
    colours,
    drift,
    substitutes,
    consumables,
    costs,
    undoing,
):
    room.add_to(app)
app.add_typer(count.app, name="count")
app.add_typer(swatches.app, name="swatch")
app.add_typer(books.app, name="kitbook")
