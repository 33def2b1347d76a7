"""Verbs of goods in: what is expected, receiving it, writing a purchase down and closing one."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TextIO

import typer

from stockroom.cli.asked import ByOption, JsonOption, Opened, ShopOption, WrongCall, opened, plain, say, say_json, where
from stockroom.cli.outlet import outlet_of
from stockroom.cli.paper import PrinterOption, StartOption, write_paper
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import literal

if TYPE_CHECKING:
    from stockroom.domain.stamp import Stamp
    from stockroom.jobs.printing import Outlet
    from stockroom.jobs.receive import Received, SaidBack

ReferenceArgument = Annotated[str, typer.Argument(metavar="REFERENCE", help="The purchase, as on the order form.")]


def expected(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """What is on order and has not come, the earliest due first.

    \b
    Example:
      stockroom expected
    """
    from stockroom.jobs.purchasing import expected as due

    with opened(shop) as here:
        found = due(here.shop, here.today)
    if as_json:
        say_json(found)
        return
    for one in found:
        late = f"  LATE by {one.late_days} days" if one.late_days else ""
        say(f"{one.due}  {one.reference:<8} {one.shown:>9}  {one.title} ({one.item}), {one.supplier}{late}")
    if not found:
        say("Nothing is on order that has not come.")


def receive(
    item: Annotated[str, typer.Argument(metavar="ITEM", help="Its code, or the tag of a roll or bin of it.")],
    amount: Annotated[
        list[str],
        typer.Argument(metavar="AMOUNT", help="The length of each roll ('12.5 m', '13 yd'), or how many came."),
    ],
    place: Annotated[str, typer.Option(help="Where it is put: a place's code or tag.")] = "",
    purchase: Annotated[str, typer.Option(help="The purchase it came with; it may have none.")] = "",
    supplier: Annotated[str, typer.Option("--from", help="Who sent it, where there is no purchase.")] = "",
    delivery: Annotated[str, typer.Option(help="The number of the supplier's delivery note.")] = "",
    lot: Annotated[str, typer.Option(help="The supplier's dye lot, as it stands on the goods.")] = "",
    width: Annotated[str, typer.Option(help="Usable width; without it, the cloth's nominal one.")] = "",
    measured: Annotated[
        bool, typer.Option("--measured", help="Measured here; without it the length is the supplier's word.")
    ] = False,
    flaw: Annotated[
        list[str] | None, typer.Option(metavar="'FROM-TO WHAT'", help="From the inner end; may be repeated.")
    ] = None,
    reading: Annotated[
        str, typer.Option(metavar="'L a b ILLUMINANT OBSERVER'", help="A colour reading, with its conditions.")
    ] = "",
    quarantine: Annotated[str, typer.Option(metavar="WHY", help="It may not be used yet, and why.")] = "",
    expires: Annotated[str, typer.Option(metavar="DAY", help="The day after which it is not to be used.")] = "",
    price: Annotated[str, typer.Option(help="Of one, or of one metre; without it, the purchase's.")] = "",
    sure: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Confirms what is asked, by its name; may be repeated.")
    ] = None,
    check: Annotated[bool, typer.Option("--check", help="Only say what would be booked, and what is asked.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Book it without asking at the terminal first.")] = False,
    reserve: Annotated[bool, typer.Option("--reserve", help="Then hold it for the orders that waited for it.")] = False,
    no_tags: Annotated[bool, typer.Option("--no-tags", help="Print no tags now.")] = False,
    pdf: Annotated[
        Path | None, typer.Option(help="Where the tags go; '-' for standard output. Without it: the paper folder.")
    ] = None,
    printer: PrinterOption = "",
    sheet: Annotated[
        str, typer.Option(help="Labels, as for any paper. Without it: STOCKROOM_LABELS, or what suits.")
    ] = "",
    start_at: StartOption = 1,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Goods came in: each roll or bin gets its tag, against a purchase or without one.

    New tags are printed at once, as in the screens: into the paper folder, and on STOCKROOM_PRINTER where it is set.
    What was typed is said back before it counts; what is not likely is asked, and confirmed by name.

    \b
    Examples:
      stockroom receive hood-cloth/fawn "27 yd" --purchase P-0611 --lot W4466 --place H2
      stockroom receive turn-button-plate 25 --purchase P-0613 --place B2
      stockroom receive edge-binding/black "50 m" "50 m" --lot G7 --place P1 --from bankside --pdf tags.pdf
    """
    from stockroom.domain.arrival import Arrival
    from stockroom.jobs.new_shade import SET_APART
    from stockroom.jobs.receive import receive as book
    from stockroom.jobs.receive import receive_check
    from stockroom.jobs.tag_paper import STOCK_SHEET, must_take_tags

    said = Arrival(
        item, tuple(amount), place, purchase, supplier, delivery, lot, width, measured, tuple(flaw or ()), reading,
        quarantine, expires, price,
    )  # fmt: skip
    if as_json and str(pdf) == "-":
        raise WrongCall("Standard output takes the tags or the answer in JSON, not both. Name a file: --pdf tags.pdf.")
    if no_tags and (pdf or printer):
        raise WrongCall("Either the tags are printed or they are not: leave '--no-tags' away, or the others.")
    outlet = _outlet(where(shop), printer, sheet)
    if any(one.strip().isalpha() for one in amount[1:]):
        raise WrongCall('Write a length and its unit as one word or in quotes: 25m, or "25 m".')
    with opened(shop) as here:
        stamp = here.stamp(by)
        if check:
            back = receive_check(here.shop, said, stamp)
            _say_back(back, as_json)
            return
        if sheet or start_at != 1:
            must_take_tags(outlet.labels or STOCK_SHEET, start_at)
        confirmed = {*(sure or ())}
        if not yes and not as_json and sys.stdin.isatty() and sys.stdout.isatty():
            sure_now, is_apart = _asked_at_the_terminal(receive_check(here.shop, said, stamp), confirmed)
            confirmed |= sure_now
            said = replace(said, quarantine=SET_APART) if is_apart else said
        done = book(here.shop, said, stamp, confirmed)
        held = _reserved(here, done, stamp) if reserve else []
        if as_json:
            say_json({**plain(done), "new_tags": list(done.new_tags), "reserved": held})
        elif str(pdf) != "-":
            _say_received(done)
            for sentence in held:
                say(sentence)
            if done.waiting and not reserve:
                say(f"Next: {'; '.join(f'stockroom reserve {one.order}' for one in done.waiting)}")
        if no_tags and done.new_tags and not as_json:
            say(f"Print what is new: stockroom paper stock-tags {' '.join(done.new_tags)}")
        elif pdf and done.new_tags:
            _write_tags(here, done, pdf, start_at, outlet.labels, printer)
        elif done.new_tags and not no_tags:
            try:
                _print_tags(here, done, stamp, outlet, start_at, sys.stderr if as_json else sys.stdout)
            except Refusal as refusal:
                if printer:
                    raise
                # Nobody asked for it in this call, and what was asked for is done.
                for sentence in (refusal.sentence, *refusal.faults):
                    print(literal(sentence), file=sys.stderr)


