"""What somebody saw of two dye lots of one item side by side. The latest of two lots stands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

from sqlalchemy import delete, insert, select

from stockroom.domain.matching import EyeVerdict, Verdict
from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx


def keep_verdict(tx: Tx, item: str, lots: tuple[str, str], seen: EyeVerdict, stamp: Stamp) -> int:
    """Writes it down; gives its number."""
    lot, other = sorted(lots)
    row = {
        "item": item,
        "lot": lot,
        "other_lot": other,
        "verdict": seen.verdict,
        "eyes": seen.eyes,
        "light": seen.light,
        "by": stamp.by,
        "at": stamp.at,
    }
    number: int = tx.execute(insert(t.EyeVerdict).returning(t.EyeVerdict.id), row).scalar_one()
    return number


def drop_verdict(tx: Tx, verdict_id: int) -> None:
    """It was written down by mistake."""
    tx.execute(delete(t.EyeVerdict).where(t.EyeVerdict.id == verdict_id))


def verdicts_of(tx: Tx, item: str) -> Mapping[frozenset[str], EyeVerdict]:
    """Two lots of an item → what stands of them."""
    v = t.EyeVerdict
    query = select(v.lot, v.other_lot, v.verdict, v.eyes, v.light, v.at).where(v.item == item).order_by(v.id)
    return {
        frozenset((lot, other)): EyeVerdict(cast(Verdict, verdict), eyes, light, at.date())
        for lot, other, verdict, eyes, light, at in tx.execute(query)
    }
