"""The pen: millimetres from the top left corner in, a PDF of pages out. The only module that knows ReportLab's canvas.

The same drawing gives the same bytes: ReportLab's invariant mode leaves out the clock and the random identifier.
"""

import math
from collections.abc import Sequence
from io import BytesIO
from typing import Any

from labels.barcode128 import QUIET_MODULES, bars, dots_a_module
from labels.fonts import Weight, ready, width_pt
from labels.text import LEADING, PT_A_MM, Paragraph, shown

BASELINE = 0.99
"""Where letters stand, from the top of their line, as a multiple of their size."""
BLACK = (0.0, 0.0, 0.0)
WHITE = (1.0, 1.0, 1.0)

Shade = tuple[float, float, float]
"""Red, green and blue (sRGB), each 0 to 1."""


class Paper:
    """Pages of one size, drawn one after the other.

    `resolution_dpi` is the printer's: bars end on its dots, counted from the top left corner of the page.
    """

    def __init__(self, width_mm: float, height_mm: float, title: str, resolution_dpi: int) -> None:
        from reportlab.pdfgen.canvas import Canvas

        self.resolution_dpi = resolution_dpi
        self._font = ready()
        self._file = BytesIO()
        self._canvas: Any = Canvas(
            self._file, pagesize=(width_mm * PT_A_MM, height_mm * PT_A_MM), invariant=1, pageCompression=1
        )
        self._canvas.setTitle(shown(title))
        self._height_pt = height_mm * PT_A_MM

    def next_page(self) -> None:
        """Ends this page; what is drawn next stands on a new one."""
        self._canvas.showPage()

    def finish(self) -> bytes:
        """Ends the last page and gives the whole file."""
        self._canvas.showPage()
        self._canvas.save()
        return self._file.getvalue()

    def string(
        self,
        x_mm: float,
        baseline_mm: float,
        text: str,
        size_pt: float,
        weight: Weight = Weight.REGULAR,
        ink: Shade = BLACK,
    ) -> None:
        """One line of text from `x_mm` on; markup in it is only letters."""
        canvas = self._canvas
        canvas.setFont(self._font, size_pt)
        x_pt, y_pt = x_mm * PT_A_MM, self._height_pt - baseline_mm * PT_A_MM
        if ink != BLACK:
            canvas.setFillColorRGB(*ink)
            canvas.setStrokeColorRGB(*ink)
        if weight is Weight.BOLD:
            canvas.setLineWidth(size_pt * weight.value)
            canvas.drawString(x_pt + size_pt * weight.value / 2, y_pt, shown(text), mode=2)
        else:
            canvas.drawString(x_pt, y_pt, shown(text))
        if ink != BLACK:
            canvas.setFillColorRGB(*BLACK)
            canvas.setStrokeColorRGB(*BLACK)

    def paragraph(self, x_mm: float, top_mm: float, paragraph: Paragraph) -> float:
        """Draws fitted text from its top left corner; gives its height in mm."""
        step_mm = paragraph.size_pt * LEADING / PT_A_MM
        baseline_mm = top_mm + paragraph.size_pt * BASELINE / PT_A_MM
        for line in paragraph.lines:
            if line:
                self.string(x_mm, baseline_mm, line, paragraph.size_pt, paragraph.weight)
            baseline_mm += step_mm
        return paragraph.height_mm

    def paragraph_right(self, right_mm: float, top_mm: float, paragraph: Paragraph) -> float:
        """The same with each line ending at `right_mm`."""
        step_mm = paragraph.size_pt * LEADING / PT_A_MM
        baseline_mm = top_mm + paragraph.size_pt * BASELINE / PT_A_MM
        for line in paragraph.lines:
            width_mm = width_pt(line, paragraph.size_pt, paragraph.weight) / PT_A_MM
            self.string(right_mm - width_mm, baseline_mm, line, paragraph.size_pt, paragraph.weight)
            baseline_mm += step_mm
        return paragraph.height_mm

    def centred(self, middle_mm: float, baseline_mm: float, text: str, size_pt: float, weight: Weight) -> None:
        """One line of text about `middle_mm`."""
        width_mm = width_pt(shown(text), size_pt, weight) / PT_A_MM
        self.string(middle_mm - width_mm / 2, baseline_mm, text, size_pt, weight)

    def badge(self, x_mm: float, top_mm: float, word: str, size_pt: float) -> float:
        """A word in white on black, which stands out without colour; gives its width in mm."""
        width_mm = badge_width_mm(word, size_pt)
        self.fill(x_mm, top_mm, width_mm, size_pt * LEADING / PT_A_MM, BLACK)
        self.string(
            x_mm + size_pt * 0.3 / PT_A_MM, top_mm + size_pt * BASELINE / PT_A_MM, word, size_pt, Weight.BOLD, WHITE
        )
        return width_mm

    def frame(self, x_mm: float, top_mm: float, width_mm: float, height_mm: float, line_pt: float) -> None:
        """An empty frame whose line lies inside the given box."""
        half_mm = line_pt / 2 / PT_A_MM
        self._canvas.setLineWidth(line_pt)
        self._canvas.rect(
            (x_mm + half_mm) * PT_A_MM,
            self._height_pt - (top_mm + height_mm - half_mm) * PT_A_MM,
            (width_mm - 2 * half_mm) * PT_A_MM,
            (height_mm - 2 * half_mm) * PT_A_MM,
        )

    def fill(self, x_mm: float, top_mm: float, width_mm: float, height_mm: float, ink: Shade) -> None:
        """A filled box without a line."""
        canvas = self._canvas
        canvas.setFillColorRGB(*ink)
        canvas.rect(
            x_mm * PT_A_MM,
            self._height_pt - (top_mm + height_mm) * PT_A_MM,
            width_mm * PT_A_MM,
            height_mm * PT_A_MM,
            stroke=0,
            fill=1,
        )
        canvas.setFillColorRGB(*BLACK)

    def rule(self, x_mm: float, at_mm: float, end_mm: float, line_pt: float) -> None:
        """A level line."""
        self._canvas.setLineWidth(line_pt)
        y_pt = self._height_pt - at_mm * PT_A_MM
        self._canvas.line(x_mm * PT_A_MM, y_pt, end_mm * PT_A_MM, y_pt)

    def line(self, points_mm: Sequence[tuple[float, float]], line_pt: float, dashes: Sequence[float] = ()) -> None:
        """A line from point to point; `dashes`: drawn and left out by turns, in points."""
        canvas = self._canvas
        path = canvas.beginPath()
        for number, (x_mm, y_mm) in enumerate(points_mm):
            go = path.moveTo if number == 0 else path.lineTo
            go(x_mm * PT_A_MM, self._height_pt - y_mm * PT_A_MM)
        canvas.setLineWidth(line_pt)
        canvas.setDash(list(dashes))
        canvas.drawPath(path, stroke=1, fill=0)
        canvas.setDash([])

    def polygon(self, points_mm: Sequence[tuple[float, float]], line_pt: float, ink: Shade) -> None:
        """A closed outline, filled with `ink` and drawn in black."""
        canvas = self._canvas
        path = canvas.beginPath()
        for number, (x_mm, y_mm) in enumerate(points_mm):
            x_pt, y_pt = x_mm * PT_A_MM, self._height_pt - y_mm * PT_A_MM
            if number == 0:
                path.moveTo(x_pt, y_pt)
            else:
                path.lineTo(x_pt, y_pt)
        path.close()
        canvas.setLineWidth(line_pt)
        canvas.setLineJoin(1)
        canvas.setFillColorRGB(*ink)
        canvas.drawPath(path, stroke=1, fill=1)
        canvas.setFillColorRGB(*BLACK)

    def barcode(self, x_mm: float, top_mm: float, room_mm: float, height_mm: float, text: str) -> float:
        """Code 128 in the middle of `room_mm` with its quiet zones, bars on whole dots.

        Gives the middle of the bars in mm. All bars are one path: a page of tags is drawn in the time of a page of
        strings. Raises PaperError.
        """
        symbol = bars(text)
        dots_a_mm = self.resolution_dpi / 25.4
        first_dot = math.ceil(x_mm * dots_a_mm - 1e-6)
        end_dot = math.floor((x_mm + room_mm) * dots_a_mm + 1e-6)
        module = dots_a_module(symbol, (end_dot - first_dot) / dots_a_mm, self.resolution_dpi)
        spare = end_dot - first_dot - symbol.modules_with_quiet * module
        start = first_dot + spare // 2 + QUIET_MODULES * module
        dot_pt = 72 / self.resolution_dpi
        top, tall = round(top_mm * dots_a_mm), round(height_mm * dots_a_mm)
        y_pt, tall_pt = self._height_pt - (top + tall) * dot_pt, tall * dot_pt
        path = self._canvas.beginPath()
        for at, width in symbol.bars:
            path.rect((start + at * module) * dot_pt, y_pt, width * module * dot_pt, tall_pt)
        self._canvas.drawPath(path, stroke=0, fill=1)
        return (start + symbol.modules * module / 2) / dots_a_mm

    def barcode_with_text(
        self, x_mm: float, top_mm: float, room_mm: float, height_mm: float, text: str, size_pt: float
    ) -> None:
        """A barcode with its text for reading in the middle beneath, `height_mm` high together."""
        text_mm = size_pt * LEADING / PT_A_MM
        middle_mm = self.barcode(x_mm, top_mm, room_mm, height_mm - text_mm, text)
        fitting = min(size_pt, size_pt * room_mm * PT_A_MM / width_pt(text, size_pt, Weight.BOLD))
        baseline_mm = top_mm + height_mm - text_mm + size_pt * BASELINE / PT_A_MM
        self.centred(middle_mm, baseline_mm, text, fitting, Weight.BOLD)


def badge_width_mm(word: str, size_pt: float) -> float:
    """Width of the black box `Paper.badge` draws for `word`."""
    return (width_pt(shown(word), size_pt, Weight.BOLD) + size_pt * 0.6) / PT_A_MM