def _outlet(shop: str, printer: str, sheet: str) -> Outlet:
    """Where the tags go: as in the screens, save what was typed."""
    usual = outlet_of(shop)
    return replace(usual, printer=printer or usual.printer, labels=sheet or usual.labels)


def _write_tags(here: Opened, done: Received, pdf: Path, start_at: int, sheet: str, printer: str) -> None:
    """Writes the new tags into a file that was named."""
    from stockroom.jobs.tag_paper import STOCK_SHEET, print_tags, stock_tags

    write_paper(pdf, print_tags(stock_tags(here.shop, done.new_tags), sheet or STOCK_SHEET, start_at, 1), printer)


def _print_tags(here: Opened, done: Received, stamp: Stamp, outlet: Outlet, start_at: int, told_on: TextIO) -> None:
    """Prints the new tags and says where they are. What came in is booked, whatever becomes of them.

    Raises Refusal for what went wrong with them.
    """
    from stockroom.jobs.papers import tags_again
    from stockroom.jobs.printing import print_papers

    booked = f"What came in is booked. Print its tags again: stockroom paper stock-tags {' '.join(done.new_tags)}"
    try:
        printed = print_papers(here.shop, tags_again(*done.new_tags), stamp, here.today, outlet, start_at)
    except Refusal as refusal:
        raise Refusal(refusal.sentence, (*refusal.faults, booked)) from refusal
    print(literal(printed.sentence), file=told_on)
    if printed.trouble:
        raise Refusal(printed.trouble, (booked,))


def _say_back(back: SaidBack, as_json: bool) -> None:
    if as_json:
        say_json(back)
        return
    for sentence in (*back.lines, *back.cautions):
        say(sentence)
    for question in back.questions:
        say(f"ASKED {question.name}: {question.sentence}")
    say("Nothing is booked yet.")


def _asked_at_the_terminal(back: SaidBack, confirmed: set[str]) -> tuple[set[str], bool]:
    """Says back what would be booked and asks whether it is so: the names of what was confirmed, and of a wrong shade
    whether it is set apart.
    """
    from stockroom.domain.new_shade import SHADE_WARNINGS

    for sentence in (*back.lines, *back.cautions):
        say(sentence)
    sure: set[str] = set()
    is_apart = False
    for question in back.questions:
        of_shade = question.name in SHADE_WARNINGS
        if question.name in confirmed | sure or (of_shade and is_apart):
            continue
        answer = _answer(f"{question.sentence} [y/N{', q sets it apart' if of_shade else ''}] ")
        if of_shade and answer in ("q", "quarantine"):
            is_apart = True
            continue
        _must_be_yes(answer)
        sure.add(question.name)
    _must_be_yes(_answer("Book it in? [y/N] "))
    return sure, is_apart


def _answer(question: str) -> str:
    try:
        return input(question).strip().casefold()
    except EOFError:
        return ""


