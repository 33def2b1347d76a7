"""What a person says of their own stock list, beside the list: checked, and kept in a small file for the next time."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from stockroom.domain.quantities import MM_IN
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, literal, quoted, unknown
from stockroom.files.folder import COLUMNS_FILE, TABLES
from stockroom.files.own_columns import TABLES as LISTS
from stockroom.files.own_columns import Told as Told
from stockroom.files.own_columns import Unclear as Unclear
from stockroom.files.own_columns import columns_of
from stockroom.files.toml_text import load_text, parse
from stockroom.files.writing import toml_text


def said_of_list(
    path: Path,
    table: str = "",
    columns: Sequence[str] = (),
    units: Sequence[str] = (),
    sheet: str = "",
    lots_as_written: bool = False,
) -> Told:
    """What was typed ('Bay=place', 'length=yd'), beside what is kept for this list. Raises `Refusal` for nonsense."""
    before = _kept(path)
    return _checked(
        Told(
            table=table or before.table,
            columns={**before.columns, **dict(_pair(one, "Bay=place") for one in columns)},
            units={**before.units, **dict(_pair(one, "length=m") for one in units)},
            lots_as_written=lots_as_written,
            sheet=sheet or before.sheet,
        )
    )


def keep_said(path: Path, told: Told) -> Path:
    """Keeps it in a file beside the list, where the next load finds it. Lots are asked about every time."""
    place = _place(path)
    lines = ["# What the columns of the list beside this are: found again by stockroom load.", "format = 1"]
    lines += [f"{key} = {toml_text(value)}" for key, value in (("as", told.table), ("sheet", told.sheet)) if value]
    for name, pairs in (("columns", told.columns), ("units", told.units)):
        if pairs:
            lines += ["", f"[{name}]", *(f"{toml_text(key)} = {toml_text(value)}" for key, value in pairs.items())]
    try:
        place.write_text("\n".join(lines) + "\n", encoding="utf-8")
    except OSError as error:
        raise Refusal(f"{literal(str(place))} cannot be written: {error.strerror or error}.") from error
    return place


def _place(path: Path) -> Path:
    return path.with_name(path.name + COLUMNS_FILE)


def _kept(path: Path) -> Told:
    place = _place(path)
    if path.is_dir() or not place.exists():
        return Told()
    document = parse(load_text(place), place.name)
    known = {"format": 1, "as": "", "sheet": "", "columns": {}, "units": {}}
    for key, value in document.data.items():
        texts = value.values() if isinstance(value, dict) else ()
        if (
            key not in known
            or not isinstance(value, type(known[key]))
            or not all(isinstance(text, str) for text in texts)
        ):
            raise Refusal(f"{document.place((key,))}: not understood. Put it right, or delete it and say it again.")
    data = document.data
    return Told(data.get("as", ""), data.get("columns", {}), data.get("units", {}), False, data.get("sheet", ""))


def _pair(text: str, example: str) -> tuple[str, str]:
    first, sign, second = text.rpartition("=")
    if not sign or not first.strip():
        raise Refusal(f"{quoted(text)} does not say which is which. Write it as in: {example}")
    return first.strip(), second.strip()


def _checked(told: Told) -> Told:
    if told.table and told.table not in (*TABLES, *LISTS):
        raise Refusal(unknown("table", told.table, dict.fromkeys((*TABLES, *LISTS))))
    if told.table not in ("", *LISTS) and (told.columns or told.units):
        raise Refusal(
            f"Columns are said of lists of {listed(LISTS, 'or')}; those of {told.table} bear the names README gives."
        )
    columns = columns_of(told.table)
    for heading, column in told.columns.items():
        if column and column not in columns:
            raise Refusal(
                f"{quoted(heading)} cannot be the {quoted(column)} of a list. A column is {listed(columns, 'or')}; "
                "nothing after the = leaves it out."
            )
    for column, unit in told.units.items():
        if column not in ("length", "width") or unit not in MM_IN:
            raise Refusal(
                f"'{literal(column)}={literal(unit)}' says no unit. Write length= or width=, and {listed(MM_IN, 'or')}."
            )
    return told
