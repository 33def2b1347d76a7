"""All the faults of one TOML file, gathered while it is read: each with file, line, table, key, found and expected."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from types import UnionType
from typing import TYPE_CHECKING, Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, literal, nearest, quoted, unknown
from stockroom.files.toml_positions import Path
from stockroom.files.toml_text import Document, shown

if TYPE_CHECKING:
    from pydantic import BaseModel

    Table = TypeVar("Table", bound=BaseModel)

MOST_FAULTS = 200
"""Faults that are told at once. With so many the file is the wrong one, and reading it further is given up."""
_PLAIN = {
    str: "text",
    bool: "true or false",
    int: "a whole number",
    list: "a list",
    tuple: "a list",
    dict: "a table",
}


class TomlFaults:
    """The faults found in one document so far."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._found: dict[tuple[Path, str], None] = {}

    def add(self, path: Path, words: str) -> None:
        """Something is wrong at `path`; `words` say what and what was expected.

        Raises the `Refusal` of `raise_if_any` once there are too many to go on.
        """
        self._found[(path, words)] = None
        if len(self._found) > MOST_FAULTS:
            self.raise_if_any()

    def name(self, path: Path, what: str, name: str, known: Collection[str]) -> None:
        """A fault if `name` is not among those known."""
        if name not in known:
            self.add(path, unknown(what, name, known))

    def twice(self, path: Path, what: str, names: Iterable[str]) -> None:
        """A fault for every name that stands in a list more than once; `path` is the list's."""
        seen: set[str] = set()
        for number, name in enumerate(names):
            if name in seen:
                self.add((*path, number), f"the {what} {quoted(name)} is there twice. Give each once.")
            seen.add(name)

    def checked(self, table: type[Table], value: object, path: Path) -> Table | None:
        """`value` as the table it should be; `None`, and its faults noted, where it is not."""
        from pydantic import ValidationError

        try:
            return table.model_validate(value)
        except ValidationError as wrong:
            for fault in wrong.errors(include_url=False):
                self._note(table, dict(fault), path)
            return None

    def raise_if_any(self) -> None:
        """Raise the `Refusal` that tells all faults at once, in the order of their lines."""
        if not self._found:
            return
        positions = self._document.positions
        ordered = sorted(self._found, key=lambda fault: positions.line(fault[0]))
        sentences = [f"{self._document.place(path)}: {words}" for path, words in ordered[:MOST_FAULTS]]
        name, count = literal(self._document.name), len(ordered)
        faults = "1 fault" if count == 1 else f"{count} faults"
        if count > MOST_FAULTS:
            faults = f"more than {MOST_FAULTS} faults"
            sentences.append(f"{name} has more faults than these.")
        raise Refusal(
            f"{name} has {faults}; nothing was read from it. Put right what is named and try again.", tuple(sentences)
        )

    def _note(self, table: type[BaseModel], fault: dict[str, Any], path: Path) -> None:
        steps: Path = fault["loc"]
        if steps and steps[-1] == "[key]":
            self.add((*path, *steps[:-1]), f"this name will not do; expected {_expected(table, steps)}.")
            return
        here = (*path, *steps)
        if fault["type"] == "missing":
            self.add(here, f"missing; expected {_expected(table, steps)}.")
        elif fault["type"] == "extra_forbidden":
            self.add(here, _unknown_key(table, steps))
        elif fault["type"] == "wrong":
            self.add(here, fault["ctx"]["words"])
        else:
            expected = _walk(table, steps)[1] or _bounds(fault) or _expected(table, steps)
            self.add(here, f"found {shown(fault['input'])}; expected {expected}.")


def _unknown_key(table: type[BaseModel], steps: Path) -> str:
    from pydantic import BaseModel

    around = _walk(table, steps[:-1])[0]
    if not (isinstance(around, type) and issubclass(around, BaseModel)):
        return "this key is not known here."
    keys = [field.alias or name for name, field in around.model_fields.items()]
    near = nearest(str(steps[-1]), keys)
    meant = f" Did you mean {quoted(near)}?" if near else ""
    return f"this key is not known here.{meant} Known: {listed(quoted(key) for key in keys)}."


def _expected(table: type[BaseModel], steps: Path) -> str:
    kind, words = _walk(table, steps)
    return words or _kind_in_words(kind)


def _bounds(fault: dict[str, Any]) -> str:
    """How many a list or table may hold, where that is the fault."""
    if fault["type"] == "too_short":
        return f"at least {fault['ctx']['min_length']}"
    return f"at most {fault['ctx']['max_length']}" if fault["type"] == "too_long" else ""


def _walk(kind: Any, steps: Path) -> tuple[Any, str]:
    """The kind of value that is expected at the end of the steps, and the words given for it (or none)."""
    from pydantic import BaseModel

    kind, words = _unwrapped(kind)
    if not steps:
        return kind, words
    step, rest = steps[0], steps[1:]
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        for name, field in kind.model_fields.items():
            if step == (field.alias or name):
                inner, inner_words = _walk(field.annotation, rest)
                return inner, inner_words if rest else _words_of(field.metadata) or inner_words
        return None, ""
    inner_kinds = get_args(kind)
    if get_origin(kind) is dict and inner_kinds:
        return _walk(inner_kinds[0], ()) if rest == ("[key]",) else _walk(inner_kinds[1], rest)
    if get_origin(kind) is list and inner_kinds:
        return _walk(inner_kinds[0], rest)
    return None, words


def _unwrapped(kind: Any) -> tuple[Any, str]:
    """The kind without `Annotated` and `None`, and the words that came with it."""
    words = ""
    while True:
        if get_origin(kind) is Annotated:
            words = words or _words_of(kind.__metadata__)
            kind = kind.__origin__
        elif get_origin(kind) in (Union, UnionType) and len(_somethings(kind)) == 1:
            kind = _somethings(kind)[0]
        else:
            return kind, words


def _somethings(kind: Any) -> list[Any]:
    return [inner for inner in get_args(kind) if inner is not type(None)]


def _words_of(metadata: Iterable[object]) -> str:
    from stockroom.files.border import Expected

    # The last: where a kind of value is made of another, its own words come after those of the other.
    return next((mark.words for mark in reversed(tuple(metadata)) if isinstance(mark, Expected)), "")


def _kind_in_words(kind: Any) -> str:
    if get_origin(kind) is Literal:
        return listed((quoted(word) for word in get_args(kind)), "or")
    return _PLAIN.get(get_origin(kind) or kind, "a table")
