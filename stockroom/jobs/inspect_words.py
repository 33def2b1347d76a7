"""An inspection in words, for whoever shows a roll or claims for one."""

from __future__ import annotations

from fractions import Fraction

from stockroom.domain.four_point import per_100_yd2
from stockroom.domain.quantities import MM_IN, show_length
from stockroom.store.inspections import KeptInspection


def inspected_words(kept: KeptInspection) -> str:
    """An inspection in a sentence, for a ticket or a claim."""
    return f"Inspected by the four-point system ({kept.by}, {kept.at:%Y-%m-%d}): {working(kept)}"


def rate_of(kept: KeptInspection) -> Fraction:
    """Points per 100 yd²."""
    return per_100_yd2(kept.points, kept.length_mm, kept.width_mm)


def working(kept: KeptInspection) -> str:
    """How the points per 100 yd² come about."""
    inches, yards = float(kept.width_mm / MM_IN["in"]), float(kept.length_mm / MM_IN["yd"])
    return (
        f"{kept.points} points on {show_length(kept.length_mm)} × {show_length(kept.width_mm)} are "
        f"{float(rate_of(kept)):.1f} per 100 yd² ({kept.points} × 3600 / ({inches:.2f} in × {yards:.2f} yd))."
    )
