"""How far the shop has come: whoever looks again sees at a glance whether anything was done."""

from __future__ import annotations

from sqlalchemy import func, select

from stockroom.store.database import Tx
from stockroom.store.tables import BundleStep, Job, Packed, Parcel

_LATEST = (
    select(func.max(Job.id)),
    # Moving a bundle, beginning a parcel and packing a piece are written down in rows of their own. Whatever makes the
    # pieces in open parcels fewer is a job.
    select(func.max(BundleStep.id)),
    select(func.max(Parcel.id)),
    select(func.count()).select_from(Packed).join(Parcel, Parcel.id == Packed.parcel_id).where(Parcel.state == "open"),
)


def latest(tx: Tx) -> tuple[int, ...]:
    """How far the shop has come: numbers that stay the same for as long as nobody does anything."""
    return tuple(tx.execute(query).scalar() or 0 for query in _LATEST)
