"""Work that waits for workers; on PostgreSQL also the tables of the queue that tells them of it."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Make the table, and the queue's."""
    op.create_table(
        "tasks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("payload", sa.JSON(), nullable=False),
        sa.Column("key", sa.String(length=200), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("lease_until", sa.String(length=32), nullable=True),
        sa.Column("worker", sa.String(length=128), nullable=True),
        sa.Column("attempt", sa.Integer(), nullable=False),
        sa.Column("fence", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.String(length=32), nullable=False),
        sa.Column("ended_at", sa.String(length=32), nullable=True),
        sa.Column("result", sa.JSON(), nullable=True),
        sa.Column("failure", sa.Text(), nullable=True),
        sa.CheckConstraint("state in ('waiting', 'doing', 'done', 'failed')", name="ck_tasks_state"),
        sa.PrimaryKeyConstraint("id", name="pk_tasks"),
        sa.UniqueConstraint("key", name="uq_tasks_key"),
    )
    op.create_index("ix_tasks_state", "tasks", ["state"], unique=False)
    bind = op.get_bind()
    if bind.dialect.name == "postgresql":
        from procrastinate.schema import SchemaManager

        # Several statements with signs that mean parameters elsewhere: straight to the driver, with none.
        driver: Any = bind.connection.driver_connection
        driver.execute(SchemaManager.get_schema())


def downgrade() -> None:
    """Take it away; what was ordered and is not done must be ordered again."""
    bind = op.get_bind()
    if bind.dialect.name == "postgresql":
        _drop_queue(bind)
    op.drop_index("ix_tasks_state", "tasks")
    op.drop_table("tasks")


#: What the queue's schema made, of each kind: how it is dropped, and the question that finds it.
_QUEUE = (
    ("TABLE", "select relname from pg_class where relkind = 'r' and relname like 'procrastinate%'"),
    ("FUNCTION", "select oid::regprocedure::text from pg_proc where proname like 'procrastinate%'"),
    ("TYPE", "select typname from pg_type where typtype in ('e', 'c') and typname like 'procrastinate%'"),
)


def _drop_queue(bind: sa.Connection) -> None:
    for kind, question in _QUEUE:
        for name in list(bind.execute(sa.text(question)).scalars()):
            op.execute(f"DROP {kind} IF EXISTS {name} CASCADE")
