"""Verbs of the shelf and the cutting table: walk, pick, put-back, cut, side-piece, measure, flaw."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, OrderArgument, ShopOption, WrongCall, opened, say, say_json
from stockroom.domain.refusal import Refusal

TagArgument = Annotated[str, typer.Argument(metavar="TAG", help="The tag of the roll, reel or bin, as it is scanned.")]
MixOption = Annotated[
    str, typer.Option(help="Approve another dye lot of the same item for this order, and say why it will not be seen.")
]
RollArgument = Annotated[str, typer.Argument(metavar="ROLL", help="The roll's tag.")]


def walk(
    order: Annotated[list[str], typer.Argument(metavar="ORDER", help="One order or several, in one walk.")],
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """What is to be fetched for orders, in walking order.

    \b
    Examples:
      stockroom walk L-1044
      stockroom walk L-1044 L-1041
    """
    from stockroom.jobs.pick import walk as stops_of

    with opened(shop) as here:
        found = stops_of(here.shop, order)
    if as_json:
        say_json(found)
        return
    for stop in found.stops:
        lot = f", lot {stop.lot}" if stop.lot else ""
        changed = "  CHANGED" if stop.changed else ""
        say(f"{stop.place:<6} {stop.tag:<8} {stop.how:<4} {stop.amount:>9}  {stop.title}{lot}  ({stop.order}){changed}")
    if not found.stops:
        say("Nothing is left to fetch.")
    for sentence in (*found.waiting, *found.short):
        say(f"! {sentence}")


def pick(
    order: OrderArgument,
    tag: TagArgument,
    there: Annotated[
        str, typer.Option(help="Only so much is really there: a count, or a length such as '1.2 m'; the rest is short.")
    ] = "",
    mix_because: MixOption = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take what is held in a reel or bin for an order, or find what is to be cut from a roll.

    Another one of the same item and lot will do; what is planned moves to it. Another lot needs an approved mix.

    \b
    Examples:
      stockroom pick L-1044 B1S --by AB
      stockroom pick L-1044 B1S --there 5 --by AB
      stockroom pick L-1044 R27L --mix-because "the edge lies under the lid" --by AB
    """
    from stockroom.jobs import pick as jobs
    from stockroom.jobs.read_order import said_in_a_line

    said_in_a_line(reason=mix_because)
    if there and mix_because:
        raise WrongCall("Say one of them: --there for how much is there, or --mix-because for another lot.")
    with opened(shop) as here, _in_full(f"stockroom pick {order} {tag}"):
        stamp = here.stamp(by)
        if there:
            much = jobs.amount_there(here.shop, order, tag, there)
            done = jobs.pick_short(here.shop, order, tag, much, stamp)
        elif mix_because:
            done = jobs.pick_mixed(here.shop, order, tag, mix_because, stamp)
        else:
            done = jobs.pick(here.shop, order, tag, stamp)
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    say(f"Stops left for order {done.order}: {done.left}")


@contextmanager
def _in_full(call: str) -> Iterator[None]:
    """Says how the call is made again where it lacks a word: that a mix is approved, or what was got out of a cut."""
    from stockroom.jobs.other_stock import AnotherLot
    from stockroom.jobs.shorter import DoesNotGo

    try:
        yield
    except DoesNotGo as refusal:
        how = "If all were, say it again with --all-out; if only those that go on it were, with --what-goes."
        raise Refusal(refusal.sentence, (*refusal.faults, how)) from None
    except AnotherLot as refusal:
        how = f"To approve the mix: {call} --mix-because WHY --by AB"
        raise Refusal(refusal.sentence, (*refusal.faults, how)) from None


def put_back(
    order: OrderArgument, tag: TagArgument, shop: ShopOption = None, by: ByOption = None, as_json: JsonOption = False
) -> None:
    """Put back what was picked from a reel or bin for an order.

    \b
    Example:
      stockroom put-back L-1044 B1S --by AB
    """
    from stockroom.jobs.pick import put_back as undo

    with opened(shop) as here:
        done = undo(here.shop, order, tag, here.stamp(by))
    if as_json:
        say_json(done)
        return
    say(done.sentence)


