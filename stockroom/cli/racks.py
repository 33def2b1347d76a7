"""Verbs of the racks: racks, move, adjust, quarantine, release, scrap."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, ShopOption, WrongCall, opened, say, say_json

if TYPE_CHECKING:
    from stockroom.jobs.racks import PlaceContents, Thing, Whereabouts
    from stockroom.jobs.replan import Replanned

ThingArgument = Annotated[str, typer.Argument(metavar="TAG", help="The tag of a roll, a reel or a bin.")]
BecauseOption = Annotated[str, typer.Option(help="Why: it stands in the books.")]
AmountOption = Annotated[
    str, typer.Option(help="Only so much of it: a count, or a length such as '2 m' off the outer end.")
]


def racks(
    what: Annotated[
        str, typer.Argument(metavar="[PLACE|ITEM]", help="A place, or an item; without it, every place.")
    ] = "",
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """What is where: the places, what lies in one, where an item lies.

    \b
    Examples:
      stockroom racks
      stockroom racks C1
      stockroom racks snap-fastener-cap
      stockroom racks "hood cloth fawn"
    """
    from stockroom.jobs.racks import PlaceContents, look_up, places

    with opened(shop) as here:
        every = places(here.shop) if not what.strip() else ()
        found = look_up(here.shop, what) if what.strip() else ()
    if as_json:
        say_json(found or every)
    elif isinstance(found, PlaceContents):
        _say_place(found)
    else:
        for one in every:
            apart = f", {one.quarantined} in quarantine" if one.quarantined else ""
            say(f"{one.code:<6} {one.tag:<7} {one.title}: {_counted(one.things, 'thing')}{apart}")
        for item in found:
            _say_item(item)


def _say_place(found: PlaceContents) -> None:
    say(f"{found.place}, {found.title} (tag {found.tag})")
    for thing in found.things:
        say(f"  {thing.tag:<8} {thing.amount:>9}  {_named(thing)}{_beside(thing)}")
    for part in found.no_stock:
        say(f"  {part}")
    if not found.things and not found.no_stock:
        say("  Nothing lies here.")


def _say_item(found: Whereabouts) -> None:
    apart = f", {found.quarantined} in quarantine" if found.quarantined else ""
    say(f"{found.title} ({found.item}): {found.held} held, {found.reserved} reserved, {found.free} free{apart}")
    for thing in found.things:
        lot = f"lot {thing.lot}" if thing.lot else ""
        say(f"  {thing.place:<6} {thing.tag:<8} {thing.amount:>9}  {thing.kind} {lot}".rstrip() + _beside(thing))
    if not found.things:
        say("  There is none.")


def _named(thing: Thing) -> str:
    return f"{thing.title}{f', lot {thing.lot}' if thing.lot else ''}"


def _beside(thing: Thing) -> str:
    reserved = f", {thing.reserved} reserved" if thing.reserved else ""
    return f"{reserved}{f'  QUARANTINE: {thing.quarantined}' if thing.quarantined else ''}"


def move(
    words: Annotated[list[str], typer.Argument(metavar="TAG... PLACE", help="What is moved, and last the place.")],
    amount: Annotated[str, typer.Option(help="Only so many, out of one bin.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put things in another place: scan them, then the place.

    A roll may weigh more than one person should lift: ask for help.

    \b
    Examples:
      stockroom move R18L C2 --by AB
      stockroom move R18L R27L B6I C2 --by AB
      stockroom move B6I B2 --amount 20 --by AB
    """
    from stockroom.jobs.move import move as put
    from stockroom.jobs.move import move_part

    *tags, place = words
    if not tags:
        raise WrongCall("Say what is moved and where to: stockroom move TAG PLACE.")
    if amount and len(tags) > 1:
        raise WrongCall("An amount is moved out of one bin at a time. Name one bin and the place.")
    with opened(shop) as here:
        stamp = here.stamp(by)
        if amount:
            things = [move_part(here.shop, tags[0], amount, place, stamp)]
        else:
            things = [*put(here.shop, tags, place, stamp).things]
    if as_json:
        say_json(things)
        return
    for thing in things:
        say(thing.sentence)
        if thing.is_new:
            _say_print([thing.tag_now])


