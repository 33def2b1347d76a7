"""Label sheets and label rolls: what they measure, read from TOML and checked before a label is wasted.

The shipped ones lie in `labels/sheets/` and are named by what they measure; a shop may give the path of its own file.
"""

import tomllib
from dataclasses import dataclass, fields
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

from labels.errors import PaperError

_MOST_BYTES = 65_536
_SLACK_MM = 0.005


@dataclass(frozen=True, slots=True)
class Sheet:
    """One size of label stock, in mm as the sheet is cut (not always whole); positions count from 1 along the rows.

    A `sheet` goes through an office printer page by page; a `roll` has one label a page and leaves no used positions.
    """

    name: str
    kind: Literal["sheet", "roll"]
    page_width_mm: float
    page_height_mm: float
    columns: int
    rows: int
    label_width_mm: float
    label_height_mm: float
    left_margin_mm: float
    top_margin_mm: float
    column_pitch_mm: float
    row_pitch_mm: float
    resolution_dpi: int

    @property
    def positions(self) -> int:
        """How many labels a page has."""
        return self.columns * self.rows

    def corner_mm(self, position: int) -> tuple[float, float]:
        """Left and top of label `position` (1 is the first of the top row)."""
        row, column = divmod(position - 1, self.columns)
        return self.left_margin_mm + column * self.column_pitch_mm, self.top_margin_mm + row * self.row_pitch_mm


def sheet_names() -> tuple[str, ...]:
    """Names of the shipped sheets and rolls, in order."""
    folder = files("labels") / "sheets"
    return tuple(sorted(file.name.removesuffix(".toml") for file in folder.iterdir() if file.name.endswith(".toml")))


def load_sheet(name_or_path: str | Path) -> Sheet:
    """The shipped sheet of that name, or the one described by the TOML file at that path. Raises PaperError."""
    if str(name_or_path) in sheet_names():
        content = (files("labels") / "sheets" / f"{name_or_path}.toml").read_bytes()
        return _read(str(name_or_path), content)
    path = Path(name_or_path)
    try:
        if not path.is_file():  # a pipe would be waited for
            raise FileNotFoundError
        with path.open("rb") as file:
            content = file.read(_MOST_BYTES + 1)
    except (OSError, ValueError):
        known = ", ".join(sheet_names())
        raise PaperError(
            f"There is no label sheet {str(name_or_path)!r}. Known are {known}; or give the path of a TOML file."
        ) from None
    return _read(path.stem, content)


def _read(name: str, content: bytes) -> Sheet:
    if len(content) > _MOST_BYTES:
        raise PaperError(
            f"The label sheet {name!r} is larger than {_MOST_BYTES} bytes: it cannot be a sheet's description."
        )
    try:
        table = tomllib.loads(content.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as error:
        raise PaperError(f"The label sheet {name!r} is not a TOML file: {error}.") from None
    faults = _field_faults(table)
    if not faults:
        sheet = Sheet(name=name, **table)
        faults = _size_faults(sheet)
        if not faults:
            return sheet
    raise PaperError(f"The label sheet {name!r} cannot be used: {'; '.join(faults)}.")


def _field_faults(table: dict[str, Any]) -> list[str]:
    """Fields that are missing, unknown or of the wrong kind."""
    expected = {field.name: field.type for field in fields(Sheet) if field.name != "name"}
    faults = [f"{key} is not a field of a sheet" for key in sorted(table.keys() - expected.keys())]
    for key, kind in expected.items():
        value = table.get(key)
        if key == "kind":
            if value not in ("sheet", "roll"):
                faults.append(f'kind must be "sheet" or "roll", found {value!r}')
        elif kind is int:
            if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= 2400:
                faults.append(f"{key} must be a whole number from 1 to 2400, found {value!r}")
        elif not isinstance(value, int | float) or isinstance(value, bool) or not 0 <= value <= 2000:
            faults.append(f"{key} must be a length in mm from 0 to 2000, found {value!r}")
    return faults


def _size_faults(sheet: Sheet) -> list[str]:
    """Labels that overlap, leave the page or are too small to print on."""
    faults: list[str] = []
    if sheet.label_width_mm < 10 or sheet.label_height_mm < 8:
        faults.append("a label is smaller than 10 × 8 mm")
    if sheet.columns > 1 and sheet.column_pitch_mm < sheet.label_width_mm - _SLACK_MM:
        faults.append("column_pitch_mm is less than label_width_mm, so labels would overlap")
    if sheet.rows > 1 and sheet.row_pitch_mm < sheet.label_height_mm - _SLACK_MM:
        faults.append("row_pitch_mm is less than label_height_mm, so labels would overlap")
    right, bottom = sheet.corner_mm(sheet.positions)
    if right + sheet.label_width_mm > sheet.page_width_mm + _SLACK_MM:
        faults.append("the last column leaves the page at the right")
    if bottom + sheet.label_height_mm > sheet.page_height_mm + _SLACK_MM:
        faults.append("the last row leaves the page at the foot")
    if sheet.kind == "roll" and sheet.positions != 1:
        faults.append("a roll has one label a page, so columns and rows must be 1")
    if sheet.resolution_dpi < 150:
        faults.append("resolution_dpi is under 150: bars that narrow cannot be printed")
    return faults
