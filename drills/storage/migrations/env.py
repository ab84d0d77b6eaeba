"""Runs the revisions on the connection that `drills.storage.upgrade` opened."""

from __future__ import annotations

from alembic import context

from drills.storage.tables import metadata

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=metadata,
    render_as_batch=True,
    # Alembic thinks that SQLite cannot roll DDL back; with an explicit BEGIN it can.
    transactional_ddl=True,
)
# The transaction is already open and its owner commits: schema and revision change together.
context.run_migrations()
