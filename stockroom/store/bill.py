"""The exploded bill of materials of an order: its requirements, and how much of each is needed and held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import delete, insert, select, update

from stockroom.domain.requirement import Key, PanelShape, Requirement
from stockroom.store import tables as t
from stockroom.store.database import Tx
from stockroom.store.kept_shapes import given_back, kept


@dataclass(frozen=True, slots=True)
class KeptRequirement:
    """A kept requirement: as exploded, and how much of it is needed and held now."""

    id: int
    requirement: Requirement
    needed: int
    held: int


def requirements_of(tx: Tx, order_id: int) -> list[KeptRequirement]:
    """The stored bill of materials of one order, in the order it was exploded."""
    r = t.Requirement
    rows = tx.execute(
        select(
            r.id, r.line, r.path, r.piece, r.part, r.hand, r.unit, r.need, r.item, r.quantity, r.needed, r.held,
            r.each_mm, r.group, r.reasons, r.shape, r.changed,
        )
        .where(r.order_id == order_id)
        .order_by(r.id)
    )  # fmt: skip
    return [
        KeptRequirement(
            row.id,
            Requirement(
                Key(row.line, row.path, row.piece, row.part, row.hand, row.unit),
                row.need,
                row.item,
                row.quantity,
                row.each_mm,
                row.group,
                tuple(row.reasons),
                None if row.shape is None else given_back(PanelShape, row.shape),
                row.changed,
            ),
            row.needed,
            row.held,
        )
        for row in rows
    ]


def _needed_at_first(requirement: Requirement) -> int:
    """What a made-up item consists of is not needed until stock is found to lack it."""
    return 0 if requirement.key.unit else requirement.quantity


def _requirement_row(order_id: int, requirement: Requirement) -> dict[str, Any]:
    key = requirement.key
    return {
        "order_id": order_id,
        "line": key.line,
        "path": key.path,
        "piece": key.piece,
        "part": key.part,
        "hand": key.hand,
        "unit": key.unit,
        "need": requirement.need,
        "item": requirement.item,
        "quantity": requirement.quantity,
        "needed": _needed_at_first(requirement),
        "held": 0,
        "each_mm": requirement.each_mm,
        "group": requirement.group,
        "reasons": list(requirement.reasons),
        "shape": None if requirement.shape is None else kept(requirement.shape),
        "changed": requirement.changed,
    }


def keep_requirements(tx: Tx, order_id: int, requirements: Sequence[Requirement]) -> None:
    """Writes requirements that are new to the order."""
    if requirements:
        tx.execute(insert(t.Requirement), [_requirement_row(order_id, one) for one in requirements])


def drop_requirements(tx: Tx, ids: Sequence[int]) -> None:
    """Deletes requirements that hold nothing."""
    if ids:
        tx.execute(delete(t.Requirement).where(t.Requirement.id.in_(ids)))


def rewrite_requirement(tx: Tx, order_id: int, kept_one: KeptRequirement, now: Requirement) -> None:
    """Makes a kept requirement, which holds nothing, what it is now."""
    tx.execute(update(t.Requirement).where(t.Requirement.id == kept_one.id).values(_requirement_row(order_id, now)))


def rewrite_reasons(tx: Tx, kept_one: KeptRequirement, now: Requirement) -> None:
    """The same need for another reason: what it holds stays."""
    tx.execute(
        update(t.Requirement)
        .where(t.Requirement.id == kept_one.id)
        .values(reasons=list(now.reasons), changed=now.changed)
    )
