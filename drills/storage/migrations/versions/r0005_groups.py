"""Several tasters in one database, and answers that are delivered once."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add logins and consent of tasters, and the receipts of answers."""
    op.add_column("taster", sa.Column("login", sa.Text(), nullable=True))
    op.add_column(
        "taster", sa.Column("shares", sa.Boolean(), server_default=sa.false(), nullable=False)
    )
    op.create_index("ix_taster_login", "taster", ["login"], unique=True)

    number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
    op.add_column("answer", sa.Column("receipt", number, nullable=True))
    op.create_index("ix_answer_taster_id_receipt", "answer", ["taster_id", "receipt"], unique=True)
