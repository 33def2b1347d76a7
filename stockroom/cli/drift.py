"""The verb of drift: how the lots of a colour go from its master over time."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import JsonOption, ShopOption, WrongCall, opened, say, say_json

if TYPE_CHECKING:
    from stockroom.jobs.drift import Drift, ItemDrift, MasterShown

NameArgument = Annotated[
    str,
    typer.Argument(metavar="ITEM|COLOUR", help="A cloth in a colour by its code, a colour, or the tag of a roll."),
]
AsOfOption = Annotated[
    str, typer.Option(metavar="DAY", help="By the master and the readings as they were at the end of this day.")
]


def drift(name: NameArgument, as_of: AsOfOption = "", shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """How the dye lots of a colour drift from its master, and which rolls do not match what is on the racks.

    Each cloth in the colour is held against its own master where it has one, else against the colour's. What was read
    under another light or observer is not compared.

    \b
    Examples:
      stockroom drift leathercloth/dark-blue
      stockroom drift red
      stockroom drift hood-cloth/fawn --as-of 2026-05-31 --json
    """
    from stockroom.cli.drift_chart import picture
    from stockroom.jobs.drift import drift as look

    day = day_said(as_of)
    with opened(shop) as here:
        found = look(here.shop, name, day)
    if as_json:
        say_json(found)
        return
    wide = shutil.get_terminal_size((80, 24)).columns
    for number, item in enumerate(found.items):
        if number:
            say()
        for line in (*_above(item), *picture(item, wide), *_below(item)):
            say(line)
    for line in _last(found):
        say(line)


def day_said(text: str) -> date | None:
    """A day as it was typed; `None` where none was. Raises WrongCall for what is no day."""
    from stockroom.domain.arrival import read_day
    from stockroom.domain.refusal import Refusal

    try:
        return read_day(text) if text else None
    except Refusal as refusal:
        raise WrongCall(refusal.sentence) from refusal


def _above(item: ItemDrift) -> Iterator[str]:
    yield f"{item.title} ({item.item})"
    if item.master is not None:
        yield f"Master of {item.master.of}: {_master(item.master)}."
    if item.said:
        yield item.said
    if item.lots:
        yield ""


def _master(one: MasterShown) -> str:
    who = f"{one.by}, {one.on}" if one.by else f"there on {one.on}"
    with_ = f", with {one.instrument}" if one.instrument else ""
    return f"L* {one.L:g}, a* {one.a:g}, b* {one.b:g} under {one.under} ({who}{with_})"


def _below(item: ItemDrift) -> Iterator[str]:
    for one in item.lots:
        if one.readings > 1:
            yield f"Lot {one.lot or '?'}: {one.readings} readings, up to ΔE00 {one.spread:.2f} from their middle."
    for sentence in item.left_out:
        yield f"Not compared: {sentence}"
    if item.unread:
        yield f"On the racks without a reading, so for the eye: {', '.join(lot or '?' for lot in item.unread)}."
    for roll in item.apart:
        yield f"! {roll.sentence}"


def _last(found: Drift) -> Iterator[str]:
    if found.items and (found.earlier_masters or found.said):
        yield ""
    for one in found.earlier_masters:
        yield f"Earlier master of {one.of}: {_master(one)}."
    if found.said:
        yield found.said


def add_to(app: typer.Typer) -> None:
    """Adds this verb."""
    app.command()(drift)
