"""What somebody saw of two dye lots of one item side by side. The latest of two lots stands."""

from __future__ import annotations

from collections.abc import Collection, Mapping
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
    return {lots: seen for (_, lots), seen in verdicts_of_items(tx, [item]).items()}


def verdicts_of_items(tx: Tx, items: Collection[str]) -> Mapping[tuple[str, frozenset[str]], EyeVerdict]:
    """Item and two lots of it → what stands of them."""
    v = t.EyeVerdict
    query = select(v.item, v.lot, v.other_lot, v.verdict, v.eyes, v.light, v.at).order_by(v.id)
    return {
        (item, frozenset((lot, other))): EyeVerdict(cast(Verdict, verdict), eyes, light, at.date())
        for item, lot, other, verdict, eyes, light, at in tx.execute(query.where(v.item.in_(sorted(set(items)))))
    }
