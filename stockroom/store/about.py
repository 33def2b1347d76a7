"""What the shop says of itself: one row, written once and changed seldom."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from sqlalchemy import insert, select, update

from stockroom.domain.about import About
from stockroom.domain.colour_difference import USUAL_FACTORS
from stockroom.domain.quantities import show_money
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.store import tables
from stockroom.store.catalogue import Written
from stockroom.store.database import Tx
from stockroom.store.tables import SCHEMA, Movement, Purchase, Terms


def read_about(tx: Tx) -> About | None:
    """What the shop says of itself; `None` in a shop that was made and never loaded."""
    row = tx.execute(select(tables.About.__table__)).mappings().first()
    return None if row is None else about_of_row(row)


def factors_of(tx: Tx) -> str:
    """kL:kC:kH by which the shop compares colours."""
    about = read_about(tx)
    return about.colour_factors if about else USUAL_FACTORS


def about_of_row(row: Mapping[Any, Any]) -> About:
    """What the one row of the table says."""
    return About(
        name=row["shop_name"],
        time_zone=row["time_zone"],
        currency=row["currency"],
        opening=row["opening"],
        most_points=row["most_points"],
        recount_length=row["recount_length"],
        recount_count=row["recount_count"],
        colour_factors=row["colour_factors"],
        order_cost_minor=row["order_cost_minor"],
        keeping_percent=row["keeping_percent"],
    )


def write_about(tx: Tx, about: About, stamp: Stamp) -> Written:
    """Writes it down. A shop that was opened keeps its opening day.

    Raises `Refusal` where the currency would change under sums of money that are kept.
    """
    before = read_about(tx)
    facts = {
        "shop_name": about.name,
        "time_zone": about.time_zone,
        "currency": about.currency,
        "most_points": about.most_points,
        "recount_length": about.recount_length,
        "recount_count": about.recount_count,
        "colour_factors": about.colour_factors,
        "order_cost_minor": about.order_cost_minor,
        "keeping_percent": about.keeping_percent,
    }
    if before is None:
        tx.execute(insert(tables.About).values(id=1, schema=SCHEMA, opening=about.opening, made_at=stamp.at, **facts))
        return Written("shop", added=1)
    if before.currency != about.currency and _has_money(tx):
        raise Refusal(
            f"The shop keeps its books in {before.currency}; they cannot be turned into {about.currency}. "
            f"Put {before.currency} in shop.toml, or begin a new shop."
        )
    if before.opening is not None and about.opening not in (None, before.opening):
        raise Refusal(
            f"The shop's books were opened on {before.opening}; shop.toml says {about.opening}. "
            "Leave the opening day as it was, or begin a new shop."
        )
    opening = before.opening or about.opening
    if before == replace(about, opening=opening):
        return Written("shop", same=1)
    tx.execute(update(tables.About).values(opening=opening, **facts))
    return Written("shop", changes=(f"shop: was {_shown(before)}, is now {_shown(about)}",))


def _has_money(tx: Tx) -> bool:
    return any(tx.execute(select(kept.id).limit(1)).first() is not None for kept in (Movement, Terms, Purchase))


def _shown(about: About) -> str:
    again = f"counted again beyond {about.recount_length} % of a length, {about.recount_count} % of a count"
    factors = f"colours {about.colour_factors}"
    told = f"{about.time_zone}, {about.currency}, up to {about.most_points} points, {factors}, {again}"
    if about.order_cost_minor or about.keeping_percent:
        line = show_money(about.order_cost_minor, about.currency)
        told += f", an order line costs {line}, keeping {about.keeping_percent} % a year"
    return f"{about.name!r} ({told})"
