"""Words and cells."""

from __future__ import annotations

import doctest

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from stockroom.screens import typed, wording
from stockroom.screens.wording import bar, fitted, plain


def test_the_examples_in_the_docstrings_hold() -> None:
    for module in (wording, typed):
        result = doctest.testmod(module, extraglobs={"date": __import__("datetime").date})
        assert result.attempted
        assert not result.failed


@given(st.text(), st.integers(0, 60))
def test_fitted_text_is_exactly_as_wide_as_asked_and_plain_text_obeys_nothing(text: str, width: int) -> None:
    shown = fitted(plain(text), width)
    assert cell_len(shown) == width
    assert not any(character in shown for character in "\x1b\n\r\t\x07\x08\x00\x9b\u202e\u2028")


@given(st.integers(0, 300), st.integers(0, 300), st.integers(1, 20))
def test_a_bar_is_full_only_when_nothing_is_missing_and_empty_only_when_all_is(
    part: int, whole: int, width: int
) -> None:
    drawn = bar(part, whole, width)
    assert len(drawn) == width
    assert (drawn == "█" * width) == (0 < whole <= part)
    assert (drawn == "·" * width) == (part == 0 or whole == 0)
