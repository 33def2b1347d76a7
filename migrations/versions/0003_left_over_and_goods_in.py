"""What is left over and kept, goods in, counts, putting mistakes right.

Revision 0003.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from stockroom.store.types import Day, Json, Key, Moment, Real, Whole, Words, YesNo
from stockroom.store.upgrade import rebuilt

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    _widened()
    _finished()
    _from_stock()
    _left_over()
    _receipt()
    _inspection()
    _moved()
    _count_sheet()
    _counted()
    _low_stock()
    _replaced_tag()
    _printed()
    _reading()
    _readings_stand_by_themselves()
    _eye_verdict()


def _widened() -> None:
    """What the tables there are already must hold besides."""
    with rebuilt("about") as about:
        about.add_column(sa.Column("most_points", Whole(), server_default="40", nullable=False))
        about.add_column(sa.Column("recount_length", Whole(), server_default="1", nullable=False))
        about.add_column(sa.Column("recount_count", Whole(), server_default="1", nullable=False))
        about.add_column(sa.Column("colour_factors", Words(), server_default="1:1:1", nullable=False))
    with rebuilt("job") as job:
        job.add_column(sa.Column("way_back", Json(), nullable=True))
        job.add_column(sa.Column("undoes_id", Key(), nullable=True))
        job.create_unique_constraint("uq_job_undoes_id", ["undoes_id"])
        job.create_foreign_key("fk_job_undoes_id", "job", ["undoes_id"], ["id"])
    with rebuilt("item") as item:
        item.add_column(sa.Column("posting", Words(), server_default="", nullable=False))
        item.drop_constraint("ck_item_kind_known", type_="check")
        kinds = "'cloth', 'narrow', 'hardware', 'blank', 'kit', 'consumable', 'piece'"
        item.create_check_constraint("ck_item_kind_known", f"kind IN ({kinds})")
    with rebuilt("customer_order") as order:
        order.add_column(sa.Column("for_stock", YesNo(), server_default=sa.text("false"), nullable=False))
        order.drop_constraint("ck_customer_order_state_known", type_="check")
        states = "'open', 'cancelled', 'cut', 'sent', 'kept'"
        order.create_check_constraint("ck_customer_order_state_known", f"state IN ({states})")
    with rebuilt("requirement") as requirement:
        requirement.add_column(sa.Column("covered", Whole(), server_default="0", nullable=False))
        requirement.create_check_constraint(
            "ck_requirement_covered_within_quantity", "0 <= covered AND covered <= quantity"
        )
    with rebuilt("purchase") as purchase:
        purchase.add_column(sa.Column("closed_because", Words(), server_default="", nullable=False))
        purchase.add_column(sa.Column("closed_by", Words(), nullable=True))
        purchase.add_column(sa.Column("closed_at", Moment(), nullable=True))
    with rebuilt("spoilt") as spoilt:
        spoilt.add_column(sa.Column("lot", Words(), nullable=True))
    op.drop_index("uq_holding_bin", "holding")
    with rebuilt("holding") as holding:
        holding.add_column(sa.Column("expires", Day(), nullable=True))
        holding.drop_constraint("ck_holding_kind_known", type_="check")
        holding.create_check_constraint("ck_holding_kind_known", "kind IN ('roll', 'bin', 'made', 'past')")
    op.create_index(
        "uq_holding_bin",
        "holding",
        ["item", "place", "lot", "quarantined"],
        unique=True,
        sqlite_where=sa.text("kind = 'bin'"),
        postgresql_where=sa.text("kind = 'bin'"),
    )


def _finished() -> None:
    op.create_table(
        "finished",
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("title", Words(), nullable=False),
        sa.Column("kit", Words(), nullable=False),
        sa.Column("piece", Words(), nullable=False),
        sa.Column("hand", Words(), nullable=False),
        sa.Column("book_id", Key(), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("covers", Json(), nullable=False),
        sa.Column("lacks", Json(), nullable=False),
        sa.Column("changes", Json(), nullable=False),
        sa.ForeignKeyConstraint(["book_id"], ["kit_book.id"], name="fk_finished_book_id"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_finished_holding_id"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_finished_order_id"),
        sa.PrimaryKeyConstraint("holding_id", name="pk_finished"),
        sqlite_strict=True,
    )
    op.create_index("ix_finished_order_id", "finished", ["order_id"], unique=False)


def _from_stock() -> None:
    op.create_table(
        "from_stock",
        sa.Column("piece_id", Key(), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("amounts", Json(), nullable=False),
        sa.Column("movement_id", Key(), nullable=True),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_from_stock_holding_id"),
        sa.ForeignKeyConstraint(["movement_id"], ["movement.id"], name="fk_from_stock_movement_id"),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_from_stock_piece_id"),
        sa.PrimaryKeyConstraint("piece_id", name="pk_from_stock"),
        sqlite_strict=True,
    )
    op.create_index("ix_from_stock_holding_id", "from_stock", ["holding_id"], unique=False)


def _left_over() -> None:
    op.create_table(
        "left_over",
        sa.Column("piece_id", Key(), nullable=False),
        sa.Column("holding_id", Key(), nullable=True),
        sa.Column("because", Words(), nullable=False),
        sa.Column("amounts", Json(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("holding_id IS NOT NULL OR because <> ''", name="ck_left_over_stock_or_scrap"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_left_over_holding_id"),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_left_over_piece_id"),
        sa.PrimaryKeyConstraint("piece_id", name="pk_left_over"),
        sqlite_strict=True,
    )
    op.create_index("ix_left_over_holding_id", "left_over", ["holding_id"], unique=False)


def _receipt() -> None:
    op.create_table(
        "receipt",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("purchase_id", Key(), nullable=True),
        sa.Column("supplier", Words(), nullable=True),
        sa.Column("delivery", Words(), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("movement_id", Key(), nullable=False),
        sa.Column("quantity", Whole(), nullable=False),
        sa.Column("job_id", Key(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("quantity > 0", name="ck_receipt_quantity_positive"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_receipt_holding_id"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_receipt_job_id"),
        sa.ForeignKeyConstraint(["movement_id"], ["movement.id"], name="fk_receipt_movement_id"),
        sa.ForeignKeyConstraint(["purchase_id"], ["purchase.id"], name="fk_receipt_purchase_id"),
        sa.ForeignKeyConstraint(["supplier"], ["supplier.code"], name="fk_receipt_supplier"),
        sa.PrimaryKeyConstraint("id", name="pk_receipt"),
        sa.UniqueConstraint("movement_id", name="uq_receipt_movement_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_receipt_holding_id", "receipt", ["holding_id"], unique=False)
    op.create_index("ix_receipt_job_id", "receipt", ["job_id"], unique=False)
    op.create_index("ix_receipt_purchase_id", "receipt", ["purchase_id"], unique=False)


def _inspection() -> None:
    op.create_table(
        "inspection",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("faults", Json(), nullable=False),
        sa.Column("points", Whole(), nullable=False),
        sa.Column("length_mm", Whole(), nullable=False),
        sa.Column("width_mm", Whole(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_inspection_holding_id"),
        sa.PrimaryKeyConstraint("id", name="pk_inspection"),
        sqlite_strict=True,
    )
    op.create_index("ix_inspection_holding_id", "inspection", ["holding_id"], unique=False)


def _moved() -> None:
    op.create_table(
        "moved",
        sa.Column("movement_id", Key(), nullable=False),
        sa.Column("from_place", Words(), nullable=True),
        sa.Column("to_place", Words(), nullable=True),
        sa.ForeignKeyConstraint(["from_place"], ["place.code"], name="fk_moved_from_place"),
        sa.ForeignKeyConstraint(["movement_id"], ["movement.id"], name="fk_moved_movement_id"),
        sa.ForeignKeyConstraint(["to_place"], ["place.code"], name="fk_moved_to_place"),
        sa.PrimaryKeyConstraint("movement_id", name="pk_moved"),
        sqlite_strict=True,
    )


def _count_sheet() -> None:
    op.create_table(
        "count_sheet",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("place", Words(), nullable=True),
        sa.Column("item", Words(), nullable=True),
        sa.Column("state", Words(), nullable=False),
        sa.Column("begun_by", Words(), nullable=False),
        sa.Column("begun_at", Moment(), nullable=False),
        sa.Column("ended_by", Words(), nullable=True),
        sa.Column("ended_at", Moment(), nullable=True),
        sa.CheckConstraint("state IN ('open', 'closed', 'left')", name="ck_count_sheet_state_known"),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name="fk_count_sheet_item"),
        sa.ForeignKeyConstraint(["place"], ["place.code"], name="fk_count_sheet_place"),
        sa.PrimaryKeyConstraint("id", name="pk_count_sheet"),
        sqlite_strict=True,
    )
    op.create_index("ix_count_sheet_item", "count_sheet", ["item"], unique=False)
    op.create_index("ix_count_sheet_place", "count_sheet", ["place"], unique=False)


def _counted() -> None:
    op.create_table(
        "counted",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("sheet_id", Key(), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("first", Whole(), nullable=False),
        sa.Column("second", Whole(), nullable=True),
        sa.Column("expected", Whole(), nullable=False),
        sa.Column("movement_id", Key(), nullable=True),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("first >= 0", name="ck_counted_first_not_negative"),
        sa.CheckConstraint("second IS NULL OR second >= 0", name="ck_counted_second_not_negative"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_counted_holding_id"),
        sa.ForeignKeyConstraint(["movement_id"], ["movement.id"], name="fk_counted_movement_id"),
        sa.ForeignKeyConstraint(["sheet_id"], ["count_sheet.id"], name="fk_counted_sheet_id"),
        sa.PrimaryKeyConstraint("id", name="pk_counted"),
        sa.UniqueConstraint("sheet_id", "holding_id", name="uq_counted_sheet_id_holding_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_counted_holding_id", "counted", ["holding_id"], unique=False)


def _low_stock() -> None:
    op.create_table(
        "low_stock",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("item", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.Column("ended_because", Words(), nullable=False),
        sa.Column("ended_by", Words(), nullable=True),
        sa.Column("ended_at", Moment(), nullable=True),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name="fk_low_stock_item"),
        sa.PrimaryKeyConstraint("id", name="pk_low_stock"),
        sqlite_strict=True,
    )
    op.create_index("ix_low_stock_item", "low_stock", ["item"], unique=False)


def _replaced_tag() -> None:
    op.create_table(
        "replaced_tag",
        sa.Column("old", Words(), nullable=False),
        sa.Column("new", Words(), nullable=False),
        sa.Column("because", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.PrimaryKeyConstraint("old", name="pk_replaced_tag"),
        sa.UniqueConstraint("new", name="uq_replaced_tag_new"),
        sqlite_strict=True,
    )


def _printed() -> None:
    op.create_table(
        "printed",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("job_id", Key(), nullable=False),
        sa.Column("what", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_printed_job_id"),
        sa.PrimaryKeyConstraint("id", name="pk_printed"),
        sqlite_strict=True,
    )
    op.create_index("ix_printed_job_id", "printed", ["job_id"], unique=False)


def _reading() -> None:
    op.create_table(
        "reading",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("lightness", Real(), nullable=False),
        sa.Column("a", Real(), nullable=False),
        sa.Column("b", Real(), nullable=False),
        sa.Column("illuminant", Words(), nullable=False),
        sa.Column("observer", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.Column("instrument", Words(), nullable=False),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_reading_holding_id"),
        sa.PrimaryKeyConstraint("id", name="pk_reading"),
        sqlite_strict=True,
    )
    op.create_index("ix_reading_holding_id", "reading", ["holding_id"], unique=False)


def _readings_stand_by_themselves() -> None:
    """A roll had one reading, in its own row; it was taken down when the roll came in."""
    op.execute(
        sa.text(
            'INSERT INTO reading (holding_id, lightness, a, b, illuminant, observer, "by", at, instrument) '
            "SELECT r.holding_id, r.lightness, r.a, r.b, r.illuminant, r.observer, COALESCE(m.\"by\", ''), "
            "COALESCE(m.at, (SELECT made_at FROM about)), '' "
            "FROM roll r LEFT JOIN movement m ON m.holding_id = r.holding_id AND m.number = 1 "
            "WHERE r.lightness IS NOT NULL ORDER BY r.holding_id"
        )
    )
    with rebuilt("roll") as roll:
        for column in ("lightness", "a", "b", "illuminant", "observer"):
            roll.drop_column(column)


def _eye_verdict() -> None:
    op.create_table(
        "eye_verdict",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("item", Words(), nullable=False),
        sa.Column("lot", Words(), nullable=False),
        sa.Column("other_lot", Words(), nullable=False),
        sa.Column("verdict", Words(), nullable=False),
        sa.Column("eyes", Words(), nullable=False),
        sa.Column("light", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("verdict IN ('match', 'near', 'no-match')", name="ck_eye_verdict_verdict_known"),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name="fk_eye_verdict_item"),
        sa.PrimaryKeyConstraint("id", name="pk_eye_verdict"),
        sqlite_strict=True,
    )
    op.create_index("ix_eye_verdict_item", "eye_verdict", ["item"], unique=False)
