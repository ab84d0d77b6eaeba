"""The tables: the only SQLModel classes of the program.

They describe the schema and nothing else: `table=True` does not validate, so values are checked
where they enter the repository, and again by constraints. Databases are made and upgraded from
`metadata`; queries use `columns`, which is written from it and starts faster.
"""

from __future__ import annotations

from drills.storage.tables import answering, pouring, tastings  # noqa: F401 - they add their tables
from drills.storage.tables.ground import Stored

metadata = Stored.metadata
"""The whole schema: the tables of every file of this folder."""
