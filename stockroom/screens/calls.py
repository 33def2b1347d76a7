"""What the screens ask of the jobs: plain functions, given to the application, so that a screen knows no shop."""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag, read_tag

if TYPE_CHECKING:
    # The jobs bring the database's library along, which is not to be waited for before anything is on the screen.
    from stockroom.jobs.pack import PackingList
    from stockroom.jobs.papers import Paper
    from stockroom.jobs.printing import Printed
    from stockroom.jobs.rail import RailEntry
    from stockroom.jobs.retag import Retagged
    from stockroom.jobs.show import Shown
    from stockroom.jobs.ticket import Ticket
    from stockroom.screens.bundling import BenchJobs, PackJobs
    from stockroom.screens.buying import BuyingJobs
    from stockroom.screens.counting import CountJobs
    from stockroom.screens.fetching import PickJobs
    from stockroom.screens.leaving_over import LeftOverJobs
    from stockroom.screens.matching import MatchJobs
    from stockroom.screens.ordering import OrderJobs
    from stockroom.screens.receiving import GoodsJobs
    from stockroom.screens.running_low import LowJobs
    from stockroom.screens.shelving import RackJobs
    from stockroom.screens.undoing import UndoJobs

_SHAPED_LIKE_A_TAG = re.compile(r"\s*[A-Za-z]\s?[0-9]+\s?[0-9A-Za-z]\s*", re.ASCII)
_OPENS_A_TICKET = ("piece", "order")


@dataclass(frozen=True, slots=True)
class Jobs:
    """The jobs behind the screens. Each may raise `Refusal`; each is called off the screen's thread, one at a time."""

    shop_name: str
    today: Callable[[], date]
    """The shop's own date now."""
    rail: Callable[[date], tuple[RailEntry, ...]]
    ticket: Callable[[str, date], Ticket]
    """An order's ticket by its number or its tag."""
    show: Callable[[str], Shown]
    """What a tag, or an order's number, names."""
    now: Callable[[], datetime]
    """An aware moment: now."""
    latest: Callable[[], Hashable]
    """How far the shop has come: another after every job done on it, here or at another screen."""
    picking: PickJobs
    bench: BenchJobs
    packing: PackJobs
    ordering: OrderJobs
    left_over: LeftOverJobs
    goods: GoodsJobs
    racks: RackJobs
    counting: CountJobs
    undoing: UndoJobs
    running_low: LowJobs
    matching: MatchJobs
    buying: BuyingJobs
    retag: Callable[[str, str, Stamp], Retagged]
    """A tag, and what became of it."""
    printing: Callable[[Sequence[Paper], Stamp, int], Printed]
    """These papers, tags on a sheet of labels from this label on; with 0, where the begun sheet goes on."""
    begun_sheets: Callable[[], str] = lambda: ""
    """Which sheets of labels are begun, and where they go on; '' where none is."""
    look_up: Callable[[], None] = lambda: None
    """Looks up ahead what most jobs need, so that the first scan is as quick as those that follow."""


@dataclass(frozen=True, slots=True)
class Opening:
    """A shop that is to be opened, with what is known of it before."""

    shop_name: str
    today: Callable[[], date]
    now: Callable[[], datetime]
    open: Callable[[], Jobs]
    """Opens it; this may take a while, and may raise `Refusal`."""
    first: tuple[RailEntry, ...] = ()
    """The first orders on the rail, where they are known."""


def already_open(jobs: Jobs) -> Opening:
    """A shop that is open."""
    return Opening(jobs.shop_name, jobs.today, jobs.now, lambda: jobs)


@dataclass(frozen=True, slots=True)
class OpenedTicket:
    """A typed or scanned text named an order, or a piece of one."""

    ticket: Ticket
    piece: str = ""
    """Code of the piece whose tag was read; empty when the order itself was named."""
    hand: str = ""
    """Its hand; empty where it has none."""
    tag: str = ""
    """Its tag; empty as its code is."""


def named_by(jobs: Jobs, text: str) -> OpenedTicket | Shown | PackingList:
    """What a typed or scanned text names: an order by its number, or whatever carries that tag.

    A bundle opens the packing list of its order; one of a cancelled order opens the ticket, which says what to do.

    Raises `Refusal` with the sentence that fits what was typed: that of the tag where it has a tag's shape, else that
    of the order's number.
    """
    if is_tag(text) and read_tag(text).kind == "T":
        listed = jobs.packing.packing_list(text)
        if listed.state == "cancelled":
            # Nothing of it is packed any more: its ticket says what becomes of it.
            return OpenedTicket(jobs.ticket(listed.order, jobs.today()), tag=str(read_tag(text)))
        return listed
    try:
        shown = jobs.show(text)
    except Refusal:
        if _SHAPED_LIKE_A_TAG.fullmatch(text):
            raise
        return OpenedTicket(jobs.ticket(text, jobs.today()))
    if not shown.order or shown.kind not in _OPENS_A_TICKET:
        return shown
    facts = dict(shown.facts)
    opened = OpenedTicket(jobs.ticket(shown.order, jobs.today()))
    if shown.kind != "piece":
        return opened
    return replace(opened, piece=facts.get("Piece", ""), hand=facts.get("Hand", ""), tag=shown.tag)
