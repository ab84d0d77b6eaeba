"""A taster's cellar, and flights that are planned to be poured blind."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def _wine_key() -> sa.types.TypeEngine[str]:
    return sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Add the tables of the cellar and of planned flights."""
    op.create_table(
        "stock",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("taster_id", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("wine", _wine_key(), nullable=True),
        sa.Column("vintage", sa.Integer(), nullable=True),
        sa.Column("price", sa.Float(), nullable=True),
        sa.Column("bottles", sa.Integer(), nullable=False),
        sa.Column("note", sa.Text(), server_default=sa.text("''"), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_stock"),
        sa.CheckConstraint("bottles >= 0", name="bottles"),
        sa.CheckConstraint("price >= 0", name="price"),
        sa.ForeignKeyConstraint(
            ["taster_id"], ["taster.id"], name="fk_stock_taster_id_taster", ondelete="CASCADE"
        ),
    )
    op.create_index("ix_stock_taster_id", "stock", ["taster_id"])

    op.create_table(
        "stock_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("taster_id", sa.Integer(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("undone_at", sa.DateTime(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_stock_change"),
        sa.ForeignKeyConstraint(
            ["taster_id"],
            ["taster.id"],
            name="fk_stock_change_taster_id_taster",
            ondelete="CASCADE",
        ),
    )
    op.create_index("ix_stock_change_taster_id", "stock_change", ["taster_id"])

    op.create_table(
        "planned_flight",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("taster_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("seed", sa.Integer(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("seal", sa.Text(), nullable=False),
        sa.Column("asked", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_planned_flight"),
        sa.UniqueConstraint("taster_id", "number", name="uq_planned_flight_taster_id_number"),
        sa.CheckConstraint("state IN ('planned', 'poured', 'done')", name="state"),
        sa.ForeignKeyConstraint(
            ["taster_id"],
            ["taster.id"],
            name="fk_planned_flight_taster_id_taster",
            ondelete="CASCADE",
        ),
    )

    op.create_table(
        "planned_pour",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("planned_flight_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.SmallInteger(), nullable=False),
        sa.Column("sealed", sa.Text(), nullable=False),
        sa.Column("wine", _wine_key(), nullable=True),
        sa.Column("revealed_at", sa.DateTime(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_planned_pour"),
        sa.UniqueConstraint(
            "planned_flight_id", "code", name="uq_planned_pour_planned_flight_id_code"
        ),
        sa.CheckConstraint("code BETWEEN 100 AND 999", name="code"),
        sa.CheckConstraint("(wine IS NULL) = (revealed_at IS NULL)", name="revealed"),
        sa.ForeignKeyConstraint(
            ["planned_flight_id"],
            ["planned_flight.id"],
            name="fk_planned_pour_planned_flight_id_planned_flight",
            ondelete="CASCADE",
        ),
    )

    op.create_table(
        "planned_serving",
        sa.Column("planned_pour_id", sa.Integer(), nullable=False),
        sa.Column("taster", sa.Text(), nullable=False),
        sa.Column("position", sa.SmallInteger(), nullable=False),
        sa.Column("sitting", sa.SmallInteger(), nullable=False),
        sa.PrimaryKeyConstraint("planned_pour_id", "taster", name="pk_planned_serving"),
        sa.ForeignKeyConstraint(
            ["planned_pour_id"],
            ["planned_pour.id"],
            name="fk_planned_serving_planned_pour_id_planned_pour",
            ondelete="CASCADE",
        ),
    )
