"""A text in a frame with its word in white on black: what must be seen, on a black-and-white printer too."""

from dataclasses import dataclass

from labels.fonts import Weight
from labels.paper import BLACK, Paper, badge_width_mm
from labels.text import Paragraph, wrapped

CAUTION_PT = 0.7
"""Line of a frame round a caution."""
CHANGE_PT = 1.8
"""Line of a frame round what differs on this car."""
_PAD_MM = 0.7


@dataclass(frozen=True, slots=True)
class Boxed:
    """A fitted text in its frame."""

    word: str
    paragraph: Paragraph
    width_mm: float
    line_pt: float

    @property
    def height_mm(self) -> float:
        """Height of the frame."""
        return self.paragraph.height_mm + 2 * _PAD_MM

    def draw(self, paper: Paper, x_mm: float, top_mm: float) -> None:
        """Draws frame, word and text from the top left corner."""
        word_mm = badge_width_mm(self.word, self.paragraph.size_pt)
        paper.frame(x_mm, top_mm, self.width_mm, self.height_mm, self.line_pt)
        paper.fill(x_mm, top_mm, word_mm + 2 * _PAD_MM, self.height_mm, BLACK)
        paper.badge(x_mm + _PAD_MM, top_mm + _PAD_MM, self.word, self.paragraph.size_pt)
        paper.paragraph(x_mm + word_mm + 3 * _PAD_MM, top_mm + _PAD_MM, self.paragraph)


def boxed(
    word: str,
    text: str,
    size_pt: float,
    width_mm: float,
    most_lines: int,
    line_pt: float,
    weight: Weight = Weight.REGULAR,
) -> Boxed:
    """`text` behind `word`, wrapped into a frame `width_mm` wide."""
    room_mm = width_mm - badge_width_mm(word, size_pt) - 4 * _PAD_MM
    return Boxed(word, wrapped(text, size_pt, room_mm, most_lines, weight), width_mm, line_pt)
