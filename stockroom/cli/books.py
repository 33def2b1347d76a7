"""Verbs about kit books: check, list."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from stockroom.cli.asked import JsonOption, ShopOption, opened, say, say_json

app = typer.Typer(help="Kit books: check one, list the versions kept.", rich_markup_mode=None, no_args_is_help=True)


@app.command()
def check(
    file: Annotated[
        Path | None, typer.Argument(help="A kit book or a shop's folder; without it, the newest book of the shop.")
    ] = None,
    code: Annotated[str, typer.Option(help="Which book, where the shop has several.")] = "",
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """Walk every car a kit book covers: find gaps, rules that never fire, missing materials. Exit 1 names the faults.

    \b
    Examples:
      stockroom kitbook check
      stockroom kitbook check our-shop/
      stockroom kitbook check our-shop/kitbook.toml --shop shop.db
    """
    from stockroom.jobs.check_book import check_file, check_folder, check_kept

    if file is not None and file.is_dir():
        reports = check_folder(file, date.today())
    else:
        with opened(shop) as here:
            reports = (check_kept(here.shop, code) if file is None else check_file(file, here.shop),)
    if as_json:
        say_json(reports)
    else:
        for report in reports:
            for line in report.lines():
                say(line)
    if any(report.faults for report in reports):
        raise typer.Exit(1)


@app.command("list")
def list_versions(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """The kit-book versions the shop keeps, the newest first.

    \b
    Example:
      stockroom kitbook list
    """
    from stockroom.jobs.check_book import versions

    with opened(shop) as here:
        kept = versions(here.shop)
    if as_json:
        say_json(kept)
        return
    if not kept:
        say("No kit book yet. Load one: stockroom load FOLDER")
    for one in kept:
        say(f"{one.code}  {one.version}  {one.title}  (loaded {one.loaded_at:%Y-%m-%d} by {one.loaded_by})")
