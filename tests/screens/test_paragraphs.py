"""Text in panes: it hangs where it wraps, and is never wider than its pane."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from stockroom.screens.paragraphs import Paragraphs, labelled, sentence


def lines(paragraphs: Paragraphs, width: int) -> list[str]:
    return paragraphs.folded(width).plain.split("\n")


def test_what_wraps_hangs_under_its_own_beginning() -> None:
    paragraphs = Paragraphs(labelled((("Kit", "Full boot set, Series 1"), ("Dye lot", "D17"), ("Place", ""))))
    assert lines(paragraphs, 30) == ["Kit      Full boot set, Series", "         1", "Dye lot  D17"]


def test_nothing_hangs_where_there_is_no_room_for_it() -> None:
    assert lines(Paragraphs([sentence("aaaa bbbb cccc", hang=4)]), 10) == ["aaaa bbbb", "cccc"]


def test_markup_is_text() -> None:
    assert lines(Paragraphs([sentence("[red]", ("<b>[/]", "bold"))]), 40) == ["[red]<b>[/]"]


@given(st.lists(st.tuples(st.text(max_size=80), st.integers(0, 12))), st.integers(4, 60))
def test_no_line_is_wider_than_the_pane_and_no_word_is_lost(given: list[tuple[str, int]], width: int) -> None:
    paragraphs = Paragraphs(sentence(text, hang=hang) for text, hang in given)
    shown = lines(paragraphs, width)
    assert all(cell_len(line) <= width for line in shown)
    kept = "".join("".join(shown).split())
    assert kept == "".join("".join(paragraph.content.plain for paragraph in paragraphs.lines).split())
