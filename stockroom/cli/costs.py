"""Verbs of costs: what stock is worth on a day, and what an order cost in materials."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import JsonOption, OrderArgument, ShopOption, opened, say, say_json
from stockroom.cli.drift import day_said

if TYPE_CHECKING:
    from stockroom.jobs.cost import Cost, CostPart
    from stockroom.jobs.worth import Amount, ItemValue, ThingValue, Worth

_HEADS = {
    "used": "Used",
    "spoilt": "Spoilt, and cut again",
    "scrap bin": "To the scrap bin as it was cut",
    "held": "Held and not taken yet: estimated",
    "came back": "Came back: costs nothing",
    "became stock": "Of what was taken, kept for stock",
}


def worth(
    on: Annotated[
        str, typer.Option("--on", metavar="DAY", help="As the books stood at the end of this day, such as 2026-10-31.")
    ] = "",
    item: Annotated[str, typer.Option(metavar="ITEM", help="Only this item, roll by roll and bin by bin.")] = "",
    group: Annotated[str | None, typer.Option(metavar="GROUP", help="Only the items of this group.")] = None,
    each: Annotated[bool, typer.Option("--each", help="Roll by roll and bin by bin.")] = False,
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """What stock is worth on a day, at what was paid for it: by item and in all.

    A roll is worth what was paid for that roll, a bin the average of what came into it. What is in quarantine stands
    apart; what has no known price is named and is in no sum. The day is one of the shop's own time zone.

    \b
    Examples:
      stockroom worth
      stockroom worth --on 2026-10-31 --group "roll materials"
      stockroom worth --item hood-cloth/fawn
      stockroom worth --on 2026-10-31 --json
    """
    from stockroom.jobs.worth import summed_words
    from stockroom.jobs.worth import worth as look

    day = day_said(on)
    with opened(shop) as here:
        found = look(here.shop, here.now, day, item, group, things_of=each or bool(item.strip()))
    if as_json:
        say_json(found)
        return
    say(f"Stock at the end of {found.day} ({found.time_zone})")
    for line in _item_lines(found):
        say(f"  {line}")
    say(summed_words(found))
    for sentence in found.remarks:
        say(f"! {sentence}")


def _item_lines(found: Worth) -> Iterator[str]:
    for one in found.items:
        if one.usable.held:
            yield _amount_line(one, one.usable, found.currency, "")
        if one.quarantined.held:
            yield _amount_line(one, one.quarantined, found.currency, "  IN QUARANTINE")
        for thing in found.things:
            if thing.item == one.item:
                yield _thing_line(thing, one.by_length, found.currency)


def _amount_line(one: ItemValue, amount: Amount, currency: str, beside: str) -> str:
    from stockroom.domain.quantities import show_money

    worth_ = show_money(amount.value_minor, currency) if amount.priced else "no price"
    part = amount.held - amount.priced
    lacks = f"; {_shown(part, one.by_length)} without a price" if part and amount.priced else ""
    each = f"  {amount.each} {_of_one(one.by_length)}" if amount.each else ""
    return f"{_shown(amount.held, one.by_length):>10} {worth_:>14}  {one.title} ({one.item}){each}{lacks}{beside}"


def _thing_line(thing: ThingValue, by_length: bool, currency: str) -> str:
    from stockroom.domain.quantities import show_money

    worth_ = show_money(thing.value_minor, currency) if thing.each else "no price"
    lot = f" lot {thing.lot}" if thing.lot else ""
    each = f"  {thing.each} {_of_one(by_length)}" if thing.each else ""
    beside = "  IN QUARANTINE" if thing.quarantined else ""
    return f"  {_shown(thing.held, by_length):>10} {worth_:>14}    {thing.tag}{lot}{each}{beside}"


def _shown(quantity: int, by_length: bool) -> str:
    from stockroom.domain.quantities import show_length

    return show_length(quantity) if by_length else str(quantity)


def _of_one(by_length: bool) -> str:
    return "a metre" if by_length else "each"


def cost(
    order: OrderArgument,
    line: Annotated[int | None, typer.Option(metavar="LINE", help="Only this line of the order.")] = None,
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """What an order cost in materials: what was really cut, picked and fetched for it, roll by roll.

    Beside what was paid stands the average of all that came in of the item. Spoilt panels and what went to the scrap
    bin stand apart; what is held and not taken yet is estimated. No work is in it, and no consumables.

    \b
    Examples:
      stockroom cost L-1048
      stockroom cost L-1048 --line 1
      stockroom cost L-1048 --json
    """
    from stockroom.jobs.cost import cost as look

    with opened(shop) as here:
        found = look(here.shop, order, line)
    if as_json:
        say_json(found)
        return
    say(f"Order {found.order}{f', line {line}' if line is not None else ''} ({found.state}): materials")
    for what, head in _HEADS.items():
        mine = [one for one in found.parts if one.what == what]
        if mine:
            say(f"  {head}")
        for one in mine:
            say(f"    {_part_line(one, found.currency)}")
    for sentence in _sums(found):
        say(sentence)
    for sentence in found.remarks:
        say(f"! {sentence}")


def _part_line(one: CostPart, currency: str) -> str:
    from stockroom.domain.quantities import show_money

    paid = show_money(one.value_minor, currency) if one.priced else "side piece" if one.side_piece else "no price"
    average = "" if one.average_minor is None else f" (at average {show_money(one.average_minor, currency)})"
    lot = f", lot {one.lot}" if one.lot else ""
    return f"{one.amount:>9} {paid:>14}  {one.title}, {one.tag}{lot}{average}"


def _sums(found: Cost) -> Iterator[str]:
    from stockroom.domain.quantities import show_money

    def money(minor: int) -> str:
        return show_money(minor, found.currency)

    if not found.parts:
        yield "Nothing was taken for it, and nothing is held."
        return
    waste = (("spoilt", found.spoilt_minor), ("to the scrap bin", found.scrap_bin_minor))
    of_that = ", ".join(f"{words} {money(minor)}" for words, minor in waste if minor)
    yield f"Taken: {money(found.taken_minor)}{f' (of that {of_that})' if of_that else ''}"
    if found.held_minor:
        yield f"Still held, estimated: {money(found.held_minor)}"
    least = "" if found.complete else "at least "
    yield f"In all: {least}{money(found.in_all_minor)}; at average prices {money(found.average_minor)}"
    if found.became_stock_minor:
        yield f"Of that became stock: {money(found.became_stock_minor)}"


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    for verb in (worth, cost):
        app.command()(verb)
