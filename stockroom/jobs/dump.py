"""Dumping: everything the shop holds, written out in the very files that loading reads. It is all there, or nothing is.

Beside the files that people read and change lie the books, row by row: a new shop loaded from an unchanged dump is the
same shop with all its history. Loaded from the files alone it is equal in its catalogue, kit books, stock, suppliers,
purchases, past use, cars and orders in hand; what they do not carry is said in words.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from secrets import token_hex
from typing import Any

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, literal, quoted
from stockroom.files.cars import read_cars
from stockroom.files.folder import BOOKS_FOLDER
from stockroom.files.order import read_carried_order
from stockroom.files.order_text import cars_toml, order_toml
from stockroom.files.writing import Written, shop_toml, write_tables
from stockroom.jobs.whole import OnTheWay, nothing_said, write_books
from stockroom.store import about as store_about
from stockroom.store import carried, cars, catalogue
from stockroom.store.database import Shop, Tx


@dataclass(frozen=True, slots=True)
class DumpReport:
    """What was written out, and what was not."""

    folder: str
    files: int
    rows: Mapping[str, int]
    """Table → its rows."""
    books: int
    left_behind: tuple[str, ...]
    """What the files do not carry without the rows beside them, a sentence each."""
    history_rows: int = 0
    """Rows of all tables in `books/`."""

    def lines(self) -> list[str]:
        """The report as a person reads it."""
        lines = [f"The shop was written to {literal(self.folder)}, {self.files} files and the books beside them."]
        lines += [f"  {table}: {number}" for table, number in self.rows.items()]
        lines += [f"  kit books: {self.books}"] if self.books else []
        lines.append(f"  {BOOKS_FOLDER}/: all {self.history_rows} rows of the shop, with its whole history")
        lines.append("Loaded into a new shop as it is, it gives the same shop: nothing is left behind.")
        if self.left_behind:
            lines.append(
                "Change a file, or load into a shop that holds something, and the files alone are loaded. Then"
            )
            lines += ["these are not carried:", *(f"  {literal(sentence)}" for sentence in self.left_behind)]
        return [*lines, f"Load it with: stockroom load {quoted(self.folder)} --shop ANOTHER.db"]


def dump(shop: Shop, folder: Path, on_the_way: OnTheWay = nothing_said) -> DumpReport:
    """Writes the shop to `folder`, which must not exist or be empty. The same shop gives the same bytes.

    `on_the_way` is told now and then how far it is.
    Raises `Refusal`, with nothing written, where the folder has something in it or cannot be made.
    """
    _refuse_what_is_there(folder)
    with shop.read() as tx:
        files, report = _written(tx, folder)
        rows = sum(_put(folder, files, lambda aside: write_books(tx, aside, files, on_the_way)).values())
    return replace(report, history_rows=rows)


def _refuse_what_is_there(folder: Path) -> None:
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise Refusal(f"{quoted(str(folder))} is there already and no folder. Name one that does not exist yet.")
    try:
        there = sorted(entry.name for entry in folder.iterdir()) if folder.exists() else []
    except OSError as error:
        raise Refusal(f"{quoted(str(folder))} cannot be read: {error.strerror or error}.") from None
    if there:
        named = listed(quoted(name) for name in there[:3])
        raise Refusal(
            f"{quoted(str(folder))} has something in it already ({named}), and a dump never writes over anything. "
            "Name a folder that does not exist yet."
        )


def _written(tx: Tx, folder: Path) -> tuple[Mapping[str, bytes], DumpReport]:
    about = store_about.read_about(tx)
    if about is None:
        raise Refusal("Nothing was ever loaded into this shop, so there is nothing to write out.")
    if about.opening is not None:
        about = replace(about, opening=carried.carried_opening(tx, about.opening, about.time_zone))
    things = _things(tx, about.time_zone)
    written = Written({"shop.toml": shop_toml(about, carried.last_tags(tx), carried.last_number(tx))})
    write_tables(things, about, written)
    books = carried.book_sources(tx)
    for number, (_, _, source) in enumerate(books, start=1):
        written.files[f"kitbook-{number:04d}.toml"] = source.encode()
    left = (*carried.left_behind(tx), *_write_orders(tx, written), *_write_cars(tx, written))
    if written.shortened:
        some = listed(quoted(text) for text in written.shortened[:3])
        left = (*left, f"Texts that no cell takes as they are, made to fit: {len(written.shortened)} ({some}).")
    rows = {table: len(rows) for table, rows in things.items() if rows}
    return written.files, DumpReport(str(folder), len(written.files), rows, len(books), left)


def _write_orders(tx: Tx, written: Written) -> Iterator[str]:
    """The orders in hand, a file each. One that would not be read as it is kept is named instead."""
    for number, (request, marks) in enumerate(carried.carried_orders(tx), start=1):
        name = f"orders/{number:05d}.toml"
        text = order_toml(request, marks)
        try:
            back = read_carried_order(text, name, date.max)
        except Refusal as refusal:
            yield f"Order {request.number}: {'; '.join(refusal.faults) or refusal.sentence} Take it again by hand."
            continue
        if back != (request, marks):
            yield f"Order {request.number} cannot be written as it is. Take it again by hand."
            continue
        written.files[name] = text.encode()


def _write_cars(tx: Tx, written: Written) -> Iterator[str]:
    """All cars in one file. One that would not be read as it is kept is named instead."""
    good = []
    for car in cars.all_cars(tx):
        try:
            same = read_cars(cars_toml([car]), "cars.toml") == (car,)
        except Refusal:
            same = False
        if same:
            good.append(car)
        else:
            yield f"Car {car.told.key} ({car.tag}) cannot be written as it is. Write it down by hand."
    if good:
        written.files["cars.toml"] = cars_toml(good).encode()


def _things(tx: Tx, time_zone: str) -> dict[str, tuple[Any, ...]]:
    """Everything that tables carry, by the name of the table."""
    kinds = carried.kinds_carried()
    items = {code: item for code, item in catalogue.read_items(tx).items() if item.kind in kinds}
    return {
        "colours": tuple(catalogue.read_colours(tx).values()),
        "cloths": tuple(catalogue.read_cloths(tx).values()),
        "groups": tuple(catalogue.read_groups(tx).values()),
        "items": tuple(items.values()),
        "places": carried.carried_places(tx),
        "stages": tuple(catalogue.read_stages(tx).values()),
        "suppliers": tuple(catalogue.read_suppliers(tx).values()),
        "terms": tuple(one for one in catalogue.read_terms(tx) if one.item in items),
        "rolls": carried.carried_rolls(tx),
        "bins": tuple(one for one in carried.carried_bins(tx) if one.item in items),
        "purchases": tuple(one for one in carried.carried_purchases(tx) if one.item in items),
        "history": tuple(one for one in carried.carried_history(tx, time_zone) if one.item in items),
    }


def _put(folder: Path, files: Mapping[str, bytes], more: Callable[[Path], Mapping[str, int]]) -> Mapping[str, int]:
    """The files in their folder, made beside it and then given its name, so that it is never there by half.

    `more` writes what is too long to be held at once; what it gives back is given back.
    """
    # Named before it is made: whoever stops the program between the two leaves nothing behind.
    aside = folder.parent / f".{folder.name}-{token_hex(8)}"
    try:
        try:
            folder.parent.mkdir(parents=True, exist_ok=True)
            aside.mkdir(mode=0o700)
        except OSError as error:
            raise Refusal(f"Nothing can be written at {quoted(str(folder))}: {error.strerror or error}.") from error
        for name, data in files.items():
            (aside / name).parent.mkdir(exist_ok=True)
            with (aside / name).open("wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
        told = more(aside)
        aside.chmod(0o755)
        if folder.exists():
            folder.rmdir()
        aside.rename(folder)
    except OSError as error:
        shutil.rmtree(aside, ignore_errors=True)
        raise Refusal(
            f"Writing to {quoted(str(folder))} failed: {error.strerror or error}. Nothing was kept of it."
        ) from error
    except BaseException:
        shutil.rmtree(aside, ignore_errors=True)
        raise
    return told
