"""Texts in their rooms: what is shown of them, where they break, where they end."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labels.fonts import Weight, width_pt
from labels.text import ELLIPSIS, FLOOR_PT, PT_A_MM, REPLACEMENT, fitted, shown, wrapped

ANY_TEXT = st.text(max_size=300)


@pytest.mark.parametrize(
    "name", ["Őrsi Katalin", "Пётр Иванов", "Θεοδώρα Παππά", "Łukasz Żak", "<b>bold</b> [red] &amp;"]
)
def test_names_are_shown_as_written(name: str) -> None:
    assert shown(name) == name


@pytest.mark.parametrize(
    "hidden", ["\x00", "\x1b", "\x7f", "\u202e", "\u200b", "\n", "\t", "\ud800", "\u6f22", "\U0001f600"]
)
def test_what_cannot_be_drawn_is_shown_as_a_mark(hidden: str) -> None:
    assert shown(f"a{hidden}b") == f"a{REPLACEMENT}b"


def test_letters_in_two_parts_are_composed() -> None:
    assert shown("O\u030brsi") == "Őrsi"


@given(ANY_TEXT)
def test_showing_twice_changes_nothing(text: str) -> None:
    assert shown(shown(text)) == shown(text)


@given(
    ANY_TEXT,
    st.floats(min_value=5, max_value=20),
    st.floats(min_value=10, max_value=190),
    st.integers(min_value=1, max_value=6),
    st.sampled_from(Weight),
)
def test_no_line_is_wider_than_its_room(text: str, size_pt: float, room_mm: float, lines: int, weight: Weight) -> None:
    for paragraph in (wrapped(text, size_pt, room_mm, lines, weight), fitted(text, size_pt, room_mm, lines, weight)):
        assert len(paragraph.lines) <= lines
        assert paragraph.size_pt >= min(size_pt, FLOOR_PT)
        for line in paragraph.lines:
            assert width_pt(line, paragraph.size_pt, weight) <= room_mm * PT_A_MM + 1e-6


@given(st.lists(st.text("abcdefgh-,.", min_size=1, max_size=9), max_size=30))
def test_nothing_is_lost_where_there_is_room(words: list[str]) -> None:
    text = " ".join(words)
    paragraph = wrapped(text, 8, 60, 60)
    assert not paragraph.cut_short
    assert " ".join(paragraph.lines) == text


def test_a_long_name_first_wraps_then_shrinks_then_ends_with_an_ellipsis() -> None:
    name = "Boot floor carpet with bound edge and heel pad"
    assert fitted(name, 10, 60, 2).size_pt == 10
    shrunk = fitted(name, 10, 60, 1)
    assert FLOOR_PT <= shrunk.size_pt < 10
    assert shrunk.lines == (name,)
    ended = fitted(name * 5, 10, 60, 1)
    assert ended.size_pt == FLOOR_PT
    assert ended.cut_short
    assert ended.lines[0].endswith(ELLIPSIS)


def test_a_word_without_spaces_is_broken() -> None:
    paragraph = wrapped("W" * 60, 10, 50, 10)
    assert "".join(paragraph.lines) == "W" * 60
    assert len(paragraph.lines) > 1


def test_line_ends_break_lines() -> None:
    assert wrapped("one\ntwo\r\nthree", 8, 50, 5).lines == ("one", "two", "three")
    assert wrapped("one\ntwo", 8, 50, 1).cut_short
