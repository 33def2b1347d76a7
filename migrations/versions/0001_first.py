"""The first tables, and the triggers that keep the ledger as it was written.

Revision 0001.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from stockroom.store.types import Day, Json, Key, Moment, Real, Whole, Words, YesNo

revision = "0001"
down_revision = None

TRIGGERS = {
    "sqlite": [
        (
            "CREATE TRIGGER movement_no_update BEFORE UPDATE ON movement BEGIN SELECT RAISE(ABORT, 'a "
            "movement is never changed: append a reversing one'); END"
        ),
        (
            "CREATE TRIGGER movement_no_delete BEFORE DELETE ON movement BEGIN SELECT RAISE(ABORT, 'a "
            "movement is never changed: append a reversing one'); END"
        ),
    ],
    "postgresql": [
        (
            "CREATE FUNCTION movement_stays() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'a"
            " movement is never changed: append a reversing one'; END $$"
        ),
        (
            "CREATE TRIGGER movement_no_change BEFORE UPDATE OR DELETE ON movement FOR EACH ROW EXECUTE "
            "FUNCTION movement_stays()"
        ),
    ],
}


def upgrade() -> None:
    _about()
    _cloth()
    _colour()
    _counter()
    _job()
    _kit_book()
    _place()
    _reorder_run()
    _supplier()
    _car()
    _customer_order()
    _item()
    _car_change()
    _customer_part()
    _holding()
    _mix_approval()
    _order_change()
    _order_line()
    _piece()
    _purchase()
    _requirement()
    _shortage()
    _terms()
    _movement()
    _planned_cut()
    _reservation()
    _roll()
    _waiting()
    _planned_panel()
    for statement in TRIGGERS[op.get_bind().dialect.name]:
        op.execute(sa.text(statement))


def _about() -> None:
    op.create_table(
        "about",
        sa.Column("id", Whole(), nullable=False),
        sa.Column("schema", Whole(), nullable=False),
        sa.Column("shop_name", Words(), nullable=False),
        sa.Column("time_zone", Words(), nullable=False),
        sa.Column("currency", Words(), nullable=False),
        sa.Column("opening", Day(), nullable=True),
        sa.Column("made_at", Moment(), nullable=False),
        sa.CheckConstraint("id = 1", name="ck_about_one_row"),
        sa.PrimaryKeyConstraint("id", name="pk_about"),
        sqlite_strict=True,
    )


def _cloth() -> None:
    op.create_table(
        "cloth",
        sa.Column("code", Words(), nullable=False),
        sa.Column("title", Words(), nullable=False),
        sa.Column("kind", Words(), nullable=False),
        sa.Column("fibre", Words(), nullable=False),
        sa.Column("grain", Words(), nullable=False),
        sa.Column("width_mm", Whole(), nullable=False),
        sa.Column("mass_g_m2", Whole(), nullable=False),
        sa.Column("nap", YesNo(), nullable=False),
        sa.Column("shortest_useful_mm", Whole(), nullable=False),
        sa.Column("colour_tolerance", Real(), nullable=False),
        sa.Column("hazards", Words(), nullable=False),
        sa.Column("substitutes", Json(), nullable=False),
        sa.Column("discontinued", YesNo(), nullable=False),
        sa.CheckConstraint("kind IN ('cloth', 'narrow')", name="ck_cloth_kind_known"),
        sa.CheckConstraint("width_mm > 0", name="ck_cloth_width_positive"),
        sa.PrimaryKeyConstraint("code", name="pk_cloth"),
        sqlite_strict=True,
    )


def _colour() -> None:
    op.create_table(
        "colour",
        sa.Column("code", Words(), nullable=False),
        sa.Column("name", Words(), nullable=False),
        sa.Column("name_folded", Words(), nullable=False),
        sa.Column("lightness", Real(), nullable=True),
        sa.Column("a", Real(), nullable=True),
        sa.Column("b", Real(), nullable=True),
        sa.Column("illuminant", Words(), nullable=True),
        sa.Column("observer", Words(), nullable=True),
        sa.PrimaryKeyConstraint("code", name="pk_colour"),
        sqlite_strict=True,
    )


def _counter() -> None:
    op.create_table(
        "counter",
        sa.Column("name", Words(), nullable=False),
        sa.Column("last", Whole(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_counter"),
        sqlite_strict=True,
    )


def _job() -> None:
    op.create_table(
        "job",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("what", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_job"),
        sqlite_strict=True,
    )


def _kit_book() -> None:
    op.create_table(
        "kit_book",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("code", Words(), nullable=False),
        sa.Column("version", Words(), nullable=False),
        sa.Column("title", Words(), nullable=False),
        sa.Column("format", Whole(), nullable=False),
        sa.Column("source", Words(), nullable=False),
        sa.Column("loaded_at", Moment(), nullable=False),
        sa.Column("loaded_by", Words(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_kit_book"),
        sa.UniqueConstraint("code", "version", name="uq_kit_book_code_version"),
        sqlite_strict=True,
    )


def _place() -> None:
    op.create_table(
        "place",
        sa.Column("code", Words(), nullable=False),
        sa.Column("tag", Words(), nullable=False),
        sa.Column("title", Words(), nullable=False),
        sa.Column("walk", Whole(), nullable=False),
        sa.PrimaryKeyConstraint("code", name="pk_place"),
        sa.UniqueConstraint("tag", name="uq_place_tag"),
        sqlite_strict=True,
    )


def _reorder_run() -> None:
    op.create_table(
        "reorder_run",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("week", Words(), nullable=False),
        sa.Column("digest", Words(), nullable=False),
        sa.Column("report", Json(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_reorder_run"),
        sa.UniqueConstraint("week", "digest", name="uq_reorder_run_week_digest"),
        sqlite_strict=True,
    )


def _supplier() -> None:
    op.create_table(
        "supplier",
        sa.Column("code", Words(), nullable=False),
        sa.Column("name", Words(), nullable=False),
        sa.Column("lead_days", Whole(), nullable=False),
        sa.Column("currency", Words(), nullable=False),
        sa.Column("carriage_paid_minor", Whole(), nullable=False),
        sa.PrimaryKeyConstraint("code", name="pk_supplier"),
        sqlite_strict=True,
    )


def _car() -> None:
    op.create_table(
        "car",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("tag", Words(), nullable=False),
        sa.Column("key", Words(), nullable=False),
        sa.Column("key_folded", Words(), nullable=False),
        sa.Column("chassis_number", Words(), nullable=False),
        sa.Column("series", Words(), nullable=False),
        sa.Column("works", Words(), nullable=False),
        sa.Column("built", Day(), nullable=True),
        sa.Column("hand", Words(), nullable=False),
        sa.Column("body_colour", Words(), nullable=True),
        sa.Column("trim_colour", Words(), nullable=True),
        sa.Column("hood_colour", Words(), nullable=True),
        sa.CheckConstraint("hand IN ('', 'left', 'right')", name="ck_car_hand_known"),
        sa.ForeignKeyConstraint(["body_colour"], ["colour.code"], name="fk_car_body_colour"),
        sa.ForeignKeyConstraint(["hood_colour"], ["colour.code"], name="fk_car_hood_colour"),
        sa.ForeignKeyConstraint(["trim_colour"], ["colour.code"], name="fk_car_trim_colour"),
        sa.PrimaryKeyConstraint("id", name="pk_car"),
        sa.UniqueConstraint("key_folded", name="uq_car_key_folded"),
        sa.UniqueConstraint("tag", name="uq_car_tag"),
        sqlite_strict=True,
    )


def _customer_order() -> None:
    op.create_table(
        "customer_order",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("number", Words(), nullable=False),
        sa.Column("tag", Words(), nullable=False),
        sa.Column("customer", Words(), nullable=False),
        sa.Column("customer_folded", Words(), nullable=False),
        sa.Column("wanted", Day(), nullable=True),
        sa.Column("fitted_here", YesNo(), nullable=False),
        sa.Column("book_id", Key(), nullable=False),
        sa.Column("note", Words(), nullable=False),
        sa.Column("state", Words(), nullable=False),
        sa.Column("taken_at", Moment(), nullable=False),
        sa.Column("taken_by", Words(), nullable=False),
        sa.Column("fitting", Json(), nullable=False),
        sa.Column("digest", Words(), nullable=False),
        sa.CheckConstraint("state IN ('open', 'cancelled', 'cut', 'sent')", name="ck_customer_order_state_known"),
        sa.ForeignKeyConstraint(["book_id"], ["kit_book.id"], name="fk_customer_order_book_id"),
        sa.PrimaryKeyConstraint("id", name="pk_customer_order"),
        sa.UniqueConstraint("number", name="uq_customer_order_number"),
        sa.UniqueConstraint("tag", name="uq_customer_order_tag"),
        sqlite_strict=True,
    )
    op.create_index("ix_customer_order_state", "customer_order", ["state", "wanted"], unique=False)


def _item() -> None:
    op.create_table(
        "item",
        sa.Column("code", Words(), nullable=False),
        sa.Column("title", Words(), nullable=False),
        sa.Column("title_folded", Words(), nullable=False),
        sa.Column("kind", Words(), nullable=False),
        sa.Column("cloth", Words(), nullable=True),
        sa.Column("colour", Words(), nullable=True),
        sa.Column("mass_g", Whole(), nullable=False),
        sa.Column("group", Words(), nullable=False),
        sa.Column("least", Whole(), nullable=True),
        sa.Column("most", Whole(), nullable=True),
        sa.Column("hazards", Words(), nullable=False),
        sa.Column("storage", Words(), nullable=False),
        sa.Column("made_here", YesNo(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('cloth', 'narrow', 'hardware', 'blank', 'kit', 'consumable')", name="ck_item_kind_known"
        ),
        sa.ForeignKeyConstraint(["cloth"], ["cloth.code"], name="fk_item_cloth"),
        sa.ForeignKeyConstraint(["colour"], ["colour.code"], name="fk_item_colour"),
        sa.PrimaryKeyConstraint("code", name="pk_item"),
        sqlite_strict=True,
    )
    op.create_index("ix_item_cloth_colour", "item", ["cloth", "colour"], unique=False)


def _car_change() -> None:
    op.create_table(
        "car_change",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("car_id", Key(), nullable=False),
        sa.Column("order_id", Key(), nullable=True),
        sa.Column("change", Json(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name="fk_car_change_car_id"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_car_change_order_id"),
        sa.PrimaryKeyConstraint("id", name="pk_car_change"),
        sqlite_strict=True,
    )
    op.create_index("ix_car_change_car_id", "car_change", ["car_id"], unique=False)


def _customer_part() -> None:
    op.create_table(
        "customer_part",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("tag", Words(), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("car_id", Key(), nullable=True),
        sa.Column("what", Words(), nullable=False),
        sa.Column("place", Words(), nullable=True),
        sa.Column("received_by", Words(), nullable=False),
        sa.Column("received_at", Moment(), nullable=False),
        sa.Column("given_back_by", Words(), nullable=True),
        sa.Column("given_back_at", Moment(), nullable=True),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name="fk_customer_part_car_id"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_customer_part_order_id"),
        sa.ForeignKeyConstraint(["place"], ["place.code"], name="fk_customer_part_place"),
        sa.PrimaryKeyConstraint("id", name="pk_customer_part"),
        sa.UniqueConstraint("tag", name="uq_customer_part_tag"),
        sqlite_strict=True,
    )
    op.create_index("ix_customer_part_order_id", "customer_part", ["order_id"], unique=False)


def _holding() -> None:
    op.create_table(
        "holding",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("kind", Words(), nullable=False),
        sa.Column("tag", Words(), nullable=True),
        sa.Column("item", Words(), nullable=False),
        sa.Column("place", Words(), nullable=True),
        sa.Column("lot", Words(), nullable=False),
        sa.Column("held", Whole(), nullable=False),
        sa.Column("reserved", Whole(), nullable=False),
        sa.Column("quarantined", YesNo(), nullable=False),
        sa.Column("quarantined_because", Words(), nullable=False),
        sa.Column("last_number", Whole(), nullable=False),
        sa.Column("value_minor", Whole(), nullable=False),
        sa.CheckConstraint("kind IN ('roll', 'bin', 'past')", name="ck_holding_kind_known"),
        sa.CheckConstraint("NOT quarantined OR reserved = 0", name="ck_holding_nothing_reserved_in_quarantine"),
        sa.CheckConstraint("reserved <= held", name="ck_holding_reserved_within_held"),
        sa.CheckConstraint("reserved >= 0", name="ck_holding_reserved_not_negative"),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name="fk_holding_item"),
        sa.ForeignKeyConstraint(["place"], ["place.code"], name="fk_holding_place"),
        sa.PrimaryKeyConstraint("id", name="pk_holding"),
        sa.UniqueConstraint("tag", name="uq_holding_tag"),
        sqlite_strict=True,
    )
    op.create_index("ix_holding_item", "holding", ["item", "kind"], unique=False)
    op.create_index("ix_holding_place", "holding", ["place"], unique=False)
    op.create_index(
        "uq_holding_bin",
        "holding",
        ["item", "place", "lot"],
        unique=True,
        sqlite_where=sa.text("kind = 'bin'"),
        postgresql_where=sa.text("kind = 'bin'"),
    )
    op.create_index(
        "uq_holding_past",
        "holding",
        ["item"],
        unique=True,
        sqlite_where=sa.text("kind = 'past'"),
        postgresql_where=sa.text("kind = 'past'"),
    )


def _mix_approval() -> None:
    op.create_table(
        "mix_approval",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("item", Words(), nullable=False),
        sa.Column("because", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name="fk_mix_approval_item"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_mix_approval_order_id"),
        sa.PrimaryKeyConstraint("id", name="pk_mix_approval"),
        sa.UniqueConstraint("order_id", "item", name="uq_mix_approval_order_id_item"),
        sqlite_strict=True,
    )


def _order_change() -> None:
    op.create_table(
        "order_change",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("job_id", Key(), nullable=False),
        sa.Column("what", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_order_change_job_id"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_order_change_order_id"),
        sa.PrimaryKeyConstraint("id", name="pk_order_change"),
        sqlite_strict=True,
    )
    op.create_index("ix_order_change_order_id", "order_change", ["order_id"], unique=False)


def _order_line() -> None:
    op.create_table(
        "order_line",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("number", Whole(), nullable=False),
        sa.Column("kit", Words(), nullable=False),
        sa.Column("title", Words(), nullable=False),
        sa.Column("quantity", Whole(), nullable=False),
        sa.Column("car_id", Key(), nullable=False),
        sa.Column("request", Json(), nullable=False),
        sa.Column("on_car", Json(), nullable=False),
        sa.Column("advice", Json(), nullable=False),
        sa.CheckConstraint("quantity > 0", name="ck_order_line_quantity_positive"),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name="fk_order_line_car_id"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_order_line_order_id"),
        sa.PrimaryKeyConstraint("id", name="pk_order_line"),
        sa.UniqueConstraint("order_id", "number", name="uq_order_line_order_id_number"),
        sqlite_strict=True,
    )
    op.create_index("ix_order_line_car_id", "order_line", ["car_id"], unique=False)


def _piece() -> None:
    op.create_table(
        "piece",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("tag", Words(), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("line", Whole(), nullable=False),
        sa.Column("path", Words(), nullable=False),
        sa.Column("piece", Words(), nullable=False),
        sa.Column("copy", Whole(), nullable=False),
        sa.Column("title", Words(), nullable=False),
        sa.Column("hand", Words(), nullable=False),
        sa.Column("group", Words(), nullable=False),
        sa.Column("note", Words(), nullable=False),
        sa.Column("steps", Json(), nullable=False),
        sa.Column("steps_in_all", Whole(), nullable=False),
        sa.Column("holes_left", Json(), nullable=False),
        sa.Column("changed", YesNo(), nullable=False),
        sa.Column("changes", Json(), nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_piece_order_id"),
        sa.PrimaryKeyConstraint("id", name="pk_piece"),
        sa.UniqueConstraint("order_id", "line", "path", "piece", "copy", name="uq_piece_order_id_line_path_piece_copy"),
        sa.UniqueConstraint("tag", name="uq_piece_tag"),
        sqlite_strict=True,
    )


def _purchase() -> None:
    op.create_table(
        "purchase",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("reference", Words(), nullable=False),
        sa.Column("supplier", Words(), nullable=False),
        sa.Column("item", Words(), nullable=False),
        sa.Column("quantity", Whole(), nullable=False),
        sa.Column("received", Whole(), nullable=False),
        sa.Column("ordered", Day(), nullable=False),
        sa.Column("due", Day(), nullable=False),
        sa.Column("price_minor", Whole(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("quantity > 0", name="ck_purchase_quantity_positive"),
        sa.CheckConstraint("received >= 0", name="ck_purchase_received_not_negative"),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name="fk_purchase_item"),
        sa.ForeignKeyConstraint(["supplier"], ["supplier.code"], name="fk_purchase_supplier"),
        sa.PrimaryKeyConstraint("id", name="pk_purchase"),
        sa.UniqueConstraint("reference", "item", name="uq_purchase_reference_item"),
        sqlite_strict=True,
    )
    op.create_index("ix_purchase_item", "purchase", ["item"], unique=False)


def _requirement() -> None:
    op.create_table(
        "requirement",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("line", Whole(), nullable=False),
        sa.Column("path", Words(), nullable=False),
        sa.Column("piece", Words(), nullable=False),
        sa.Column("part", Words(), nullable=False),
        sa.Column("hand", Words(), nullable=False),
        sa.Column("unit", Whole(), nullable=False),
        sa.Column("need", Words(), nullable=False),
        sa.Column("item", Words(), nullable=False),
        sa.Column("quantity", Whole(), nullable=False),
        sa.Column("needed", Whole(), nullable=False),
        sa.Column("held", Whole(), nullable=False),
        sa.Column("each_mm", Whole(), nullable=False),
        sa.Column("group", Words(), nullable=False),
        sa.Column("reasons", Json(), nullable=False),
        sa.Column("shape", Json(), nullable=True),
        sa.Column("changed", YesNo(), nullable=False),
        sa.CheckConstraint("need IN ('panel', 'length', 'count', 'made')", name="ck_requirement_need_known"),
        sa.CheckConstraint(
            "0 <= held AND held <= needed AND needed <= quantity", name="ck_requirement_held_within_needed"
        ),
        sa.CheckConstraint("quantity > 0", name="ck_requirement_quantity_positive"),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name="fk_requirement_item"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_requirement_order_id"),
        sa.PrimaryKeyConstraint("id", name="pk_requirement"),
        sa.UniqueConstraint(
            "order_id",
            "line",
            "path",
            "piece",
            "part",
            "hand",
            "unit",
            name="uq_requirement_order_id_line_path_piece_part_hand_unit",
        ),
        sqlite_strict=True,
    )
    op.create_index("ix_requirement_item", "requirement", ["item"], unique=False)


def _shortage() -> None:
    op.create_table(
        "shortage",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("item", Words(), nullable=False),
        sa.Column("group", Words(), nullable=False),
        sa.Column("car_id", Key(), nullable=True),
        sa.Column("missing", Whole(), nullable=False),
        sa.Column("sentence", Words(), nullable=False),
        sa.Column("would_mix", Json(), nullable=False),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name="fk_shortage_car_id"),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name="fk_shortage_item"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_shortage_order_id"),
        sa.PrimaryKeyConstraint("id", name="pk_shortage"),
        sqlite_strict=True,
    )
    op.create_index("ix_shortage_order_id", "shortage", ["order_id"], unique=False)


def _terms() -> None:
    op.create_table(
        "terms",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("supplier", Words(), nullable=False),
        sa.Column("item", Words(), nullable=False),
        sa.Column("lead_days", Whole(), nullable=True),
        sa.Column("least_quantity", Whole(), nullable=False),
        sa.Column("multiple", Whole(), nullable=False),
        sa.Column("preferred", YesNo(), nullable=False),
        sa.Column("breaks", Json(), nullable=False),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name="fk_terms_item"),
        sa.ForeignKeyConstraint(["supplier"], ["supplier.code"], name="fk_terms_supplier"),
        sa.PrimaryKeyConstraint("id", name="pk_terms"),
        sa.UniqueConstraint("supplier", "item", name="uq_terms_supplier_item"),
        sqlite_strict=True,
    )
    op.create_index("ix_terms_item", "terms", ["item"], unique=False)


def _movement() -> None:
    op.create_table(
        "movement",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("number", Whole(), nullable=False),
        sa.Column("kind", Words(), nullable=False),
        sa.Column("quantity", Whole(), nullable=False),
        sa.Column("balance", Whole(), nullable=False),
        sa.Column("value_minor", Whole(), nullable=False),
        sa.Column("order_id", Key(), nullable=True),
        sa.Column("job_id", Key(), nullable=False),
        sa.Column("reverses_id", Key(), nullable=True),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.Column("note", Words(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('received', 'cut', 'issued', 'returned', 'moved', 'counted', 'scrapped', 'made', 'reversed')",
            name="ck_movement_kind_known",
        ),
        sa.CheckConstraint("balance >= 0", name="ck_movement_balance_not_negative"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_movement_holding_id"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_movement_job_id"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_movement_order_id"),
        sa.ForeignKeyConstraint(["reverses_id"], ["movement.id"], name="fk_movement_reverses_id"),
        sa.PrimaryKeyConstraint("id", name="pk_movement"),
        sa.UniqueConstraint("holding_id", "number", name="uq_movement_holding_id_number"),
        sa.UniqueConstraint("reverses_id", name="uq_movement_reverses_id"),
        sqlite_strict=True,
    )


def _planned_cut() -> None:
    op.create_table(
        "planned_cut",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("from_mm", Whole(), nullable=False),
        sa.Column("to_mm", Whole(), nullable=False),
        sa.Column("state", Words(), nullable=False),
        sa.Column("reasons", Json(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("state IN ('planned', 'cut')", name="ck_planned_cut_state_known"),
        sa.CheckConstraint("0 <= from_mm AND from_mm < to_mm", name="ck_planned_cut_stretch"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_planned_cut_holding_id"),
        sa.PrimaryKeyConstraint("id", name="pk_planned_cut"),
        sqlite_strict=True,
    )
    op.create_index("ix_planned_cut_holding", "planned_cut", ["holding_id", "state"], unique=False)


def _reservation() -> None:
    op.create_table(
        "reservation",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("requirement_id", Key(), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("quantity", Whole(), nullable=False),
        sa.Column("reasons", Json(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("quantity > 0", name="ck_reservation_quantity_positive"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_reservation_holding_id"),
        sa.ForeignKeyConstraint(["requirement_id"], ["requirement.id"], name="fk_reservation_requirement_id"),
        sa.PrimaryKeyConstraint("id", name="pk_reservation"),
        sa.UniqueConstraint("requirement_id", "holding_id", name="uq_reservation_requirement_id_holding_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_reservation_holding", "reservation", ["holding_id"], unique=False)


def _roll() -> None:
    op.create_table(
        "roll",
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("label", Words(), nullable=True),
        sa.Column("width_mm", Whole(), nullable=False),
        sa.Column("measured", YesNo(), nullable=False),
        sa.Column("remnant", YesNo(), nullable=False),
        sa.Column("parent_id", Key(), nullable=True),
        sa.Column("flaws", Json(), nullable=False),
        sa.Column("received_on", Day(), nullable=True),
        sa.Column("lightness", Real(), nullable=True),
        sa.Column("a", Real(), nullable=True),
        sa.Column("b", Real(), nullable=True),
        sa.Column("illuminant", Words(), nullable=True),
        sa.Column("observer", Words(), nullable=True),
        sa.CheckConstraint("width_mm > 0", name="ck_roll_width_positive"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_roll_holding_id"),
        sa.ForeignKeyConstraint(["parent_id"], ["roll.holding_id"], name="fk_roll_parent_id"),
        sa.PrimaryKeyConstraint("holding_id", name="pk_roll"),
        sa.UniqueConstraint("label", name="uq_roll_label"),
        sqlite_strict=True,
    )


def _waiting() -> None:
    op.create_table(
        "waiting",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("line_id", Key(), nullable=False),
        sa.Column("kind", Words(), nullable=False),
        sa.Column("name", Words(), nullable=False),
        sa.Column("question", Words(), nullable=False),
        sa.Column("choices", Json(), nullable=False),
        sa.Column("holds_up", Json(), nullable=False),
        sa.Column("answer", Words(), nullable=True),
        sa.Column("answered_by", Words(), nullable=True),
        sa.Column("answered_at", Moment(), nullable=True),
        sa.ForeignKeyConstraint(["line_id"], ["order_line.id"], name="fk_waiting_line_id"),
        sa.PrimaryKeyConstraint("id", name="pk_waiting"),
        sa.UniqueConstraint("line_id", "kind", "name", name="uq_waiting_line_id_kind_name"),
        sqlite_strict=True,
    )


def _planned_panel() -> None:
    op.create_table(
        "planned_panel",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("cut_id", Key(), nullable=False),
        sa.Column("requirement_id", Key(), nullable=False),
        sa.Column("x_mm", Whole(), nullable=False),
        sa.Column("y_mm", Whole(), nullable=False),
        sa.Column("turned", Whole(), nullable=False),
        sa.ForeignKeyConstraint(["cut_id"], ["planned_cut.id"], name="fk_planned_panel_cut_id"),
        sa.ForeignKeyConstraint(["requirement_id"], ["requirement.id"], name="fk_planned_panel_requirement_id"),
        sa.PrimaryKeyConstraint("id", name="pk_planned_panel"),
        sqlite_strict=True,
    )
    op.create_index("ix_planned_panel_cut", "planned_panel", ["cut_id"], unique=False)
    op.create_index("ix_planned_panel_requirement", "planned_panel", ["requirement_id"], unique=False)
