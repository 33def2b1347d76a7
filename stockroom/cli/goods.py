"""The verb of the weekly run: reorder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, ShopOption, opened, say, say_json
from stockroom.cli.paper import write_paper


def reorder(
    week: Annotated[
        str | None, typer.Option(metavar="WEEK", help="An ISO week such as 2026-W48; without it, this week.")
    ] = None,
    pdf: Annotated[Path | None, typer.Option(help="Write the report here as PDF too.")] = None,
    csv: Annotated[Path | None, typer.Option(help="Write the lines here as CSV too.")] = None,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """The weekly reorder report: what to buy, and why.

    \b
    Examples:
      stockroom reorder
      stockroom reorder --week 2026-W48 --pdf reorder.pdf
    """
    from stockroom.jobs.reorder import reorder as run_reorder
    from stockroom.jobs.reorder_paper import reorder_paper

    with opened(shop) as here:
        report = run_reorder(here.shop, week, here.today, here.stamp(by))
    if pdf is not None:
        write_paper(pdf, reorder_paper(report))
    if csv is not None:
        write_paper(csv, report.csv().encode())
    if as_json:
        say_json(report.to_dict())
    else:
        for line in report.lines():
            say(line)


def add_to(app: typer.Typer) -> None:
    """Adds this verb."""
    app.command()(reorder)
