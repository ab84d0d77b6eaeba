"""An index from which answers are counted without reading them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the index that holds every column that is counted."""
    stands = sa.text("undone_at IS NULL")
    op.create_index(
        "ix_answer_counted",
        "answer",
        ["taster_id", "form", "contrast_id", "truth", "correct", "sureness"],
        sqlite_where=stands,
        postgresql_where=stands,
    )
