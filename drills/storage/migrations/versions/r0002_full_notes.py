"""Full notes of a pour, their edits, half-entered flights, and names that a taster made."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def _wine_key() -> sa.types.TypeEngine[str]:
    return sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Add columns to pours, and the tables that hang on them."""
    # Added in place: making the table anew would drop its checks, which cannot be read back.
    for name in ("called_vintage", "was_vintage", "first_vintage"):
        op.add_column("pour", sa.Column(name, sa.Integer(), nullable=True))
    for name in ("called_sureness", "first_sureness"):
        op.add_column("pour", sa.Column(name, sa.SmallInteger(), nullable=True))
    for name in ("label_alcohol", "seconds"):
        op.add_column("pour", sa.Column(name, sa.Float(), nullable=True))
    for name in ("price", "world", "climate", "age", "appearance", "nose", "palate"):
        op.add_column(
            "pour", sa.Column(name, sa.Text(), server_default=sa.text("''"), nullable=False)
        )

    op.create_table(
        "observation",
        sa.Column("pour_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.SmallInteger(), nullable=False),
        sa.Column("attribute", sa.Text(), nullable=False),
        sa.Column("reading", sa.Text(), nullable=False),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("pour_id", "position", name="pk_observation"),
        sa.ForeignKeyConstraint(
            ["pour_id"], ["pour.id"], name="fk_observation_pour_id_pour", ondelete="CASCADE"
        ),
    )

    op.create_table(
        "candidate",
        sa.Column("pour_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.SmallInteger(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("wine", _wine_key(), nullable=True),
        sa.Column("struck", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("pour_id", "position", name="pk_candidate"),
        sa.ForeignKeyConstraint(
            ["pour_id"], ["pour.id"], name="fk_candidate_pour_id_pour", ondelete="CASCADE"
        ),
    )

    op.create_table(
        "pour_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pour_id", sa.Integer(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("field", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=True),
        sa.Column("after", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_pour_change"),
        sa.ForeignKeyConstraint(
            ["pour_id"], ["pour.id"], name="fk_pour_change_pour_id_pour", ondelete="CASCADE"
        ),
    )
    op.create_index("ix_pour_change_pour_id", "pour_change", ["pour_id"])

    op.create_table(
        "draft",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("taster_id", sa.Integer(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("saved_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_draft"),
        sa.ForeignKeyConstraint(
            ["taster_id"], ["taster.id"], name="fk_draft_taster_id_taster", ondelete="CASCADE"
        ),
    )
    op.create_index("ix_draft_taster_id", "draft", ["taster_id"])

    op.create_table(
        "own_name",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("taster_id", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("wine", _wine_key(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_own_name"),
        sa.UniqueConstraint("taster_id", "text", name="uq_own_name_taster_id_text"),
        sa.ForeignKeyConstraint(
            ["taster_id"], ["taster.id"], name="fk_own_name_taster_id_taster", ondelete="CASCADE"
        ),
    )
