"""Verbs about what no order took: keep, use, unuse, left-over."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, OrderArgument, ShopOption, opened, say, say_json

if TYPE_CHECKING:
    from stockroom.jobs.use import Used

ThingArgument = Annotated[str, typer.Argument(metavar="TAG", help="The tag of a finished piece or kit of the stock.")]


def keep(
    what: Annotated[
        str, typer.Argument(metavar="TAG", help="A piece's tag, a bundle's for its whole kit, or an order's number.")
    ],
    place: Annotated[str, typer.Argument(help="Where it lies from now on: the place's code, or its tag.")],
    line: Annotated[int, typer.Option(min=1, help="Of an order: the line.")] = 1,
    nth: Annotated[int, typer.Option(min=1, help="Of a line of several kits: which of them.")] = 1,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep a piece, or a whole kit, as stock with a tag of its own.

    It is of an order that was cancelled, or of one that was for stock from the first.

    \b
    Example:
      stockroom keep P61X M3 --by AB
    """
    from stockroom.jobs.keep import keep as keep_it

    with opened(shop) as here:
        done = keep_it(here.shop, what, place, here.stamp(by), line, nth)
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    for sentence in done.still:
        say(f"  {sentence}")


def use(
    thing: ThingArgument,
    order: OrderArgument,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Use a finished thing of the stock for an order.

    It must be just what the order asks for; if not, it says why. It is fetched on the pick walk.

    \b
    Example:
      stockroom use P188N L-1041 --by AB
    """
    from stockroom.jobs.use import use as use_it

    with opened(shop) as here:
        done = use_it(here.shop, thing, order, here.stamp(by))
    _say_used(done, as_json)


def unuse(thing: ThingArgument, shop: ShopOption = None, by: ByOption = None, as_json: JsonOption = False) -> None:
    """Let a finished thing go that an order was to have.

    \b
    Example:
      stockroom unuse P188N --by AB
    """
    from stockroom.jobs.use import unuse as let_it_go

    with opened(shop) as here:
        done = let_it_go(here.shop, thing, here.stamp(by))
    _say_used(done, as_json)


def _say_used(done: Used, as_json: bool) -> None:
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    for sentence in done.binds:
        say(f"  {sentence}")
    for sentence in done.reserved.short if done.reserved else ():
        say(f"  SHORT {sentence}")


def left_over(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """Finished things in stock, and what of cancelled orders is to be put away.

    \b
    Example:
      stockroom left-over
    """
    from stockroom.jobs.left_over import left_over as what_there_is

    with opened(shop) as here:
        things, lying = what_there_is(here.shop)
    if as_json:
        say_json({"finished": things, "lying_about": lying})
        return
    if not things and not lying:
        say("Nothing is left over: there are no finished things in stock, and nothing lies about.")
    for one in things:
        state = "free" if one.is_free else "in quarantine" if one.quarantined_because else "promised"
        lots = f", lot {', '.join(one.lots)}" if one.lots else ""
        say(f"{one.tag:<8} {one.place:<5} {one.title}: {state} (made for {one.order}, car {one.car}{lots})")
        for what in one.lacks:
            say(f"         lacks {what}")
    for order in lying:
        say(f"Order {order.order} is cancelled, and of it there still lies about:")
        for sentence in order.sentences:
            say(f"  {sentence}")


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    for verb in (keep, use, unuse):
        app.command()(verb)
    app.command("left-over")(left_over)
