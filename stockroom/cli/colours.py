"""Verbs of colour: match, the trimmer's question, and reading, what an instrument says of a roll."""

from __future__ import annotations

from typing import Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, ShopOption, WrongCall, opened, say, say_json
from stockroom.cli.place import is_any


def match(
    readings: Annotated[
        tuple[str, str],
        typer.Option(metavar="L,a,b L,a,b", help="Two readings taken under the same light and observer."),
    ],
    cloth: Annotated[str, typer.Option(help="Hold them against the tolerance of this cloth.")] = "",
    factors: Annotated[str, typer.Option(help="kL:kC:kH, 1:1:1 or 2:1:1; without it, the shop's own.")] = "",
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say how well two colours match, in words and as a CIEDE2000 difference.

    \b
    Examples:
      stockroom match --readings 50,2.6772,-79.7751 50,0,-82.7485 --json
      stockroom match --readings 38.6,52.4,30.7 38.3,53.2,30.9 --cloth leathercloth
    """
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


def reading(
    roll: Annotated[str, typer.Argument(metavar="ROLL", help="The roll's tag.")],
    figures: Annotated[str, typer.Argument(metavar="L,a,b", help="What was read: L*, a* and b*.")],
    light: Annotated[str, typer.Option(help="The illuminant it was read under; D65 is usual in textiles.")] = "",
    observer: Annotated[str, typer.Option(help="2 or 10 degrees; 10 is usual in textiles.")] = "",
    instrument: Annotated[str, typer.Option(help="What it was read with.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down a colour reading of a roll; several of one roll keep their spread.

    \b
    Example:
      stockroom reading R18L 38.2,-12.1,6.4 --light D65 --observer 10 --by AB
    """
    from stockroom.jobs.read_roll import read_roll

    if not light or not observer:
        raise WrongCall("Say what it was read under, since a reading without is none: --light D65 --observer 10.")
    with opened(shop) as here:
        done = read_roll(here.shop, roll, figures, (light, observer), here.stamp(by), instrument)
    if as_json:
        say_json(done)
        return
    say(done.sentence)


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    for verb in (match, reading):
        app.command()(verb)
