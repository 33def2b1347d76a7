"""Verbs for what is used up: low, expiring."""

from __future__ import annotations

import re
from typing import Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, ShopOption, WrongCall, opened, say, say_json


def low(
    what: Annotated[
        str, typer.Argument(metavar="TAG|ITEM", help="The tag at its shelf, or the item's code.", show_default=False)
    ] = "",
    not_wanted: Annotated[bool, typer.Option("--not-wanted", help="Take it off the buying list.")] = False,
    listed: Annotated[bool, typer.Option("--list", help="Show what is on the buying list.")] = False,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say that something runs out: it goes on the buying list.

    \b
    Examples:
      stockroom low thread-black --by AB
      stockroom low --list
      stockroom low thread-black --not-wanted --by AB
    """
    from stockroom.jobs import low as job

    if listed == bool(what) or (listed and not_wanted):
        raise WrongCall("Name one thing that runs out, by its tag or its code; or say --list.")
    with opened(shop) as here:
        if listed:
            found = job.buying_list(here.shop)
        else:
            done = (job.not_wanted if not_wanted else job.low)(here.shop, what, here.stamp(by))
    if as_json:
        say_json(found if listed else done)
    elif not listed:
        say(done.sentence)
    elif not found:
        say("Nothing is on the buying list.")
    else:
        for one in found:
            coming = f"; on order: {'; '.join(one.on_order)}" if one.on_order else ""
            say(f"{one.item}  {one.title}, low since {one.since} ({one.by}){coming}")


def expiring(
    within: Annotated[str, typer.Option(metavar="DAYS", help="How far ahead, in days: 60, or 60d.")] = "60d",
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """What is past its day, or will be soon.

    \b
    Examples:
      stockroom expiring
      stockroom expiring --within 14d --json
    """
    from stockroom.jobs.expiring import expiring as look_for

    read = re.fullmatch(r"([0-9]{1,4}) ?d?", within.strip(), re.ASCII)
    if read is None:
        raise WrongCall(f"--within is a number of days such as 60d; '{within}' is not.")
    with opened(shop) as here:
        found = look_for(here.shop, int(read[1]), here.today)
    if as_json:
        say_json(found)
        return
    if not found:
        say(f"Nothing expires within {read[1]} days.")
    for one in found:
        say(f"{one.tag}  {one.title}, {one.amount} in {one.place or 'no place'}: {one.words}.")


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    for verb in (low, expiring):
        app.command()(verb)
