"""On which line of a TOML text each key stands.

The TOML library of Python gives no lines for values, and a fault without a line is hard to find in a book of
thousands. This scanner reads the same text beside it: it understands tables, arrays of tables, dotted and quoted
keys, inline tables, and strings and arrays over several lines. It judges nothing: where the text is no TOML it stops.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass, field

Path = tuple[str | int, ...]
"""The way to a value from the top: keys, and numbers (from 0) of elements of arrays."""

DEEPEST = 32
"""How many tables and arrays may lie inside each other."""

_BLANK = re.compile(r"[ \t]*")
_GAP = re.compile(r"(?:[ \t\n]++|#[^\n]*+)*+")
_KEY_PART = re.compile(r"""[A-Za-z0-9_-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+'""")
_SCALAR = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*+"{3,5}'
    r"|'''(?:[^']|'(?!''))*+'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*+"'
    r"|'[^'\n]*+'"
    r"""|[^,\[\]{}#\n"']++""",
    re.DOTALL,
)
_ESCAPE = re.compile(r"\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|(.))", re.DOTALL)
_SHORT_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r"}


@dataclass(frozen=True, slots=True)
class Repeat:
    """A key or table that is written twice."""

    path: Path
    line: int
    first_line: int


@dataclass(frozen=True, slots=True)
class Positions:
    """Where the keys of one text stand. Lines are counted from 1."""

    lines: dict[Path, int] = field(default_factory=dict)
    """The line of every key, table and element of an array."""
    repeats: list[Repeat] = field(default_factory=list)

    def line(self, path: Path) -> int:
        """The line of `path`, or of the innermost part of it that is written down; 1 where none is."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)


def positions(text: str) -> Positions:
    r"""Where each key of a TOML text stands.

    >>> positions('title = "x"\n[a.b]\nc = [1,\n 2]').lines[("a", "b", "c", 1)]
    4
    """
    scan = _Scan(text.replace("\r\n", "\n"))
    scan.statements()
    return scan.found


class _NotTomlError(Exception):
    """The text is no TOML here; the TOML library says so better."""


class _Scan:
    """One walk over one text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.found = Positions()
        self._newlines = [mark.start() for mark in re.finditer("\n", text)]
        self._table: Path = ()
        self._counts: dict[Path, int] = {}
        """Path of an array of tables → how many of its tables have begun."""
        self._written: set[Path] = set()
        """Paths that were written as such, not only on the way to another."""

    def statements(self) -> None:
        try:
            while True:
                self._skip(_GAP)
                if self.at >= len(self.text):
                    return
                if self.text.startswith("[[", self.at):
                    self._array_of_tables()
                elif self.text[self.at] == "[":
                    self._header()
                else:
                    self._key_and_value(self._table, 0)
        except _NotTomlError:
            return

    def _header(self) -> None:
        line = self._line()
        self.at += 1
        path = self._named(self._key())
        self._expect("]")
        if path in self._counts:
            raise _NotTomlError
        self._note(path, line)
        self._table = path

    def _array_of_tables(self) -> None:
        line = self._line()
        self.at += 2
        keys = self._key()
        self._expect("]]")
        path = (*self._named(keys[:-1]), keys[-1])
        count = self._counts.get(path, 0)
        if count == 0:
            self._note(path, line)
        self._counts[path] = count + 1
        self._table = (*path, count)
        self._mark_way(path, line)
        self.found.lines[self._table] = line

    def _named(self, keys: tuple[str, ...]) -> Path:
        """The path of a header: a key that names an array of tables means the latest of them."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
        return path

    def _key_and_value(self, table: Path, depth: int) -> None:
        line = self._line()
        path = (*table, *self._key())
        if len(path) > 4 * DEEPEST:
            raise _NotTomlError
        self._expect("=")
        self._note(path, line)
        self._value(path, depth)

    def _key(self) -> tuple[str, ...]:
        parts: list[str] = []
        while True:
            self._skip(_BLANK)
            part = _KEY_PART.match(self.text, self.at)
            if part is None:
                raise _NotTomlError
            self.at = part.end()
            parts.append(_plain(part[0]))
            self._skip(_BLANK)
            if not self.text.startswith(".", self.at):
                return tuple(parts)
            self.at += 1

    def _value(self, path: Path, depth: int) -> None:
        if depth > DEEPEST:
            raise _NotTomlError
        self._skip(_BLANK)
        mark = self.text[self.at : self.at + 1]
        if mark == "[":
            self._array(path, depth)
        elif mark == "{":
            self._inline_table(path, depth)
        else:
            scalar = _SCALAR.match(self.text, self.at)
            if scalar is None:
                raise _NotTomlError
            self.at = scalar.end()

    def _array(self, path: Path, depth: int) -> None:
        self.at += 1
        number = 0
        while True:
            self._skip(_GAP)
            if self.text.startswith("]", self.at):
                self.at += 1
                return
            element = (*path, number)
            self.found.lines[element] = self._line()
            self._value(element, depth + 1)
            number += 1
            self._skip(_GAP)
            if self.text.startswith(",", self.at):
                self.at += 1
            elif not self.text.startswith("]", self.at):
                raise _NotTomlError

    def _inline_table(self, path: Path, depth: int) -> None:
        self.at += 1
        while True:
            self._skip(_GAP)
            if self.text.startswith("}", self.at):
                self.at += 1
                return
            self._key_and_value(path, depth + 1)
            self._skip(_GAP)
            if self.text.startswith(",", self.at):
                self.at += 1
            elif not self.text.startswith("}", self.at):
                raise _NotTomlError

    def _note(self, path: Path, line: int) -> None:
        """A key, or a table's header, is written here."""
        if path in self._written:
            self.found.repeats.append(Repeat(path, line, self.found.lines[path]))
            return
        self._written.add(path)
        self._mark_way(path, line)
        self.found.lines[path] = line

    def _mark_way(self, path: Path, line: int) -> None:
        for length in range(1, len(path)):
            self.found.lines.setdefault(path[:length], line)

    def _expect(self, mark: str) -> None:
        self._skip(_BLANK)
        if not self.text.startswith(mark, self.at):
            raise _NotTomlError
        self.at += len(mark)

    def _skip(self, gap: re.Pattern[str]) -> None:
        found = gap.match(self.text, self.at)
        if found is not None:
            self.at = found.end()

    def _line(self) -> int:
        return bisect_right(self._newlines, self.at - 1) + 1


def _plain(part: str) -> str:
    """A part of a key without its quotes and escapes."""
    if part[0] == "'":
        return part[1:-1]
    if part[0] != '"':
        return part
    return _ESCAPE.sub(_unescaped, part[1:-1])


def _unescaped(mark: re.Match[str]) -> str:
    number = mark[1] or mark[2]
    if number is None:
        return _SHORT_ESCAPES.get(mark[3], mark[3])
    value = int(number, 16)
    return chr(value) if value <= 0x10FFFF else "\ufffd"
