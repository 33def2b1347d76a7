"""Verbs about the shop as a whole: demo, load, dump, audit."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import (
    ByOption,
    JsonOption,
    ShopOption,
    at_the_clock,
    initials,
    keep_logs_off_the_terminal,
    opened,
    say,
    say_json,
    where,
)
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import literal

if TYPE_CHECKING:
    from stockroom.jobs.load import LoadReport
    from stockroom.jobs.own_list import Told, Unclear


def demo(
    folder: Annotated[Path, typer.Argument(help="Where the demo shop is made; it must not exist yet.")] = Path(
        "stockroom-demo"
    ),
    by: ByOption = None,
) -> None:
    """Make the demo shop and run the main job on it.

    It is loaded as a real shop is; its orders are taken and exploded, stock is held, and paper is printed.

    \b
    Examples:
      stockroom demo
      stockroom demo plover-demo
    """
    from stockroom.jobs.demo import make_demo

    keep_logs_off_the_terminal()
    now = datetime.now(UTC)
    account = make_demo(folder, Stamp(initials(by), now), now.astimezone().date())
    for line in account.lines():
        say(line)


def load(
    path: Annotated[Path, typer.Argument(help="A folder with the shop's files, or one file of it.")],
    check: Annotated[bool, typer.Option("--check", help="Read and report only; write nothing.")] = False,
    table: Annotated[
        str,
        typer.Option(
            "--as", metavar="TABLE", help="A list of your own: what it lists: rolls, bins, items, consumables."
        ),
    ] = "",
    column: Annotated[
        list[str] | None,
        typer.Option(metavar="HEADING=COLUMN", help="What a column of your list is; nothing after = leaves it out."),
    ] = None,
    unit: Annotated[
        list[str] | None, typer.Option(metavar="COLUMN=UNIT", help="The unit of bare numbers: length=yd, width=in.")
    ] = None,
    sheet: Annotated[str, typer.Option(help="The sheet of a workbook that is your list.")] = "",
    lots_as_written: Annotated[
        bool, typer.Option("--lots-as-written", help="Lots that look like one in two spellings are several.")
    ] = False,
    keep_columns: Annotated[
        bool, typer.Option("--keep-columns", help="Keep what was said of the columns beside the list, for next time.")
    ] = False,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Load a shop's own files: all of them or nothing.

    Kit books, catalogue, opening stock, suppliers, history and orders; a folder, or one file of it. One file by another
    name is a list of your own (stock, items, consumables): its columns are recognised or asked for, names found.
    A dump that nobody changed, loaded into a new shop, brings every row with it: the same shop, history and all.

    \b
    Examples:
      stockroom load ./our-shop --check
      stockroom load ./our-shop --shop ./shop.db
      stockroom load ./our-shop/rolls.csv --shop ./shop.db
      stockroom load stock-list.xlsx --check
      stockroom load stock-list.xlsx --column "Bay=place" --unit length=yd --keep-columns
    """
    from stockroom.jobs.load import check as check_files
    from stockroom.jobs.load import load as load_files
    from stockroom.jobs.own_list import Unclear, keep_said, said_of_list
    from stockroom.store.database import Shop

    keep_logs_off_the_terminal()
    place = where(shop)

    def read(told: Told, on_the_way: Callable[[str], None]) -> LoadReport:
        if "://" in place or os.path.exists(place):
            with Shop.open(place, must_exist=False) as found:
                here = at_the_clock(found)
                if check:
                    return check_files(path, opening=here.today, shop=found, told=told, on_the_way=on_the_way)
                return load_files(found, path, here.stamp(by), opening=here.today, told=told, on_the_way=on_the_way)
        if check:
            return check_files(path, opening=_today(), told=told, on_the_way=on_the_way)
        with _made_aside(Path(place)) as new, Shop.make(new) as found:
            stamp = at_the_clock(found).stamp(by)
            return load_files(found, path, stamp, opening=_today(), told=told, on_the_way=on_the_way)

    columns = list(column or ())
    told = said_of_list(path, table, columns, unit or (), sheet, lots_as_written)
    while True:
        try:
            with _progress() as on_the_way:
                report = read(told, on_the_way)
            break
        except Unclear as unclear:
            columns.append(_asked(unclear))
            told = said_of_list(path, table, columns, unit or (), sheet, lots_as_written)
    if keep_columns:
        print(f"Kept for the next time: {keep_said(path, told)}", file=sys.stderr)
    if as_json:
        say_json(report.as_dict())
    else:
        for line in report.lines():
            say(line)


