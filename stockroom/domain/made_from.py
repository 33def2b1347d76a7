"""What an item made here consists of, and how much of each part so many of it take."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from stockroom.domain.lay import PanelToLay, TooWide, arrange, fits_across
from stockroom.domain.requirement import PanelShape


@dataclass(frozen=True, slots=True)
class Part:
    """One item that goes into a made one."""

    item: str
    each: int
    """mm or count for one, besides the panels."""
    panels: tuple[tuple[PanelShape, int], ...] = ()
    """What is cut of it for one: shapes, each with how many."""
    width_mm: int = 0
    """Nominal width of the cloth that the panels are cut from; 0 where there are none."""
    nap: bool = False

    def amount(self, made: int) -> int:
        """What so many take, in mm or count. Their panels are laid together on a roll of the nominal width."""
        laid = laid_mm(tuple((shape, count * made) for shape, count in self.panels), self.width_mm, self.nap)
        return self.each * made + laid


@dataclass(frozen=True, slots=True)
class MadeFrom:
    """The bill of one made item, without the items its parts are made of in turn."""

    item: str
    parts: tuple[Part, ...]
    """By item, each once."""
    depends: tuple[str, ...] = ()
    """What hangs on the car and so is not among the parts: titles or codes of items."""


@lru_cache(maxsize=4096)
def laid_mm(panels: tuple[tuple[PanelShape, int], ...], width_mm: int, nap: bool) -> int:
    """The length of cloth that the panels (shape, how many) take in one lay on a roll of this width.

    A panel too wide for the roll has no place in the lay: its longer side is added, so that the need is not too short.
    """
    if not panels:
        return 0
    each = [shape for shape, count in panels for _ in range(count)]
    fitting = [shape for shape in each if fits_across(shape, width_mm, nap) is not None]
    laid = arrange([PanelToLay(0, shape) for shape in fitting], width_mm, nap)
    if isinstance(laid, TooWide):
        raise AssertionError(laid.sentence)
    wide = sum(max(shape.width_mm, shape.length_mm) for shape in each if fits_across(shape, width_mm, nap) is None)
    return laid.length_mm + wide