def _say_print(tags: Sequence[str]) -> None:
    say(f"Print: stockroom paper stock-tags {' '.join(tags)}")


def adjust(
    tag: ThingArgument,
    figure: Annotated[str, typer.Argument(help="What is really there: a count, or a length such as '12.4 m'.")],
    because: BecauseOption,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down the true figure of one thing, with a reason.

    \b
    Examples:
      stockroom adjust B6I 12 --because "two fell behind the bench" --by AB
      stockroom adjust R27L "24.35 m" --because "measured" --by AB
    """
    from stockroom.jobs.adjust import adjust as put_right

    with opened(shop) as here:
        done = put_right(here.shop, tag, figure, because, here.stamp(by))
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    say_promises(done.promises)


def quarantine(
    tag: ThingArgument,
    because: BecauseOption,
    amount: AmountOption = "",
    start: Annotated[str, typer.Option("--from", help="Of a roll: a stretch from here, from its inner end.")] = "",
    end: Annotated[str, typer.Option("--to", help="To here, likewise.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Set goods apart that may not be used; a part of them gets a tag of its own.

    \b
    Examples:
      stockroom quarantine B6I --because "rusty" --amount 4 --by AB
      stockroom quarantine R27L --because "another shade" --amount "2 m" --by AB
      stockroom quarantine R18L --because "stained" --from "0.2 m" --to "0.6 m" --by AB
    """
    from stockroom.jobs.quarantine import quarantine as set_apart
    from stockroom.jobs.quarantine import quarantine_stretch

    if bool(start) != bool(end) or (start and amount):
        raise WrongCall("A stretch of a roll is said with --from and --to together, and without --amount.")
    with opened(shop) as here:
        stamp = here.stamp(by)
        if start:
            done = quarantine_stretch(here.shop, tag, start, end, because, stamp)
        else:
            done = set_apart(here.shop, tag, because, stamp, amount)
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    if done.new_tags:
        _say_print(done.new_tags)
    say_promises(done.promises)


def release(
    tag: ThingArgument,
    because: BecauseOption,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take goods out of quarantine: they may be used again.

    \b
    Example:
      stockroom release B6I --because "cleaned" --by AB
    """
    from stockroom.jobs.quarantine import release as let_out

    with opened(shop) as here:
        done = let_out(here.shop, tag, because, here.stamp(by))
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    for number in done.waited_for:
        say(f"Order {number} is short of it: stockroom reserve {number}")


def scrap(
    tag: ThingArgument,
    because: BecauseOption,
    amount: AmountOption = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Throw goods away, with a reason: they leave the books.

    Blades, solvents and adhesives go where the local rules say, not into the bin.

    \b
    Examples:
      stockroom scrap B6I --because "bent" --amount 3 --by AB
      stockroom scrap R27L --because "mildew" --amount "1.2 m" --by AB
    """
    from stockroom.jobs.scrap import scrap as throw_away

    with opened(shop) as here:
        done = throw_away(here.shop, tag, because, here.stamp(by), amount)
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    say_promises(done.promises)


def say_promises(done: Replanned) -> None:
    """What became of promises: what moved, what is held elsewhere now, and who is short."""
    if done.moved:
        say(f"Planned cuts moved along it: {done.moved}.")
    if done.planned_elsewhere:
        say(f"Held elsewhere now: order {', '.join(done.planned_elsewhere)}.")
    for sentence in done.short:
        say(f"SHORT {sentence}")


def _counted(count: int, one: str) -> str:
    return f"{count} {one}" if count == 1 else f"{count} {one}s"


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    for verb in (racks, move, adjust, quarantine, release, scrap):
        app.command()(verb)
