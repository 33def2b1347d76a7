"""The named answers that order lines wait for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import bindparam, delete, insert, select, update

from stockroom.domain.order import Wait
from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx


@dataclass(frozen=True, slots=True)
class KeptWait:
    """An answer that a line waits for."""

    id: int
    line: int
    wait: Wait


# Made once: building a statement takes longer than sending it.
_OPEN_OF_ORDER = (
    select(
        t.Waiting.id, t.OrderLine.number, t.Waiting.kind, t.Waiting.name, t.Waiting.question, t.Waiting.choices,
        t.Waiting.holds_up,
    )
    .join(t.OrderLine, t.OrderLine.id == t.Waiting.line_id)
    .where(t.OrderLine.order_id == bindparam("order_id"), t.Waiting.answered_at.is_(None))
    .order_by(t.OrderLine.number, t.Waiting.id)
)  # fmt: skip
_OPEN_OF_LINES = select(t.Waiting.id, t.Waiting.line_id, t.Waiting.kind, t.Waiting.name).where(
    t.Waiting.line_id.in_(bindparam("lines", expanding=True)), t.Waiting.answered_at.is_(None)
)
_ANSWERED_OF_LINES = select(t.Waiting.id, t.Waiting.line_id, t.Waiting.kind, t.Waiting.name).where(
    t.Waiting.line_id.in_(bindparam("lines", expanding=True)), t.Waiting.answered_at.is_not(None)
)


def waits_of(tx: Tx, order_id: int) -> list[KeptWait]:
    """The answers an order still waits for, line by line."""
    rows = tx.execute(_OPEN_OF_ORDER, {"order_id": order_id})
    return [
        KeptWait(
            row.id,
            row.number,
            Wait(row.kind, row.name, row.question, tuple(row.choices), tuple(row.holds_up)),
        )
        for row in rows
    ]


def rewrite_waits(
    tx: Tx,
    lines: Mapping[int, int],
    waits: Sequence[tuple[int, Wait]],
    answered: Mapping[tuple[str, str], str],
    stamp: Stamp,
) -> None:
    """Makes the kept waits of an order those in `waits` (line number → wait).

    `lines`: line number → line id. `answered`: (kind, name) → the answer just given, kept beside a wait that is over.
    """
    old = {
        (row.line_id, row.kind, row.name): row.id
        for row in tx.execute(_OPEN_OF_LINES, {"lines": sorted(lines.values())})
    }
    new = {(lines[number], wait.kind, wait.name): wait for number, wait in waits}
    for key, wait_id in old.items():
        if key not in new and key[1:] in answered:
            tx.execute(
                update(t.Waiting)
                .where(t.Waiting.id == wait_id)
                .values(answer=answered[key[1:]], answered_by=stamp.by, answered_at=stamp.at)
            )
        else:
            tx.execute(delete(t.Waiting).where(t.Waiting.id == wait_id))
    if new:
        # What was answered once may be waited for again: another swatch of the same, a choice that is open again.
        earlier = tx.execute(_ANSWERED_OF_LINES, {"lines": sorted(lines.values())}).all()
        again = [row.id for row in earlier if (row.line_id, row.kind, row.name) in new]
        tx.execute(delete(t.Waiting).where(t.Waiting.id.in_(again)))
    keep_waits(tx, lines, waits)


def keep_waits(tx: Tx, lines: Mapping[int, int], waits: Sequence[tuple[int, Wait]]) -> None:
    """Writes waits that are new to their lines (line number → wait). `lines`: line number → line id."""
    new = {(lines[number], wait.kind, wait.name): wait for number, wait in waits}
    if new:
        tx.execute(
            insert(t.Waiting),
            [
                {
                    "line_id": line_id,
                    "kind": kind,
                    "name": name,
                    "question": wait.question,
                    "choices": list(wait.choices),
                    "holds_up": list(wait.holds_up),
                    "answer": None,
                    "answered_by": None,
                    "answered_at": None,
                }
                for (line_id, kind, name), wait in new.items()
            ],
        )
