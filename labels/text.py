"""What of a name is shown, and how it is brought into its room: wrapped, shrunk, at last ended with an ellipsis."""

import unicodedata
from dataclasses import dataclass
from functools import lru_cache

from labels.fonts import Weight, has_glyph, width_pt

FLOOR_PT = 5.0
"""No letter of a text is printed smaller: about 1.3 mm for a capital, the least that is read at arm's length."""
REPLACEMENT = "\ufffd"
ELLIPSIS = "…"
LEADING = 1.26
"""Line to line, as a multiple of the size: room for an accented capital over a descender."""
PT_A_MM = 72 / 25.4


@lru_cache(maxsize=8192)
def shown(text: str) -> str:
    """`text` as it is printed: composed, with a visible mark for each control, direction or unknown character.

    Nothing in it is markup. Line ends and tabs are control characters here; `wrapped` breaks at line ends before.
    """
    if text.isascii() and text.isprintable():
        return text
    composed = unicodedata.normalize("NFC", text).replace("\u00a0", " ").replace("\u202f", " ").replace("\u2009", " ")
    return "".join(
        character
        if unicodedata.category(character) not in {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"} and has_glyph(character)
        else REPLACEMENT
        for character in composed
    )


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Text brought into its room: the lines, their size in points and their weight."""

    lines: tuple[str, ...]
    size_pt: float
    weight: Weight
    cut_short: bool
    """Whether an ellipsis stands for words that are not printed."""

    @property
    def height_mm(self) -> float:
        """Height from the top of the first line to the foot of the last."""
        return len(self.lines) * self.size_pt * LEADING / PT_A_MM


def ended(text: str, size_pt: float, room_pt: float, weight: Weight) -> str:
    """The most of `text` that fits `room_pt` with an ellipsis behind it."""
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if width_pt(text[:middle].rstrip() + ELLIPSIS, size_pt, weight) <= room_pt:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + ELLIPSIS


def _word_parts(word: str, size_pt: float, room_pt: float, weight: Weight) -> list[str]:
    """A word, broken where it is wider than a whole line."""
    if width_pt(word, size_pt, weight) <= room_pt:
        return [word]
    parts: list[str] = []
    start, used_pt = 0, width_pt("", size_pt, weight)
    for at, character in enumerate(word):
        used_pt += width_pt(character, size_pt)
        if used_pt > room_pt and at > start:
            parts.append(word[start:at])
            start, used_pt = at, width_pt(character, size_pt, weight)
    return [*parts, word[start:]]


def _lines(text: str, size_pt: float, room_pt: float, weight: Weight, most: int) -> list[str]:
    """`text` broken at spaces into lines no wider than `room_pt`; stops once it has more than `most` of them."""
    lines: list[str] = []
    for stretch in text.split("\n"):
        line = ""
        for word in shown(stretch).split(" "):
            for part in _word_parts(word, size_pt, room_pt, weight):
                joined = f"{line} {part}" if line else part
                if width_pt(joined, size_pt, weight) <= room_pt:
                    line = joined
                    continue
                lines.append(line)
                line = part
                if len(lines) > most:
                    return lines
        lines.append(line)
    return lines


def wrapped(
    text: str, size_pt: float, room_mm: float, most_lines: int = 1, weight: Weight = Weight.REGULAR
) -> Paragraph:
    """`text` at `size_pt` in a column `room_mm` wide, in at most `most_lines` lines (or an ellipsis)."""
    room_pt = room_mm * PT_A_MM
    # What no page holds is not measured.
    text = text.replace("\r\n", "\n")[: most_lines * 400]
    if "\n" not in text and width_pt(shown(text), size_pt, weight) <= room_pt:
        return Paragraph((shown(text),), size_pt, weight, cut_short=False)
    lines = _lines(text, size_pt, room_pt, weight, most_lines)
    if len(lines) <= most_lines:
        return Paragraph(tuple(lines), size_pt, weight, cut_short=False)
    kept = lines[:most_lines]
    kept[-1] = ended(f"{kept[-1]} {lines[most_lines]}", size_pt, room_pt, weight)
    return Paragraph(tuple(kept), size_pt, weight, cut_short=True)


def fitted(
    text: str,
    size_pt: float,
    room_mm: float,
    most_lines: int = 1,
    weight: Weight = Weight.REGULAR,
    floor_pt: float = FLOOR_PT,
) -> Paragraph:
    """`text` wrapped into `room_mm`, shrunk as far as `floor_pt` before words are lost to an ellipsis."""
    size = size_pt
    paragraph = wrapped(text, size, room_mm, most_lines, weight)
    while paragraph.cut_short and size > floor_pt:
        size = max(floor_pt, size * 0.92)
        paragraph = wrapped(text, size, room_mm, most_lines, weight)
    return paragraph
