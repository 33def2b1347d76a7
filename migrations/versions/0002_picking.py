"""What is taken, cut, bundled and packed for an order.

Revision 0002.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from stockroom.store.types import Json, Key, Moment, Whole, Words
from stockroom.store.upgrade import rebuilt

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    with rebuilt("requirement") as requirement:
        requirement.add_column(sa.Column("taken", Whole(), server_default="0", nullable=False))
        requirement.create_check_constraint("ck_requirement_taken_within_held", "0 <= taken AND taken <= held")
    with rebuilt("cloth") as cloth:
        cloth.add_column(sa.Column("margin_mm", Whole(), server_default="0", nullable=False))
    _margin()
    _stage()
    _bundle()
    _parcel()
    _sent_short()
    _bundled()
    _bundle_step()
    _packed()
    _spoilt()
    _cut()
    _pick()


def _margin() -> None:
    op.create_table(
        "margin",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("from_mm", Whole(), nullable=False),
        sa.Column("to_mm", Whole(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("0 <= from_mm AND from_mm < to_mm", name="ck_margin_stretch"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_margin_holding_id"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_margin_order_id"),
        sa.PrimaryKeyConstraint("id", name="pk_margin"),
        sa.UniqueConstraint("order_id", "holding_id", name="uq_margin_order_id_holding_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_margin_holding", "margin", ["holding_id"], unique=False)


def _stage() -> None:
    op.create_table(
        "stage",
        sa.Column("code", Words(), nullable=False),
        sa.Column("title", Words(), nullable=False),
        sa.Column("turn", Whole(), nullable=False),
        sa.PrimaryKeyConstraint("code", name="pk_stage"),
        sqlite_strict=True,
    )


def _bundle() -> None:
    op.create_table(
        "bundle",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("tag", Words(), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("line", Whole(), nullable=False),
        sa.Column("path", Words(), nullable=False),
        sa.Column("copy", Whole(), nullable=False),
        sa.Column("state", Words(), nullable=False),
        sa.Column("stage", Words(), nullable=True),
        sa.Column("holder", Words(), nullable=False),
        sa.Column("since", Moment(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.CheckConstraint("state IN ('tied', 'packed', 'left over')", name="ck_bundle_state_known"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_bundle_order_id"),
        sa.ForeignKeyConstraint(["stage"], ["stage.code"], name="fk_bundle_stage"),
        sa.PrimaryKeyConstraint("id", name="pk_bundle"),
        sa.UniqueConstraint("order_id", "line", "path", "copy", name="uq_bundle_order_id_line_path_copy"),
        sa.UniqueConstraint("tag", name="uq_bundle_tag"),
        sqlite_strict=True,
    )


def _parcel() -> None:
    op.create_table(
        "parcel",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("tag", Words(), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("number", Whole(), nullable=False),
        sa.Column("what", Words(), nullable=False),
        sa.Column("state", Words(), nullable=False),
        sa.Column("opened_by", Words(), nullable=False),
        sa.Column("opened_at", Moment(), nullable=False),
        sa.Column("closed_by", Words(), nullable=True),
        sa.Column("closed_at", Moment(), nullable=True),
        sa.CheckConstraint("state IN ('open', 'closed')", name="ck_parcel_state_known"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_parcel_order_id"),
        sa.PrimaryKeyConstraint("id", name="pk_parcel"),
        sa.UniqueConstraint("order_id", "number", name="uq_parcel_order_id_number"),
        sa.UniqueConstraint("tag", name="uq_parcel_tag"),
        sqlite_strict=True,
    )


def _sent_short() -> None:
    op.create_table(
        "sent_short",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("owed", Json(), nullable=False),
        sa.Column("because", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_sent_short_order_id"),
        sa.PrimaryKeyConstraint("id", name="pk_sent_short"),
        sa.UniqueConstraint("order_id", name="uq_sent_short_order_id"),
        sqlite_strict=True,
    )


def _bundled() -> None:
    op.create_table(
        "bundled",
        sa.Column("piece_id", Key(), nullable=False),
        sa.Column("bundle_id", Key(), nullable=False),
        sa.ForeignKeyConstraint(["bundle_id"], ["bundle.id"], name="fk_bundled_bundle_id"),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_bundled_piece_id"),
        sa.PrimaryKeyConstraint("piece_id", name="pk_bundled"),
        sqlite_strict=True,
    )
    op.create_index("ix_bundled_bundle_id", "bundled", ["bundle_id"], unique=False)


def _bundle_step() -> None:
    op.create_table(
        "bundle_step",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("bundle_id", Key(), nullable=False),
        sa.Column("way", Words(), nullable=False),
        sa.Column("stage", Words(), nullable=True),
        sa.Column("holder", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("way IN ('tied', 'out', 'in')", name="ck_bundle_step_way_known"),
        sa.ForeignKeyConstraint(["bundle_id"], ["bundle.id"], name="fk_bundle_step_bundle_id"),
        sa.ForeignKeyConstraint(["stage"], ["stage.code"], name="fk_bundle_step_stage"),
        sa.PrimaryKeyConstraint("id", name="pk_bundle_step"),
        sqlite_strict=True,
    )
    op.create_index("ix_bundle_step_bundle_id", "bundle_step", ["bundle_id"], unique=False)


def _packed() -> None:
    op.create_table(
        "packed",
        sa.Column("piece_id", Key(), nullable=False),
        sa.Column("parcel_id", Key(), nullable=False),
        sa.Column("how", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("how IN ('scanned', 'ticked')", name="ck_packed_how_known"),
        sa.ForeignKeyConstraint(["parcel_id"], ["parcel.id"], name="fk_packed_parcel_id"),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_packed_piece_id"),
        sa.PrimaryKeyConstraint("piece_id", name="pk_packed"),
        sqlite_strict=True,
    )
    op.create_index("ix_packed_parcel_id", "packed", ["parcel_id"], unique=False)


def _spoilt() -> None:
    op.create_table(
        "spoilt",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("requirement_id", Key(), nullable=False),
        sa.Column("piece_id", Key(), nullable=False),
        sa.Column("count", Whole(), nullable=False),
        sa.Column("because", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("count > 0", name="ck_spoilt_count_positive"),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_spoilt_piece_id"),
        sa.ForeignKeyConstraint(["requirement_id"], ["requirement.id"], name="fk_spoilt_requirement_id"),
        sa.PrimaryKeyConstraint("id", name="pk_spoilt"),
        sqlite_strict=True,
    )
    op.create_index("ix_spoilt_piece_id", "spoilt", ["piece_id"], unique=False)
    op.create_index("ix_spoilt_requirement_id", "spoilt", ["requirement_id"], unique=False)


def _cut() -> None:
    op.create_table(
        "cut",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("planned_cut_id", Key(), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("planned_mm", Whole(), nullable=False),
        sa.Column("cut_mm", Whole(), nullable=False),
        sa.Column("movement_id", Key(), nullable=False),
        sa.Column("note", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("cut_mm > 0", name="ck_cut_length_positive"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_cut_holding_id"),
        sa.ForeignKeyConstraint(["movement_id"], ["movement.id"], name="fk_cut_movement_id"),
        sa.ForeignKeyConstraint(["planned_cut_id"], ["planned_cut.id"], name="fk_cut_planned_cut_id"),
        sa.PrimaryKeyConstraint("id", name="pk_cut"),
        sa.UniqueConstraint("planned_cut_id", name="uq_cut_planned_cut_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_cut_holding_id", "cut", ["holding_id"], unique=False)


def _pick() -> None:
    op.create_table(
        "pick",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("requirement_id", Key(), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("quantity", Whole(), nullable=False),
        sa.Column("movement_id", Key(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("quantity > 0", name="ck_pick_quantity_positive"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_pick_holding_id"),
        sa.ForeignKeyConstraint(["movement_id"], ["movement.id"], name="fk_pick_movement_id"),
        sa.ForeignKeyConstraint(["requirement_id"], ["requirement.id"], name="fk_pick_requirement_id"),
        sa.PrimaryKeyConstraint("id", name="pk_pick"),
        sa.UniqueConstraint("movement_id", name="uq_pick_movement_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_pick_holding_id", "pick", ["holding_id"], unique=False)
    op.create_index("ix_pick_requirement_id", "pick", ["requirement_id"], unique=False)
