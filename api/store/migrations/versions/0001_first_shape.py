"""First shape: accounts, jobs, what happened to them, signed revisions."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make all tables."""
    op.create_table(
        "accounts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=64), nullable=False),
        sa.Column("shown_name", sa.Text(), nullable=False),
        sa.Column("roles", sa.JSON(), nullable=False),
        sa.Column("secret_hash", sa.Text(), nullable=True),
        sa.Column("badge_sha256", sa.String(length=64), nullable=True),
        sa.Column("made_at", sa.String(length=32), nullable=False),
        sa.Column("closed_at", sa.String(length=32), nullable=True),
        sa.Column("consent_at", sa.String(length=32), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_accounts"),
        sa.UniqueConstraint("badge_sha256", name="uq_accounts_badge_sha256"),
        sa.UniqueConstraint("name", name="uq_accounts_name"),
    )
    op.create_table(
        "sheets",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("sheet_id", sa.String(length=128), nullable=False),
        sa.Column("revision", sa.Text(), nullable=True),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("kept_at", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_sheets"),
    )
    op.create_index("ix_sheets_sheet_id", "sheets", ["sheet_id"], unique=False)
    op.create_table(
        "api_tokens",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("purpose", sa.Text(), nullable=False),
        sa.Column("token_sha256", sa.String(length=64), nullable=False),
        sa.Column("made_at", sa.String(length=32), nullable=False),
        sa.Column("closed_at", sa.String(length=32), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name="fk_api_tokens_account_id"),
        sa.PrimaryKeyConstraint("id", name="pk_api_tokens"),
        sa.UniqueConstraint("token_sha256", name="uq_api_tokens_token_sha256"),
    )
    op.create_index("ix_api_tokens_account_id", "api_tokens", ["account_id"], unique=False)
    op.create_table(
        "jobs",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("work_order", sa.String(length=128), nullable=False),
        sa.Column("pump_tag", sa.String(length=128), nullable=True),
        sa.Column("pump_serial", sa.String(length=128), nullable=True),
        sa.Column("sheet_sha256", sa.String(length=64), nullable=False),
        sa.Column("bench", sa.String(length=64), nullable=True),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("opened_at", sa.String(length=32), nullable=False),
        sa.Column("opened_by", sa.Integer(), nullable=False),
        sa.Column("turn", sa.Integer(), nullable=False),
        sa.CheckConstraint("state in ('open', 'handed_over', 'returned', 'signed')", name="ck_jobs_state"),
        sa.ForeignKeyConstraint(["opened_by"], ["accounts.id"], name="fk_jobs_opened_by"),
        sa.ForeignKeyConstraint(["sheet_sha256"], ["sheets.sha256"], name="fk_jobs_sheet_sha256"),
        sa.PrimaryKeyConstraint("id", name="pk_jobs"),
    )
    op.create_index("ix_jobs_pump_serial", "jobs", ["pump_serial"], unique=False)
    op.create_index("ix_jobs_pump_tag", "jobs", ["pump_tag"], unique=False)
    op.create_index("ix_jobs_state", "jobs", ["state"], unique=False)
    op.create_index("ix_jobs_work_order", "jobs", ["work_order"], unique=False)
    op.create_table(
        "web_sessions",
        sa.Column("token_sha256", sa.String(length=64), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("form_token", sa.String(length=64), nullable=False),
        sa.Column("made_at", sa.String(length=32), nullable=False),
        sa.Column("ends_at", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name="fk_web_sessions_account_id"),
        sa.PrimaryKeyConstraint("token_sha256", name="pk_web_sessions"),
    )
    op.create_index("ix_web_sessions_account_id", "web_sessions", ["account_id"], unique=False)
    op.create_table(
        "drafts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("record", sa.Text(), nullable=False),
        sa.Column("rules_sha256", sa.String(length=64), nullable=False),
        sa.Column("made_at", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name="fk_drafts_job_id"),
        sa.PrimaryKeyConstraint("id", name="pk_drafts"),
        sa.UniqueConstraint("job_id", "number", name="uq_drafts_job_id_number"),
    )
    op.create_index("ix_drafts_job_id", "drafts", ["job_id"], unique=False)
    op.create_table(
        "job_events",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(length=40), nullable=False),
        sa.Column("by", sa.Text(), nullable=True),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("payload", sa.Text(), nullable=False),
        sa.Column("previous", sa.String(length=64), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name="fk_job_events_job_id"),
        sa.PrimaryKeyConstraint("id", name="pk_job_events"),
        sa.UniqueConstraint("job_id", "number", name="uq_job_events_job_id_number"),
    )
    op.create_index("ix_job_events_job_id", "job_events", ["job_id"], unique=False)
    op.create_table(
        "recordings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("source", sa.String(length=32), nullable=False),
        sa.Column("settings", sa.JSON(), nullable=False),
        sa.Column("folder", sa.Text(), nullable=False),
        sa.Column("begun_at", sa.String(length=32), nullable=False),
        sa.Column("ended_at", sa.String(length=32), nullable=True),
        sa.Column("sound_sha256", sa.String(length=64), nullable=True),
        sa.Column("sound_gone_at", sa.String(length=32), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name="fk_recordings_account_id"),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name="fk_recordings_job_id"),
        sa.PrimaryKeyConstraint("id", name="pk_recordings"),
        sa.UniqueConstraint("job_id", "number", name="uq_recordings_job_id_number"),
    )
    op.create_index("ix_recordings_account_id", "recordings", ["account_id"], unique=False)
    op.create_index("ix_recordings_job_id", "recordings", ["job_id"], unique=False)
    op.create_table(
        "revisions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("signed", sa.LargeBinary(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("signed_by", sa.Integer(), nullable=False),
        sa.Column("signed_at", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name="fk_revisions_job_id"),
        sa.ForeignKeyConstraint(["signed_by"], ["accounts.id"], name="fk_revisions_signed_by"),
        sa.PrimaryKeyConstraint("id", name="pk_revisions"),
        sa.UniqueConstraint("job_id", "number", name="uq_revisions_job_id_number"),
    )
    op.create_index("ix_revisions_job_id", "revisions", ["job_id"], unique=False)
    op.create_table(
        "reviews",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("draft_id", sa.Integer(), nullable=False),
        sa.Column("entry", sa.String(length=128), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("was", sa.JSON(), nullable=True),
        sa.Column("now", sa.JSON(), nullable=True),
        sa.Column("remark", sa.Text(), nullable=True),
        sa.Column("by", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["by"], ["accounts.id"], name="fk_reviews_by"),
        sa.ForeignKeyConstraint(["draft_id"], ["drafts.id"], name="fk_reviews_draft_id"),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name="fk_reviews_job_id"),
        sa.PrimaryKeyConstraint("id", name="pk_reviews"),
    )
    op.create_index("ix_reviews_job_id", "reviews", ["job_id"], unique=False)
