"""Verbs of colour: match, the trimmer's question; reading and verdict, what an instrument and an eye say."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stockroom.cli.asked import ByOption, JsonOption, ShopOption, WrongCall, opened, say, say_json
from stockroom.cli.place import is_any

if TYPE_CHECKING:
    from stockroom.jobs.match_desk import Candidates, Shade


def match(
    named: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[WHAT] [ROLL]",
            help="A roll's tag: what goes beside it; with another roll's: how they match. An order, a car, a kit or a "
            "piece: what it must match, or went out with it, and what would do. A colour: all cloths in it.",
        ),
    ] = None,
    item: Annotated[str, typer.Option(help="A cloth in a colour: its rolls, by how well they match.")] = "",
    lot: Annotated[str, typer.Option(help="With --item: match this dye lot, and not the master of the colour.")] = "",
    readings: Annotated[
        tuple[str, str] | None,
        typer.Option(metavar="L,a,b L,a,b", help="Two readings taken under the same light and observer."),
    ] = None,
    cloth: Annotated[str, typer.Option(help="With --readings: by the tolerance of this cloth.")] = "",
    factors: Annotated[
        str, typer.Option(help="With --readings: kL:kC:kH, 1:1:1 or 2:1:1; without it, the shop's own.")
    ] = "",
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say which cloth matches, in words and as a CIEDE2000 difference, and why.

    \b
    Examples:
      stockroom match R14T
      stockroom match R14T R15R
      stockroom match L-1042
      stockroom match red
      stockroom match --item leathercloth/red --lot N2190
      stockroom match --readings 50,2.6772,-79.7751 50,0,-82.7485 --json
      stockroom match --readings 38.6,52.4,30.7 38.3,53.2,30.9 --cloth leathercloth
    """
    tags = named or []
    if sum(map(bool, (tags, item, readings))) != 1 or len(tags) > 2:
        raise WrongCall("Name a roll or two by their tags, an order, a car or a colour, or --item, or two --readings.")
    if (lot and not item) or ((cloth or factors) and not readings):
        raise WrongCall("--lot goes with --item; --cloth and --factors go with --readings.")
    if readings:
        _match_readings(readings, cloth, factors, shop, as_json)
    elif len(tags) == 2:
        _match_rolls(tags[0], tags[1], shop, as_json)
    elif item:
        _match_item(item, lot, shop, as_json)
    else:
        _match_named(tags[0], shop, as_json)


def _match_readings(readings: tuple[str, str], cloth: str, factors: str, shop: str | None, as_json: bool) -> None:
    from contextlib import nullcontext

    from stockroom.domain.colour_difference import FACTORS
    from stockroom.jobs.match import match_readings

    if factors and factors not in FACTORS:
        raise WrongCall(f"--factors is {' or '.join(FACTORS)}; '{factors}' is not.")
    with opened(shop) if is_any(shop) else nullcontext() as here:
        found = match_readings(here.shop if here else None, *readings, cloth, factors)
    if as_json:
        say_json(found)
        return
    say(f"{found.words[0].upper()}{found.words[1:]}. {found.why}")


def _match_rolls(one: str, other: str, shop: str | None, as_json: bool) -> None:
    from stockroom.jobs.match import match_rolls

    with opened(shop) as here:
        found = match_rolls(here.shop, one, other)
    if as_json:
        say_json(found)
        return
    say(f"{found.words[0].upper()}{found.words[1:]}. {found.why}")
    if found.ask:
        say(found.ask)


def _match_item(item: str, lot: str, shop: str | None, as_json: bool) -> None:
    from stockroom.jobs.match import match_item

    with opened(shop) as here:
        found = match_item(here.shop, item, lot)
    if as_json:
        say_json(found)
        return
    _say_candidates(found)
    _say_no_proof([found])


def _match_named(text: str, shop: str | None, as_json: bool) -> None:
    from stockroom.domain.tags import is_tag, read_tag
    from stockroom.jobs.match_order import match_named

    of_roll = is_tag(text) and read_tag(text).kind == "R"
    with opened(shop) as here:
        found = match_named(here.shop, text)
    if as_json:
        say_json(found.groups[0] if of_roll else found)
        return
    if len(found.groups) != 1 or found.sentence:
        say(f"{found.asked[:1].upper()}{found.asked[1:]}: {len(found.groups)} to match.")
    for group in found.groups:
        _say_candidates(group, "other roll" if of_roll else "roll")
    if found.sentence:
        say(found.sentence)
    _say_no_proof(found.groups)


def _say_candidates(found: Candidates, of_which: str = "roll") -> None:
    whose = f"Car {found.car}, {f'matching group {found.group}' if found.group else 'seen beside nothing'}: "
    say(f"{whose if found.car else ''}{found.title}, beside {found.beside}:")
    for lot in found.must_match:
        has = "must match" if found.group else "has"
        say(f"  {has} lot {lot.lot or '?'}: {lot.how}.{_shade(lot.shade)}")
    for sentence in found.other_cloths:
        say(f"  {sentence}")
    for one in found.rolls:
        kind = "remnant" if one.remnant else ""
        number = "" if one.dE00 is None else f"{one.dE00:.2f}"
        if one.nearest_dE00 != one.dE00:
            number = f"{one.nearest_dE00:.2f} to {number}"
        lies = f"lot {one.lot or '?':<8} {one.place:<5} {one.free:>9} {kind:<7}"
        say(f"{_patch(one.shade)}{one.tag:<8} {lies} {number:>5}  {one.words}")
        say(f"         {one.why}")
        if one.more_of_lot:
            say(f"         {one.more_of_lot}")
    if not found.rolls:
        say(f"No {of_which} of it has anything free.")
    if found.ask:
        say(found.ask)


