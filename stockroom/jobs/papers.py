"""Which papers there are, and which of them make sense for what somebody has before them. Nothing is made here."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockroom.domain.tags import is_tag, read_tag

if TYPE_CHECKING:
    from stockroom.jobs.bundle import BenchBundle
    from stockroom.jobs.pack import PackingList
    from stockroom.jobs.show import Shown
    from stockroom.jobs.ticket import Ticket

TITLES = {
    "pick-list": "pick list",
    "tags": "piece tags",
    "fitting": "fitting sheet",
    "bundle-tags": "bundle tags",
    "kit-tags": "kit tags",
    "packing-list": "packing list",
    "part-tags": "tags of customer's parts",
    "claim": "claim on the supplier",
    "drift": "colour drift",
    "purchase": "order to the supplier",
    "low-tag": "low-stock tag",
    "tag": "tag",
}
"""Kind of a paper, as a shell names it → its name for people."""
ON_LABELS = frozenset({"tags", "bundle-tags", "kit-tags", "part-tags", "low-tag", "tag"})
"""Kinds that go on labels."""
_NO_TAG_OF_ITS_OWN = frozenset("OC")
"""Kind letters of what has its code on other paper: an order on its pick list, a car on its fitting sheet."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper that can be made.

    >>> Paper("tags", ("L-1041",)).title
    'piece tags of L-1041'
    >>> Paper("tag", ("R1042L", "R1043J")).title
    'tags R1042L, R1043J'
    """

    kind: str
    """One of `TITLES`."""
    named: tuple[str, ...]
    """What it is of: numbers of orders, or of a purchase; tags, where its kind is 'tag', 'claim' or 'drift'."""

    @property
    def title(self) -> str:
        """What it is, and of what."""
        if self.kind == "tag":
            return f"tag{'s' if len(self.named) > 1 else ''} {', '.join(self.named)}"
        if self.kind == "purchase":
            return f"order {', '.join(self.named)} to the supplier"
        return f"{TITLES[self.kind]} of {', '.join(self.named)}"


def tags_again(*tags: str) -> tuple[Paper, ...]:
    """The tags of these codes, whatever they are on; nothing for what has no tag of its own."""
    have = tuple(tag for tag in tags if is_tag(tag) and read_tag(tag).kind not in _NO_TAG_OF_ITS_OWN)
    return (Paper("tag", have),) if have else ()


def together(papers: Iterable[Paper]) -> tuple[Paper, ...]:
    """These papers, each once, with all the single tags among them on one.

    >>> [paper.title for paper in together((Paper("tag", ("R1042L",)), Paper("tag", ("R1043J",))))]
    ['tags R1042L, R1043J']
    """
    each = list(dict.fromkeys(papers))
    tags = tuple(dict.fromkeys(tag for paper in each if paper.kind == "tag" for tag in paper.named))
    kept = dict.fromkeys(Paper("tag", tags) if paper.kind == "tag" else paper for paper in each)
    return tuple(kept)


def of_orders(numbers: Sequence[str]) -> tuple[Paper, ...]:
    """What is printed of an order before it is picked."""
    named = tuple(numbers)
    return tuple(Paper(kind, named) for kind in ("pick-list", "tags", "fitting")) if named else ()


def of_ticket(ticket: Ticket) -> tuple[Paper, ...]:
    """What is printed of the order on a ticket; the tags of the customer's parts where there are any here."""
    parts = (Paper("part-tags", (ticket.number,)),) if any(part.is_here for part in ticket.customers_parts) else ()
    return (*of_orders([ticket.number]), *parts)


def of_bundle(bundle: BenchBundle) -> tuple[Paper, ...]:
    """What is printed of a bundle: its tag, and those of all the bundles of its order."""
    return (Paper("tag", (bundle.tag,)), Paper("bundle-tags", (bundle.order,)))


def of_packing(packing: PackingList) -> tuple[Paper, ...]:
    """What is printed at the packing table: the kit tags only where the order is complete, or went out incomplete."""
    named = (packing.order,)
    ended = packing.parcels and (packing.is_complete or packing.state == "sent")
    first = (Paper("kit-tags", named),) if ended else ()
    return (*first, Paper("packing-list", named), Paper("fitting", named))


def of_shown(shown: Shown) -> tuple[Paper, ...]:
    """What is printed of something that has a tag: its tag again; of a roll, a claim on its supplier too.

    Of a roll whose colour was read, the drift of its colour besides.
    """
    is_roll = is_tag(shown.tag) and read_tag(shown.tag).kind == "R"
    claim = (Paper("claim", (shown.tag,)),) if is_roll else ()
    read = (Paper("drift", (shown.tag,)),) if shown.is_read else ()
    return (*tags_again(shown.tag), *claim, *read)
