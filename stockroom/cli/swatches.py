"""The verbs of swatches: swatch cut, send, wait, answer, sent, list, missing and gone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, OrderArgument, ShopOption, opened, say, say_json

if TYPE_CHECKING:
    from stockroom.jobs.swatch_sent import SwatchAnswered

app = typer.Typer(help="Swatches of dye lots: cut, sent to customers, answered.", no_args_is_help=True)
SwatchArgument = Annotated[str, typer.Argument(metavar="SWATCH", help="The swatch's tag.")]
UntilOption = Annotated[
    str, typer.Option(metavar="DAY", help="Until when an answer is waited for: 2026-12-18, or 14d for so many days.")
]


@app.command()
def cut(
    roll: Annotated[str, typer.Argument(metavar="ROLL", help="The tag of the roll, reel or remnant.")],
    length: Annotated[
        str, typer.Argument(help="What a swatch takes off its outer end, such as '60 mm'; 0 from an offcut.")
    ],
    place: Annotated[str, typer.Argument(metavar="PLACE", help="Where the swatch lies.")],
    count: Annotated[int, typer.Option(help="So many of them.")] = 1,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Cut a swatch of a lot from its roll; it gets a tag and a place.

    \b
    Examples:
      stockroom swatch cut R14T "60 mm" M3 --by AB
      stockroom swatch cut R18L 0 M3 --count 2 --by AB
    """
    from stockroom.jobs.swatches import cut as make

    with opened(shop) as here:
        done = make(here.shop, roll, length, place, here.stamp(by), count)
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    say(f"  stockroom paper tag {' '.join(done.tags)}")


@app.command()
def send(
    swatch: SwatchArgument,
    order: OrderArgument,
    until: UntilOption,
    line: Annotated[int | None, typer.Option(min=1, help="The line it is for, where that is not plain.")] = None,
    what: Annotated[
        str, typer.Option("--for", help="What the line waits for, by its name, where it waits for several swatches.")
    ] = "",
    hold: Annotated[
        str, typer.Option(help="So much of the lot is held meanwhile; without it, what the line takes. 0: nothing.")
    ] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Send a swatch to the customer of an order.

    The line waits for the answer, and enough of the lot is held until that day, for nobody else.

    \b
    Example:
      stockroom swatch send S1Y L-1049 --until 14d --by AB
    """
    from stockroom.jobs.swatch_sent import day_meant
    from stockroom.jobs.swatch_sent import send as send_out

    with opened(shop) as here:
        done = send_out(here.shop, swatch, order, day_meant(until, here.today), here.stamp(by), line, what, hold)
    if as_json:
        say_json(done)
        return
    say(done.sentence)


@app.command()
def wait(
    swatch: SwatchArgument,
    until: UntilOption,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Wait longer for the answer to a swatch; its lot is held until then.

    \b
    Example:
      stockroom swatch wait S1Y --until 30d --by AB
    """
    from stockroom.jobs.swatch_sent import day_meant, wait_longer

    with opened(shop) as here:
        done = wait_longer(here.shop, swatch, day_meant(until, here.today), here.stamp(by))
    if as_json:
        say_json(done)
        return
    say(done.sentence)


@app.command()
def answer(
    swatch: SwatchArgument,
    said: Annotated[str, typer.Argument(metavar="yes|no", help="What the customer said.")],
    said_by: Annotated[str, typer.Option("--from", metavar="NAME", help="Who of the customer's said so.")],
    note: Annotated[str, typer.Option(help="Anything to be remembered of it.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """What the customer said to a swatch.

    A yes lets the line go on with that lot; a no leaves it waiting, and names what else there is.

    \b
    Example:
      stockroom swatch answer S1Y yes --from "Anna Brook" --note "by telephone" --by AB
    """
    from stockroom.jobs.swatch_sent import answer_swatch

    with opened(shop) as here:
        done = answer_swatch(here.shop, swatch, said, said_by, here.stamp(by), note)
    if as_json:
        say_json(done)
        return
    _say_answered(done)


def _say_answered(done: SwatchAnswered) -> None:
    from stockroom.cli.orders import say_reserved

    say(done.sentence)
    for sentence in done.others:
        say(f"  {sentence}")
    if done.reserved is not None:
        say_reserved(done.reserved)


@app.command()
def sent(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """The swatches whose answers are awaited, the overdue ones first.

    \b
    Example:
      stockroom swatch sent
    """
    from stockroom.jobs.swatch_awaited import list_awaited

    with opened(shop) as here:
        found = list_awaited(here.shop, here.today)
    if as_json:
        say_json(found)
        return
    for one in found:
        say(f"{'! OVERDUE ' if one.overdue_days else ''}{one.sentence}")
    if not found:
        say("No answer to a swatch is awaited.")


@app.command("list")
def list_all(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """Every swatch there is, and where it is.

    \b
    Example:
      stockroom swatch list
    """
    from stockroom.jobs.swatches import list_swatches

    with opened(shop) as here:
        found = list_swatches(here.shop)
    if as_json:
        say_json(found)
        return
    for one in found:
        say(f"{one.tag:<6} {one.title}, lot {one.lot or '?'}: {one.where}")
    if not found:
        say("There is no swatch yet. Which lots have none: stockroom swatch missing")


@app.command()
def missing(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """The lots of cloth on the racks of which no swatch lies here.

    \b
    Example:
      stockroom swatch missing
    """
    from stockroom.jobs.swatches import lots_without_swatch

    with opened(shop) as here:
        found = lots_without_swatch(here.shop)
    if as_json:
        say_json(found)
        return
    for one in found:
        say(f"{one.title}, lot {one.lot or '?'}: cut one from {one.roll} in {one.place or 'no place'}")
    if not found:
        say("A swatch of every lot of cloth on the racks lies here.")


@app.command()
def gone(
    swatch: SwatchArgument,
    because: Annotated[str, typer.Option(help="Why: lost, faded, cut up.")],
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """There is no such swatch any more: it is lost, faded or thrown away.

    \b
    Example:
      stockroom swatch gone S1Y --because faded --by AB
    """
    from stockroom.jobs.swatches import throw_away

    with opened(shop) as here:
        done = throw_away(here.shop, swatch, because, here.stamp(by))
    if as_json:
        say_json(done)
        return
    say(done.sentence)