def _asked(unclear: Unclear) -> str:
    """What a person at a terminal says of a column that was not recognised. Raises it where nobody can be asked."""
    if not (unclear.missing and unclear.headings and sys.stdin and sys.stdin.isatty() and sys.stderr.isatty()):
        raise unclear
    column = unclear.missing[0]
    print(f"Which column is the {column}?", file=sys.stderr)
    for number, heading in enumerate(unclear.headings, start=1):
        print(f"  {number}  {literal(heading)}", file=sys.stderr)
    print(f"Its number, 1 to {len(unclear.headings)} (Enter alone stops): ", end="", file=sys.stderr, flush=True)
    said = sys.stdin.readline().strip()
    if not said.isdecimal() or not 1 <= int(said) <= len(unclear.headings):
        raise unclear
    return f"{unclear.headings[int(said) - 1]}={column}"


def dump(
    folder: Annotated[Path, typer.Argument(help="Where the files are written; it must not exist yet, or be empty.")],
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write everything the shop holds back out, in the files that load reads.

    Catalogue, kit books, stock, suppliers, purchases, past use, cars and orders in hand as files to read and change;
    every row of the shop beside them in books/. Loaded unchanged into a new shop it gives the same shop, on SQLite or
    PostgreSQL; where a file is changed, the files alone are loaded, and what they do not carry is said.

    \b
    Example:
      stockroom dump ./our-shop-2026-11 --shop ./shop.db
    """
    from stockroom.jobs.dump import dump as write_out

    with opened(shop) as here, _progress() as on_the_way:
        report = write_out(here.shop, folder, on_the_way)
    if as_json:
        say_json(report)
    else:
        for line in report.lines():
            say(line)


@contextmanager
def _progress() -> Iterator[Callable[[str], None]]:
    """Says how far a long job is, in one line of a terminal's own that is gone when it is done."""
    said = False

    def on_the_way(words: str) -> None:
        nonlocal said
        if sys.stderr and sys.stderr.isatty():
            said = True
            print(f"\r\x1b[K{words}", end="", file=sys.stderr, flush=True)

    try:
        yield on_the_way
    finally:
        if said:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def _today() -> date:
    return datetime.now().astimezone().date()


@contextmanager
def _made_aside(place: Path) -> Iterator[Path]:
    """Where to make a new shop that stands at `place` when the block is done, and leaves nothing if it is not."""
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        aside = tempfile.TemporaryDirectory(prefix=f".{place.name}-", dir=place.parent)
    except OSError as error:
        raise Refusal(f"No shop can be made at {place}: {error.strerror or error}.") from error
    with aside as folder:
        new = Path(folder) / place.name
        yield new
        if os.path.lexists(place):
            raise Refusal(f"Meanwhile something else was made at {place}. Nothing was loaded; load again.")
        new.rename(place)


def audit(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """Prove the books; exit status 1 names each fault.

    Every holding is the sum of its movements, and nothing is promised twice.

    \b
    Example:
      stockroom audit --shop shop.db
    """
    from stockroom.jobs.audit import audit as prove

    with opened(shop) as here:
        report = prove(here.shop)
    if as_json:
        say_json(report)
    else:
        for line in report.lines():
            say(line)
    if report.faults:
        raise typer.Exit(1)


def today_or(text: str, today: date) -> date | None:
    """A day as people type it at the shell: '2026-12-18', or 'open' for none."""
    if text == "open":
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Refusal(f"'{text}' is not a day. Write {today.isoformat()}, or 'open'.") from None


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    app.command()(demo)
    app.command()(load)
    app.command()(dump)
    app.command()(audit)
