"""The verbs of buying by a weekly run: buy, put-off."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, ShopOption, WrongCall, opened, say, say_json

if TYPE_CHECKING:
    from stockroom.jobs.buying import BuyingLine, BuyingList
    from stockroom.jobs.decide import LinesDecided

ItemsArgument = Annotated[
    list[str] | None, typer.Argument(metavar="ITEM", help="Lines of the run, by the item's code; one or several.")
]
WeekOption = Annotated[
    str | None, typer.Option(metavar="WEEK", help="An ISO week such as 2026-W48; without it, this week.")
]


def buy(
    items: ItemsArgument = None,
    week: WeekOption = None,
    supplier: Annotated[str, typer.Option(help="Every line of this supplier that is not decided yet.")] = "",
    everything: Annotated[bool, typer.Option("--all", help="Every line that is not decided yet.")] = False,
    quantity: Annotated[str, typer.Option(help="Of one item, so much instead: '25 m', or how many.")] = "",
    because: Annotated[str, typer.Option(help="With --quantity: why.")] = "",
    sure: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Confirms what is asked, by its name; may be repeated.")
    ] = None,
    anew: Annotated[bool, typer.Option("--anew", help="Make the run anew first, on the stock as it is now.")] = False,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Buy lines of the week's reorder run; without an item, list them with what was decided on each.

    The lines of one supplier become one purchase. Nothing is sent to anybody: print the order, and post it.

    \b
    Examples:
      stockroom buy
      stockroom buy curtain-knob filler-grommet --by AB
      stockroom buy --supplier bankside --by AB
      stockroom buy tack-10 --quantity 5000 --because "the next price break" --by AB
    """
    from stockroom.jobs import buying, decide

    asked = bool(items) + bool(supplier) + everything
    if asked > 1:
        raise WrongCall("Name items, or --supplier, or --all: one of them.")
    if bool(quantity) != bool(because) or (quantity and len(items or ()) != 1):
        raise WrongCall("Another quantity is of one item, and takes a reason: buy ITEM --quantity 25m --because …")
    with opened(shop) as here:
        stamp = here.stamp(by)
        found = (buying.made_anew if anew else buying.made_list)(here.shop, week, here.today, stamp)
        if not asked:
            say_json(found) if as_json else _say_list(found)
            return
        wanted = _wanted(found, items or (), supplier, everything)
        if quantity:
            done = decide.change(here.shop, _run(found), wanted[0], quantity, because, stamp, sure or ())
        else:
            done = decide.accept(here.shop, _run(found), wanted, stamp, sure or ())
    _say_done(done, as_json)


def put_off(
    items: ItemsArgument = None,
    week: WeekOption = None,
    supplier: Annotated[str, typer.Option(help="Every line of this supplier that is not decided yet.")] = "",
    because: Annotated[str, typer.Option(help="Why: what it waits for.")] = "",
    until: Annotated[
        str, typer.Option(metavar="DAY", help="It is proposed again from this day on; without it, by the next run.")
    ] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put lines of the week's reorder run off, with a reason.

    They are shown as put off, also in the next runs, until their day; they can be bought all the same.

    \b
    Examples:
      stockroom put-off leathercloth/dark-blue --because "the mill sends a sample first" --by AB
      stockroom put-off --supplier tern --because "carriage is paid from 50" --by AB
    """
    from stockroom.jobs import buying, decide

    if bool(items) == bool(supplier):
        raise WrongCall("Name items, or --supplier: one of them.")
    if not because.strip():
        raise WrongCall("Say why it is put off: --because …")
    with opened(shop) as here:
        stamp = here.stamp(by)
        found = buying.made_list(here.shop, week, here.today, stamp)
        wanted = _wanted(found, items or (), supplier, everything=False)
        done = decide.put_off(here.shop, _run(found), wanted, because, stamp, until)
    _say_done(done, as_json)


def _run(found: BuyingList) -> int:
    assert found.run is not None, "the list is of a run that was made"
    return found.run


def _wanted(found: BuyingList, items: list[str] | tuple[str, ...], supplier: str, everything: bool) -> list[str]:
    """The items that were asked for, as their codes are written; of a supplier or of all, those still to be decided."""
    if items:
        known = {one.proposed.item.casefold(): one.proposed.item for one in found.lines}
        return [known.get(item.strip().casefold(), item.strip()) for item in items]
    lines = found.lines if everything else found.of_supplier(supplier)
    return [one.proposed.item for one in lines if one.is_open]


def _say_list(found: BuyingList) -> None:
    if not found.lines:
        say(f"Nothing is to be bought in {found.week}.")
    supplier = None
    for one in found.lines:
        if one.supplier != supplier:
            supplier = one.supplier
            say(f"{one.supplier_name} ({one.supplier})" if supplier else "Nobody sells it, or on impossible terms")
            if supplier in found.carriage:
                say(f"  {found.carriage[supplier]}")
        say(f"  {_line_words(one)}")
    if found.to_make:
        say(f"{found.to_make} more to make here: stockroom reorder --week {found.week}")
    if found.done_since:
        say(
            f"{found.done_since} jobs were done since this run was made. Make it anew: stockroom buy --anew"
            if found.done_since > 1
            else "A job was done since this run was made. Make it anew: stockroom buy --anew"
        )


def _line_words(one: BuyingLine) -> str:
    line = one.proposed
    mark = "" if line.urgency == "normal" else f"{line.urgency.upper()} "
    decided = f"  -> {one.decided.words}" if one.decided else ""
    cost = f"  {line.cost}" if one.supplier else ""
    return f"{mark}{line.shown(line.quantity):>9}  {line.item}, {line.title}{cost}{decided}"


def _say_done(done: LinesDecided, as_json: bool) -> None:
    if as_json:
        say_json(done)
        return
    for sentence in done.sentences:
        say(sentence)
    for order in done.orders:
        say(f"Print it: stockroom paper purchase {order.reference}")
    if not done.sentences:
        say("Every line is decided already: nothing was bought.")


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    app.command()(buy)
    app.command("put-off")(put_off)
