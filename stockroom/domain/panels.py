"""From a panel of the kit book to what is cut: its shape with every allowance, and its edging by length."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from stockroom.domain.kitbook import Card, Edging, Outline, Panel
from stockroom.domain.outline import Box, Run, edging_runs, grown, mirrored, moved
from stockroom.domain.requirement import PanelShape

Holes = tuple[tuple[str, int, int, int, str], ...]
"""Name, x, y, diameter (mm, as drawn) and what is done about it."""
_Edges = tuple[tuple[str, tuple[int, int]], ...]
_Named = tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class EdgingLength:
    """Narrow goods for one edging of one panel."""

    length_mm: int
    longest_mm: int
    """The longest single run, which is not pieced."""
    working: str
    """How the length came about."""


def panel_shape(panel: Panel, holes: Holes) -> PanelShape:
    """What is cut for `panel`: mirrored where it is, with its over-long edges, its box moved to (0, 0).

    Holes and notches are given on the outline as drawn and are mirrored and moved with it.
    """
    overlong = tuple(panel.overlong_mm.items())
    shape = panel.shape
    if isinstance(shape, Outline):
        edges = tuple(shape.edges.items()) if overlong else ()
        return _drawn(shape.points, shape.notches, edges, panel.mirrored, overlong, panel.way, holes)
    if isinstance(shape, Card):
        width = shape.width_mm + panel.overlong_mm.get("width", 0)
        length = shape.length_mm + panel.overlong_mm.get("length", 0)
        return _rectangle(width, length, panel.way, holes, shape.width_mm if panel.mirrored else 0)
    length = shape.length_mm + panel.overlong_mm.get("length", 0)
    return PanelShape(((0, 0), (0, length)), 0, length, panel.way, holes)


def edging_length(panel: Panel, edging: Edging) -> EdgingLength:
    """Length of the goods for one edging of one panel: its runs, corners, free ends and joins, in whole mm.

    Edges of an outline that touch are one run. Taped edges of a card or set length are reckoned as one run with a
    corner between each and two free ends to each, which is never short.
    """
    shape = panel.shape
    allowances = (edging.corner_mm, edging.end_mm, edging.join_mm)
    if isinstance(shape, Outline):
        return _along(
            shape.points, tuple(shape.edges.items()), edging.edges, allowances, tuple(panel.overlong_mm.items())
        )
    taped = tuple((edge, shape.edges_mm[edge]) for edge in edging.edges)
    overlong = sum(2 * mm for mm in panel.overlong_mm.values()) if panel.overlong_mm else 0
    return _taped(taped, allowances, overlong)


@lru_cache(maxsize=4096)
def _drawn(
    points: tuple[tuple[int, int], ...],
    notches: tuple[tuple[int, int], ...],
    edges: _Edges,
    is_mirrored: bool,
    overlong: _Named,
    way: str,
    holes: Holes,
) -> PanelShape:
    outline = Outline("", points, dict(edges), notches)
    if is_mirrored:
        box = Box.around(points)
        outline = mirrored(outline)
        holes = tuple((name, box.left + box.right - x, y, wide, made) for name, x, y, wide, made in holes)
    larger = grown(outline.points, [(*outline.edges[edge], mm) for edge, mm in overlong])
    box = Box.around(larger)
    return PanelShape(
        moved(larger, -box.left, -box.bottom),
        box.width_mm,
        box.length_mm,
        way,
        tuple((name, x - box.left, y - box.bottom, wide, made) for name, x, y, wide, made in holes),
        moved(outline.notches, -box.left, -box.bottom),
    )


def _rectangle(width: int, length: int, way: str, holes: Holes, mirrored_in_mm: int) -> PanelShape:
    if mirrored_in_mm:
        holes = tuple((name, mirrored_in_mm - x, y, wide, made) for name, x, y, wide, made in holes)
    return PanelShape(((0, 0), (width, 0), (width, length), (0, length)), width, length, way, holes)


@lru_cache(maxsize=4096)
def _along(
    points: tuple[tuple[int, int], ...],
    edges: _Edges,
    edged: tuple[str, ...],
    allowances: tuple[int, int, int],
    overlong: _Named,
) -> EdgingLength:
    outline = Outline("", points, dict(edges))
    lengths, workings = [], []
    for run in edging_runs(outline, edged):
        extra = _for_overlong(outline, run, dict(overlong))
        length, working = _one_run(run, allowances, extra)
        lengths.append(length)
        workings.append(working)
    return EdgingLength(sum(lengths), max(lengths, default=0), "; ".join(workings))


def _one_run(run: Run, allowances: tuple[int, int, int], extra: int) -> tuple[int, str]:
    corner, end, join = allowances
    parts = [(run.length_mm, f"{' and '.join(run.edges)} {run.length_mm} mm")]
    parts.append((extra, f"{extra} mm for over-long edges"))
    parts.append((run.corners * corner, _times(run.corners, "corner", corner)))
    parts.append((join, f"a join of {join} mm") if run.closed else (2 * end, f"two ends of {end} mm"))
    return sum(mm for mm, _ in parts), " + ".join(words for mm, words in parts if mm)


def _for_overlong(outline: Outline, run: Run, overlong: Mapping[str, int]) -> int:
    """What over-long edges add to a run: its own ends reach further, and a moved-out edge goes a longer way round."""
    extra = 0
    ends = {outline.edges[run.edges[0]][0], outline.edges[run.edges[-1]][1]}
    for edge, mm in overlong.items():
        if edge in run.edges:
            extra += 4 * mm * (run.corners + 1) + math.ceil(2 * math.pi * mm)
        elif not run.closed:
            extra += mm * len(ends & set(outline.edges[edge]))
    return extra


@lru_cache(maxsize=4096)
def _taped(taped: _Named, allowances: tuple[int, int, int], overlong: int) -> EdgingLength:
    corner, end, join = allowances
    count = len(taped)
    parts = [(mm, f"{edge} {mm} mm") for edge, mm in taped]
    parts.append((overlong, f"{overlong} mm for over-long edges"))
    if count > 1:
        parts += [(count * corner, _times(count, "corner", corner)), (join, f"a join of {join} mm")]
    parts.append((2 * count * end, _times(2 * count, "end", end)))
    total = sum(mm for mm, _ in parts)
    return EdgingLength(total, total, " + ".join(words for mm, words in parts if mm))


def _times(count: int, what: str, mm: int) -> str:
    return f"{count} {what}{'' if count == 1 else 's'} of {mm} mm"
