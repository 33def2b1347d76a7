"""The lay: how panels are arranged on a length of cloth, and how long that length is.

The arrangement is simple and safe: the boxes of the panels on shelves across the cloth, the longest first, with shorter
ones stacked where a shelf leaves room. It never asks for less cloth than the panels need. A better one can take its
place behind `arrange` without anybody else noticing.

>>> square = PanelShape(((0, 0), (600, 0), (600, 400), (0, 400)), 600, 400, "along")
>>> found = arrange([PanelToLay(1, square), PanelToLay(2, square)], width_mm=1400, nap=True)
>>> found.length_mm, found.placements[1]
(400, Placement(ref=2, x_mm=605, y_mm=0, turned=0))
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from stockroom.domain.quantities import show_length
from stockroom.domain.requirement import PanelShape

GAP_MM = 5
"""Left between two panels for the knife."""


@dataclass(frozen=True, slots=True)
class PanelToLay:
    """One panel to be cut."""

    ref: int
    """Whose panel it is, as the asker counts; several panels may bear the same."""
    shape: PanelShape
    piece: str = ""
    """Panels with the same name here belong to one piece and never come from different lots; '' stands alone."""


class Placement(NamedTuple):
    """Where a panel lies."""

    ref: int
    x_mm: int
    """Left side of the turned panel's box, across the roll."""
    y_mm: int
    """Its lower side, along the roll, from the beginning of the cut."""
    turned: int
    """Degrees anticlockwise: 0 or 90."""


@dataclass(frozen=True, slots=True)
class Lay:
    """An arrangement on the whole width."""

    length_mm: int
    placements: tuple[Placement, ...]
    """In the order in which the panels were given."""


@dataclass(frozen=True, slots=True)
class TooWide:
    """Panels that do not go on the width in any way they may lie."""

    refs: tuple[int, ...]
    sentence: str


class Extent(NamedTuple):
    """The box of a panel as it may lie, in mm."""

    width: int
    """0: the whole width of the cloth."""
    length: int
    way: str
    """'along', 'across' or 'any'."""


class _Turned(NamedTuple):
    at: int
    width: int
    length: int
    turned: int


@dataclass(slots=True)
class _Column:
    """A place on a shelf with panels of at most its width on top of each other."""

    x: int
    width: int
    used: int


@dataclass(slots=True)
class _Shelf:
    y: int
    length: int
    used: int
    columns: list[_Column]


def arrange(panels: Sequence[PanelToLay], width_mm: int, nap: bool, gap_mm: int = GAP_MM) -> Lay | TooWide:
    """The panels arranged on cloth of this width.

    `nap` is a property of the cloth: on one with a nap, a panel that may lie any way lies along. Every panel is wholly
    within the width and the length, and no two come nearer than `gap_mm`. A set length takes the whole width. The same
    panels in another order take the same length.
    """
    boxes = [extent_of(panel.shape, nap) for panel in panels]
    wide = tuple(p.ref for p, box in zip(panels, boxes, strict=True) if not _ways(box, width_mm))
    if wide:
        widest = max(min(_across(box)) for box in boxes if not _ways(box, width_mm))
        return TooWide(
            wide, f"{_panels(len(wide))} {show_length(widest)} wide; the cloth has {show_length(width_mm)} of width."
        )
    order = sorted(range(len(boxes)), key=lambda index: boxes[index])
    length, places = _best(tuple(boxes[index] for index in order), width_mm, gap_mm)
    found: list[Placement | None] = [None] * len(boxes)
    for index, (x, y, turned) in zip(order, places, strict=True):
        found[index] = Placement(panels[index].ref, x, y, turned)
    return Lay(length, tuple(place for place in found if place is not None))


def fits_across(shape: PanelShape, width_mm: int, nap: bool) -> int | None:
    """The least length that one panel takes on this width; `None` where it does not go on it at all."""
    return least_length(extent_of(shape, nap), width_mm)


def least_length(extent: Extent, width_mm: int) -> int | None:
    """`fits_across` of an extent."""
    along = extent.length if extent.way != "across" and extent.width <= width_mm else None
    if extent.way == "along" or extent.length > width_mm:
        return along
    return extent.width if along is None else min(along, extent.width)


def laid_length(extents: Iterable[Extent], width_mm: int, gap_mm: int = GAP_MM) -> int:
    """The length that `arrange` takes for these, every one of which must go on the width."""
    return _best(tuple(sorted(extents)), width_mm, gap_mm)[0]


def _panels(count: int) -> str:
    return "A panel is" if count == 1 else f"{count} panels are up to"


def extent_of(shape: PanelShape, nap: bool) -> Extent:
    """How a panel may lie on cloth that has a nap or not."""
    way = "along" if not shape.width_mm or (nap and shape.way == "any") else shape.way
    return Extent(shape.width_mm, shape.length_mm, way)


def _across(box: Extent) -> tuple[int, ...]:
    """How much width it takes in each way that it may lie."""
    return {"along": (box.width,), "across": (box.length,), "any": (box.width, box.length)}[box.way]


def _ways(box: Extent, width_mm: int) -> list[tuple[int, int, int]]:
    """Width, length and turn of every way in which the box goes on the width."""
    ways = []
    if box.way != "across" and box.width <= width_mm:
        ways.append((box.width or width_mm, box.length, 0))
    if box.way != "along" and box.length <= width_mm:
        ways.append((box.length, box.width, 90))
    return ways


@lru_cache(maxsize=8192)
def _best(boxes: tuple[Extent, ...], width_mm: int, gap_mm: int) -> tuple[int, tuple[tuple[int, int, int], ...]]:
    """The shorter of two arrangements: panels that may lie either way all flat, or all upright."""
    flat = [_Turned(i, *min(_ways(box, width_mm), key=lambda way: way[1])) for i, box in enumerate(boxes)]
    upright = [_Turned(i, *max(_ways(box, width_mm), key=lambda way: way[1])) for i, box in enumerate(boxes)]
    tried = [_on_shelves(flat, width_mm, gap_mm)]
    if upright != flat:
        tried.append(_on_shelves(upright, width_mm, gap_mm))
    return min(tried, key=lambda one: one[0])


def _on_shelves(panels: Sequence[_Turned], width_mm: int, gap_mm: int) -> tuple[int, tuple[tuple[int, int, int], ...]]:
    shelves: list[_Shelf] = []
    places = [(0, 0, 0)] * len(panels)
    for panel in sorted(panels, key=lambda p: (-p.length, -p.width, p.at)):
        x, y = _place(shelves, panel, width_mm, gap_mm)
        places[panel.at] = (x, y, panel.turned)
    return (shelves[-1].y + shelves[-1].length if shelves else 0), tuple(places)


def _place(shelves: list[_Shelf], panel: _Turned, width_mm: int, gap_mm: int) -> tuple[int, int]:
    """Puts a panel on the first shelf with room, on top of a column where it can, else on a new shelf."""
    for shelf in shelves:
        for column in shelf.columns:
            y = column.used + gap_mm
            if panel.width <= column.width and y + panel.length <= shelf.length:
                column.used = y + panel.length
                return column.x, shelf.y + y
        x = shelf.used + gap_mm
        if x + panel.width <= width_mm:
            shelf.used = x + panel.width
            shelf.columns.append(_Column(x, panel.width, panel.length))
            return x, shelf.y
    y = shelves[-1].y + shelves[-1].length + gap_mm if shelves else 0
    shelves.append(_Shelf(y, panel.length, panel.width, [_Column(0, panel.width, panel.length)]))
    return 0, y
