"""The archive: what records say, laid out to be searched and counted. All of it can be made anew."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

_STANDS = sa.text("stands")
#: The index for full text holds no copy of the words; triggers keep it beside them.
_SQLITE_INDEX = (
    """create virtual table utterance_words using fts5(
        words, content='archived_utterances', content_rowid='id', tokenize='porter unicode61')""",
    """create trigger utterance_words_added after insert on archived_utterances begin
        insert into utterance_words (rowid, words) values (new.id, new.words);
    end""",
    """create trigger utterance_words_gone after delete on archived_utterances begin
        insert into utterance_words (utterance_words, rowid, words) values ('delete', old.id, old.words);
    end""",
    """create trigger utterance_words_changed after update of words on archived_utterances begin
        insert into utterance_words (utterance_words, rowid, words) values ('delete', old.id, old.words);
        insert into utterance_words (rowid, words) values (new.id, new.words);
    end""",
)
#: English stems, and no stop words: "worn out" is not "worn", "off" and "not" tell.
_POSTGRESQL_INDEX = (
    "create text search dictionary trade_stem (template = snowball, language = english)",
    "create text search configuration trade_words (copy = simple)",
    """alter text search configuration trade_words alter mapping for
        asciiword, word, numword, asciihword, hword, numhword, hword_asciipart, hword_part, hword_numpart
        with trade_stem""",
    """alter table archived_utterances add column words_vector tsvector
        generated always as (to_tsvector('trade_words'::regconfig, words)) stored""",
    "create index ix_archived_utterances_words on archived_utterances using gin (words_vector)",
    # A part is renewed far oftener than parts and renewals by themselves make it seem: without these it
    # would take all there are to be sorted.
    "create statistics archived_entries_together (mcv) on part, item, what, kind from archived_entries",
)


def upgrade() -> None:
    """Make its tables and the index of words."""
    _make_records()
    _make_entries()
    _make_utterances()
    _make_counts()
    _make_stages()
    postgresql = op.get_bind().dialect.name == "postgresql"
    for statement in _POSTGRESQL_INDEX if postgresql else _SQLITE_INDEX:
        op.execute(statement)


def downgrade() -> None:
    """Take it away; it can be made anew from jobs and revisions."""
    postgresql = op.get_bind().dialect.name == "postgresql"
    if not postgresql:
        op.execute("drop table utterance_words")
    for table in ("stages", "counts", "utterances", "entries", "records"):
        op.drop_table(f"archived_{table}")
    if postgresql:
        op.execute("drop text search configuration trade_words")
        op.execute("drop text search dictionary trade_stem")


def _make_records() -> None:
    op.create_table(
        "archived_records",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("source", sa.String(length=80), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("stands", sa.Boolean(), nullable=False),
        sa.Column("signed", sa.Boolean(), nullable=False),
        sa.Column("job_id", sa.String(length=32), nullable=True),
        sa.Column("record_sha256", sa.String(length=64), nullable=False),
        sa.Column("record", sa.Text(), nullable=True),
        sa.Column("engine", sa.String(length=128), nullable=False),
        sa.Column("rules_sha256", sa.String(length=64), nullable=False),
        sa.Column("made_by_version", sa.String(length=32), nullable=False),
        sa.Column("sheet_id", sa.String(length=128), nullable=False),
        sa.Column("sheet_revision", sa.String(length=64), nullable=True),
        sa.Column("pump_type", sa.String(length=128), nullable=False),
        sa.Column("pump_tag", sa.String(length=128), nullable=True),
        sa.Column("pump_serial", sa.String(length=128), nullable=True),
        sa.Column("work_order", sa.String(length=128), nullable=True),
        sa.Column("technician_id", sa.Integer(), nullable=True),
        sa.Column("technician", sa.Text(), nullable=True),
        sa.Column("crew", sa.String(length=64), nullable=True),
        sa.Column("bench", sa.String(length=64), nullable=True),
        sa.Column("started_at", sa.String(length=32), nullable=True),
        sa.Column("ended_at", sa.String(length=32), nullable=True),
        sa.Column("month", sa.String(length=7), nullable=False),
        sa.Column("running_hours", sa.Float(), nullable=True),
        sa.Column("clock_doubt", sa.Text(), nullable=True),
        sa.Column("counted", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name="fk_archived_records_job_id"),
        sa.ForeignKeyConstraint(["technician_id"], ["accounts.id"], name="fk_archived_records_technician_id"),
        sa.PrimaryKeyConstraint("id", name="pk_archived_records"),
        sa.UniqueConstraint("source", "version", name="uq_archived_records_source_version"),
    )
    op.create_index("ix_archived_records_job_id", "archived_records", ["job_id"], unique=False)
    op.create_index("ix_archived_records_month", "archived_records", ["month"], unique=False)
    op.create_index("ix_archived_records_pump", "archived_records", ["pump_tag", "started_at"], unique=False)
    op.create_index("ix_archived_records_pump_serial", "archived_records", ["pump_serial"], unique=False)
    op.create_index("ix_archived_records_sheet_id", "archived_records", ["sheet_id"], unique=False)
    op.create_index(
        "ix_archived_records_stands",
        "archived_records",
        ["source"],
        unique=True,
        sqlite_where=_STANDS,
        postgresql_where=_STANDS,
    )
    op.create_index("ix_archived_records_technician_id", "archived_records", ["technician_id"], unique=False)
    op.create_index("ix_archived_records_type", "archived_records", ["pump_type", "started_at"], unique=False)
    op.create_index("ix_archived_records_work_order", "archived_records", ["work_order"], unique=False)


def _make_entries() -> None:
    op.create_table(
        "archived_entries",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("entry_id", sa.String(length=128), nullable=False),
        sa.Column("item", sa.String(length=128), nullable=True),
        sa.Column("part", sa.String(length=128), nullable=True),
        sa.Column("position", sa.String(length=64), nullable=True),
        sa.Column("stage", sa.String(length=16), nullable=True),
        sa.Column("value", sa.Float(), nullable=True),
        sa.Column("unit", sa.String(length=16), nullable=True),
        sa.Column("verdict", sa.String(length=16), nullable=True),
        sa.Column("what", sa.String(length=128), nullable=True),
        sa.Column("quantity", sa.Float(), nullable=True),
        sa.Column("serial", sa.String(length=128), nullable=True),
        sa.Column("needs_review", sa.Boolean(), nullable=False),
        sa.Column("fate", sa.String(length=24), nullable=True),
        sa.Column("disposition", sa.String(length=16), nullable=True),
        sa.Column("text", sa.Text(), nullable=True),
        sa.Column("utterance", sa.Integer(), nullable=True),
        sa.Column("recording", sa.String(length=255), nullable=True),
        sa.Column("start_s", sa.Float(), nullable=True),
        sa.Column("end_s", sa.Float(), nullable=True),
        sa.Column("picture", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["record_id"], ["archived_records.id"], name="fk_archived_entries_record_id"),
        sa.PrimaryKeyConstraint("id", name="pk_archived_entries"),
    )
    op.create_index("ix_archived_entries_item", "archived_entries", ["item", "id"], unique=False)
    op.create_index("ix_archived_entries_part", "archived_entries", ["part", "id"], unique=False)
    op.create_index("ix_archived_entries_said", "archived_entries", ["record_id", "utterance"], unique=False)
    op.create_index("ix_archived_entries_what", "archived_entries", ["what", "kind", "id"], unique=False)


def _make_utterances() -> None:
    op.create_table(
        "archived_utterances",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("recording", sa.String(length=255), nullable=False),
        sa.Column("start_s", sa.Float(), nullable=False),
        sa.Column("end_s", sa.Float(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["record_id"], ["archived_records.id"], name="fk_archived_utterances_record_id"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_archived_utterances"),
    )
    op.create_index(
        "ix_archived_utterances_said", "archived_utterances", ["record_id", "number"], unique=False
    )


def _make_counts() -> None:
    op.create_table(
        "archived_counts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cell", sa.String(length=600), nullable=False),
        sa.Column("month", sa.String(length=7), nullable=False),
        sa.Column("sheet_id", sa.String(length=128), nullable=False),
        sa.Column("pump_type", sa.String(length=128), nullable=False),
        sa.Column("crew", sa.String(length=64), nullable=True),
        sa.Column("technician_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("key", sa.String(length=200), nullable=False),
        sa.Column("wanted", sa.Integer(), nullable=False),
        sa.Column("lacking", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["technician_id"], ["accounts.id"], name="fk_archived_counts_technician_id"),
        sa.PrimaryKeyConstraint("id", name="pk_archived_counts"),
        sa.UniqueConstraint("cell", name="uq_archived_counts_cell"),
    )
    op.create_index("ix_archived_counts_month", "archived_counts", ["month"], unique=False)
    op.create_index("ix_archived_counts_kind", "archived_counts", ["kind", "key"], unique=False)
    op.create_index(
        "ix_archived_counts_sheet", "archived_counts", ["sheet_id", "kind", "month"], unique=False
    )
    op.create_index("ix_archived_counts_technician_id", "archived_counts", ["technician_id"], unique=False)


def _make_stages() -> None:
    op.create_table(
        "archived_stages",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(length=16), nullable=False),
        sa.Column("seconds", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(["record_id"], ["archived_records.id"], name="fk_archived_stages_record_id"),
        sa.PrimaryKeyConstraint("id", name="pk_archived_stages"),
    )
    op.create_index("ix_archived_stages_record_id", "archived_stages", ["record_id"], unique=False)
