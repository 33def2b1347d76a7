"""A cut that is shorter than it was planned: which of its panels were got out of it is asked, not believed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from enum import Enum

from stockroom.domain.catalogue import Cloth
from stockroom.domain.cutting import panels_over
from stockroom.domain.lay import PanelToLay
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed
from stockroom.store import bill, pieces, taking
from stockroom.store.bill import KeptRequirement
from stockroom.store.database import Tx
from stockroom.store.orders import KeptOrder
from stockroom.store.taking import Found, PlannedStretch


class Shorter(Enum):
    """What somebody says of the panels that do not go on a length as it was cut."""

    ASKED = "asked"
    """Nothing yet: it is asked."""
    ALL_OUT = "all out"
    """All of them were got out of it."""
    WHAT_GOES = "what goes"
    """Only those that go on it: the others are still to be cut."""


class DoesNotGo(Refusal):
    """Panels that do not go on the length that was cut: somebody must say what was got out of it."""

    def __init__(self, sentence: str, order: str, tag: str) -> None:
        super().__init__(sentence)
        self.order = order
        self.tag = tag


def got_out(
    tx: Tx, order: KeptOrder, roll: Found, cloth: Cloth, planned: PlannedStretch, length_mm: int, said: Shorter
) -> tuple[PlannedStretch, str]:
    """The planned cut with the panels that were got out of a length, and the names of those that were not.

    Those that were not are let go. Raises `DoesNotGo` where nobody has said, and Refusal where none goes on it.
    """
    needs = {one.id: one for one in bill.requirements_of(tx, order.id) if one.id in planned.panels}
    panels = [PanelToLay(one, shape) for one in planned.panels if (shape := needs[one].requirement.shape) is not None]
    over = [panel.ref for panel in panels_over(panels, roll.width_mm, length_mm, cloth.nap)]
    if not over or said is Shorter.ALL_OUT:
        return planned, ""
    names = _names(tx, order, [needs[one] for one in over])
    told = (
        f"{show_length(length_mm)} of {roll.tag} is shorter than the {show_length(planned.length_mm)} planned for "
        f"order {order.number}: {names} {'does' if len(over) == 1 else 'do'} not go on it."
    )
    if said is Shorter.ASKED:
        raise DoesNotGo(f"{told} Say whether all the panels were got out of it.", order.number, roll.tag)
    if len(over) == len(panels):
        raise Refusal(
            f"{told} So nothing is cut for the order. If the roll ends or has a flaw there, write that down instead."
        )
    taking.let_go_panels(tx, planned.cut_id, over)
    left = Counter(planned.panels) - Counter(over)
    return replace(planned, panels=tuple(left.elements())), names


def _names(tx: Tx, order: KeptOrder, needs: Sequence[KeptRequirement]) -> str:
    """Panels for people: 'panel half of Hood cover, left'."""
    titles = {
        (one.piece.line, one.piece.path, one.piece.piece): one.piece.title for one in pieces.pieces_of(tx, order.id)
    }
    names = Counter(
        f"{key.part} of {titles.get((key.line, key.path.removesuffix('/made'), key.piece), key.piece)}"
        for key in (one.requirement.key for one in needs)
    )
    return listed(f"panel {name}" if count == 1 else f"{count} panels {name}" for name, count in names.items())
