"""Tag check characters against ISO/IEC 7064 Mod 37,36, with python-stdnum as the reference implementation."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from stockroom.domain.tags import ALPHABET, KINDS, check_character, make_tag


def test_the_documented_example() -> None:
    """The example that python-stdnum documents (an identifier of the kind the standard serves)."""
    assert check_character("A12425GABC1234002") == "M"


@given(st.text(ALPHABET, min_size=1, max_size=30))
def test_any_text_has_the_reference_check_character(text: str) -> None:
    assert check_character(text) == mod_37_36.calc_check_digit(text)


@given(st.sampled_from(sorted(KINDS)), st.integers(1, 10**9))
def test_every_tag_is_valid_by_the_reference(kind: str, serial: int) -> None:
    assert mod_37_36.is_valid(make_tag(kind, serial))
