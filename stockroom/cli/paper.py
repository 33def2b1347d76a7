"""Paper from the shell: pick lists, tags, fitting sheets, packing lists, claims, drift, the reorder report, orders."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from stockroom.cli.asked import ByOption, OrderArgument, ShopOption, WrongCall, opened
from stockroom.cli.drift import AsOfOption, NameArgument, day_said
from stockroom.domain.refusal import Refusal

paper = typer.Typer(
    help="As PDF, with --printer on paper: pick-list, tags, fitting, packing-list, claim, drift, reorder, purchase.",
    rich_markup_mode=None,
    no_args_is_help=True,
)

OutOption = Annotated[
    Path | None, typer.Option("--out", "-o", help="Where the PDF goes; '-' for standard output. Without it: here.")
]
SheetOption = Annotated[
    str, typer.Option(help="Labels: a sheet or roll by its measures, or the path of your own .toml.")
]
StartOption = Annotated[int, typer.Option("--start-at", help="First free position of a used sheet, from 1.")]
CopiesOption = Annotated[int, typer.Option(help="Copies of each tag.")]
PrinterOption = Annotated[str, typer.Option(metavar="NAME", help="Send it to this printer too, by the system's 'lp'.")]


def write_paper(path: Path, data: bytes, printer: str = "") -> None:
    """Writes a file that was asked for; '-' is standard output. Then sends it to the printer, where one is named.

    Raises Refusal where it cannot be written, and where the printer does not take it: the file stays then.
    """
    if str(path) == "-":
        if printer:
            raise WrongCall("A printer is sent a file: leave '--out -' away, or '--printer'.")
        sys.stdout.buffer.write(data)
        return
    try:
        path.write_bytes(data)
    except OSError as error:
        raise Refusal(f"{path} cannot be written: {error.strerror or error}.") from error
    print(path, file=sys.stderr)
    if printer:
        from stockroom.jobs.printing import send

        if trouble := send(printer, path):
            raise Refusal(f"{trouble} The PDF is kept.")


@paper.command("pick-list")
def pick_list(
    order: OrderArgument,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
    by: ByOption = None,
) -> None:
    """The pick list of an order, in walking order.

    \b
    Examples:
      stockroom paper pick-list L-1041
      stockroom paper pick-list L-1041 -o pick.pdf
    """
    from stockroom.jobs.pick_list import pick_list as make
    from stockroom.jobs.printing import file_name

    with opened(shop) as here:
        data = make(here.shop, order, here.stamp(by), here.today)
    write_paper(out or file_name("pick-list", order), data, printer)


@paper.command("tags")
def tags(
    order: OrderArgument,
    sheet: SheetOption = "a4-2x4-99x67",
    start_at: StartOption = 1,
    copies: CopiesOption = 1,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
) -> None:
    """The tags of an order's pieces, in the order of fitting.

    \b
    Examples:
      stockroom paper tags L-1041
      stockroom paper tags L-1041 --start-at 5
      stockroom paper tags L-1041 --sheet roll-100x50-203dpi --copies 2
    """
    from stockroom.jobs.printing import file_name
    from stockroom.jobs.tag_paper import piece_tags, print_tags

    with opened(shop) as here:
        data = print_tags(piece_tags(here.shop, order), sheet, start_at, copies)
    write_paper(out or file_name("tags", order), data, printer)


@paper.command("stock-tags")
def stock_tags(
    which: Annotated[
        list[str] | None, typer.Argument(metavar="TAG", help="Rolls and bins; all where none is named.")
    ] = None,
    sheet: SheetOption = "a4-3x7-63x38",
    start_at: StartOption = 1,
    copies: CopiesOption = 1,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
) -> None:
    """Tags of rolls and bins.

    \b
    Examples:
      stockroom paper stock-tags
      stockroom paper stock-tags --sheet a4-2x7-99x38 -o tags.pdf
    """
    from stockroom.jobs.printing import file_name
    from stockroom.jobs.tag_paper import print_tags
    from stockroom.jobs.tag_paper import stock_tags as read_tags

    with opened(shop) as here:
        data = print_tags(read_tags(here.shop, which or []), sheet, start_at, copies)
    write_paper(out or file_name("stock-tags"), data, printer)


@paper.command("low-tags")
def low_tags(
    which: Annotated[
        list[str] | None, typer.Argument(metavar="TAG|ITEM", help="Consumables; all where none is named.")
    ] = None,
    sheet: SheetOption = "a4-3x7-63x38",
    start_at: StartOption = 1,
    copies: CopiesOption = 1,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
) -> None:
    """Low-stock tags for the shelves of consumables: whoever opens the last one scans it.

    \b
    Examples:
      stockroom paper low-tags
      stockroom paper low-tags thread-black contact-adhesive -o low-tags.pdf
    """
    from stockroom.jobs.printing import file_name
    from stockroom.jobs.tag_paper import low_tags as read_tags
    from stockroom.jobs.tag_paper import print_tags

    with opened(shop) as here:
        data = print_tags(read_tags(here.shop, which or []), sheet, start_at, copies)
    write_paper(out or file_name("low-tags"), data, printer)


@paper.command("place-tags")
def place_tags(
    sheet: SheetOption = "a4-3x7-63x38",
    start_at: StartOption = 1,
    copies: CopiesOption = 1,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
) -> None:
    """Tags of racks, shelves and bins' places, in walking order.

    \b
    Example:
      stockroom paper place-tags
    """
    from stockroom.jobs.printing import file_name
    from stockroom.jobs.tag_paper import place_tags as read_tags
    from stockroom.jobs.tag_paper import print_tags

    with opened(shop) as here:
        data = print_tags(read_tags(here.shop), sheet, start_at, copies)
    write_paper(out or file_name("place-tags"), data, printer)


@paper.command("fitting")
def fitting(
    order: OrderArgument,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
    by: ByOption = None,
) -> None:
    """The fitting sheet of each car of an order.

    With several cars, --out names a folder that exists.

    \b
    Examples:
      stockroom paper fitting L-1041
      stockroom paper fitting L-1045 --out .
    """
    from stockroom.jobs.fitting_paper import fitting_sheets
    from stockroom.jobs.printing import file_name

    with opened(shop) as here:
        sheets = fitting_sheets(here.shop, order, here.stamp(by))
    if out is not None and len(sheets) == 1 and not out.is_dir():
        write_paper(out, next(iter(sheets.values())), printer)
        return
    if out is not None and not out.is_dir():
        raise Refusal(f"Order {order} has {len(sheets)} cars: name a folder that exists for their sheets, not {out}.")
    for car, data in sheets.items():
        write_paper((out or Path()) / file_name("fitting", order, car), data, printer)


@paper.command("reorder")
def reorder(
    week: Annotated[str | None, typer.Option(metavar="WEEK", help="An ISO week; without it, this week.")] = None,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
    by: ByOption = None,
) -> None:
    """The weekly reorder report.

    \b
    Example:
      stockroom paper reorder --week 2026-W48
    """
    from stockroom.jobs.buying import decided_words
    from stockroom.jobs.printing import file_name
    from stockroom.jobs.reorder import reorder as run_reorder
    from stockroom.jobs.reorder_paper import reorder_paper

    with opened(shop) as here:
        report = run_reorder(here.shop, week, here.today, here.stamp(by))
        decided = decided_words(here.shop, report, here.today)
    write_paper(out or file_name("reorder", report.week), reorder_paper(report, decided), printer)


@paper.command("purchase")
def purchase(
    reference: Annotated[str, typer.Argument(metavar="REFERENCE", help="The purchase, such as P-0616.")],
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
    by: ByOption = None,
) -> None:
    """The order of a purchase, for the supplier: what, how much, at which price, when.

    \b
    Examples:
      stockroom paper purchase P-0611
      stockroom paper purchase P-0611 -o order.pdf
    """
    from stockroom.jobs.printing import file_name
    from stockroom.jobs.purchase_paper import purchase_order

    with opened(shop) as here:
        data = purchase_order(here.shop, reference, here.stamp(by))
    write_paper(out or file_name("purchase", reference), data, printer)


@paper.command("packing-list")
def packing_list(
    order: OrderArgument,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
    by: ByOption = None,
) -> None:
    """What is in each parcel of an order, and what is owed.

    \b
    Examples:
      stockroom paper packing-list L-1041
      stockroom paper packing-list L-1041 -o packed.pdf
    """
    from stockroom.jobs.packing_paper import packing_list as make
    from stockroom.jobs.printing import file_name

    with opened(shop) as here:
        data = make(here.shop, order, here.stamp(by))
    write_paper(out or file_name("packing-list", order), data, printer)


@paper.command("kit-tags")
def kit_tags(
    order: OrderArgument,
    sheet: SheetOption = "a4-2x4-99x67",
    start_at: StartOption = 1,
    copies: CopiesOption = 1,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
) -> None:
    """The kit tag of each parcel of an order that is complete.

    One that was sent incomplete has them too: they say what is owed.

    \b
    Examples:
      stockroom paper kit-tags L-1050
      stockroom paper kit-tags L-1050 --sheet roll-100x50-203dpi
    """
    from stockroom.jobs.packing_paper import kit_tags as read_tags
    from stockroom.jobs.printing import file_name
    from stockroom.jobs.tag_paper import print_tags

    with opened(shop) as here:
        data = print_tags(read_tags(here.shop, order), sheet, start_at, copies)
    write_paper(out or file_name("kit-tags", order), data, printer)


@paper.command("bundle-tags")
def bundle_tags(
    order: OrderArgument,
    sheet: SheetOption = "a4-3x7-63x38",
    start_at: StartOption = 1,
    copies: CopiesOption = 1,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
) -> None:
    """The tag of each bundle of an order.

    \b
    Examples:
      stockroom paper bundle-tags L-1044
      stockroom paper bundle-tags L-1044 --start-at 4
    """
    from stockroom.jobs.packing_paper import bundle_tags as read_tags
    from stockroom.jobs.printing import file_name
    from stockroom.jobs.tag_paper import print_tags

    with opened(shop) as here:
        data = print_tags(read_tags(here.shop, order), sheet, start_at, copies)
    write_paper(out or file_name("bundle-tags", order), data, printer)


@paper.command("part-tags")
def part_tags(
    order: OrderArgument,
    sheet: SheetOption = "a4-3x7-63x38",
    start_at: StartOption = 1,
    copies: CopiesOption = 1,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
) -> None:
    """The tag of each customer's part of an order that is here.

    \b
    Example:
      stockroom paper part-tags L-1044
    """
    from stockroom.jobs.printing import file_name
    from stockroom.jobs.tag_paper import part_tags as read_tags
    from stockroom.jobs.tag_paper import print_tags

    with opened(shop) as here:
        data = print_tags(read_tags(here.shop, order), sheet, start_at, copies)
    write_paper(out or file_name("part-tags", order), data, printer)


@paper.command("swatch-tags")
def swatch_tags(
    which: Annotated[
        list[str] | None,
        typer.Argument(metavar="[SWATCH]...", help="Tags of swatches; without any: all that lie here."),
    ] = None,
    sheet: SheetOption = "a4-3x7-63x38",
    start_at: StartOption = 1,
    copies: CopiesOption = 1,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
) -> None:
    """Tags of swatches, or of every swatch that lies here.

    \b
    Examples:
      stockroom paper swatch-tags
      stockroom paper swatch-tags S1Y --start-at 4
    """
    from stockroom.jobs.printing import file_name
    from stockroom.jobs.tag_paper import print_tags
    from stockroom.jobs.tag_paper import swatch_tags as read_tags

    with opened(shop) as here:
        data = print_tags(read_tags(here.shop, which or ()), sheet, start_at, copies)
    write_paper(out or file_name("swatch-tags", *(which or ())), data, printer)


@paper.command("tag")
def tag(
    which: Annotated[list[str], typer.Argument(metavar="TAG", help="What is on the label, one or more.")],
    sheet: Annotated[
        str, typer.Option(help="Labels, as for the others. Without it: what suits the tags.", show_default=False)
    ] = "",
    start_at: StartOption = 1,
    copies: CopiesOption = 1,
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
) -> None:
    """Any tag again: of a roll, bin, place, piece, bundle, parcel, swatch or customer's part.

    \b
    Examples:
      stockroom paper tag R11
      stockroom paper tag R11 B6I --start-at 4
    """
    from stockroom.jobs.printing import file_name
    from stockroom.jobs.tag_again import tags_of
    from stockroom.jobs.tag_paper import print_tags, sheet_for

    with opened(shop) as here:
        found = tags_of(here.shop, which)
        data = print_tags(found, sheet or sheet_for(found), start_at, copies)
    write_paper(out or file_name("tag", *which), data, printer)


@paper.command("claim")
def claim(
    roll: Annotated[str, typer.Argument(metavar="ROLL", help="The roll's tag.")],
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
    by: ByOption = None,
) -> None:
    """A claim on the supplier of a roll that is short or flawed.

    \b
    Example:
      stockroom paper claim R11
    """
    from stockroom.jobs.claim_paper import claim as make
    from stockroom.jobs.printing import file_name

    with opened(shop) as here:
        data = make(here.shop, roll, here.stamp(by))
    write_paper(out or file_name("claim", roll), data, printer)


@paper.command("drift")
def drift(
    name: NameArgument,
    as_of: AsOfOption = "",
    out: OutOption = None,
    printer: PrinterOption = "",
    shop: ShopOption = None,
    by: ByOption = None,
) -> None:
    """How the dye lots of a colour drift from its master, for the supplier: a page for each cloth that was read.

    With several cloths, --out names a folder that exists.

    \b
    Examples:
      stockroom paper drift leathercloth/dark-blue
      stockroom paper drift red --out .
    """
    from stockroom.jobs.drift_paper import drift_pages
    from stockroom.jobs.printing import file_name

    day = day_said(as_of)
    with opened(shop) as here:
        pages = drift_pages(here.shop, name, here.stamp(by), day)
    if out is not None and len(pages) == 1 and not out.is_dir():
        write_paper(out, next(iter(pages.values())), printer)
        return
    if out is not None and not out.is_dir():
        raise Refusal(f"{name} has pages of {len(pages)} cloths: name a folder that exists for them, not {out}.")
    for item, data in pages.items():
        write_paper((out or Path()) / file_name("drift", item), data, printer)


def add_to(app: typer.Typer) -> None:
    """Adds this group."""
    app.add_typer(paper, name="paper")
