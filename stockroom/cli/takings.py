"""Verbs about taking and changing orders: take, answer, change, overrule, cancel."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Annotated, Protocol

import typer

from stockroom.cli.asked import ByOption, JsonOption, OrderArgument, ShopOption, WrongCall, opened, say, say_json
from stockroom.cli.shop import today_or
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted

LineOption = Annotated[int | None, typer.Option("--line", min=1, help="Which line, where several are meant.")]

SeriesOption = Annotated[str, typer.Option(help="Series, by its code in the kit book.")]
WorksOption = Annotated[str, typer.Option(help="Works that built it, by its code in the kit book.")]


def take(
    file: Annotated[Path | None, typer.Argument(help="The order as TOML; without it, the options say it all.")] = None,
    kit: Annotated[str, typer.Option(help="Code of the kit.")] = "",
    quantity: Annotated[str, typer.Option(help="How many.")] = "1",
    piece: Annotated[list[str] | None, typer.Option(help="Only this piece of the kit; may be repeated.")] = None,
    choose: Annotated[
        list[str] | None, typer.Option(metavar="OPTION=CHOICE", help="An option answered; may be repeated.")
    ] = None,
    customer: Annotated[str, typer.Option(help="Who it is for.")] = "",
    wanted: Annotated[str, typer.Option(metavar="DAY", help="2026-12-18, or 'open'.")] = "open",
    fitted_here: Annotated[bool, typer.Option("--fitted-here", help="Fitted in the house; otherwise sent.")] = False,
    for_stock: Annotated[
        bool, typer.Option("--for-stock", help="Nobody ordered it: what is made is kept as stock.")
    ] = False,
    car: Annotated[str, typer.Option(help="The car: its chassis number, or the shop's own name for it.")] = "",
    series: SeriesOption = "",
    works: WorksOption = "",
    built: Annotated[str, typer.Option(metavar="DAY", help="1953-06-01, or 1953-06.")] = "",
    hand: Annotated[str, typer.Option(help="Hand of drive: left or right.")] = "",
    body: Annotated[str, typer.Option(help="Body colour.")] = "",
    trim: Annotated[str, typer.Option(help="Trim colour.")] = "",
    hood: Annotated[str, typer.Option(help="Hood colour.")] = "",
    match: Annotated[
        str,
        typer.Option(metavar="ORDER", help="Match what went out: an order, a kit's or a car's tag, a chassis number."),
    ] = "",
    number: Annotated[str, typer.Option(help="The shop's own order number; without it, the next.")] = "",
    note: Annotated[str, typer.Option(help="A note that stands on the order's ticket.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take an order, from a TOML file or from options.

    What is not known waits for a named answer; nothing is guessed.

    \b
    Examples:
      stockroom take order.toml
      stockroom take --kit handles-bag --choose bag-length=long --customer "Ada Holm" --car "RP 2417"
      stockroom take --kit handles-bag --choose bag-length=long --for-stock --car "red stock" --trim red
      stockroom take --kit handles-bag --choose bag-length=long --customer "Ada Holm" --car "RP 2417" --match L-1044
    """
    from stockroom.domain.order import CarRequest, LineRequest, OrderRequest
    from stockroom.jobs.read_order import read_order_file, typed_order
    from stockroom.jobs.take import take as take_order

    with opened(shop) as here:
        if file is not None:
            request = read_order_file(file, here.today)
        else:
            request = OrderRequest(
                number,
                _customer(customer, for_stock),
                today_or(wanted, here.today),
                fitted_here,
                "",
                (
                    CarRequest(
                        _needed(car, "--car", "which car it is for"),
                        car if any(one.isdecimal() for one in car) else "",
                        series,
                        works,
                        _built(built),
                        _hand(hand),
                        body,
                        trim,
                        hood,
                    ),
                ),
                (
                    LineRequest(
                        _needed(kit, "--kit", "what is ordered"),
                        _quantity(quantity),
                        car,
                        tuple(piece or ()),
                        _choices(choose or []),
                        match=match,
                    ),
                ),
                note,
                for_stock,
            )
            request = typed_order(request)
        taken = take_order(here.shop, request, here.stamp(by))
    if as_json:
        say_json(taken)
        return
    say(f"Order {taken.number} taken (tag {taken.tag}): {taken.pieces} pieces, {taken.requirements} requirements.")
    if taken.cars_found:
        say(f"Known car: {', '.join(taken.cars_found)}.")
    say_waits(taken.waits)
    for line, sentence in taken.advice:
        say(f"Line {line}: {sentence}")
    for sentence in taken.offers:
        say(f"FROM STOCK {sentence}")
    say(f"Next: stockroom reserve {taken.number}")


def _customer(customer: str, for_stock: bool) -> str:
    from stockroom.domain.order import FOR_STOCK

    if for_stock:
        return customer.strip() or FOR_STOCK
    return _needed(customer, "--customer", "who it is for, or that it is --for-stock")


def _needed(value: str, option: str, what: str) -> str:
    if not value.strip():
        raise WrongCall(f"Say {what}: {option} …, or name a file: stockroom take ORDER.toml.")
    return value


