"""Planned cuts: which stretch of which roll, with what on it, and why; and pieces whose panels stay together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stockroom.domain.cutting import Cut, Goods, Stretch
from stockroom.domain.lay import PanelToLay, Placement, TooWide, arrange
from stockroom.domain.quantities import show_length


@dataclass(frozen=True, slots=True)
class PlannedCut:
    """One contiguous stretch of one roll, with what is cut from it and why."""

    holding_id: int
    from_mm: int
    """From the roll's inner end."""
    to_mm: int
    placements: tuple[Placement, ...]
    """x across the roll, y along it from `from_mm`."""
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Cuts that serve all the panels."""

    cuts: tuple[PlannedCut, ...]
    lots: tuple[str, ...]
    """One, unless a mix was approved."""


def by_lot_of(stretches: Iterable[Stretch]) -> dict[str, list[Stretch]]:
    """Lot → its stretches."""
    by_lot: dict[str, list[Stretch]] = {}
    for stretch in stretches:
        by_lot.setdefault(stretch.roll.lot, []).append(stretch)
    return by_lot


def each_its_own(panels: Sequence[PanelToLay]) -> list[PanelToLay]:
    """Copies, so that two panels are two even where the asker gave one twice."""
    return [PanelToLay(panel.ref, panel.shape, panel.piece) for panel in panels]


def whole_pieces(panels: Sequence[PanelToLay]) -> list[tuple[PanelToLay, ...]]:
    """Panels that stay together, the largest first."""
    by_piece: dict[tuple[str, int], list[PanelToLay]] = {}
    for number, panel in enumerate(panels):
        by_piece.setdefault((panel.piece, -1 if panel.piece else number), []).append(panel)
    return sorted(
        (tuple(some) for some in by_piece.values()),
        key=lambda some: -sum(panel.shape.length_mm * max(1, panel.shape.width_mm) for panel in some),
    )


def settled(cuts: Sequence[Cut], goods: Goods, why: tuple[str, ...]) -> CutPlan:
    """The cuts with their panels arranged, each from the outer end of its stretch, and why: `why` of all of them."""
    planned, taken = [], dict[tuple[int, int], int]()
    for cut in cuts:
        stretch, lay = cut.stretch, arrange(cut.panels, cut.stretch.roll.width_mm, goods.nap)
        if isinstance(lay, TooWide):  # its length was worked out on this width
            raise AssertionError(lay.sentence)
        at = (stretch.roll.holding_id, stretch.from_mm)
        to_mm = min(stretch.to_mm, taken.get(at, stretch.to_mm))
        from_mm = taken[at] = to_mm - lay.length_mm
        reasons = (*why, _why_stretch(cut, from_mm - stretch.from_mm, goods))
        planned.append(PlannedCut(stretch.roll.holding_id, from_mm, to_mm, lay.placements, reasons))
    return CutPlan(tuple(planned), tuple(dict.fromkeys(cut.stretch.roll.lot for cut in cuts)))


def _why_stretch(cut: Cut, rest_mm: int, goods: Goods) -> str:
    roll = cut.stretch.roll
    what = f"Remnant {roll.tag}, used up before a long roll is cut" if roll.remnant else f"Roll {roll.tag}"
    panels = "1 panel" if len(cut.panels) == 1 else f"{len(cut.panels)} panels"
    if not rest_mm:
        left = "nothing of the stretch is left"
    elif goods.useless(rest_mm):
        left = f"the {show_length(rest_mm)} left is too short to be useful"
    else:
        left = f"{show_length(rest_mm)} of the stretch is left"
    return f"{what}: {show_length(cut.length_mm)} takes {panels}; {left}."
