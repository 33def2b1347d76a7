"""Verbs of the bench and the packing table: spoil, tie, bench, out, back, sew, packing, pack, tick and the others."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, OrderArgument, ShopOption, WrongCall, opened, say, say_json

if TYPE_CHECKING:
    from stockroom.jobs.bundle import BundleMoved
    from stockroom.jobs.pack import PieceMoved, Sent

PieceArgument = Annotated[str, typer.Argument(metavar="PIECE", help="The piece's tag.")]
BundleArgument = Annotated[str, typer.Argument(metavar="BUNDLE", help="The bundle's tag.")]
ParcelOption = Annotated[int, typer.Option(min=1, help="Which parcel.")]


def spoil(
    piece: PieceArgument,
    because: Annotated[str, typer.Option(help="How it was spoilt.")],
    panel: Annotated[str, typer.Option(help="Code of the panel, where the piece has several.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Cut a spoilt panel again, from the same dye lot.

    \b
    Example:
      stockroom spoil P61X --because "the knife slipped" --by AB
    """
    from stockroom.jobs.read_order import said_in_a_line
    from stockroom.jobs.spoil import spoil as note_down

    said_in_a_line(reason=because)
    with opened(shop) as here:
        done = note_down(here.shop, piece, panel, because, here.stamp(by))
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    for sentence in done.short:
        say(f"SHORT {sentence}")
    if done.would_mix:
        say(f'To approve another lot: stockroom reserve {done.order} --approve-mix {done.item} --because "…" --by AB')


def tie(order: OrderArgument, shop: ShopOption = None, by: ByOption = None, as_json: JsonOption = False) -> None:
    """Tie the cut panels of an order's kits into bundles.

    \b
    Example:
      stockroom tie L-1044 --by AB
    """
    from stockroom.jobs.bundle import tie as tie_up

    with opened(shop) as here:
        done = tie_up(here.shop, order, here.stamp(by))
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    for bundle in done.bundles:
        say(f"  {bundle.tag}  {bundle.kit}: {_counted(len(bundle.pieces), 'piece')}")
    for sentence in done.not_cut:
        say(f"  not yet: {sentence}")


