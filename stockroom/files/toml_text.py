"""A TOML file from outside, read so that no file whatever can do harm: too big, binary, too deep, or no TOML at all."""

from __future__ import annotations

import datetime
import re
import tomllib
from functools import cached_property
from pathlib import Path as FilePath
from typing import Any

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import literal, quoted
from stockroom.files.toml_positions import DEEPEST, Path, Positions, positions

LARGEST_BYTES = 2 * 1024 * 1024
"""A larger file is refused unread: a kit book of a thousand drawn outlines is well below it."""
_DOTS_IN_LINE = 1000
_LONGEST_NUMBER = 400
"""Digits. Python itself refuses to read whole numbers of more than 4300."""
_AT = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")
_BRACKETS = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*+(?:"{3,5}|\Z)'
    r"|'''(?:[^']|'(?!''))*+(?:'{3,5}|\Z)"
    r'|"(?:[^"\\\n]|\\.)*+"?+'
    r"|'[^'\n]*+'?+"
    r"|\#[^\n]*+"
    r"|[\[\]{}.\n]",
    re.DOTALL,
)
_LONG_NUMBER = re.compile(rf"[0-9A-Fa-f_]{{{_LONGEST_NUMBER}}}")
_REPEATED = ("Cannot overwrite", "Cannot declare", "Duplicate inline")


class Document:
    """A parsed TOML text that knows where its keys stand."""

    def __init__(self, name: str, text: str, data: dict[str, Any]) -> None:
        self.name = name
        """The file's name, as sentences show it."""
        self.data = data
        """What the TOML library made of the text."""
        self._text = text

    @cached_property
    def positions(self) -> Positions:
        """Scanned only when a fault has to be placed."""
        return positions(self._text)

    def place(self, path: Path) -> str:
        """File, line, table and key of a path.

        >>> parse("[pieces.BF]\\ncount = 2", "book.toml").place(("pieces", "BF", "count"))
        "book.toml, line 2, [pieces.BF], 'count'"
        """
        return ", ".join([f"{literal(self.name)}, line {self.positions.line(path)}", *_table_and_key(path)])


def _table_and_key(path: Path) -> list[str]:
    elements: list[str] = []
    while path and isinstance(path[-1], int):
        elements.insert(0, f"number {path[-1] + 1}")
        path = path[:-1]
    if not path:
        return elements
    table = ""
    for step in path[:-1]:
        table += f"({step + 1})" if isinstance(step, int) else f".{literal(step[:60])}"
    return [*([f"[{table.lstrip('.')}]"] if table else []), quoted(str(path[-1])), *elements]


def load_text(path: FilePath) -> str:
    """The text of a file. Raises `Refusal` where it is no readable UTF-8 text of a bearable size."""
    name = path.name
    try:
        # A pipe would be waited for, and a device may never end.
        if path.exists() and not (path.is_file() or path.is_dir()):
            raise Refusal(f"{quoted(str(path))} is no ordinary file, so it was not read.")
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise Refusal(f"There is no file {quoted(str(path))}.") from None
    except IsADirectoryError:
        raise Refusal(f"{quoted(str(path))} is a folder; a TOML file was expected.") from None
    except (OSError, ValueError) as fault:
        reason = fault.strerror if isinstance(fault, OSError) else "the name is no file name"
        raise Refusal(f"{quoted(str(path))} cannot be read: {reason or 'unknown fault'}.") from None
    return decode(data, name)


def decode(data: bytes, name: str) -> str:
    """The text in the bytes of a file called `name`, without a byte-order mark. Raises `Refusal`."""
    _refuse_large(len(data), name)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise Refusal(f"{literal(name)} is written in UTF-16. Save it as UTF-8 and try again.")
    if b"\0" in data:
        raise Refusal(_no_text(name, data[: data.index(b"\0")].count(b"\n") + 1))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise Refusal(
            f"{literal(name)}, line {line}: this is not UTF-8 text (byte 0x{data[fault.start]:02x}). "
            "Save the file as UTF-8 and try again."
        ) from None


def parse(text: str, name: str) -> Document:
    """The TOML in `text`. Raises `Refusal` with file and line where it is none, or where it is made to do harm."""
    text = text.removeprefix("\ufeff")
    _refuse_large(len(text), name)
    if "\0" in text:
        raise Refusal(_no_text(name, text.count("\n", 0, text.index("\0")) + 1))
    _refuse_bombs(text, name)
    try:
        return Document(name, text, tomllib.loads(text))
    except ValueError as fault:
        raise Refusal(_syntax(text, name, str(fault))) from None
    except RecursionError:
        raise Refusal(f"{literal(name)}: tables and arrays lie too deep inside each other.") from None


def shown(value: object) -> str:
    """A value from a TOML file, as a sentence shows it.

    >>> shown(True), shown("2"), shown([1, 2]), shown({})
    ('true', "'2'", 'a list of 2', 'a table')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return str(value)


def _refuse_large(size: int, name: str) -> None:
    if size > LARGEST_BYTES:
        raise Refusal(
            f"{literal(name)} is larger than {LARGEST_BYTES // (1024 * 1024)} MiB, more than any kit book or order "
            "needs. Nothing was read; split the file or check that it is the right one."
        )


def _no_text(name: str, line: int) -> str:
    return f"{literal(name)}, line {line}: this is no text file (it holds a zero byte). A TOML file was expected."


def _refuse_bombs(text: str, name: str) -> None:
    """Refuse what would make the TOML library run out of stack or of time."""
    number = _LONG_NUMBER.search(text)
    if number is not None:
        raise Refusal(_at_line(text, name, number.start(), f"a word or number of over {_LONGEST_NUMBER} digits"))
    depth = dots = 0
    line_start = 0
    for token in _BRACKETS.finditer(text):
        mark = token[0]
        if mark in "[{":
            depth += 1
            if depth > DEEPEST:
                raise Refusal(_at_line(text, name, token.start(), f"brackets more than {DEEPEST} deep"))
        elif mark in "]}":
            depth = max(0, depth - 1)
        elif mark == ".":
            dots += 1
            if dots > _DOTS_IN_LINE:
                if _is_long_key(text[line_start : token.end()]):
                    raise Refusal(_at_line(text, name, line_start, f"a key of more than {DEEPEST} parts"))
                dots, line_start = 0, token.end()
        elif mark == "\n":
            dots, line_start = 0, token.end()


def _is_long_key(line: str) -> bool:
    return max(part.count(".") for part in re.split(r"[,=\[\]{}]", line)) > DEEPEST


def _at_line(text: str, name: str, at: int, what: str) -> str:
    line = text.count("\n", 0, at) + 1
    return f"{literal(name)}, line {line}: {what}. No kit book or order needs that; check that it is the right file."


def _syntax(text: str, name: str, said: str) -> str:
    """The TOML library's fault in our words, with file and line."""
    at = _AT.search(said)
    if at is None:
        return f"{literal(name)}: this is not TOML: {literal(said)}."
    if said.startswith(_REPEATED):
        repeats = positions(text).repeats
        if repeats:
            first = repeats[0]
            *_, key = _table_and_key(first.path)
            return (
                f"{literal(name)}, line {first.line}: {key} is written twice (first in line {first.first_line}). "
                "Keep one of them."
            )
    line = int(at[1]) if at[1] else text.count("\n") + 1
    reason = said[: at.start()]
    return f"{literal(name)}, line {line}: this is not TOML: {literal(reason[:1].lower() + reason[1:200])}."
