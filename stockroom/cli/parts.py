"""Verbs of customers' parts: part-in, part-place, part-back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, OrderArgument, ShopOption, opened, say, say_json

if TYPE_CHECKING:
    from stockroom.jobs.parts import PartMoved

PartArgument = Annotated[str, typer.Argument(metavar="PART", help="The tag of the customer's part.")]
PlaceArgument = Annotated[str, typer.Argument(metavar="PLACE", help="The place where it lies: its code or its tag.")]


def part_in(
    order: OrderArgument,
    what: Annotated[str, typer.Argument(help="What came in, such as 'hood frame'.")],
    place: PlaceArgument,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """A customer's part came in with an order: it gets a tag and a place.

    It is the customer's, and never counted as stock.

    \b
    Example:
      stockroom part-in L-1044 "hood frame" M3 --by AB
    """
    from stockroom.jobs.parts import receive
    from stockroom.jobs.read_order import said_in_a_line

    said_in_a_line(part=what)
    with opened(shop) as here:
        done = receive(here.shop, order, what, place, here.stamp(by))
    _say_part(done, as_json)


def part_place(
    part: PartArgument, place: PlaceArgument, shop: ShopOption = None, by: ByOption = None, as_json: JsonOption = False
) -> None:
    """Put a customer's part in another place.

    \b
    Example:
      stockroom part-place G18 M3 --by AB
    """
    from stockroom.jobs.parts import move

    with opened(shop) as here:
        done = move(here.shop, part, place, here.stamp(by))
    _say_part(done, as_json)


def part_back(part: PartArgument, shop: ShopOption = None, by: ByOption = None, as_json: JsonOption = False) -> None:
    """Give a customer's part back to its owner.

    \b
    Example:
      stockroom part-back G18 --by AB
    """
    from stockroom.jobs.parts import give_back

    with opened(shop) as here:
        done = give_back(here.shop, part, here.stamp(by))
    _say_part(done, as_json)


def _say_part(done: PartMoved, as_json: bool) -> None:
    if as_json:
        say_json(done)
    else:
        say(done.sentence)


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    app.command("part-in")(part_in)
    app.command("part-place")(part_place)
    app.command("part-back")(part_back)