def _must_be_yes(answer: str) -> None:
    """Raises Refusal for any other answer."""
    if answer not in ("y", "yes"):
        raise Refusal("Nothing was received. Put right what was typed, and receive it again.")


def _say_received(done: Received) -> None:
    for sentence in (*done.lines, *done.cautions):
        say(sentence)
    for one in done.goods:
        say(f"{one.tag}: {one.amount}, a new tag." if one.is_new else f"{one.tag}: {one.amount} more.")
    for waiting in done.waiting:
        say(f"Order {waiting.order} ({waiting.customer}) waits for such goods: {waiting.sentence}")
    for hint in done.hints:
        say(hint)


def _reserved(here: Opened, done: Received, stamp: Stamp) -> list[str]:
    """Holds what came in for the orders that waited for it, each by itself: what became of each."""
    from stockroom.jobs.reserve import reserve

    told = []
    for waiting in done.waiting:
        try:
            held = reserve(here.shop, waiting.order, stamp)
            told.append(f"Order {waiting.order}: all of it is held now, {held.held_now} more than before.")
        except Refusal as refusal:
            told.append(refusal.sentence)
    return told


def purchase(
    reference: ReferenceArgument,
    supplier: Annotated[str, typer.Argument(help="Of whom: the supplier's code or name.")],
    item: Annotated[str, typer.Argument(help="The item's code.")],
    quantity: Annotated[str, typer.Argument(help="A length such as '25 m', or how many.")],
    due: Annotated[
        str, typer.Option(metavar="DAY", help="When it is due; without it, after the supplier's lead time.")
    ] = "",
    price: Annotated[str, typer.Option(help="Of one, or of one metre; without it, as in the supplier's terms.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down what was bought, so that it is expected.

    \b
    Examples:
      stockroom purchase P-0620 westing hood-cloth/fawn "25 m"
      stockroom purchase P-0621 tern tack-10 200 --due 2027-01-10 --price 0.01
    """
    from stockroom.jobs.purchasing import Purchase, buy

    with opened(shop) as here:
        done = buy(here.shop, Purchase(reference, supplier, item, quantity, due, price), here.stamp(by))
    if as_json:
        say_json(done)
        return
    for sentence in done.lines:
        say(sentence)


def close_purchase(
    reference: ReferenceArgument,
    item: Annotated[str, typer.Argument(help="Only this item of it; without it, all that is still due.")] = "",
    because: Annotated[str, typer.Option(help="Why no more of it will come.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """No more of a purchase will come, or is wanted.

    \b
    Example:
      stockroom close-purchase P-0607 --because "the mill has no more of it"
    """
    from stockroom.jobs.purchasing import close_purchase as close

    if not because.strip():
        raise WrongCall("Say why no more of it will come: --because …")
    with opened(shop) as here:
        done = close(here.shop, reference, because, here.stamp(by), item)
    if as_json:
        say_json(done)
        return
    say(f"Purchase {done.reference} is closed.")
    for sentence in done.lines:
        say(f"  {sentence}")


def inspect(
    roll: Annotated[str, typer.Argument(metavar="ROLL", help="The roll's tag.")],
    fault: Annotated[
        list[str] | None,
        typer.Option(metavar="AT:LENGTH:WHAT", help="Met at so much from the inner end; may be repeated."),
    ] = None,
    length: Annotated[str, typer.Option(help="So much was looked over; without it, all of the roll.")] = "",
    width: Annotated[str, typer.Option(help="So much of its width was looked over; without it, all.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Look a roll over by the four-point system: its points per 100 yd².

    What is met is a flaw of the roll from then on. Nobody has to inspect, and nothing is set apart by it.

    \b
    Examples:
      stockroom inspect R27L --fault "2.4 m:5 in:slub" --fault "8 m:1 in:knot"
      stockroom inspect R27L --length "10 m"
    """
    from stockroom.jobs.inspect import inspect as look_over
    from stockroom.jobs.read_order import said_in_a_line

    said_in_a_line(**{f"fault {number}": text for number, text in enumerate(fault or (), start=1)})
    with opened(shop) as here:
        done = look_over(here.shop, roll, fault or (), here.stamp(by), length, width)
    if as_json:
        say_json(done)
        return
    say(f"{done.tag}: {done.working}")
    if done.promises.moved:
        say(f"Planned cuts moved along it: {done.promises.moved}.")
    if done.promises.planned_elsewhere:
        say(f"Planned on other cloth now: order {', '.join(done.promises.planned_elsewhere)}.")
    for sentence in done.promises.short:
        say(f"SHORT {sentence}")
    if done.is_over:
        say(f"That is more than the {done.most_points} that this shop takes as good.")
        if not done.is_quarantined:
            say(f'If it should not be used: stockroom quarantine {done.tag} --because "four-point inspection"')
        say(f"Claim it: stockroom paper claim {done.tag}")


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    app.command()(expected)
    app.command()(receive)
    app.command()(purchase)
    app.command("close-purchase")(close_purchase)
    app.command()(inspect)