def _built(text: str) -> date | None:
    from stockroom.jobs.answer import day_built

    return day_built(text) if text else None


def _hand(text: str) -> str:
    if text not in ("", "left", "right"):
        raise Refusal(f"A hand of drive is left or right; {quoted(text)} is neither. Leave it out where it is unknown.")
    return text


def _quantity(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,40}", text) or int(text) < 1:
        raise Refusal(f"A quantity is a positive whole number; {quoted(text)} is not.")
    return int(text)


def _choices(pairs: list[str]) -> dict[str, str]:
    choices: dict[str, str] = {}
    for pair in pairs:
        option, equals, choice = pair.partition("=")
        if not equals or not option or not choice:
            raise WrongCall(f"A choice is written OPTION=CHOICE; '{pair}' is not.")
        if choices.get(option, choice) != choice:
            raise Refusal(f"Two answers contradict: {option} is '{choices[option]}' and '{choice}'. Give one.")
        choices[option] = choice
    return choices


class Awaited(Protocol):
    """An answer awaited, as a job gives it."""

    @property
    def name(self) -> str: ...
    @property
    def question(self) -> str: ...
    @property
    def choices(self) -> tuple[str, ...]: ...
    @property
    def holds_up(self) -> tuple[str, ...]: ...


def say_waits(waits: Iterable[tuple[int, Awaited]]) -> None:
    """What an order still waits for: line number and answer."""
    for line, wait in waits:
        choices = f" ({' or '.join(wait.choices)})" if wait.choices else ""
        pieces = f" Holds up {', '.join(wait.holds_up)}." if wait.holds_up else " Holds up the whole line."
        say(f"Line {line} waits for '{wait.name}': {wait.question}{choices}{pieces}")


