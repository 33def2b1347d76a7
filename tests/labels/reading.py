"""Reads a PDF back as a person and a scanner would: pictures, barcodes, words and where they stand."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import pypdfium2
import zxingcpp

MM_A_PT = 25.4 / 72
SCANNED_DPI = (203, 300)


@dataclass(frozen=True, slots=True)
class Word:
    """A character as it stands on the page; mm from the top left corner."""

    text: str
    left_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float


@contextmanager
def opened(pdf: bytes) -> Iterator[Any]:
    with pypdfium2.PdfDocument(pdf) as document:
        yield document


def page_count(pdf: bytes) -> int:
    with opened(pdf) as document:
        return len(document)


def pictures(pdf: bytes, dpi: int) -> list[Any]:
    """Every page as a grey picture at `dpi`."""
    with opened(pdf) as document:
        return [page.render(scale=dpi / 72).to_pil().convert("L") for page in document]


def codes(pdf: bytes, dpi: int) -> list[list[str]]:
    """The barcodes of every page, sorted; the same code twice is there twice."""
    wanted = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.Code128)
    return [
        sorted(found.text for found in zxingcpp.read_barcodes(picture, formats=wanted))
        for picture in pictures(pdf, dpi)
    ]


def assert_reads_back(pdf: bytes, expected: Sequence[Sequence[str]]) -> None:
    """Exactly these barcodes on these pages, at each resolution."""
    for dpi in SCANNED_DPI:
        assert codes(pdf, dpi) == [sorted(page) for page in expected], f"at {dpi} dpi"


def texts(pdf: bytes) -> list[str]:
    """The words of every page, line ends as spaces."""
    found: list[str] = []
    with opened(pdf) as document:
        for page in document:
            text_page = page.get_textpage()
            found.append(" ".join(text_page.get_text_bounded().split()))
            text_page.close()
    return found


def characters(pdf: bytes, page_number: int = 0) -> list[Word]:
    """Every visible character of a page with the box of its ink."""
    with opened(pdf) as document:
        page = document[page_number]
        height_pt = page.get_height()
        text_page = page.get_textpage()
        found = []
        for at in range(text_page.count_chars()):
            letter = text_page.get_text_range(at, 1)
            if letter.strip():
                left, bottom, right, top = (float(edge) for edge in text_page.get_charbox(at))
                found.append(
                    Word(
                        letter,
                        left * MM_A_PT,
                        (height_pt - top) * MM_A_PT,
                        right * MM_A_PT,
                        (height_pt - bottom) * MM_A_PT,
                    )
                )
        text_page.close()
    return found


def assert_within_pages(pdf: bytes, margin_mm: float = 0.0) -> None:
    """No ink of a letter nearer than `margin_mm` to the edge of its page."""
    with opened(pdf) as document:
        sizes = [(page.get_width() * MM_A_PT, page.get_height() * MM_A_PT) for page in document]
    for number, (width_mm, height_mm) in enumerate(sizes):
        for letter in characters(pdf, number):
            assert letter.left_mm >= margin_mm, (number, letter)
            assert letter.top_mm >= margin_mm, (number, letter)
            assert letter.right_mm <= width_mm - margin_mm, (number, letter)
            assert letter.bottom_mm <= height_mm - margin_mm, (number, letter)


def ink_outside(picture: Any, boxes_mm: Sequence[tuple[float, float, float, float]], dpi: int) -> int:
    """Dark pixels of a page that lie in none of the boxes (left, top, right, bottom)."""
    from PIL import ImageDraw

    left = picture.copy()
    pen = ImageDraw.Draw(left)
    for box in boxes_mm:
        pen.rectangle([edge * dpi / 25.4 for edge in box], fill=255)
    return sum(left.histogram()[:128])
