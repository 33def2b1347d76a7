"""What the plain model of a shop with two users knows, and how a job is done beside it.

Of each order: what was taken for which requirement, where its bundle is, what is packed. Of the stock: how much of each
item and lot lies where, in quarantine or not. Of each job: what both were before it, which an undo has to bring back.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import pytest
from hypothesis.stateful import RuleBasedStateMachine
from sqlalchemy import func, select

from stockroom.domain.refusal import Refusal
from stockroom.store.bill import KeptRequirement
from stockroom.store.database import Shop
from stockroom.store.tables import Holding, Job, Roll
from tests.shops import LATER, STAMP, dump

Lying = tuple[str, str, str, str, bool]
"""The first tag of a roll ('' for what lies in a bin), item, lot, place, whether it is in quarantine."""


@dataclass
class Ordered:
    """What the model knows of one order."""

    needs: tuple[KeptRequirement, ...]
    pieces: dict[str, str]
    """Tag → piece code ('' for a packet)."""
    kit: str = ""
    taken: Counter[int] = field(default_factory=Counter)
    """Requirement id → what was taken for it."""
    picked: dict[str, Counter[int]] = field(default_factory=dict)
    """Holding's tag → what was picked from it for which requirement."""
    spoilt: bool = False
    bundle: str = ""
    out: str = ""
    """The stage that the bundle is out at."""
    bundled: set[str] = field(default_factory=set)
    """The pieces whose panels are in it."""
    packed: set[str] = field(default_factory=set)
    kept: dict[str, str] = field(default_factory=dict)
    """Tag of a piece that was kept for stock → the tag of the finished thing that it is now."""
    used: dict[str, str] = field(default_factory=dict)
    """Tag of a piece → the finished thing that it is to be."""
    state: str = "open"

    def of(self, tag: str) -> list[KeptRequirement]:
        """What a piece is made of."""
        return [one for one in self.needs if one.requirement.key.piece == self.pieces[tag]]

    def panels(self, tag: str) -> list[KeptRequirement]:
        """Its panels."""
        return [one for one in self.of(tag) if one.requirement.need == "panel"]

    def is_ready(self, tag: str) -> bool:
        """Whether it may be packed."""
        is_out = bool(self.out and tag in self.bundled)
        return (
            not is_out
            and tag not in self.used
            and all(self.taken[one.id] == one.requirement.quantity for one in self.of(tag))
        )

    @property
    def is_begun(self) -> bool:
        """Whether anything was taken for it."""
        return self.spoilt or any(self.taken.values())

    @property
    def is_cut(self) -> bool:
        """Whether all its panels are cut, and it has any."""
        panels = [one for tag in self.pieces if tag not in self.used for one in self.panels(tag)]
        return bool(panels) and all(self.taken[one.id] == one.requirement.quantity for one in panels)

    def copied(self) -> Ordered:
        """The same, that goes on by itself."""
        picked = {tag: Counter(some) for tag, some in self.picked.items()}
        return replace(
            self,
            taken=Counter(self.taken),
            picked=picked,
            bundled=set(self.bundled),
            packed=set(self.packed),
            kept=dict(self.kept),
            used=dict(self.used),
        )


@dataclass(frozen=True)
class Thing:
    """One roll or bin, as whoever stands before it reads its tag."""

    id: int
    tag: str
    kind: str
    item: str
    lot: str
    place: str
    is_quarantined: bool
    width_mm: int
    """0 for a bin."""


@dataclass(frozen=True)
class Step:
    """One job that was done, and what the model knew before it."""

    number: int
    name: str
    args: tuple[object, ...]
    orders: dict[str, Ordered]
    stock: Counter[Lying]
    purchases: Counter[tuple[str, str]]
    laid: dict[int, tuple[Lying, int]]
    """Where each roll and bin lay before it, and how much it held."""

    def of(self) -> list[Ordered]:
        """The orders that it was done with: by their number, or a bundle's tag."""
        return [
            known for number, known in self.orders.items() if number in self.args or (known.bundle or None) in self.args
        ]


class TwoUsers(RuleBasedStateMachine):
    """A shop with two users, and the model beside it."""

    def __init__(self, opened: Callable[[], tuple[Shop, Shop]]) -> None:
        super().__init__()
        self.users = opened()
        self.orders: dict[str, Ordered] = {}
        self.before = dump(self.users[0])
        self.first_tags: dict[str, str] = {}
        """Tag of a roll that got a new one → the tag that it had at first."""
        self.stock = self.stock_by_the_books()
        self.purchases: Counter[tuple[str, str]] = Counter()
        """Reference of a purchase, and what of it: 'bought', 'received', 'closed'."""
        self.steps: list[Step] = []
        """What was done and not undone, in order."""

    def teardown(self) -> None:
        for shop in self.users:
            shop.close()

    def does(self, right: bool, job: Callable[..., Any], user: int, *args: object, **more: object) -> Any:
        """Does a job as a user; it must be done if it is right, and refused in a sentence if it is not."""
        stamp, latest = (STAMP, LATER)[user], self._latest_job()
        if not right:
            with pytest.raises(Refusal, match=r"[.?:]|more\)$"):
                job(self.users[user], *args, stamp, **more)
            return None
        orders = {number: known.copied() for number, known in self.orders.items()}
        before = orders, Counter(self.stock), Counter(self.purchases), self.laid()
        done = job(self.users[user], *args, stamp, **more)
        if self._latest_job() > latest:
            name = f"{job.__module__.split('.')[-1]}.{job.__name__}"
            self.steps.append(Step(self._latest_job(), name, args, *before))
        return done

    def _latest_job(self) -> int:
        with self.users[0].read() as tx:
            return int(tx.execute(select(func.max(Job.id))).scalar_one() or 0)

    # --- what lies where -------------------------------------------------------------------------------------------

    def things(self) -> list[Thing]:
        """Every roll and bin that there is or was, in order."""
        h = Holding
        some = select(h, Roll.width_mm).outerjoin(Roll, Roll.holding_id == h.id).where(h.kind.in_(("roll", "bin")))
        with self.users[0].read() as tx:
            rows = tx.execute(some.order_by(h.id)).all()
        return [
            Thing(
                row.id, row.tag or "", row.kind, row.item, row.lot, row.place or "", row.quarantined, row.width_mm or 0
            )
            for row in rows
        ]

    def thing(self, tag: str) -> Thing:
        """The roll or bin that a tag is on."""
        return next(one for one in self.things() if one.tag == tag)

    def lying(self, one: Thing) -> Lying:
        """What the model calls it."""
        name = self.first_tags.get(one.tag, one.tag) if one.kind == "roll" else ""
        return name, one.item, one.lot, one.place, one.is_quarantined

    def held(self, one: Thing) -> int:
        """How much the model says that it holds."""
        return self.stock[self.lying(one)]

    def stock_by_the_books(self) -> Counter[Lying]:
        """How much the books say lies where."""
        return Counter(dict(self.laid().values()))

    def laid(self) -> dict[int, tuple[Lying, int]]:
        """Where the books say that each roll and bin lies, and how much it holds."""
        with self.users[1].read() as tx:
            held = {row.id: row.held for row in tx.execute(select(Holding.id, Holding.held))}
        return {one.id: (self.lying(one), held[one.id]) for one in self.things()}
