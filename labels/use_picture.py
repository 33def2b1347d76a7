"""The small picture of a reorder line: past use by week as bars, then the stock to come as a line."""

from collections.abc import Sequence

from labels.paper import BLACK, Paper

WIDE_MM = 34.0
HIGH_MM = 8.0
_PAST_MM = 21.0
_TO_COME_MM = WIDE_MM - _PAST_MM - 1.0
_MOST_WEEKS = 53


def draw_use(weeks: tuple[int, ...], paper: Paper, left_mm: float, top_mm: float) -> None:
    """Weekly use as bars on a line, the highest week filling the height."""
    shown_weeks = weeks[-_MOST_WEEKS:]
    paper.rule(left_mm, top_mm + HIGH_MM, left_mm + _PAST_MM, 0.3)
    highest = max(shown_weeks, default=0)
    if highest <= 0:
        return
    step_mm = _PAST_MM / len(shown_weeks)
    for number, use in enumerate(shown_weeks):
        if use > 0:
            high_mm = max(HIGH_MM * use / highest, 0.25)
            at_mm = left_mm + number * step_mm
            paper.fill(at_mm, top_mm + HIGH_MM - high_mm, min(step_mm * 0.75, 1.6), high_mm, BLACK)


def draw_stock(projected: Sequence[int], as_it_is: Sequence[int], paper: Paper, left_mm: float, top_mm: float) -> None:
    """What will be left week by week: with what is proposed as a line, without it dashed; both over a line at nothing.

    Where stock runs short the lines go below that.
    """
    levels = (*projected[-_MOST_WEEKS:], *as_it_is[-_MOST_WEEKS:])
    if not levels:
        return
    left_mm += _PAST_MM + 1.0
    lowest, highest = min(0, *levels), max(0, *levels)
    scale = HIGH_MM / ((highest - lowest) or 1)
    paper.rule(left_mm, top_mm + highest * scale if highest > lowest else top_mm + HIGH_MM, left_mm + _TO_COME_MM, 0.3)
    for some, line_pt, dashes in ((as_it_is, 0.4, (1.2, 1.0)), (projected, 0.9, ())):
        points = _steps(some[-_MOST_WEEKS:], left_mm, top_mm + highest * scale, scale)
        if points:
            paper.line(points, line_pt, dashes)


def _steps(levels: Sequence[int], left_mm: float, zero_mm: float, scale: float) -> list[tuple[float, float]]:
    """A line with a step for each week."""
    step_mm = _TO_COME_MM / max(len(levels), 1)
    points = []
    for number, level in enumerate(levels):
        at_mm = zero_mm - level * scale
        points += [(left_mm + number * step_mm, at_mm), (left_mm + (number + 1) * step_mm, at_mm)]
    return points
