"""Drift as a picture of letters: each lot a row, the first that came at the top, whatever a terminal can show.

Nothing is said by colour. A lot that matches ends in 'o', one for the eye in '?', one that does not match in 'X'.
"""

from __future__ import annotations

from collections.abc import Iterator

from stockroom.jobs.drift import ItemDrift, LotShown

LEAST_WIDE = 80
MOST_WIDE = 120
_MARKS = {"matches": "o", "same lot": "o", "does not match": "X"}
_BY_EYE = "?"
_LEFT = 49
"""Columns before the first picture."""
_NAMED = 21
"""Columns before the second."""
_LOT = 9


def picture(item: ItemDrift, wide: int) -> Iterator[str]:
    """The lines of both pictures: how far each lot is from the master, and which way; none without lots."""
    if not item.lots:
        return
    room = min(MOST_WIDE, max(LEAST_WIDE, wide)) - 1
    yield from _how_far(item, room - _LEFT)
    yield f"o matches, up to {item.tolerance:g} at |   ? by eye, up to {item.eye_limit:g} at :   X does not match"
    yield ""
    yield from _which_way(item, room - _NAMED)
    yield "L, a, b: ΔL*, Δa*, Δb* (* several); | the master; left is darker, greener, bluer"


def _how_far(item: ItemDrift, wide: int) -> Iterator[str]:
    most = max(item.eye_limit, *(one.dE00 for one in item.lots)) * 1.05 or 1.0

    def at(number: float) -> int:
        return min(wide - 1, round(number / most * (wide - 1)))

    lines = {at(item.eye_limit): ":", at(item.tolerance): "|"}
    yield (
        f"{'came':<10} {'lot':<{_LOT}} {'ΔL*':>6} {'Δa*':>6} {'Δb*':>6} {'ΔE00':>5}  "
        + _scale(wide, {0: "0", at(item.tolerance): f"{item.tolerance:g}", at(item.eye_limit): f"{item.eye_limit:g}"})
    )
    for one in item.lots:
        end = at(one.dE00)
        cells = ["=" if column < end else " " for column in range(wide)]
        for column, line in lines.items():
            cells[column] = line
        cells[end] = _MARKS.get(one.words, _BY_EYE)
        yield (
            f"{one.came} {_cut(one):<{_LOT}} {one.dL:>+6.2f} {one.da:>+6.2f} {one.db:>+6.2f} {one.dE00:>5.2f}  "
            f"{''.join(cells).rstrip()}"
        )


def _which_way(item: ItemDrift, wide: int) -> Iterator[str]:
    half = (wide - 1) // 2
    most = max(0.5, *(abs(number) for one in item.lots for number in (one.dL, one.da, one.db)))
    low, high = f"-{most:.1f}", f"+{most:.1f}"
    yield " " * _NAMED + f"{low:<{half}}0{high:>{half}}"
    for one in item.lots:
        cells = [" "] * (2 * half + 1)
        cells[half] = "|"
        taken: set[int] = set()
        for letter, number in (("L", one.dL), ("a", one.da), ("b", one.db)):
            column = half + round(number / most * half)
            cells[column] = "*" if column in taken else letter
            taken.add(column)
        yield f"{one.came} {_cut(one):<{_LOT}} {''.join(cells).rstrip()}"


def _scale(wide: int, marks: dict[int, str]) -> str:
    """Figures above their columns; one that would run into another is left out."""
    line = ""
    for column, text in sorted(marks.items()):
        start = min(column, wide - len(text))
        if start > len(line) or not line:
            line = f"{line:<{start}}{text}"
    return line


def _cut(one: LotShown) -> str:
    lot = one.lot or "?"
    return lot if len(lot) <= _LOT else f"{lot[: _LOT - 1]}…"
