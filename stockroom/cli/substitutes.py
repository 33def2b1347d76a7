"""The verb substitute: what is permitted instead of something short, with the customer's yes."""

from __future__ import annotations

from typing import Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, OrderArgument, ShopOption, opened, say, say_json


def substitute(
    order: OrderArgument,
    item: Annotated[str, typer.Argument(metavar="ITEM", help="What the order takes now, by its code.")],
    instead: Annotated[str, typer.Option("--with", metavar="ITEM", help="The permitted substitute, by its code.")],
    yes_from: Annotated[str, typer.Option(metavar="NAME", help="Who of the customer's said yes.")] = "",
    note: Annotated[str, typer.Option(help="Anything to be remembered of it.")] = "",
    line: Annotated[
        int | None, typer.Option(min=1, help="This line only; without it, every line that takes it.")
    ] = None,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take a permitted substitute, with the customer's yes.

    Every piece that is seen together moves together. Without a yes nothing changes.

    \b
    Example:
      stockroom substitute L-1050 leathercloth/tan --with leathercloth-smooth/tan --yes-from "Ann Reed" --by AB
    """
    from stockroom.cli.orders import say_reserved
    from stockroom.jobs.substitute import substitute as take

    with opened(shop) as here:
        done = take(here.shop, order, item, instead, yes_from, here.stamp(by), line, note)
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    for sentence in done.ask_too:
        say(f"! {sentence}")
    if done.reserved is not None:
        say_reserved(done.reserved)


def add_to(app: typer.Typer) -> None:
    """Adds this verb."""
    app.command()(substitute)
