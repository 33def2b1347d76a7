"""Bundles: the cut panels of one kit, tied and tagged, and where each of them is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Integer, and_, case, cast, func, insert, or_, select, update
from sqlalchemy.orm import aliased

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx
from stockroom.store.tags import next_tags


@dataclass(frozen=True, slots=True)
class KeptBundle:
    """One bundle and where it is."""

    id: int
    tag: str
    order_id: int
    order: str
    """Number of its order."""
    customer: str
    wanted: date | None
    book_id: int
    line: int
    path: str
    copy: int
    """Which of the line's kits it is of, from 1."""
    state: str
    """'tied', 'packed' or 'left over'."""
    stage: str
    """Code; '' at the bench."""
    stage_title: str
    holder: str
    since: datetime
    by: str
    pieces: int
    """How many pieces its panels are for."""


@dataclass(frozen=True, slots=True)
class KeptStep:
    """A bundle that was tied, scanned out or scanned in."""

    way: str
    """'tied', 'out' or 'in'."""
    stage: str
    """Title of the stage; '' where there is none."""
    holder: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Assembly:
    """A piece that several panels are sewn into."""

    tag: str
    title: str
    panels: int
    """How many they are."""
    by: str = ""
    """Who says that they are sewn; '' while they are not."""
    at: datetime | None = None
    """Since when."""


_B, _O, _S = t.Bundle, t.CustomerOrder, t.Stage
_HOW_MANY = (
    select(cast(func.count(), Integer)).where(t.Bundled.bundle_id == _B.id).correlate(_B).scalar_subquery()
)  # fmt: skip
_BUNDLES = (
    select(
        _B.id, _B.tag, _B.order_id, _O.number, _O.customer, _O.wanted, _O.book_id, _B.line, _B.path, _B.copy, _B.state,
        _B.stage, _S.title, _B.holder, _B.since, _B.by, _HOW_MANY.label("pieces"),
    )
    .join(_O, _O.id == _B.order_id)
    .outerjoin(_S, _S.code == _B.stage)
)  # fmt: skip


def bundles_of(tx: Tx, order_id: int) -> list[KeptBundle]:
    """The bundles of an order, in the order in which they were tied."""
    return _bundles(tx, _BUNDLES.where(_B.order_id == order_id).order_by(_B.id))


def bundles_tied(tx: Tx) -> list[KeptBundle]:
    """Every bundle of which something is not packed, kept or scrapped yet, the earliest wanted first.

    Those wanted on no day come last.
    """
    still = (
        select(t.Bundled.bundle_id)
        .outerjoin(t.LeftOver, t.LeftOver.piece_id == t.Bundled.piece_id)
        .where(t.LeftOver.piece_id.is_(None))
    )
    there = _BUNDLES.where(_B.state.in_(("tied", "left over")), _B.id.in_(still))
    return _bundles(tx, there.order_by(_O.wanted.is_(None), _O.wanted, _O.id, _B.id))


def bundle_by_tag(tx: Tx, tag: str) -> KeptBundle | None:
    """The bundle that a tag names."""
    found = _bundles(tx, _BUNDLES.where(_B.tag == tag))
    return found[0] if found else None


def _bundles(tx: Tx, query: Any) -> list[KeptBundle]:
    return [
        KeptBundle(
            row.id, row.tag, row.order_id, row.number, row.customer, row.wanted, row.book_id, row.line, row.path,
            row.copy, row.state, row.stage or "", row.title or "", row.holder, row.since, row.by, row.pieces,
        )
        for row in tx.execute(query)
    ]  # fmt: skip


def bundled_of(tx: Tx, order_id: int) -> dict[int, int]:
    """Piece id → id of the bundle that its panels are in, for the pieces of one order."""
    rows = tx.execute(
        select(t.Bundled.piece_id, t.Bundled.bundle_id)
        .join(t.Bundle, t.Bundle.id == t.Bundled.bundle_id)
        .where(t.Bundle.order_id == order_id)
    )
    return {row.piece_id: row.bundle_id for row in rows}


