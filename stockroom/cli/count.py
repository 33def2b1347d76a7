"""The verbs of counting: count begin, sheets, enter, close, leave and due."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, ShopOption, WrongCall, opened, say, say_json
from stockroom.cli.racks import say_promises

if TYPE_CHECKING:
    from stockroom.jobs.count import Sheet
    from stockroom.jobs.count_due import PlaceDue

app = typer.Typer(help="Count what is there, blind, and which places are due.", no_args_is_help=True)
SheetArgument = Annotated[int, typer.Argument(metavar="SHEET", min=1, help="Number of the count sheet.")]


@app.command()
def begin(
    what: Annotated[str, typer.Argument(metavar="PLACE|ITEM", help="The place, or the item, that is counted.")],
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Begin a count sheet; it does not say what the books expect.

    Who begins the same count second joins the first.

    \b
    Examples:
      stockroom count begin B1 --by AB
      stockroom count begin snap-fastener-cap --by AB
    """
    from stockroom.jobs.count import begin as begin_sheet

    with opened(shop) as here:
        done = begin_sheet(here.shop, what, here.stamp(by))
    if as_json:
        say_json(done)
        return
    if not done.is_new:
        say(f"{done.sheet.begun_by} counts this already: you are on the same sheet.")
    _say_sheet(done.sheet)
    say(f"Enter what you count: stockroom count enter {done.sheet.number} TAG FIGURE")


@app.command()
def sheets(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """The count sheets that are open, and what is left on them.

    \b
    Example:
      stockroom count sheets
    """
    from stockroom.jobs.count import sheets as open_sheets

    with opened(shop) as here:
        found = open_sheets(here.shop)
    if as_json:
        say_json(found)
        return
    for one in found:
        _say_sheet(one)
    if not found:
        say("No count is going on. Begin one: stockroom count begin PLACE. Which are due: stockroom count due")


def _say_sheet(found: Sheet) -> None:
    say(f"Sheet {found.number}: {found.what}, begun {found.begun_at:%Y-%m-%d} ({found.begun_by})")
    for line in found.lines:
        how = "length" if line.by_length else "count"
        lot = f", lot {line.lot}" if line.lot else ""
        say(f"  {line.place:<6} {line.tag:<8} {line.state:<12} {how:<7} {line.title}{lot}")
    if not found.lines:
        say("  By the books nothing lies there. Enter what is found.")


@app.command()
def enter(
    sheet: SheetArgument,
    tag: Annotated[str, typer.Argument(metavar="TAG", help="The tag of what was counted.")],
    figure: Annotated[str, typer.Argument(help="What is there: a count, or a length such as '12.4 m' or '13 yd'.")],
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Enter what was counted; too far from the books it is counted again.

    \b
    Examples:
      stockroom count enter 1 B1S 412 --by AB
      stockroom count enter 1 B2Q 390 --by AB
      stockroom count enter 1 B2Q 391 --by AB
    """
    from stockroom.jobs.count import enter as put_down

    with opened(shop) as here:
        done = put_down(here.shop, sheet, tag, figure, here.stamp(by))
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    if done.elsewhere:
        say(f"To bring it here: stockroom move {done.tag} {done.place}")
    say(f"Left on sheet {done.sheet}: {done.left}")


@app.command()
def close(
    sheet: SheetArgument,
    missing: Annotated[
        list[str] | None, typer.Option(metavar="TAG", help="This is not there: it is gone. May be given often.")
    ] = None,
    left: Annotated[
        list[str] | None, typer.Option(metavar="TAG", help="This was not looked for. May be given often.")
    ] = None,
    rest_left: Annotated[
        bool, typer.Option("--rest-left", help="Whatever else was not counted was not looked for.")
    ] = False,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Close a count: the books are put right by what was found.

    What was picked or cut while it went on is no difference.

    \b
    Examples:
      stockroom count close 1 --missing B3O --rest-left --by AB
    """
    from stockroom.jobs.count import close as end

    if rest_left and left:
        raise WrongCall("Say --rest-left, or name each with --left; not both.")
    with opened(shop) as here:
        done = end(here.shop, sheet, here.stamp(by), missing or (), None if rest_left else left or ())
    if as_json:
        say_json(done)
        return
    say(
        f"Sheet {done.sheet}, {done.what}, is closed: {len(done.agreed)} as the books say, "
        f"{len(done.differences)} put right."
    )
    for one in done.differences:
        say(f"  {one.sentence}")
    for thing in done.elsewhere:
        say(f"  {thing.sentence} To bring it there: stockroom move {thing.tag} {thing.place}")
    if done.left:
        say(f"  Not counted: {', '.join(done.left)}")
    say_promises(done.promises)


@app.command()
def leave(sheet: SheetArgument, shop: ShopOption = None, by: ByOption = None, as_json: JsonOption = False) -> None:
    """Drop a count: nothing is booked.

    \b
    Example:
      stockroom count leave 1 --by AB
    """
    from stockroom.jobs.count import leave as drop

    with opened(shop) as here:
        done = drop(here.shop, sheet, here.stamp(by))
    if as_json:
        say_json(done)
        return
    say(f"Sheet {done.number}, {done.what}, is left. Nothing was booked.")


@app.command()
def due(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """Which places are due to be counted, and why.

    \b
    Example:
      stockroom count due
    """
    from stockroom.jobs.count_due import due as places_due

    with opened(shop) as here:
        found = places_due(here.shop, here.now)
    if as_json:
        say_json(found)
        return
    for one in found.due:
        _say_due(one)
    if not found.due:
        say("No place is due to be counted.")
    for one in found.to_come[:5]:
        _say_due(one, "to come: ")
    say()
    say(found.rule)
    say(found.tolerance)


def _say_due(one: PlaceDue, before: str = "") -> None:
    say(f"{before}{one.place:<6} {one.title}")
    say(f"         {one.because}")