def answer(
    order: OrderArgument,
    name: Annotated[str, typer.Argument(help="What it waits for, as the ticket names it.")],
    said: Annotated[str, typer.Argument(metavar="ANSWER", help="The answer.")],
    line: LineOption = None,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Give the answer that an order waits for.

    \b
    Examples:
      stockroom answer L-1046 bag-length long
      stockroom answer L-1046 works ashgate
    """
    from stockroom.jobs.answer import answer as give

    with opened(shop) as here:
        done = give(here.shop, order, name, said, here.stamp(by), line)
    if as_json:
        say_json(done)
        return
    say(f"Order {done.number}: '{name}' answered with '{said}'.")
    for sentence in done.told:
        say(f"  {sentence}")
    if done.orders_touched:
        say(f"Orders of the same car that go on too: {', '.join(done.orders_touched)}.")
    say_waits(done.still_waits)
    if done.reserved is not None:
        say(f"Held now: {done.reserved.held_now} more. Short: {len(done.reserved.short)}.")
    elif not done.still_waits:
        say(f"Next: stockroom reserve {done.number}")


def change(
    order: OrderArgument,
    file: Annotated[Path | None, typer.Option("--file", help="The whole order anew, as TOML.")] = None,
    wanted: Annotated[str, typer.Option(metavar="DAY", help="Another date: 2026-12-18, or 'open'.")] = "",
    line: LineOption = None,
    quantity: Annotated[str, typer.Option(help="Another quantity of the line.")] = "",
    leave_out: Annotated[str, typer.Option(metavar="PIECE", help="Leave this piece out for this car.")] = "",
    add: Annotated[str, typer.Option(metavar="PIECE", help="Add this piece of the book for this car.")] = "",
    hole: Annotated[str, typer.Option(metavar="PIECE:PANEL:HOLE=MADE", help="MADE: cut, marked or solid.")] = "",
    overlong: Annotated[str, typer.Option(metavar="PIECE:PANEL:EDGE=MM", help="Another over-long edge.")] = "",
    cloth: Annotated[str, typer.Option(metavar="PIECE=CLOTH", help="Another cloth for a piece.")] = "",
    colour: Annotated[str, typer.Option(metavar="PIECE=COLOUR", help="Another colour for a piece.")] = "",
    match: Annotated[
        str,
        typer.Option(metavar="ORDER", help="Match what went out: an order, a kit, a car; 'nothing' takes it away."),
    ] = "",
    because: Annotated[str, typer.Option(help="The reason; it stands on paper.")] = "",
    proved: Annotated[bool, typer.Option("--proved", help="Proved on the car: kept with it for later orders.")] = False,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Change an order that is not cut; held stock follows.

    What does not change keeps its tags and its holds.

    \b
    Examples:
      stockroom change L-1041 --wanted 2026-12-18
      stockroom change L-1041 --line 1 --quantity 2
      stockroom change L-1041 --line 1 --match L-1044
      stockroom change L-1041 --line 1 --hole "QPR:top:filler pipe=solid" --because "filler moved" --by AB
      stockroom change L-1041 --file order.toml
    """
    from stockroom.cli.changing import asked_change
    from stockroom.jobs import change as jobs
    from stockroom.jobs.read_order import read_order_file, said_in_a_line

    with opened(shop) as here:
        stamp = here.stamp(by)
        one = asked_change(
            {"leave-out": leave_out, "add": add, "hole": hole, "overlong": overlong, "cloth": cloth, "colour": colour},
            because,
            stamp.by,
            proved,
        )
        said_in_a_line(reason=because)
        if sum(map(bool, (file, wanted, quantity, match, one))) != 1:
            raise WrongCall("Say one thing to change: --file, --wanted, --quantity, --match, or one change of a piece.")
        if file is not None:
            done = jobs.retake(here.shop, order, read_order_file(file, here.today), stamp)
        elif wanted:
            done = jobs.set_wanted(here.shop, order, today_or(wanted, here.today), stamp)
        elif quantity:
            done = jobs.set_quantity(here.shop, order, line or 1, _quantity(quantity), stamp)
        elif match:
            done = jobs.set_match(here.shop, order, line or 1, match, stamp)
        else:
            assert one is not None
            done = jobs.change_line(here.shop, order, line or 1, one, stamp)
    _say_changed(done, as_json)


def overrule(
    order: OrderArgument,
    rule: Annotated[str, typer.Argument(help="Code of the rule list, as --why names it.")],
    then: Annotated[str, typer.Argument(help="What is used instead.")],
    because: Annotated[str, typer.Option(help="The reason; it stands on paper.")],
    line: LineOption = None,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Overrule a rule of the period for one car.

    It takes initials and a reason, and paper says so.

    \b
    Example:
      stockroom overrule L-1041 carpet-colour black --because "owner's wish" --by AB
    """
    from stockroom.domain.facts import Overruling
    from stockroom.jobs import change as jobs
    from stockroom.jobs.read_order import said_in_a_line

    said_in_a_line(reason=because)
    with opened(shop) as here:
        stamp = here.stamp(by)
        done = jobs.overrule(here.shop, order, line or 1, rule, Overruling(then, stamp.by, because), stamp)
    _say_changed(done, as_json)


def _say_changed(done: object, as_json: bool) -> None:
    from stockroom.jobs.change import Changed

    assert isinstance(done, Changed)
    if as_json:
        say_json(done)
        return
    for sentence in done.what:
        say(f"Order {done.number}: {sentence}")
    say(f"Requirements: {done.added} added, {done.altered} altered, {done.dropped} dropped.")
    say_waits(done.waits)
    if done.reserved is not None:
        say(f"Held now: {done.reserved.held_now} more.")
        for sentence in done.reserved.short:
            say(f"Short: {sentence}")


def cancel(order: OrderArgument, shop: ShopOption = None, by: ByOption = None, as_json: JsonOption = False) -> None:
    """Cancel an order that is not sent; its holds are freed.

    What was picked and cut already is told: it is put back, kept or scrapped.

    \b
    Example:
      stockroom cancel L-1041 --by AB
    """
    from stockroom.jobs.change import cancel as cancel_order

    with opened(shop) as here:
        done = cancel_order(here.shop, order, here.stamp(by))
    if as_json:
        say_json(done)
        return
    say(f"Order {done.number} is cancelled; {len(done.let_go)} holds are free again.")
    for sentence in (*done.customers_parts, *done.unpacked, *done.left_over):
        say(f"  {sentence}")
    if done.left_over:
        say("Next: stockroom put-back ORDER TAG, stockroom keep TAG PLACE, stockroom scrap TAG --because …")


def car(
    key: Annotated[str, typer.Argument(metavar="CAR", help="The car's chassis number, or the shop's name for it.")],
    series: SeriesOption = "",
    works: WorksOption = "",
    chassis: Annotated[str, typer.Option(help="Chassis number.")] = "",
    built: Annotated[str, typer.Option(metavar="DAY", help="1953-06-01, or 1953-06.")] = "",
    hand: Annotated[str, typer.Option(help="Hand of drive: left or right.")] = "",
    body: Annotated[str, typer.Option(help="Body colour.")] = "",
    trim: Annotated[str, typer.Option(help="Trim colour.")] = "",
    hood: Annotated[str, typer.Option(help="Hood colour.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show a car that is kept, or put its facts right.

    Its open orders are exploded again, and held stock follows.

    \b
    Examples:
      stockroom car "RP 1983"
      stockroom car "RP 1983" --hood fawn --by AB
    """
    from stockroom.cli.orders import say_shown
    from stockroom.jobs.car import put_right, tag_of_car
    from stockroom.jobs.show import show

    facts = {
        "series": series,
        "works": works,
        "chassis": chassis,
        "built": built,
        "hand": hand,
        "body colour": body,
        "trim colour": trim,
        "hood colour": hood,
    }
    told = {name: said for name, said in facts.items() if said}
    with opened(shop) as here:
        if not told:
            shown = show(here.shop, tag_of_car(here.shop, key))
            if as_json:
                say_json(shown)
            else:
                say_shown(shown)
            return
        done = put_right(here.shop, key, told, here.stamp(by))
    if as_json:
        say_json(done)
        return
    for sentence in done.what:
        say(sentence)
    if done.orders:
        say(f"Exploded again: order {', '.join(done.orders)}.")
    for sentence in done.short:
        say(f"Short: {sentence}")


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    for verb in (take, answer, change, overrule, cancel, car):
        app.command()(verb)
