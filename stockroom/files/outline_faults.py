"""What is wrong with a drawn outline: points, sides, edges, notches, and holes that lie in it."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from stockroom.domain.crossing import crossing, room
from stockroom.domain.outline import Box, contains, twice_area
from stockroom.domain.refusal import Refusal
from stockroom.files.border import LARGEST_MM
from stockroom.files.kitbook_tables import Hole, Outline, Panel
from stockroom.files.toml_faults import TomlFaults
from stockroom.files.toml_positions import Path

Points = tuple[tuple[int, int], ...]


def check_outline(faults: TomlFaults, outline: Outline, path: Path) -> None:
    """Note every fault of an outline whose tables are as they should be."""
    points = outline.outline("").points
    repeats = [index for index, (one, other) in enumerate(pairwise(points), start=1) if one == other]
    for index in repeats:
        faults.add((*path, "points", index), f"point {list(points[index])} is there twice running. Leave one out.")
    if points[0] == points[-1]:
        faults.add(
            (*path, "points", len(points) - 1),
            "the last point repeats the first. Leave it out: the outline closes by itself.",
        )
    elif not repeats:
        _check_shape(faults, points, path)
    for name, ends in outline.edges.items():
        for number, end in enumerate(ends):
            if not 0 <= end < len(points):
                faults.add(
                    (*path, "edges", name, number),
                    f"found {end}; expected the number of a point of this outline, from 0 to {len(points) - 1}.",
                )
    for number, (x, y) in enumerate(outline.outline("").notches):
        if not contains(points, (x, y)):
            faults.add((*path, "notches", number), f"the notch at [{x}, {y}] lies outside the outline.")


def check_holes(faults: TomlFaults, panel: Panel, outlines: Mapping[str, Outline], path: Path) -> None:
    """Note every hole of a panel that does not lie inside its outline or card, as these are drawn (not mirrored).

    A hole in a set length must lie within the length. Nothing is said where the outline itself is faulty.
    """
    if panel.set_length is not None:
        for number, hole in enumerate(panel.holes):
            x, y = hole.at
            if x < 0 or not 0 <= y <= panel.set_length.length:
                faults.add((*path, "holes", number, "at"), f"the hole at [{x}, {y}] lies outside the set length.")
        return
    outline = outlines.get(panel.outline or "")
    if panel.card is not None:
        width, length = panel.card.width, panel.card.length
        points: Points = ((0, 0), (width, 0), (width, length), (0, length))
    elif outline is not None:
        points = outline.outline("").points
    else:
        return
    for number, hole in enumerate(panel.holes):
        _check_hole(faults, hole, points, (*path, "holes", number))


def _check_hole(faults: TomlFaults, hole: Hole, points: Points, path: Path) -> None:
    x, y = hole.at
    if not contains(points, (x, y)):
        faults.add((*path, "at"), f"the middle of the hole, [{x}, {y}], lies outside the outline.")
    elif 2 * room(points, (x, y)) < hole.diameter:
        faults.add(
            (*path, "diameter"),
            f"the hole at [{x}, {y}], {hole.diameter} mm across, runs over the edge of the outline.",
        )


def _check_shape(faults: TomlFaults, points: Points, path: Path) -> None:
    box = Box.around(points)
    if max(box.width_mm, box.length_mm) > LARGEST_MM:
        faults.add(
            (*path, "points"),
            f"the outline is {box.width_mm} × {box.length_mm} mm; expected no more than {LARGEST_MM} mm either way.",
        )
    try:
        met = crossing(points)
    except Refusal as tangled:
        faults.add((*path, "points"), tangled.sentence)
        return
    if met is not None:
        one, other = met
        last = len(points) - 1
        sides = " and ".join(
            f"{list(points[start])} to {list(points[0 if start == last else start + 1])}" for start in (one, other)
        )
        faults.add((*path, "points", other), f"the outline crosses or touches itself: the sides {sides} meet.")
    elif twice_area(points) == 0:
        faults.add((*path, "points"), "the outline encloses nothing: its points lie in one line.")