def bench(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """Where every bundle is, since when, and who has it.

    \b
    Example:
      stockroom bench
    """
    from stockroom.jobs.bundle import bench as on_the_bench

    with opened(shop) as here:
        found = on_the_bench(here.shop, here.now)
    if as_json:
        say_json(found)
        return
    if not found:
        say("No bundles. Cut an order's panels, then tie them: stockroom tie ORDER")
    for one in found:
        since = f"{one.since:%Y-%m-%d}, {_counted(one.days, 'day')}" if one.days else f"{one.since:%Y-%m-%d}"
        say(f"{one.tag:<8} {one.order:<8} {one.kit}: {one.where} (since {since}; {_counted(one.pieces, 'piece')})")


def out(
    bundle: BundleArgument,
    stage: Annotated[str, typer.Argument(help="Code of the stage it goes to.")],
    holder: Annotated[str, typer.Option("--with", help="Who has it, where the stage does not say.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """A bundle goes out to a stage of the sewing room.

    \b
    Example:
      stockroom out T1U sewing --with "Rosa" --by AB
    """
    from stockroom.jobs.bundle import out as move_out
    from stockroom.jobs.read_order import said_in_a_line

    said_in_a_line(holder=holder)
    with opened(shop) as here:
        done = move_out(here.shop, bundle, stage, holder, here.stamp(by))
    _say_bundle(done, as_json)


def back(bundle: BundleArgument, shop: ShopOption = None, by: ByOption = None, as_json: JsonOption = False) -> None:
    """A bundle is back at the bench.

    \b
    Example:
      stockroom back T1U --by AB
    """
    from stockroom.jobs.bundle import back as move_back

    with opened(shop) as here:
        done = move_back(here.shop, bundle, here.stamp(by))
    _say_bundle(done, as_json)


def sew(
    tag: Annotated[str, typer.Argument(help="A piece's tag; or a bundle's, for all its pieces of several panels.")],
    at: Annotated[str, typer.Option(help="Stage where it was sewn, if the bundle is still out.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """The panels of a piece are sewn together: it is one piece from now on, known by its own tag.

    \b
    Examples:
      stockroom sew P62V --by AB
      stockroom sew T1U --at sewing --by AB
    """
    from stockroom.jobs.sew import sew as sew_up

    with opened(shop) as here:
        done = sew_up(here.shop, tag, here.stamp(by), at)
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    for piece, _ in done.pieces:
        say(f"To print its tag: stockroom paper tag {piece}")


def _say_bundle(done: BundleMoved, as_json: bool) -> None:
    if as_json:
        say_json(done)
    else:
        say(done.sentence)


def packing(
    what: Annotated[str, typer.Argument(help="An order, or the tag of an order, bundle, piece or parcel.")],
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """What of an order is packed, and what is not.

    \b
    Example:
      stockroom packing L-1044
    """
    from stockroom.jobs.pack import packing_list

    with opened(shop) as here:
        found = packing_list(here.shop, what)
    if as_json:
        say_json(found)
        return
    say(f"Order {found.order}, {found.customer}, {found.state}")
    for piece in found.pieces:
        where = f"in parcel {piece.parcel}" if piece.parcel else piece.state
        hand = f" {piece.hand}" if piece.hand else ""
        say(f"  {piece.tag:<8} {piece.piece}{hand}  {piece.title}: {'; '.join(filter(None, (where, piece.sewing)))}")
        for lack in piece.lacks:
            say(f"             {lack}")
    for parcel in found.parcels:
        inside = _counted(len(parcel.pieces), "piece")
        say(f"  Parcel {parcel.number} ({parcel.what}, {parcel.state}, tag {parcel.tag}): {inside}")
    if found.is_complete:
        say("Complete.")
    for sentence in found.customers_parts:
        say(f"  {sentence}")


def pack(
    order: OrderArgument,
    piece: PieceArgument,
    parcel: ParcelOption = 1,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put a scanned piece into a parcel.

    \b
    Example:
      stockroom pack L-1044 P61X --by AB
    """
    from stockroom.jobs.pack import pack as put_in

    with opened(shop) as here:
        done = put_in(here.shop, order, piece, here.stamp(by), parcel)
    _say_piece(done, as_json)


def tick(
    order: OrderArgument,
    piece: PieceArgument,
    parcel: ParcelOption = 1,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Tick a piece that need not be scanned into a parcel.

    \b
    Example:
      stockroom tick L-1044 P58L --by AB
    """
    from stockroom.jobs.pack import tick as tick_off

    with opened(shop) as here:
        done = tick_off(here.shop, order, piece, here.stamp(by), parcel)
    _say_piece(done, as_json)


def unpack(
    order: OrderArgument,
    piece: PieceArgument,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take a piece out of its parcel again.

    \b
    Example:
      stockroom unpack L-1044 P61X --by AB
    """
    from stockroom.jobs.pack import unpack as take_out

    with opened(shop) as here:
        done = take_out(here.shop, order, piece, here.stamp(by))
    _say_piece(done, as_json)


def _say_piece(done: PieceMoved, as_json: bool) -> None:
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    say(f"Pieces of order {done.order} that are not packed: {done.left}")


def parcel(
    order: OrderArgument,
    what: Annotated[str, typer.Argument(help="'box', 'long parcel', or 'to the car' where it is fitted here.")] = "box",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Begin another parcel; long bars travel apart.

    \b
    Example:
      stockroom parcel L-1044 "long parcel" --by AB
    """
    from stockroom.jobs.pack import new_parcel

    with opened(shop) as here:
        done = new_parcel(here.shop, order, what, here.stamp(by))
    if as_json:
        say_json(done)
        return
    say(f"Parcel {done.number} of order {order} is begun ({done.what}, tag {done.tag}).")


def send(
    order: OrderArgument,
    incomplete: Annotated[
        bool, typer.Option("--incomplete", help="Send it though something is missing; needs a reason.")
    ] = False,
    because: Annotated[str, typer.Option(help="Why it goes out incomplete.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Close a packed order: it is sent, or issued to the car.

    \b
    Examples:
      stockroom send L-1050 --by AB
      stockroom send L-1044 --incomplete --because "the customer cannot wait" --by AB
    """
    from stockroom.jobs.pack import close, close_incomplete
    from stockroom.jobs.read_order import said_in_a_line

    said_in_a_line(reason=because)
    if because and not incomplete:
        raise WrongCall("A reason is given for an order that goes out incomplete: say --incomplete as well.")
    with opened(shop) as here:
        stamp = here.stamp(by)
        done = close_incomplete(here.shop, order, because, stamp) if incomplete else close(here.shop, order, stamp)
    _say_sent(done, as_json)


def _say_sent(done: Sent, as_json: bool) -> None:
    if as_json:
        say_json(done)
        return
    where = "with the car" if done.fitted_here else "sent"
    say(f"Order {done.order} is {where}: {_counted(len(done.parcels), 'parcel')}.")
    for one in done.parcels:
        say(f"  {one.number}  {one.what}, tag {one.tag}: {_counted(len(one.pieces), 'piece')}")
    for sentence in done.owed:
        say(f"  OWED {sentence}")


def _counted(count: int, one: str) -> str:
    return f"{count} {one}" if count == 1 else f"{count} {one}s"


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    for verb in (spoil, tie, bench, out, back, sew, packing, pack, tick, unpack, parcel, send):
        app.command()(verb)
