"""Cloth that truly matches, swatches and substitutes; the weekly reorder run and what is bought by it.

Revision 0004.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from stockroom.store.types import Day, Json, Key, Moment, Real, Whole, Words, YesNo
from stockroom.store.upgrade import rebuilt

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    _swatch()
    _swatch_sent()
    _held_for_swatches()
    _substitution()
    _substitutes_of_items()
    _planned_items()
    _item_group()
    _last_order()
    _buying_decision()
    _master_reading()
    _masters_there_are()
    _sewn()
    _approved_lots()
    _movements_found()
    _costs_of_buying()
    _whole_rolls()
    _cuts_of_spoilt()


def _cuts_of_spoilt() -> None:
    """What a spoilt panel cost is known by the cut that it was on."""
    with rebuilt("spoilt") as spoilt:
        spoilt.add_column(sa.Column("cut_id", Key(), nullable=True))
        spoilt.create_foreign_key("fk_spoilt_cut_id", "planned_cut", ["cut_id"], ["id"])


def _held_for_swatches() -> None:
    """A roll may have several stretches that are held for an order: one is its margin, the others are for swatches."""
    with rebuilt("margin") as margin:
        margin.add_column(sa.Column("sent_id", Key(), nullable=True))
        margin.create_foreign_key("fk_margin_sent_id", "swatch_sent", ["sent_id"], ["id"])
        margin.drop_constraint("uq_margin_order_id_holding_id", type_="unique")
    op.create_index("ix_margin_sent_id", "margin", ["sent_id"], unique=False)
    op.create_index(
        "uq_margin_order",
        "margin",
        ["order_id", "holding_id"],
        unique=True,
        sqlite_where=sa.text("sent_id IS NULL"),
        postgresql_where=sa.text("sent_id IS NULL"),
    )


def _substitutes_of_items() -> None:
    with rebuilt("item") as item:
        item.add_column(sa.Column("substitutes", Json(), server_default="[]", nullable=False))
        item.add_column(sa.Column("discontinued", YesNo(), server_default=sa.text("false"), nullable=False))


def _swatch() -> None:
    op.create_table(
        "swatch",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("tag", Words(), nullable=False),
        sa.Column("item", Words(), nullable=False),
        sa.Column("lot", Words(), nullable=False),
        sa.Column("holding_id", Key(), nullable=False),
        sa.Column("length_mm", Whole(), nullable=False),
        sa.Column("movement_id", Key(), nullable=True),
        sa.Column("place", Words(), nullable=True),
        sa.Column("gone_because", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint("(length_mm = 0) = (movement_id IS NULL)", name="ck_swatch_length_is_booked"),
        sa.CheckConstraint("length_mm >= 0", name="ck_swatch_length_not_negative"),
        sa.ForeignKeyConstraint(["holding_id"], ["holding.id"], name="fk_swatch_holding_id"),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name="fk_swatch_item"),
        sa.ForeignKeyConstraint(["movement_id"], ["movement.id"], name="fk_swatch_movement_id"),
        sa.ForeignKeyConstraint(["place"], ["place.code"], name="fk_swatch_place"),
        sa.PrimaryKeyConstraint("id", name="pk_swatch"),
        sa.UniqueConstraint("tag", name="uq_swatch_tag"),
        sqlite_strict=True,
    )
    op.create_index("ix_swatch_holding_id", "swatch", ["holding_id"], unique=False)
    op.create_index("ix_swatch_item", "swatch", ["item", "lot"], unique=False)
    op.create_index("ix_swatch_place", "swatch", ["place"], unique=False)


def _swatch_sent() -> None:
    op.create_table(
        "swatch_sent",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("swatch_id", Key(), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("line", Whole(), nullable=False),
        sa.Column("name", Words(), nullable=False),
        sa.Column("until", Day(), nullable=False),
        sa.Column("hold_mm", Whole(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.Column("answer", Words(), nullable=True),
        sa.Column("said_by", Words(), nullable=False),
        sa.Column("note", Words(), nullable=False),
        sa.Column("answered_by", Words(), nullable=True),
        sa.Column("answered_at", Moment(), nullable=True),
        sa.CheckConstraint("answer IN ('yes', 'no', 'not needed')", name="ck_swatch_sent_answer_known"),
        sa.CheckConstraint("(answer IS NULL) = (answered_at IS NULL)", name="ck_swatch_sent_answer_has_a_day"),
        sa.CheckConstraint("hold_mm >= 0", name="ck_swatch_sent_hold_not_negative"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_swatch_sent_order_id"),
        sa.ForeignKeyConstraint(["swatch_id"], ["swatch.id"], name="fk_swatch_sent_swatch_id"),
        sa.PrimaryKeyConstraint("id", name="pk_swatch_sent"),
        sqlite_strict=True,
    )
    op.create_index("ix_swatch_sent_order_id", "swatch_sent", ["order_id"], unique=False)
    op.create_index("ix_swatch_sent_swatch_id", "swatch_sent", ["swatch_id"], unique=False)


def _substitution() -> None:
    op.create_table(
        "substitution",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("order_id", Key(), nullable=False),
        sa.Column("line", Whole(), nullable=False),
        sa.Column("item", Words(), nullable=False),
        sa.Column("instead", Words(), nullable=False),
        sa.Column("yes_from", Words(), nullable=False),
        sa.Column("note", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(["instead"], ["item.code"], name="fk_substitution_instead"),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name="fk_substitution_item"),
        sa.ForeignKeyConstraint(["order_id"], ["customer_order.id"], name="fk_substitution_order_id"),
        sa.PrimaryKeyConstraint("id", name="pk_substitution"),
        sa.UniqueConstraint("order_id", "line", "item", name="uq_substitution_order_id_line_item"),
        sqlite_strict=True,
    )


def _planned_items() -> None:
    """How the weekly run reckons an item, how it is made here, and what went into a run."""
    with rebuilt("item") as item:
        item.add_column(sa.Column("planned_by", Words(), server_default="", nullable=False))
        item.add_column(sa.Column("make_days", Whole(), server_default="0", nullable=False))
        item.add_column(sa.Column("batch", Whole(), server_default="1", nullable=False))
    with rebuilt("reorder_run") as run:
        run.add_column(sa.Column("inputs", Words(), nullable=True))
        run.add_column(sa.Column("turn", Whole(), nullable=True))


def _item_group() -> None:
    op.create_table(
        "item_group",
        sa.Column("code", Words(), nullable=False),
        sa.Column("planned_by", Words(), nullable=False),
        sa.Column("target_of", Words(), nullable=False),
        sa.Column("target_permille", Whole(), nullable=False),
        sa.CheckConstraint("planned_by IN ('limits', 'forecast')", name=op.f("ck_item_group_planned_by_known")),
        sa.CheckConstraint("target_of IN ('cycle', 'shelf')", name=op.f("ck_item_group_target_of_known")),
        sa.CheckConstraint(
            "0 < target_permille AND target_permille < 1000", name=op.f("ck_item_group_target_is_a_share")
        ),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_item_group")),
        sqlite_strict=True,
    )


def _last_order() -> None:
    op.create_table(
        "last_order",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("item", Words(), nullable=False),
        sa.Column("until", Day(), nullable=False),
        sa.Column("weeks", Whole(), nullable=False),
        sa.Column("note", Words(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.Column("ended_because", Words(), nullable=False),
        sa.Column("ended_by", Words(), nullable=True),
        sa.Column("ended_at", Moment(), nullable=True),
        sa.CheckConstraint("weeks > 0", name=op.f("ck_last_order_weeks_positive")),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name=op.f("fk_last_order_item")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_last_order")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_last_order_item"), "last_order", ["item"], unique=False)


def _buying_decision() -> None:
    op.create_table(
        "buying_decision",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("run_id", Key(), nullable=False),
        sa.Column("item", Words(), nullable=False),
        sa.Column("decision", Words(), nullable=False),
        sa.Column("quantity", Whole(), nullable=False),
        sa.Column("because", Words(), nullable=False),
        sa.Column("until", Day(), nullable=True),
        sa.Column("purchase_id", Key(), nullable=True),
        sa.Column("job_id", Key(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.CheckConstraint(
            "decision IN ('accepted', 'changed', 'put off')", name=op.f("ck_buying_decision_decision_known")
        ),
        sa.CheckConstraint("quantity >= 0", name=op.f("ck_buying_decision_quantity_not_negative")),
        sa.ForeignKeyConstraint(["item"], ["item.code"], name=op.f("fk_buying_decision_item")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_buying_decision_job_id")),
        sa.ForeignKeyConstraint(["purchase_id"], ["purchase.id"], name=op.f("fk_buying_decision_purchase_id")),
        sa.ForeignKeyConstraint(["run_id"], ["reorder_run.id"], name=op.f("fk_buying_decision_run_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_buying_decision")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_buying_decision_item"), "buying_decision", ["item"], unique=False)
    op.create_index(op.f("ix_buying_decision_purchase_id"), "buying_decision", ["purchase_id"], unique=False)
    op.create_index(op.f("ix_buying_decision_run_id"), "buying_decision", ["run_id"], unique=False)


def _master_reading() -> None:
    op.create_table(
        "master_reading",
        sa.Column("id", Key(), sa.Identity(always=False), nullable=False),
        sa.Column("colour", Words(), nullable=False),
        sa.Column("cloth", Words(), nullable=True),
        sa.Column("lightness", Real(), nullable=True),
        sa.Column("a", Real(), nullable=True),
        sa.Column("b", Real(), nullable=True),
        sa.Column("illuminant", Words(), nullable=True),
        sa.Column("observer", Words(), nullable=True),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.Column("instrument", Words(), nullable=False),
        sa.ForeignKeyConstraint(["cloth"], ["cloth.code"], name="fk_master_reading_cloth"),
        sa.ForeignKeyConstraint(["colour"], ["colour.code"], name="fk_master_reading_colour"),
        sa.PrimaryKeyConstraint("id", name="pk_master_reading"),
        sqlite_strict=True,
    )
    op.create_index("ix_master_reading_colour", "master_reading", ["colour"], unique=False)


def _masters_there_are() -> None:
    """The masters that stand already are written down too; nobody kept who read them, nor when."""
    op.execute(
        'INSERT INTO master_reading (colour, cloth, lightness, a, b, illuminant, observer, "by", at, instrument) '
        "SELECT c.code, NULL, c.lightness, c.a, c.b, c.illuminant, c.observer, '', s.made_at, '' "
        "FROM colour c CROSS JOIN about s WHERE c.lightness IS NOT NULL ORDER BY c.code"
    )


def _sewn() -> None:
    op.create_table(
        "sewn",
        sa.Column("piece_id", Key(), nullable=False),
        sa.Column("by", Words(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_sewn_piece_id"),
        sa.PrimaryKeyConstraint("piece_id", name="pk_sewn"),
        sqlite_strict=True,
    )


def _approved_lots() -> None:
    """What is approved is a mix of named lots for one matching group; an order may have several."""
    with rebuilt("mix_approval") as approval:
        approval.add_column(sa.Column("group", Words(), server_default="", nullable=False))
        approval.add_column(sa.Column("car_id", Key(), nullable=True))
        approval.add_column(sa.Column("lots", Json(), server_default="[]", nullable=False))
        approval.create_foreign_key("fk_mix_approval_car_id", "car", ["car_id"], ["id"])
        approval.drop_constraint("uq_mix_approval_order_id_item", type_="unique")
    op.create_index("ix_mix_approval_order_id", "mix_approval", ["order_id"], unique=False)


def _movements_found() -> None:
    """What a job, an order or a stretch of time had to do with is looked for among millions of movements."""
    op.create_index("ix_movement_job", "movement", ["job_id"], unique=False)
    op.create_index("ix_movement_order", "movement", ["order_id"], unique=False)
    op.create_index("ix_movement_at", "movement", ["at"], unique=False)


def _costs_of_buying() -> None:
    """What an order line and keeping stock cost; a shop that does not say is bought for as before."""
    with rebuilt("about") as about:
        about.add_column(sa.Column("order_cost_minor", Whole(), server_default="0", nullable=False))
        about.add_column(sa.Column("keeping_percent", Whole(), server_default="0", nullable=False))


def _whole_rolls() -> None:
    with rebuilt("terms") as terms:
        terms.add_column(sa.Column("roll_mm", Whole(), nullable=True))
