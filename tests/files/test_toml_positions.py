"""The index of positions agrees with the TOML library: every key it parses is found, on the line it is written on."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.refusal import Refusal
from stockroom.files.toml_positions import DEEPEST, Path, positions
from stockroom.files.toml_text import parse

KEYS = ["a", "b-c", "d_e", "7", "two words", "dot.ted", 'quo"te', "apo'strophe", "ő", "tab\tkey", "hash#", "[x]", ""]
SCALARS = [
    "1",
    "-2.5",
    "true",
    "1953-06-30",
    "1979-05-27 07:32:00",
    '"text # no comment"',
    "'lite[ral'",
    '"esc \\" ] = aped \\\\"',
    '"""two\nlines = 1 \\"""\n"quoted" ""end"""""',
    "'''three\n[not.a.table]\nlines'''",
    '""',
    "''''''",
]


def written_key(draw: st.DrawFn, key: str) -> str:
    """One of the ways to write a key."""
    basic = '"' + "".join(f"\\u{ord(mark):04X}" if mark in '"\t\\' else mark for mark in key) + '"'
    ways = [basic]
    if key and all(mark.isascii() and (mark.isalnum() or mark in "-_") for mark in key):
        ways.append(key)
    if "'" not in key and "\t" not in key:
        ways.append(f"'{key}'")
    return draw(st.sampled_from(ways))


def written_value(draw: st.DrawFn, depth: int) -> str:
    kind = draw(st.sampled_from(["scalar", "scalar", "array", "inline"])) if depth < 3 else "scalar"
    if kind == "array":
        gap = draw(st.sampled_from(["", " ", "\n", "  # comment ]\n"]))
        return (
            f"[{gap}"
            + "".join(f"{written_value(draw, depth + 1)}{gap},{gap}" for _ in range(draw(st.integers(0, 3))))
            + "]"
        )
    if kind == "inline":
        keys = draw(st.lists(st.sampled_from(KEYS), max_size=3, unique=True))
        return "{" + ", ".join(f"{written_key(draw, key)} = {written_value(draw, depth + 1)}" for key in keys) + "}"
    return draw(st.sampled_from(SCALARS))


def written_table(draw: st.DrawFn, header: str, depth: int) -> str:
    lines: list[str] = []
    keys = draw(st.lists(st.sampled_from(KEYS), max_size=4, unique=True))
    tables: list[str] = []
    for key in keys:
        kind = draw(st.sampled_from(["value", "value", "dotted", "table", "tables"]))
        way = written_key(draw, key)
        if kind == "value" or depth > 1:
            lines.append(f"{way} = {written_value(draw, 0)}{draw(st.sampled_from(['', '  # x']))}")
        elif kind == "dotted":
            inner = written_key(draw, draw(st.sampled_from(KEYS)))
            lines.append(f"  {way} . {inner} = {written_value(draw, 1)}")
        elif kind == "table":
            path = f"{header}.{way}" if header else way
            tables.append(f"[{path}]\n{written_table(draw, path, depth + 1)}")
        else:
            path = f"{header}.{way}" if header else way
            for _ in range(draw(st.integers(1, 3))):
                tables.append(f"[[ {path} ]] # x\n{written_table(draw, path, depth + 1)}")
    blank = draw(st.sampled_from(["", "\n", "# [comment]\n"]))
    return "".join(f"{line}\n{blank}" for line in lines) + "".join(tables)


@st.composite
def toml_texts(draw: st.DrawFn) -> str:
    text = written_table(draw, "", 0)
    return text.replace("\n", "\r\n") if draw(st.booleans()) else text


def paths(value: object, path: Path = ()) -> Iterator[Path]:
    if path:
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from paths(inner, (*path, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from paths(inner, (*path, number))


def ways_to_write(key: str) -> list[str]:
    escaped = "".join(f"\\u{ord(mark):04X}" if mark in '"\t\\' else mark for mark in key)
    return [key, escaped]


@given(toml_texts())
def test_every_key_is_found_on_the_line_where_it_is_written(text: str) -> None:
    data = tomllib.loads(text)
    found = positions(text)
    lines = text.split("\n")
    assert not found.repeats
    for path in paths(data):
        assert path in found.lines, f"{path} is not found"
        key = path[-1]
        if isinstance(key, str):
            line = lines[found.line(path) - 1]
            assert any(way in line for way in ways_to_write(key)), f"{path} is not in {line!r}"


PARTS = [
    "a",
    "b",
    ".",
    "=",
    " ",
    "\n",
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    ",",
    '"',
    "'",
    '"""',
    "'''",
    "#",
    "1",
    "\\",
    "\r\n",
    "é",
]


@given(st.lists(st.sampled_from(PARTS), max_size=30).map("".join))
def test_whatever_the_text_the_scan_ends_and_agrees_where_it_is_toml(text: str) -> None:
    found = positions(text)
    try:
        data = parse(text, "x.toml").data
    except Refusal:
        return
    for path in paths(data):
        assert path in found.lines


def test_a_path_that_is_not_written_gets_the_line_of_what_holds_it() -> None:
    found = positions("[pieces.BF]\ntitle = 'x'\n[[pieces.BF.panels]]\ncode = 'top'\n")
    assert found.line(("pieces", "BF", "panels", 0, "cloth")) == 3
    assert found.line(("kits",)) == 1


def test_elements_of_an_array_have_lines_of_their_own() -> None:
    found = positions("points = [\n [0, 0],\n [10,\n 20],\n]\n")
    assert [found.lines[("points", 1)], found.lines[("points", 1, 1)]] == [3, 4]


def test_tables_of_an_array_are_told_apart() -> None:
    found = positions("[[a]]\nx = 1\n[[a.b]]\ny = 1\n[[a]]\n[[a.b]]\n[[a.b]]\ny = 2\n")
    assert found.lines[("a", 1, "b", 1, "y")] == 8
    assert found.lines[("a", 0, "b", 0, "y")] == 4


@pytest.mark.parametrize(
    ("text", "path", "line", "first"),
    [
        ("a = 1\nb = 2\na = 3\n", ("a",), 3, 1),
        ("[t]\n[u]\n[t]\n", ("t",), 3, 1),
        ("x = { a = 1,  a = 2 }", ("x", "a"), 1, 1),
    ],
)
def test_a_key_written_twice_is_noted_with_both_lines(text: str, path: Path, line: int, first: int) -> None:
    repeat = positions(text).repeats[0]
    assert (repeat.path, repeat.line, repeat.first_line) == (path, line, first)


def test_text_far_too_deep_is_left_alone() -> None:
    found = positions("ok = 1\na = " + "[" * (DEEPEST + 5) + "]" * (DEEPEST + 5))
    assert found.lines[("ok",)] == 1
