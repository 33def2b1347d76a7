"""What of an order hangs on an answer: nothing is held, cut or found for it until that is given."""

from __future__ import annotations

from collections.abc import Sequence

from stockroom.store.bill import KeptRequirement
from stockroom.store.waits import KeptWait


def hung_up(requirements: Sequence[KeptRequirement], waiting: Sequence[KeptWait]) -> set[int]:
    """Ids of the requirements that hang on an answer: those of the pieces a wait names, or of its whole line."""
    whole = {one.line for one in waiting if not one.wait.holds_up}
    pieces = {(one.line, piece) for one in waiting for piece in one.wait.holds_up}
    return {
        one.id
        for one in requirements
        if one.requirement.key.line in whole or (one.requirement.key.line, one.requirement.key.piece) in pieces
    }
