"""The jobs on an order's ticket: answering, reserving, approving a mix of lots, customers' parts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from stockroom.domain.stamp import Stamp
from stockroom.jobs.answer import Answered
from stockroom.jobs.parts import PartMoved
from stockroom.jobs.reserve import Reserved
from stockroom.jobs.substitute import SubstituteTaken
from stockroom.jobs.swatch_sent import SentOut, SwatchAnswered


@dataclass(frozen=True, slots=True)
class OrderJobs:
    """What can be done to one order, named by its number."""

    answer: Callable[[str, str, str, Stamp, int], Answered]
    """For an order, what it waits for by name, what was said, and the line that waits."""
    reserve_all: Callable[[str, Stamp], Reserved]
    """All or nothing."""
    reserve_what_there_is: Callable[[str, Stamp], Reserved]
    approve_mix: Callable[[str, str, str, Stamp, Sequence[str]], None]
    """For an order, an item, why lots of it will do, and the lots that were shown."""
    receive_part: Callable[[str, str, str, Stamp], PartMoved]
    """With an order, what came in, and the place where it lies."""
    move_part: Callable[[str, str, Stamp], PartMoved]
    """A customer's part by its tag, to a place."""
    give_back: Callable[[str, Stamp], PartMoved]
    send_swatch: Callable[[str, str, str, Stamp, int, str], SentOut]
    """A swatch by its tag, for an order, until a day as it is typed, the line and what it waits for."""
    answer_swatch: Callable[[str, str, str, Stamp], SwatchAnswered]
    """A swatch by its tag, yes or no, and who of the customer's said so."""
    substitute: Callable[[str, str, str, str, Stamp], SubstituteTaken]
    """For an order, an item, what is taken instead, and who of the customer's said yes."""