def cut(
    order: OrderArgument,
    roll: RollArgument,
    length: Annotated[str, typer.Option(help="What was really cut, such as '2.95 m'; without it, as planned.")] = "",
    note: Annotated[str, typer.Option(help="Anything to be remembered of it.")] = "",
    all_out: Annotated[
        bool, typer.Option("--all-out", help="All panels were got out of a length that is too short for them.")
    ] = False,
    what_goes: Annotated[
        bool, typer.Option("--what-goes", help="Only what goes on that length was; the rest is planned again.")
    ] = False,
    mix_because: MixOption = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Cut an order's planned stretch from a roll.

    The true length is booked, and every other promise on the roll keeps its place or finds another.

    \b
    Examples:
      stockroom cut L-1044 R27L --by AB
      stockroom cut L-1044 R27L --length "2.95 m" --by AB
      stockroom cut L-1044 R18L --length "1.90 m" --all-out --by AB
    """
    from stockroom.domain.quantities import need_mm
    from stockroom.jobs.cut import cut as make
    from stockroom.jobs.read_order import said_in_a_line
    from stockroom.jobs.shorter import Shorter

    said_in_a_line(note=note, reason=mix_because)
    if all_out and what_goes:
        raise WrongCall("Say one of them: --all-out, or --what-goes.")
    said = Shorter.ALL_OUT if all_out else Shorter.WHAT_GOES if what_goes else Shorter.ASKED
    mm = need_mm(length) if length else None
    with opened(shop) as here, _in_full(f"stockroom cut {order} {roll}"):
        done = make(here.shop, order, roll, here.stamp(by), mm, note, mix_because, said)
    if as_json:
        say_json(done)
        return
    from stockroom.domain.quantities import show_length

    say(f"{show_length(done.cut_mm)} cut from {done.tag} for order {done.order}.")
    for sentence in done.sentences:
        say(f"  {sentence}")
    for sentence in done.short:
        say(f"  SHORT {sentence}")


def side_piece(
    roll: RollArgument,
    length: Annotated[str, typer.Argument(help="Along the roll, such as '0.9 m'.")],
    width: Annotated[str, typer.Argument(help="Across it, such as '60 cm' or '600 mm'.")],
    place: Annotated[str, typer.Argument(help="Where it is put.")],
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep a part-width piece left beside a cut as a remnant.

    \b
    Example:
      stockroom side-piece R27L "1.2 m" "600 mm" M3 --by AB
    """
    from stockroom.domain.quantities import stock_mm
    from stockroom.jobs.cut import keep_side_piece

    with opened(shop) as here:
        tag = keep_side_piece(here.shop, roll, stock_mm(length), stock_mm(width), place, here.stamp(by))
    if as_json:
        say_json({"tag": tag})
        return
    say(f"It is remnant {tag}. Print its tag: stockroom paper stock-tags {tag}")


def measure(
    roll: RollArgument,
    length: Annotated[str, typer.Argument(help="What was measured, such as '24.35 m'.")],
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down a roll's true length; what was promised is planned again.

    \b
    Example:
      stockroom measure R27L "24.35 m" --by AB
    """
    from stockroom.domain.quantities import stock_mm
    from stockroom.jobs.cut import measure as put_right

    with opened(shop) as here:
        done = put_right(here.shop, roll, stock_mm(length), here.stamp(by))
    _say_put_right(done, as_json)


def flaw(
    roll: RollArgument,
    start: Annotated[str, typer.Argument(metavar="FROM", help="From the roll's inner end, such as '3.2 m'.")],
    end: Annotated[str, typer.Argument(metavar="TO", help="To, likewise.")],
    what: Annotated[str, typer.Argument(help="What it is: a slub, a stain, a fold.")],
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down a flaw of a roll; cuts planned over it are planned again.

    \b
    Example:
      stockroom flaw R27L "3.2 m" "3.25 m" slub --by AB
    """
    from stockroom.domain.quantities import need_mm, stock_mm
    from stockroom.jobs.cut import mark_flaw
    from stockroom.jobs.read_order import said_in_a_line

    said_in_a_line(flaw=what)
    with opened(shop) as here:
        done = mark_flaw(here.shop, roll, stock_mm(start), need_mm(end), what, here.stamp(by))
    _say_put_right(done, as_json)


def _say_put_right(done: object, as_json: bool) -> None:
    from stockroom.domain.quantities import show_length
    from stockroom.jobs.replan import RollPutRight

    assert isinstance(done, RollPutRight)
    if as_json:
        say_json(done)
        return
    say(f"{done.tag} holds {show_length(done.left_mm)}. Planned cuts moved along it: {done.moved}.")
    if done.planned_elsewhere:
        say(f"Planned on other cloth now: order {', '.join(done.planned_elsewhere)}.")
    for sentence in done.short:
        say(f"SHORT {sentence}")
    if done.claimable_mm:
        say(f"It is {show_length(done.claimable_mm)} shorter than it came. Claim it: stockroom paper claim {done.tag}")


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    for verb in (walk, pick, cut, measure, flaw):
        app.command()(verb)
    app.command("put-back")(put_back)
    app.command("side-piece")(side_piece)