def assemblies_of_tied(tx: Tx) -> dict[int, list[Assembly]]:
    """Of every bundle that is tied and not packed, by id: the pieces that several panels are sewn into."""
    p, r, like = t.Piece, t.Requirement, aliased(t.Piece)
    copies = (
        select(cast(func.count(), Integer))
        .where(like.order_id == p.order_id, like.line == p.line, like.path == p.path, like.piece == p.piece)
        .scalar_subquery()
    )
    panels = cast(func.sum(case((r.unit == 0, r.quantity / copies), else_=r.needed)), Integer)
    rows = tx.execute(
        select(t.Bundled.bundle_id, p.tag, p.title, panels.label("panels"), t.Sewn.by, t.Sewn.at)
        .join(_B, _B.id == t.Bundled.bundle_id)
        .join(p, p.id == t.Bundled.piece_id)
        .outerjoin(t.Sewn, t.Sewn.piece_id == p.id)
        .join(
            r,
            and_(
                r.order_id == p.order_id,
                r.line == p.line,
                r.piece == p.piece,
                or_(and_(r.path == p.path, r.unit == 0), and_(r.path == p.path + "/made", r.unit == p.copy)),
            ),
        )
        .where(_B.state == "tied", r.need == "panel")
        .group_by(t.Bundled.bundle_id, p.id, p.tag, p.title, t.Sewn.by, t.Sewn.at)
        .having(panels > 1)
        .order_by(p.id)
    )
    found: defaultdict[int, list[Assembly]] = defaultdict(list)
    for row in rows:
        found[row.bundle_id].append(Assembly(row.tag, row.title, row.panels, row.by or "", row.at))
    return found


def keep_bundle(
    tx: Tx, order_id: int, kit: tuple[int, str, int], pieces: Sequence[int], stamp: Stamp
) -> tuple[int, str]:
    """Ties the panels of these pieces. `kit`: line, path and copy. Gives the bundle's id and its tag."""
    (tag,) = next_tags(tx, "T", 1)
    line, path, copy = kit
    row = {
        "tag": tag,
        "order_id": order_id,
        "line": line,
        "path": path,
        "copy": copy,
        "state": "tied",
        "stage": None,
        "holder": "",
        "since": stamp.at,
        "by": stamp.by,
    }
    bundle_id: int = tx.execute(insert(t.Bundle).returning(t.Bundle.id), row).scalar_one()
    tx.execute(insert(t.Bundled), [{"piece_id": one, "bundle_id": bundle_id} for one in pieces])
    _keep_step(tx, bundle_id, "tied", None, "", stamp)
    return bundle_id, tag


def move_bundle(tx: Tx, bundle_id: int, stage: str | None, holder: str, stamp: Stamp) -> None:
    """A bundle goes out to a stage, or in again to the bench (`None`)."""
    tx.execute(
        update(t.Bundle).where(t.Bundle.id == bundle_id).values(stage=stage, holder=holder, since=stamp.at, by=stamp.by)
    )
    _keep_step(tx, bundle_id, "out" if stage else "in", stage, holder, stamp)


def _keep_step(tx: Tx, bundle_id: int, way: str, stage: str | None, holder: str, stamp: Stamp) -> None:
    row = {"bundle_id": bundle_id, "way": way, "stage": stage, "holder": holder, "by": stamp.by, "at": stamp.at}
    tx.execute(insert(t.BundleStep), row)


def steps_of_bundle(tx: Tx, bundle_id: int) -> list[KeptStep]:
    """Where a bundle has been, oldest first."""
    s = t.BundleStep
    rows = tx.execute(
        select(s.way, t.Stage.title, s.holder, s.by, s.at)
        .outerjoin(t.Stage, t.Stage.code == s.stage)
        .where(s.bundle_id == bundle_id)
        .order_by(s.id)
    )
    return [KeptStep(row.way, row.title or "", row.holder, row.by, row.at) for row in rows]


def leave_over(tx: Tx, order_id: int) -> None:
    """The bundles of an order that is cancelled are left over."""
    tx.execute(update(t.Bundle).where(t.Bundle.order_id == order_id).values(state="left over"))


def mark_packed(tx: Tx, order_id: int) -> None:
    """A bundle all of whose pieces are packed is packed; one with a piece unpacked again is tied."""
    waiting = (
        select(t.Bundled.bundle_id)
        .outerjoin(t.Packed, t.Packed.piece_id == t.Bundled.piece_id)
        .where(t.Packed.piece_id.is_(None))
    )
    mine = update(t.Bundle).where(t.Bundle.order_id == order_id)
    tx.execute(mine.where(t.Bundle.state == "tied", t.Bundle.id.not_in(waiting)).values(state="packed"))
    tx.execute(mine.where(t.Bundle.state == "packed", t.Bundle.id.in_(waiting)).values(state="tied"))
