"""The shipped table, read once for all checks against published facts."""

from __future__ import annotations

import pytest

from cards.contrasts import Cellar
from cards.tables import Table, load_table


@pytest.fixture(scope="session")
def table() -> Table:
    """The table as it ships; a file that cannot be read fails every check that needs it."""
    return load_table()


@pytest.fixture(scope="session")
def cellar(table: Table) -> Cellar:
    """Pictures of the shipped wines."""
    return Cellar(table)
