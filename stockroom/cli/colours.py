"""Verbs of the trimmer's question, whether two cloths match: match."""

from __future__ import annotations

from typing import Annotated

import typer

from stockroom.cli.asked import JsonOption, ShopOption, WrongCall, opened, say, say_json
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


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    app.command()(match)
