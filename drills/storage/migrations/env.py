"""Runs the revisions on the connection that `drills.storage.upgrade` opened."""

from __future__ import annotations

from alembic import context

from drills.storage.tables import metadata

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=metadata, render_as_batch=True)
# The transaction is already open and its owner commits, so schema and revision change together.
# Alembic holds that SQLite cannot take DDL back; after an explicit BEGIN it can.
context.run_migrations()
