"""Code 128 against ISO/IEC 15417, and our bars against what an independent reader sees.

Start values A 103, B 104, modulo 103: ISO/IEC 15417. The worked check value of 'PJJ123C' is from memory.
"""

import pypdfium2
import pytest
import zxingcpp
from barcode.codex import Code128

from labels import PaperError
from labels.barcode128 import QUIET_MODULES, bars, check_value, code_values, dots_a_module, least_dots
from labels.paper import Paper

START_A, START_B = 103, 104

TEXTS = (
    "PJJ123C",
    "R000123K",
    "A12425GABC1234002M",
    "B9",
    "12345678",
    "1234567",
    "99",
    "9900123",
    "99AB12",
    "ab 12345 ~!",
)


def value_in_set_a(character: str) -> int:
    """Values of code set A for the characters from space to underscore: ISO/IEC 15417, table 1."""
    return ord(character) - 32


def test_worked_check_value_in_code_set_a_is_54() -> None:
    values = (START_A, *map(value_in_set_a, "PJJ123C"))
    assert check_value(values) == 54


def test_the_same_text_in_code_set_b_differs_only_by_its_start() -> None:
    assert code_values("PJJ123C") == (START_B, *map(value_in_set_a, "PJJ123C"))
    assert check_value(code_values("PJJ123C")) == (54 + 1) % 103


# The library drops a leading 99 (it reads it as a switch of sets), so those texts are left to the reader below.
@pytest.mark.parametrize("text", [text for text in TEXTS if not text.startswith("99")])
def test_pattern_agrees_with_the_library(text: str) -> None:
    (pattern,) = Code128(text, writer=object()).build()
    drawn = ["0"] * bars(text).modules
    for at, width in bars(text).bars:
        drawn[at : at + width] = ["1"] * width
    assert "".join(drawn) == pattern


@pytest.mark.parametrize("text", TEXTS)
def test_a_symbol_is_eleven_modules_a_value_and_thirteen_for_the_stop(text: str) -> None:
    # ISO/IEC 15417: every character 11 modules, the stop 13, a quiet zone of 10 on each side.
    assert bars(text).modules == 11 * (len(code_values(text)) + 1) + 13
    assert bars(text).modules_with_quiet == bars(text).modules + 2 * 10
    assert QUIET_MODULES == 10


@pytest.mark.parametrize(("resolution_dpi", "dots"), [(203, 2), (300, 3), (600, 6)])
def test_a_module_is_whole_dots_and_never_under_a_quarter_millimetre(resolution_dpi: int, dots: int) -> None:
    assert least_dots(resolution_dpi) == dots
    assert dots * 25.4 / resolution_dpi >= 0.25
    assert (dots - 1) * 25.4 / resolution_dpi < 0.25
    symbol = bars("R000123K")
    just_enough_mm = symbol.modules_with_quiet * dots * 25.4 / resolution_dpi
    assert dots_a_module(symbol, just_enough_mm, resolution_dpi) == dots


@pytest.mark.parametrize("resolution_dpi", [203, 300])
@pytest.mark.parametrize("text", TEXTS)
def test_an_independent_reader_reads_the_narrowest_bars(text: str, resolution_dpi: int) -> None:
    narrowest_mm = bars(text).modules_with_quiet * least_dots(resolution_dpi) * 25.4 / resolution_dpi
    paper = Paper(narrowest_mm + 10, 20, "one barcode", resolution_dpi)
    paper.barcode(5, 3, narrowest_mm + 0.2, 12, text)
    with pypdfium2.PdfDocument(paper.finish()) as document:
        image = document[0].render(scale=resolution_dpi / 72).to_pil().convert("L")
    found = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.Code128))
    assert [symbol.text for symbol in found] == [text]


@pytest.mark.parametrize("text", ["", "é", "tab\there", "\x7f", "x" * 49, "Őrsi"])
def test_what_code_128_cannot_hold_is_refused_with_a_sentence(text: str) -> None:
    with pytest.raises(PaperError, match="cannot be printed as a barcode"):
        bars(text)


def test_bars_that_would_be_too_narrow_are_refused() -> None:
    with pytest.raises(PaperError, match="needs 37 mm and has 20 mm"):
        dots_a_module(bars("RRRRRRRR"), 20.0, 300)
