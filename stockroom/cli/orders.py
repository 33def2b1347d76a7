"""Verbs about orders in hand: rail, show, explode, reserve."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, OrderArgument, ShopOption, WrongCall, opened, plain, say, say_json
from stockroom.cli.takings import say_waits

if TYPE_CHECKING:
    from stockroom.jobs.explode import Bill
    from stockroom.jobs.reserve import Reserved
    from stockroom.jobs.show import Shown


def rail(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """The orders in hand, by the date they are wanted.

    How ready each is, what it waits for, and what is short.

    \b
    Example:
      stockroom rail
    """
    from stockroom.jobs.rail import rail as orders_in_hand

    with opened(shop) as here:
        entries = orders_in_hand(here.shop, here.today)
    if as_json:
        say_json([{**plain(one), "ready": one.ready} for one in entries])
        return
    if not entries:
        say("No orders in hand. Take one: stockroom take ORDER.toml")
    for one in entries:
        wanted = one.wanted.isoformat() if one.wanted else "open"
        late = f" OVERDUE {one.overdue_days} days" if one.overdue_days else ""
        say(f"{one.number}  {wanted}{late}  {one.customer}: {', '.join(one.kits)} for {', '.join(one.cars)}")
        waits = f"; waits for {one.waits} answer{'s' if one.waits > 1 else ''}" if one.waits else ""
        if one.answer_overdue_days:
            waits += f", ANSWER TO A SWATCH OVERDUE {one.answer_overdue_days} days"
        say(f"    {one.ready}: {one.held} of {one.needed} held{waits}")
        for what in one.short:
            say(f"    short: {what}")


def show(
    tag: Annotated[str, typer.Argument(help="A tag, typed or scanned, or an order's number.")],
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show anything that has a tag.

    A roll, a bin, a piece, an order, a car, a place, a swatch, a customer's part.

    \b
    Examples:
      stockroom show R1042L
      stockroom show L-1041
    """
    from stockroom.jobs.show import show as shown_by

    with opened(shop) as here:
        shown = shown_by(here.shop, tag)
    if as_json:
        say_json(shown)
    else:
        say_shown(shown)


def say_shown(shown: Shown) -> None:
    """What a tag names, in lines."""
    say(f"{shown.tag}  {shown.kind}: {shown.title}")
    width = max((len(name) for name, _ in shown.facts), default=0)
    for name, value in shown.facts:
        say(f"  {name:<{width}}  {value}")
    for title, lines in (("Promised", shown.promises), ("Latest movements", shown.movements)):
        if lines:
            say(f"  {title}:")
            for line in lines:
                say(f"    {line}")


def explode(
    order: OrderArgument,
    why: Annotated[bool, typer.Option("--why", help="Show the reason of every line.")] = False,
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """The bill of materials of an order; --why explains it.

    \b
    Examples:
      stockroom explode L-1041
      stockroom explode L-1041 --why
    """
    from stockroom.jobs.explode import explode as read_bill

    with opened(shop) as here:
        bill = read_bill(here.shop, order, here.today)
    if as_json:
        say_json(bill)
    else:
        _say_bill(bill, why)


def _say_bill(bill: Bill, why: bool) -> None:
    ticket = bill.ticket
    say(f"Order {ticket.number}, {ticket.customer} ({ticket.book})")
    for line in ticket.lines:
        say(f"  Line {line.number}: {line.quantity} × {line.title} for {line.car_words}")
        for change in line.changes:
            say(f"    CHANGED {change}")
        for one in line.on_car:
            say(f"    On the car already: {one}")
        for sentence in line.advice:
            say(f"    Advice: {sentence}")
    place = None
    for need in ticket.needs:
        if (need.line, need.kit, need.piece, need.hand) != place:
            place = (need.line, need.kit, need.piece, need.hand)
            say(f"  {' '.join(part for part in (need.kit + ':', need.piece, need.hand) if part)}")
        mark = " CHANGED" if need.changed else ""
        say(f"    {need.amount:>10}  {need.title}  [{need.part}]{mark}")
        if why:
            for reason in need.reasons:
                say(f"                {reason}")
    say("  In all:")
    for total in bill.totals:
        say(f"    {total.amount:>10}  {total.title}  ({total.item})")
    say_waits((one.line, one) for one in ticket.waits)


def reserve(
    order: OrderArgument,
    what_there_is: Annotated[
        bool, typer.Option("--what-there-is", help="Hold what there is, even if something is short.")
    ] = False,
    approve_mix: Annotated[
        str, typer.Option(metavar="ITEM", help="Approve the mix of dye lots of this item that is proposed.")
    ] = "",
    lot: Annotated[
        list[str] | None,
        typer.Option(metavar="LOT", help="A lot of the mix that was shown; each of them. Another mix is then refused."),
    ] = None,
    because: Annotated[str, typer.Option(help="The reason for the approval.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Hold stock for an order, and list what is short.

    All of it or nothing, unless --what-there-is.

    \b
    Examples:
      stockroom reserve L-1041
      stockroom reserve L-1043 --what-there-is
      stockroom reserve L-1043 --approve-mix hood-cloth/fawn --because "seen by daylight" --by AB
    """
    from stockroom.jobs import reserve as jobs
    from stockroom.jobs.read_order import said_in_a_line

    said_in_a_line(reason=because)
    with opened(shop) as here:
        stamp = here.stamp(by)
        if approve_mix:
            jobs.approve_mix(here.shop, order, approve_mix, because, stamp, lot or ())
        elif because or lot:
            what = "A reason was" if because else "Lots were"
            raise WrongCall(f"{what} given but nothing to approve: add --approve-mix ITEM.")
        done = (jobs.reserve_what_there_is if what_there_is else jobs.reserve)(here.shop, order, stamp)
    if as_json:
        say_json(done)
    else:
        say_reserved(done)
    if done.short:
        raise typer.Exit(1)


def say_reserved(done: Reserved) -> None:
    """What a reservation did, in a few lines."""
    if not done.held_now and not done.short:
        say(f"Order {done.number}: everything that is needed is held already ({done.held_before} of {done.needed}).")
    else:
        held = done.held_before + done.held_now
        say(f"Order {done.number}: {held} of {done.needed} held, {done.held_now} of them now.")
    for reason in (*done.reasons, *done.margins):
        say(f"  {reason}")
    for sentence in done.offers:
        say(f"  FROM STOCK {sentence}")
    for sentence in done.short:
        say(f"  SHORT {sentence}")
    for sentence in done.substitutes:
        say(f"  SUBSTITUTE {sentence}")
    for mix in done.mixes:
        say(f'  To approve a mix of lots: stockroom reserve {done.number} {mix.as_options} --because "…" --by AB')


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    for verb in (rail, show, explode, reserve):
        app.command()(verb)
