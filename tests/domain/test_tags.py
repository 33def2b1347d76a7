"""Tags: made, read back, and refused when mistyped."""

from __future__ import annotations

import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain import tags
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import ALPHABET, KINDS, Tag, is_tag, make_tag, read_tag

made = st.builds(make_tag, st.sampled_from(sorted(KINDS)), st.integers(1, 10**9))


def test_the_examples_in_the_docstrings_are_true() -> None:
    assert doctest.testmod(tags).failed == 0


@given(st.sampled_from(sorted(KINDS)), st.integers(1, 10**9))
def test_a_tag_reads_back_however_it_is_typed(kind: str, serial: int) -> None:
    text = make_tag(kind, serial)
    for typed in (text, text.lower(), f" {text[0]} {text[1:-1]}-{text[-1]}\n"):
        assert read_tag(typed) == Tag(kind, serial)


@given(made, st.data())
def test_one_mistyped_character_is_never_taken_for_another_tag(text: str, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(text) - 1))
    wrong = data.draw(st.sampled_from([c for c in ALPHABET if c != text[at]]))
    assert not is_tag(text[:at] + wrong + text[at + 1 :])


@pytest.mark.parametrize("typed", ["", "R", "R0L", "X1042L", "R01042L", "R١L", "R" + "9" * 400, "R1042", "\x1b[31m"])
def test_what_is_no_tag_is_refused(typed: str) -> None:
    with pytest.raises(Refusal):
        read_tag(typed)


def test_a_wrong_check_character_is_said_to_be_mistyped() -> None:
    with pytest.raises(Refusal, match="mistyped"):
        read_tag("R1042X")
