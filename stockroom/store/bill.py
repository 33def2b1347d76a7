"""The exploded bill of materials of an order: its requirements, and how much of each is needed and held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

from sqlalchemy import bindparam, delete, insert, select, type_coerce, update

from stockroom.domain.requirement import Key, PanelShape, Requirement
from stockroom.store import tables as t
from stockroom.store.database import Tx
from stockroom.store.kept_shapes import given_back_text
from stockroom.store.types import Words


@dataclass(frozen=True, slots=True)
class KeptRequirement:
    """A kept requirement: as exploded, and how much of it is needed and held now."""

    id: int
    requirement: Requirement
    needed: int
    held: int
    covered: int = 0
    """Of its quantity, what is not needed because a finished thing of the stock has it."""


_R = t.Requirement
# Made once: building a statement takes longer than sending it.
_NEED = (
    _R.id, _R.line, _R.path, _R.piece, _R.part, _R.hand, _R.unit, _R.need, _R.item, _R.quantity, _R.needed, _R.held,
    _R.each_mm, _R.group, type_coerce(_R.shape, Words), _R.changed, _R.covered,
)  # fmt: skip
_TO_HOLD: Any = select(*_NEED).where(_R.order_id == bindparam("order")).order_by(_R.id)
_OF_ORDER: Any = select(*_NEED, _R.reasons).where(_R.order_id == bindparam("order")).order_by(_R.id)
_INSERT = insert(_R)
_SHAPE = tuple(field.name for field in fields(PanelShape))


def requirements_of(tx: Tx, order_id: int) -> list[KeptRequirement]:
    """The stored bill of materials of one order, in the order it was exploded."""
    return [_kept_requirement(row[:-1], row[-1]) for row in tx.execute(_OF_ORDER, {"order": order_id}).all()]


def requirements_to_hold(tx: Tx, order_id: int) -> list[KeptRequirement]:
    """The same without the reasons, which nobody asks for who only wants to hold stock; they take longest to read."""
    return [_kept_requirement(row, ()) for row in tx.execute(_TO_HOLD, {"order": order_id}).all()]


def _kept_requirement(row: Any, reasons: Sequence[str]) -> KeptRequirement:
    (
        id_, line, path, piece, part, hand, unit, need, item, quantity, needed, held, each_mm, group, shape, changed,
        covered,
    ) = row  # fmt: skip
    return KeptRequirement(
        id_,
        Requirement(
            Key(line, path, piece, part, hand, unit),
            need,
            item,
            quantity,
            each_mm,
            group,
            tuple(reasons),
            None if shape is None else given_back_text(PanelShape, shape),
            changed,
        ),
        needed,
        held,
        covered,
    )


def _needed_at_first(requirement: Requirement) -> int:
    """What a made-up item consists of is not needed until stock is found to lack it."""
    return 0 if requirement.key.unit else requirement.quantity


def _kept_shape(shape: PanelShape) -> dict[str, Any]:
    """`kept_shapes.kept` of it: a shape has nothing but numbers and texts, which JSON writes as they are."""
    return {name: getattr(shape, name) for name in _SHAPE}


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
        "covered": 0,
        "each_mm": requirement.each_mm,
        "group": requirement.group,
        "reasons": list(requirement.reasons),
        "shape": None if requirement.shape is None else _kept_shape(requirement.shape),
        "changed": requirement.changed,
    }


def keep_requirements(tx: Tx, order_id: int, requirements: Sequence[Requirement]) -> None:
    """Writes requirements that are new to the order."""
    if requirements:
        tx.execute(_INSERT, [_requirement_row(order_id, one) for one in requirements])


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
