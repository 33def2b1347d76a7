"""Noto Sans, found in its package, registered once and only when something is drawn.

The package ships one variable font; ReportLab embeds its regular instance. Bold is the same outline with a thin stroke
round it, which prints evenly on thermal heads and keeps one font in the file.
"""

from enum import Enum
from functools import cache

FONT = "NotoSans"


class Weight(Enum):
    """How heavy letters are: `value` is the stroke round the outline, as a part of the size."""

    REGULAR = 0.0
    BOLD = 0.034


@cache
def _advances() -> dict[int, float]:
    """Advance width of every code point the font has, in thousandths of its size. Registers the font."""
    import json

    from fontpkg_noto_sans import ROOT
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    shipped = json.loads((ROOT / "metadata.json").read_text(encoding="utf-8"))["files"]
    upright = next(file["path"] for file in shipped if file["style"] == "normal")
    font = TTFont(FONT, str(ROOT / upright))
    pdfmetrics.registerFont(font)
    return dict(font.face.charWidths)


def ready() -> str:
    """Name of the font, registered with ReportLab."""
    _advances()
    return FONT


def has_glyph(character: str) -> bool:
    """Whether the font can draw `character`."""
    return ord(character) in _advances()


@cache
def _advances_by_character() -> dict[str, float]:
    return {chr(code): advance for code, advance in _advances().items()}


def width_pt(text: str, size_pt: float, weight: Weight = Weight.REGULAR) -> float:
    """Width of `text` (all of whose characters the font has) in points."""
    advances = _advances_by_character()
    return size_pt * (sum([advances[character] for character in text]) / 1000 + weight.value)