def _shade(shade: Shade | None) -> str:
    return f" It reads L* {shade.L:g}, a* {shade.a:g}, b* {shade.b:g} under {shade.under}." if shade else ""


def _patch(shade: Shade | None) -> str:
    """The colour itself, where standard output is a terminal that has 24 bits of it; with '!' where it has no such."""
    if not _in_true_colour():
        return ""
    if shade is None:
        return "     "
    red, green, blue = (int(shade.on_screen[at : at + 2], 16) for at in (1, 3, 5))
    return f"\x1b[48;2;{red};{green};{blue}m   \x1b[0m{' ' if shade.in_gamut else '!'} "


def _in_true_colour() -> bool:
    """Whether the terminal says that it shows 24-bit colour, and nobody asked for none."""
    import os
    import sys

    wanted = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return wanted and sys.stdout.isatty() and os.environ.get("COLORTERM", "").casefold() in ("truecolor", "24bit")


def _say_no_proof(groups: Sequence[Candidates]) -> None:
    if not _in_true_colour():
        return
    from stockroom.domain.on_screen import NO_PROOF

    outside = any(one.shade and not one.shade.in_gamut for group in groups for one in group.rolls)
    say(f"{NO_PROOF}{' !: outside what a screen can show; the nearest it can.' if outside else ''}")


def verdict(
    item: Annotated[str, typer.Argument(metavar="ITEM", help="The cloth in its colour, by its code.")],
    lot: Annotated[str, typer.Argument(metavar="LOT", help="One dye lot …")],
    other_lot: Annotated[str, typer.Argument(metavar="LOT", help="… and the other, seen side by side.")],
    said: Annotated[str, typer.Argument(metavar="VERDICT", help="match, near or no-match.")],
    light: Annotated[str, typer.Option(help="In which light they were seen.")] = "",
    eyes: Annotated[str, typer.Option(help="Initials of whoever looked; without it, yours.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down how two dye lots look side by side: it stands above a number and is not asked again.

    \b
    Example:
      stockroom verdict hood-cloth/fawn W4288 W4391 near --light daylight --by AB
    """
    from stockroom.jobs.verdict import give_verdict

    with opened(shop) as here:
        done = give_verdict(here.shop, item, (lot, other_lot), said, light, here.stamp(by), eyes)
    if as_json:
        say_json(done)
        return
    say(done.sentence)


def reading(
    roll: Annotated[
        str, typer.Argument(metavar="ROLL", help="The roll's tag; not with --colour.", show_default=False)
    ] = "",
    figures: Annotated[
        str, typer.Argument(metavar="L,a,b", help="What was read: L*, a* and b*.", show_default=False)
    ] = "",
    file: Annotated[
        Path | None, typer.Option(help="An instrument's CSV instead: columns tag, L, a, b, a row for each reading.")
    ] = None,
    colour: Annotated[
        str, typer.Option(help="Not of a roll but the master of this colour, or of CLOTH/COLOUR in that cloth alone.")
    ] = "",
    light: Annotated[
        str,
        typer.Option(help="The illuminant it was read under, usually D65; D65/10 says the observer too."),
    ] = "",
    observer: Annotated[str, typer.Option(help="2 or 10 degrees; 10 is usual in textiles.")] = "",
    instrument: Annotated[str, typer.Option(help="What it was read with.")] = "",
    sure: Annotated[
        list[str] | None,
        typer.Option(metavar="far", help="With --colour: it is to be so far from the one before."),
    ] = None,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down a colour reading of a roll, or the master of a colour; several of one roll keep their spread.

    A master stands until another is written down. What stood before stays known: 'stockroom drift' lists it.

    \b
    Examples:
      stockroom reading --file readings.csv --light D65 --observer 10 --by AB
      stockroom reading R18L 38.2,-12.1,6.4 --light D65/10 --by AB
      stockroom reading --colour red 38.4,52.6,30.5 --light D65/10 --by AB
      stockroom reading --colour ribbed-carpet/red 38.0,53.1,31.2 --light D65/10 --by AB
    """
    from stockroom.domain.readings import read_light
    from stockroom.jobs.read_master import read_master
    from stockroom.jobs.read_roll import read_list, read_roll

    if colour and roll and not figures:
        roll, figures = "", roll
    under = read_light(light, observer)
    if odd := next((one for one in (roll, figures) if one.startswith("--")), ""):
        raise WrongCall(f"There is no option {odd}. 'stockroom reading --help' lists what there is.")
    if sum(map(bool, (file, roll, colour))) != 1 or bool(roll or colour) != bool(figures):
        raise WrongCall("Name a roll and what was read of it, a --colour and its master, or a --file of readings.")
    if sure and (not colour or {*sure} != {"far"}):
        raise WrongCall("--sure far goes with --colour, and nothing else is asked about here.")
    if not file and not all(under):
        raise WrongCall("Say what it was read under, since a reading without is none: --light D65 --observer 10.")
    with opened(shop) as here:
        stamp = here.stamp(by)
        done: Any
        if file:
            done = read_list(here.shop, file, under, stamp, instrument)
        elif colour:
            done = read_master(here.shop, colour, figures, under, stamp, instrument, sure or ())
        else:
            done = read_roll(here.shop, roll, figures, under, stamp, instrument)
    if as_json:
        say_json(done)
        return
    say(done.sentence)
    for sentence in () if colour else done.warnings:
        say(f"! {sentence}")


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    for verb in (match, verdict):
        app.command()(verb)
    # Figures in another order may begin with a minus: they are told to be, and not taken for an option.
    app.command(context_settings={"ignore_unknown_options": True})(reading)
