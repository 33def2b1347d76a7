"""A TOML table looked into without trusting it: what is not of the kind asked for is as if it were not there.

The kinds of values are checked elsewhere. This lets the names in a table be checked even where another of its values
is faulty, so that a person sees all faults at once.
"""

from __future__ import annotations

from collections.abc import Iterator

from stockroom.files.toml_positions import Path


class LooseTable:
    """One table and the path to it.

    >>> table = LooseTable({"kits": ["a", 3], "count": "x"}, ("kits", "b"))
    >>> list(table.texts("kits")), table.table("count").has("y")
    ([(('kits', 'b', 'kits', 0), 'a')], False)
    """

    def __init__(self, value: object, path: Path = ()) -> None:
        self.path = path
        self._value: dict[str, object] = value if isinstance(value, dict) else {}

    def has(self, key: str) -> bool:
        """Whether the key is there, with whatever value."""
        return key in self._value

    def codes(self) -> tuple[str, ...]:
        """All keys."""
        return tuple(self._value)

    def only(self, *keys: str) -> dict[str, object]:
        """The keys named, as far as they are there, with whatever values."""
        return {key: self._value[key] for key in keys if key in self._value}

    def text(self, key: str) -> str | None:
        """A text."""
        value = self._value.get(key)
        return value if isinstance(value, str) else None

    def texts(self, key: str) -> Iterator[tuple[Path, str]]:
        """The texts of a list with their paths; a single text counts as a list of one."""
        value = self._value.get(key)
        if isinstance(value, str):
            yield (*self.path, key), value
        for number, element in enumerate(value if isinstance(value, list) else ()):
            if isinstance(element, str):
                yield (*self.path, key, number), element

    def table(self, key: str) -> LooseTable:
        """The table of that key; an empty one where there is none."""
        return LooseTable(self._value.get(key), (*self.path, key))

    def tables(self, key: str) -> Iterator[LooseTable]:
        """The tables of a list."""
        value = self._value.get(key)
        for number, element in enumerate(value if isinstance(value, list) else ()):
            yield LooseTable(element, (*self.path, key, number))

    def entries(self) -> Iterator[tuple[str, LooseTable]]:
        """The tables within, by key."""
        for key in self._value:
            yield key, self.table(key)
