"""Hour meters of pumps, and what the stores keep under which number."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Make the tables, and room for a job's hours."""
    op.add_column("jobs", sa.Column("running_hours", sa.Float(), nullable=True))
    op.create_table(
        "stock_items",
        sa.Column("number", sa.String(length=64), nullable=False),
        sa.Column("words", sa.Text(), nullable=True),
        sa.Column("on_hand", sa.Float(), nullable=True),
        sa.Column("counted_at", sa.String(length=32), nullable=True),
        sa.Column("counted_by", sa.Integer(), nullable=True),
        sa.PrimaryKeyConstraint("number", name="pk_stock_items"),
        sa.ForeignKeyConstraint(["counted_by"], ["accounts.id"], name="fk_stock_items_counted_by_accounts"),
    )
    op.create_table(
        "stock_numbers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sheet_id", sa.String(length=128), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("name", sa.String(length=128), nullable=False),
        sa.Column("number", sa.String(length=64), nullable=False),
        sa.Column("entered_at", sa.String(length=32), nullable=False),
        sa.Column("entered_by", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_stock_numbers"),
        sa.UniqueConstraint("sheet_id", "kind", "name", name="uq_stock_numbers_sheet_id_kind_name"),
        # The naming convention makes ck_stock_numbers_kind of it.
        sa.CheckConstraint("kind in ('part', 'consumable')", name="kind"),
        sa.ForeignKeyConstraint(
            ["number"], ["stock_items.number"], name="fk_stock_numbers_number_stock_items"
        ),
        sa.ForeignKeyConstraint(["entered_by"], ["accounts.id"], name="fk_stock_numbers_entered_by_accounts"),
    )
    op.create_index("ix_stock_numbers_number", "stock_numbers", ["number"], unique=False)


def downgrade() -> None:
    """Take them away; the hours that were entered stand in the jobs' events."""
    op.drop_index("ix_stock_numbers_number", "stock_numbers")
    op.drop_table("stock_numbers")
    op.drop_table("stock_items")
    with op.batch_alter_table("jobs") as batch:
        batch.drop_column("running_hours")
