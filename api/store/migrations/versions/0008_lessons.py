"""Lessons made of clips, and switches that an admin sets."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Make their tables."""
    op.create_table(
        "switches",
        sa.Column("name", sa.String(length=32), nullable=False),
        sa.Column("is_on", sa.Boolean(), nullable=False),
        sa.Column("set_by", sa.Integer(), nullable=False),
        sa.Column("set_at", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["set_by"], ["accounts.id"], name="fk_switches_set_by"),
        sa.PrimaryKeyConstraint("name", name="pk_switches"),
    )
    op.create_table(
        "lessons",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("made_by", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.String(length=32), nullable=False),
        sa.Column("closed_at", sa.String(length=32), nullable=True),
        sa.ForeignKeyConstraint(["made_by"], ["accounts.id"], name="fk_lessons_made_by"),
        sa.PrimaryKeyConstraint("id", name="pk_lessons"),
    )
    op.create_table(
        "lesson_clips",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lesson_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("recording", sa.String(length=16), nullable=False),
        sa.Column("start_s", sa.Float(), nullable=False),
        sa.Column("end_s", sa.Float(), nullable=False),
        sa.Column("good", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("added_by", sa.Integer(), nullable=False),
        sa.Column("added_at", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["added_by"], ["accounts.id"], name="fk_lesson_clips_added_by"),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name="fk_lesson_clips_job_id"),
        sa.ForeignKeyConstraint(["lesson_id"], ["lessons.id"], name="fk_lesson_clips_lesson_id"),
        sa.PrimaryKeyConstraint("id", name="pk_lesson_clips"),
    )
    op.create_index("ix_lesson_clips_lesson_id", "lesson_clips", ["lesson_id"], unique=False)
    op.create_index("ix_lesson_clips_job_id", "lesson_clips", ["job_id"], unique=False)


def downgrade() -> None:
    """Take them away; the clips' sound stays where it is."""
    op.drop_table("lesson_clips")
    op.drop_table("lessons")
    op.drop_table("switches")
