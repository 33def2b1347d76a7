"""A TOML file from outside: whatever is in it, it is read or refused with a sentence, quickly."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.refusal import Refusal
from stockroom.files.toml_text import LARGEST_BYTES, decode, load_text, parse


def refusal(text: str) -> str:
    with pytest.raises(Refusal) as refused:
        parse(text, "book.toml")
    assert "\n" not in refused.value.sentence
    return refused.value.sentence


@given(st.binary(max_size=200))
def test_no_bytes_whatever_end_in_anything_but_a_refusal(data: bytes) -> None:
    sentence = ""
    try:
        parse(decode(data, "x.toml"), "x.toml")
    except Refusal as refused:
        sentence = refused.sentence
    assert not sentence or sentence.startswith("x.toml")


def test_utf_8_is_read_with_or_without_a_byte_order_mark() -> None:
    assert parse(decode("\ufefftitle = 'Ő'".encode(), "b"), "b").data == {"title": "Ő"}
    assert parse("\ufefftitle = 'Ő'", "b").data == {"title": "Ő"}


def test_latin_1_is_refused_with_its_line() -> None:
    with pytest.raises(Refusal, match=r"book\.toml, line 2: this is not UTF-8 text \(byte 0xe9\)"):
        decode("a = 1\nb = 'café'".encode("latin-1"), "book.toml")


def test_utf_16_is_named() -> None:
    with pytest.raises(Refusal, match="UTF-16"):
        decode("a = 1".encode("utf-16"), "book.toml")


def test_zero_bytes_are_no_text() -> None:
    with pytest.raises(Refusal, match="line 2: this is no text file"):
        decode(b"a = 1\n\x00\x01", "book.toml")
    assert "no text file" in refusal("a = '\x00'")


def test_a_huge_file_is_refused_unread(tmp_path: Path) -> None:
    huge = tmp_path / "huge.toml"
    huge.write_bytes(b"#" * (LARGEST_BYTES + 1))
    with pytest.raises(Refusal, match="larger than 2 MiB"):
        load_text(huge)
    assert "larger than 2 MiB" in refusal("#" * (LARGEST_BYTES + 1))


def test_files_that_cannot_be_read_are_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="There is no file"):
        load_text(tmp_path / "none.toml")
    with pytest.raises(Refusal, match="is a folder"):
        load_text(tmp_path)
    with pytest.raises(Refusal, match="cannot be read"):
        load_text(Path("a\0b"))


@pytest.mark.parametrize(
    "bomb",
    [
        "a = " + "[" * 100_000 + "]" * 100_000,
        "a = " + "{b = " * 50_000,
        "a = [\n" * 50_000,
        "a." * 500_000 + "b = 1",
        '"a" . ' * 100_000 + "b = 1",
        "[" + "a." * 500_000 + "b]",
        "a = " + "9" * 1_000_000,
        "a = 0x" + "F" * 100_000,
        'a = "' + "\\" * 1_000_001,
        "a = '''" + "'" * 1_000_000,
    ],
    ids=[
        "arrays",
        "inline tables",
        "open arrays",
        "dotted",
        "quoted dotted",
        "header",
        "number",
        "hex",
        "escapes",
        "quotes",
    ],
)
def test_a_bomb_is_refused_with_its_line_in_no_time(bomb: str) -> None:
    start = time.perf_counter()
    sentence = refusal("# first line\n" + bomb)
    assert "book.toml, line " in sentence
    assert len(sentence) < 400
    assert time.perf_counter() - start < 5


def test_many_decimals_in_one_line_are_no_bomb() -> None:
    numbers = ", ".join(["1.5"] * 3000)
    assert len(parse(f"a = [{numbers}]", "b").data["a"]) == 3000


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a = 1\na = 2\n", "book.toml, line 2: 'a' is written twice (first in line 1). Keep one of them."),
        ("[t]\nb = 1\n[t]\n", "book.toml, line 3: 't' is written twice (first in line 1). Keep one of them."),
        ("a = 1\nb = \n", "book.toml, line 2: this is not TOML: invalid value."),
        ("a = 1\n\nb = [1,", "book.toml, line 3: this is not TOML"),
        ("a = 1979-99-01", "book.toml, line 1: this is not TOML"),
        ("a = 'x\x07y'", "book.toml, line 1: this is not TOML"),
        ("<html>", "book.toml, line 1: this is not TOML"),
    ],
)
def test_what_is_not_toml_is_told_with_file_and_line(text: str, words: str) -> None:
    assert refusal(text).startswith(words)


def test_a_place_names_file_line_table_key_and_element() -> None:
    document = parse("[[pieces.BF.panels]]\ncode = 'x'\nat = [1,\n 2]\n", "b\x1b.toml")
    assert document.place(("pieces", "BF", "panels", 0, "at", 1)) == (
        r"b\u001b.toml, line 4, [pieces.BF.panels(1)], 'at', number 2"
    )
    assert document.place(("book",)) == r"b\u001b.toml, line 1, 'book'"
