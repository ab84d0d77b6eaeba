"""The first schema."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def _stable_id() -> sa.types.TypeEngine[int]:
    return sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def _wine_key() -> sa.types.TypeEngine[str]:
    return sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Make every table."""
    op.create_table(
        "contrast",
        sa.Column("id", _stable_id(), autoincrement=False, nullable=False),
        sa.Column("wine_a", _wine_key(), nullable=False),
        sa.Column("wine_b", _wine_key(), nullable=False),
        sa.Column("cues", sa.Text(), nullable=False),
        sa.Column("sides", sa.SmallInteger(), nullable=False),
        sa.Column("bearing", sa.Text(), nullable=False),
        sa.Column("rank", sa.Integer(), nullable=False),
        sa.Column("strength", sa.Float(), nullable=False),
        sa.Column("retired_at", sa.DateTime(), nullable=True),
        sa.Column("turned_at", sa.DateTime(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_contrast"),
        sa.CheckConstraint("id > 0", name=op.f("ck_contrast_id")),
        sa.CheckConstraint("wine_a < wine_b", name=op.f("ck_contrast_pair")),
        sa.CheckConstraint("sides BETWEEN 1 AND 3", name=op.f("ck_contrast_sides")),
    )
    op.create_index("ix_contrast_wine_a_wine_b", "contrast", ["wine_a", "wine_b"])
    op.create_index("ix_contrast_rank", "contrast", ["rank"])

    op.create_table(
        "meta",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_meta"),
    )

    op.create_table(
        "taster",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_taster"),
        sa.UniqueConstraint("name", name="uq_taster_name"),
    )

    op.create_table(
        "drill",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("taster_id", sa.Integer(), nullable=False),
        sa.Column("began_at", sa.DateTime(), nullable=False),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.Column("planned_seconds", sa.Integer(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_drill"),
        sa.CheckConstraint("planned_seconds >= 0", name=op.f("ck_drill_planned_seconds")),
        sa.ForeignKeyConstraint(
            ["taster_id"], ["taster.id"], name="fk_drill_taster_id_taster", ondelete="CASCADE"
        ),
    )
    op.create_index("ix_drill_taster_id", "drill", ["taster_id"])

    op.create_table(
        "intake",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("taster_id", sa.Integer(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("pours", sa.Integer(), nullable=False),
        sa.Column("undone_at", sa.DateTime(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_intake"),
        sa.ForeignKeyConstraint(
            ["taster_id"], ["taster.id"], name="fk_intake_taster_id_taster", ondelete="CASCADE"
        ),
    )
    op.create_index("ix_intake_taster_id", "intake", ["taster_id"])

    op.create_table(
        "memory",
        sa.Column("taster_id", sa.Integer(), nullable=False),
        sa.Column("contrast_id", _stable_id(), nullable=False),
        sa.Column("stability", sa.Float(), nullable=False),
        sa.Column("difficulty", sa.Float(), nullable=False),
        sa.Column("last_day", sa.Integer(), nullable=False),
        sa.Column("due_day", sa.Integer(), nullable=False),
        sa.Column("answers", sa.Integer(), nullable=False),
        sa.Column("slips", sa.Integer(), nullable=False),
        sa.Column("last_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("taster_id", "contrast_id", name="pk_memory"),
        sa.CheckConstraint("stability > 0", name=op.f("ck_memory_stability")),
        sa.CheckConstraint("due_day >= last_day", name=op.f("ck_memory_due_day")),
        sa.CheckConstraint("slips BETWEEN 0 AND answers", name=op.f("ck_memory_slips")),
        sa.ForeignKeyConstraint(
            ["taster_id"], ["taster.id"], name="fk_memory_taster_id_taster", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["contrast_id"],
            ["contrast.id"],
            name="fk_memory_contrast_id_contrast",
            ondelete="RESTRICT",
        ),
    )
    op.create_index("ix_memory_taster_id_due_day", "memory", ["taster_id", "due_day"])
    op.create_index("ix_memory_contrast_id", "memory", ["contrast_id"])

    op.create_table(
        "answer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("taster_id", sa.Integer(), nullable=False),
        sa.Column("contrast_id", _stable_id(), nullable=False),
        sa.Column("drill_id", sa.Integer(), nullable=False),
        sa.Column("answered_at", sa.DateTime(), nullable=False),
        sa.Column("day", sa.Integer(), nullable=False),
        sa.Column("form", sa.Text(), nullable=False),
        sa.Column("swapped", sa.Boolean(), nullable=False),
        sa.Column("truth", sa.Text(), nullable=False),
        sa.Column("given", sa.Text(), nullable=False),
        sa.Column("correct", sa.Boolean(), nullable=False),
        sa.Column("sureness", sa.SmallInteger(), nullable=False),
        sa.Column("seconds", sa.Float(), nullable=False),
        sa.Column("grade", sa.SmallInteger(), nullable=False),
        sa.Column("counts", sa.Boolean(), nullable=False),
        sa.Column("undone_at", sa.DateTime(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_answer"),
        sa.CheckConstraint("truth IN ('a', 'b')", name=op.f("ck_answer_truth")),
        sa.CheckConstraint("sureness BETWEEN 1 AND 3", name=op.f("ck_answer_sureness")),
        sa.CheckConstraint("grade BETWEEN 1 AND 4", name=op.f("ck_answer_grade")),
        sa.CheckConstraint("seconds >= 0", name=op.f("ck_answer_seconds")),
        sa.ForeignKeyConstraint(
            ["taster_id"], ["taster.id"], name="fk_answer_taster_id_taster", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["contrast_id"],
            ["contrast.id"],
            name="fk_answer_contrast_id_contrast",
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(["drill_id"], ["drill.id"], name="fk_answer_drill_id_drill"),
    )
    op.create_index("ix_answer_taster_id_contrast_id", "answer", ["taster_id", "contrast_id"])
    op.create_index("ix_answer_taster_id_day", "answer", ["taster_id", "day"])
    op.create_index("ix_answer_taster_id_form", "answer", ["taster_id", "form"])
    op.create_index("ix_answer_drill_id", "answer", ["drill_id"])

    op.create_table(
        "flight",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("taster_id", sa.Integer(), nullable=False),
        sa.Column("tasted_on", sa.Date(), nullable=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("intake_id", sa.Integer(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_flight"),
        sa.ForeignKeyConstraint(
            ["taster_id"], ["taster.id"], name="fk_flight_taster_id_taster", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["intake_id"], ["intake.id"], name="fk_flight_intake_id_intake", ondelete="SET NULL"
        ),
    )
    op.create_index("ix_flight_taster_id_tasted_on", "flight", ["taster_id", "tasted_on"])
    op.create_index("ix_flight_intake_id", "flight", ["intake_id"])

    op.create_table(
        "pour",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("flight_id", sa.Integer(), nullable=False),
        sa.Column("taster_id", sa.Integer(), nullable=False),
        sa.Column("intake_id", sa.Integer(), nullable=True),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("called_text", sa.Text(), nullable=False),
        sa.Column("called_wine", _wine_key(), nullable=True),
        sa.Column("was_text", sa.Text(), nullable=False),
        sa.Column("was_wine", _wine_key(), nullable=True),
        sa.Column("first_text", sa.Text(), nullable=False),
        sa.Column("first_wine", _wine_key(), nullable=True),
        sa.Column("runner_text", sa.Text(), nullable=False),
        sa.Column("runner_wine", _wine_key(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("fingerprint", sa.Text(), nullable=False),
        sa.Column("logged_at", sa.DateTime(), nullable=False),
        sa.Column("pair_a", _wine_key(), nullable=True),
        sa.Column("pair_b", _wine_key(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_pour"),
        sa.UniqueConstraint("taster_id", "fingerprint", name="uq_pour_taster_id_fingerprint"),
        sa.CheckConstraint(
            "(pair_a IS NULL AND pair_b IS NULL)"
            " OR (pair_a IS NOT NULL AND pair_b IS NOT NULL AND pair_a < pair_b)",
            name=op.f("ck_pour_pair"),
        ),
        sa.ForeignKeyConstraint(
            ["flight_id"], ["flight.id"], name="fk_pour_flight_id_flight", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["taster_id"], ["taster.id"], name="fk_pour_taster_id_taster", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["intake_id"], ["intake.id"], name="fk_pour_intake_id_intake", ondelete="SET NULL"
        ),
    )
    op.create_index(
        "ix_pour_taster_id_pair_a_pair_b_logged_at",
        "pour",
        ["taster_id", "pair_a", "pair_b", "logged_at"],
    )
    op.create_index("ix_pour_taster_id_was_wine", "pour", ["taster_id", "was_wine"])
    op.create_index("ix_pour_flight_id", "pour", ["flight_id"])
    op.create_index("ix_pour_intake_id", "pour", ["intake_id"])
