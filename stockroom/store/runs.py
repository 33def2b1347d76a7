"""Reorder runs as they are kept: one week's report, known by the week and a digest of what went in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Select, func, insert, select, update

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.store.database import Tx, lock_rows, refusing
from stockroom.store.tables import ReorderRun

_RUN: Any = ReorderRun.__table__
_TURN = func.coalesce(ReorderRun.turn, ReorderRun.id)
_WITHOUT_INPUTS: Select[Any] = select(ReorderRun.id, ReorderRun.week, ReorderRun.by, ReorderRun.at, ReorderRun.report)


@dataclass(frozen=True, slots=True)
class KeptRun:
    """A run as it is kept."""

    number: int
    week: str
    by: str
    at: datetime
    report: dict[str, Any]
    inputs: str | None


def kept_runs(tx: Tx) -> list[KeptRun]:
    """Every run, the latest first, without what went in."""
    return _runs(tx, _WITHOUT_INPUTS.order_by(ReorderRun.id.desc()))


def run_by_number(tx: Tx, number: int) -> KeptRun:
    """One run with what went in. Raises `Refusal` where there is none of that number."""
    run = ReorderRun
    row = tx.execute(
        select(run.id, run.week, run.by, run.at, run.report, run.inputs).where(run.id == number)
    ).one_or_none()
    if row is None:
        raise Refusal(f"There is no reorder run {number}. List them: stockroom reorder --runs.")
    return KeptRun(*row)


def latest_run(tx: Tx, week: str) -> KeptRun | None:
    """The run of a week ('2026-W48') that was made, or asked for again, last; without what went in."""
    return next(iter(_runs(tx, _WITHOUT_INPUTS.where(ReorderRun.week == week).order_by(_TURN.desc()).limit(1))), None)


def run_of_digest(tx: Tx, week: str, digest: str) -> KeptRun | None:
    """The run of a week ('2026-W48') on just these inputs, without what went in; `None` where there was none."""
    mine = (ReorderRun.week == week) & (ReorderRun.digest == digest)
    return next(iter(_runs(tx, _WITHOUT_INPUTS.where(mine))), None)


def _runs(tx: Tx, query: Select[Any]) -> list[KeptRun]:
    return [KeptRun(number, week, by, at, report, None) for number, week, by, at, report in tx.execute(query)]


def make_latest(tx: Tx, week: str, digest: str) -> None:
    """The run on just these inputs is asked for again: it is the latest of its week, whatever was made meanwhile."""
    which = (ReorderRun.week == week) & (ReorderRun.digest == digest)
    tx.execute(update(ReorderRun).where(which).values(turn=_next_turn(tx, week)))


def is_latest(tx: Tx, week: str, digest: str) -> bool:
    """Whether no other run of the week was made, or asked for again, after the one on just these inputs."""
    last = select(ReorderRun.digest).where(ReorderRun.week == week).order_by(_TURN.desc()).limit(1)
    return tx.scalar(last) == digest


def _next_turn(tx: Tx, week: str) -> int:
    highest: int | None = tx.scalar(select(func.max(_TURN)).where(ReorderRun.week == week))
    return (highest or 0) + 1


def run_to_change(tx: Tx, number: int) -> KeptRun:
    """`run_by_number`; nobody else decides on its lines until the transaction ends."""
    lock_rows(tx, _RUN, [number])
    return run_by_number(tx, number)


def keep_run(tx: Tx, week: str, digest: str, report: Mapping[str, Any], inputs: str, stamp: Stamp) -> None:
    """Keeps the report of a run. Raises `Refusal` where somebody else has kept the same run meanwhile."""
    already = f"Somebody else has just made the same reorder run of {week}. Run it again to see theirs."
    with refusing({"uq_reorder_run_week_digest": already}):
        row = {"week": week, "digest": digest, "report": dict(report), "inputs": inputs, "by": stamp.by, "at": stamp.at}
        row["turn"] = _next_turn(tx, week)
        tx.execute(insert(ReorderRun), row)
