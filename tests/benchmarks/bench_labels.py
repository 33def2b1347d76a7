"""Tags against bare ReportLab: `pytest tests/benchmarks/bench_labels.py -m benchmark -s`.

The bare side draws exactly the rectangles and strings that our side drew, one call each, with the same font: what a
plain script would do. The figure is the ratio of medians measured in turn in one run.
"""

from collections.abc import Callable
from io import BytesIO
from statistics import median
from time import perf_counter
from typing import Any

import pytest
from reportlab.pdfgen.canvas import Canvas

from labels import RollTag, Sheet, load_sheet, tags_pdf
from labels.fonts import ready

TAGS = tuple(
    RollTag(
        code=f"R{number:06d}K",
        title="Ribbed boot carpet",
        item=f"RBC-{number % 40}",
        colour="maroon",
        dye_lot=str(4400 + number % 90),
        length=f"{1000 + number * 7} mm, measured",
        width="1370 mm usable",
        place=f"rack {number % 9}, shelf {number % 5}",
        mass="mass 34 kg",
        lifting_caution="two people or the roll trolley",
    )
    for number in range(1000)
)
MOST_TIMES_BARE = 2.0

Call = tuple[str, tuple[Any, ...]]


def recorded_calls(sheet: Sheet, monkeypatch: pytest.MonkeyPatch) -> list[Call]:
    """Every rectangle, string, font, line width and page end that one run of ours draws, in order."""
    from reportlab.pdfgen.pathobject import PDFPathObject

    calls: list[Call] = []
    path_rect, rect, string, page = PDFPathObject.rect, Canvas.rect, Canvas.drawString, Canvas.showPage

    def on_path(self: Any, *box: float) -> None:
        calls.append(("bar", box))
        path_rect(self, *box)

    def on_rect(self: Any, *box: float, stroke: int = 1, fill: int = 0) -> None:
        calls.append(("rect", (*box, stroke, fill)))
        rect(self, *box, stroke=stroke, fill=fill)

    def on_string(self: Any, x: float, y: float, text: str, mode: int | None = None) -> None:
        calls.append(("string", (x, y, text, mode, self._fontsize)))
        string(self, x, y, text, mode=mode)

    def on_page(self: Any) -> None:
        calls.append(("page", ()))
        page(self)

    with monkeypatch.context() as patch:
        patch.setattr(PDFPathObject, "rect", on_path)
        patch.setattr(Canvas, "rect", on_rect)
        patch.setattr(Canvas, "drawString", on_string)
        patch.setattr(Canvas, "showPage", on_page)
        tags_pdf(TAGS, sheet)
    return calls


def draw_bare(calls: list[Call], sheet: Sheet) -> bytes:
    """The same rectangles and strings by ReportLab alone."""
    file = BytesIO()
    size = (sheet.page_width_mm * 72 / 25.4, sheet.page_height_mm * 72 / 25.4)
    canvas = Canvas(file, pagesize=size, invariant=1, pageCompression=1)
    font = ready()
    for kind, values in calls:
        if kind == "bar":
            canvas.rect(*values, stroke=0, fill=1)
        elif kind == "rect":
            canvas.rect(*values[:4], stroke=values[4], fill=values[5])
        elif kind == "string":
            x, y, text, mode, size_pt = values
            canvas.setFont(font, size_pt)
            canvas.drawString(x, y, text, mode=mode)
        else:
            canvas.showPage()
    canvas.save()
    return file.getvalue()


def seconds(draw: Callable[[], bytes]) -> float:
    start = perf_counter()
    assert draw().startswith(b"%PDF")
    return perf_counter() - start


@pytest.mark.benchmark
def test_a_thousand_roll_tags_take_at_most_twice_bare_reportlab(monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = load_sheet("a4-3x7-63x38")
    calls = recorded_calls(sheet, monkeypatch)
    assert sum(kind == "bar" for kind, _ in calls) > 20_000, "a thousand barcodes have that many bars"
    ours, bare = [], []
    for _ in range(7):
        ours.append(seconds(lambda: tags_pdf(TAGS, sheet)))
        bare.append(seconds(lambda: draw_bare(calls, sheet)))
    ratio = median(ours) / median(bare)
    print(f"\n1,000 roll tags: {median(ours):.3f} s, bare {median(bare):.3f} s, ratio {ratio:.2f}")  # noqa: T201
    assert ratio <= MOST_TIMES_BARE, f"{ratio:.2f} times bare ReportLab"
