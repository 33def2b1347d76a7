"""Reorder runs as they are kept: one week's report, known by the week and a digest of what went in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import insert, select

from stockroom.domain.stamp import Stamp
from stockroom.store.database import Tx, refusing
from stockroom.store.tables import ReorderRun


def kept_run(tx: Tx, week: str, digest: str) -> dict[str, Any] | None:
    """The report of the run of `week` ('2026-W48') on just these inputs, or `None` where there was none."""
    report: dict[str, Any] | None = tx.scalar(
        select(ReorderRun.report).where(ReorderRun.week == week, ReorderRun.digest == digest)
    )
    return report


def keep_run(tx: Tx, week: str, digest: str, report: Mapping[str, Any], inputs: str, stamp: Stamp) -> None:
    """Keeps the report of a run. Raises `Refusal` where somebody else has kept the same run meanwhile."""
    already = f"Somebody else has just made the same reorder run of {week}. Run it again to see theirs."
    with refusing({"uq_reorder_run_week_digest": already}):
        row = {"week": week, "digest": digest, "report": dict(report), "inputs": inputs, "by": stamp.by, "at": stamp.at}
        tx.execute(insert(ReorderRun), row)
