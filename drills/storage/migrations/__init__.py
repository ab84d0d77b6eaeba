"""Alembic's environment and the revisions of the schema.

A new revision is written by hand: a module `r0002_what_it_does.py` in `versions`, and its number at
the end of `REVISIONS` in `drills.storage.upgrade`. Changing tables needs `op.batch_alter_table`.
"""
